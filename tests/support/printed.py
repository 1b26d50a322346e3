"""What printed words may not hold."""

import re

FIGURE = r"\d(?:[\d.,]*\d)? "
OF_SI = r"(?:kPa|kW|L/s|mm|m/s|°C|m²|L/h|kg/h)(?![\w/])"
OF_US = r"(?:gpm|psi|kBtu/h|Btu/h|ft|in|ft/s|°F|gal|ft²)(?![\w/])"


def foreign_units(text: str, display: str) -> list[str]:
    """Figures in a text in units of the other system than "us" or "si"."""
    return re.findall(FIGURE + (OF_SI if display == "us" else OF_US), text)
