"""Round examples in the other system of units: what one would type there, not the same value converted.

Common practice, no source: near enough to show the kind and size of a value, and never on the less safe side
of a limit.
"""

from __future__ import annotations

from typing import Literal

SI = {
    "0.4 gal": "1.5 L", "2 gal": "8 L", "2.2 gal": "8 L", "4.4 gal": "18 L", "30 gal": "120 L",
    "80 gal": "300 L", "0.5 gpm": "0.03 L/s", "2 gpm": "0.12 L/s", "6 gpm": "0.4 L/s",
    "8 gpm": "0.5 L/s", "9 gpm": "0.6 L/s", "0.5 psi": "3.5 kPa", "12 psi": "80 kPa",
    "15 psi": "100 kPa", "30 psi": "200 kPa", "60 psi": "400 kPa", "125 psi": "850 kPa",
    "4 ft_head": "12 kPa", "8 ft_head": "25 kPa", "1.5 kBtu/h": "0.4 kW", "9 kBtu/h": "2.5 kW",
    "12 kBtu/h": "3.5 kW", "20 kBtu/h": "6 kW", "28 kBtu/h": "8 kW", "60 kBtu/h": "18 kW",
    "80 kBtu/h": "24 kW", "199 kBtu/h": "60 kW", "500 kBtu/h": "150 kW", "5 degF": "-15 degC",
    "17 degF": "-8 degC", "65 degF": "18 degC", "90 degF": "32 degC", "100 degF": "38 degC",
    "105 degF": "40 degC", "110 degF": "43 degC", "118 degF": "48 degC", "120 degF": "49 degC",
    "130 degF": "55 degC", "150 degF": "65 degC", "160 degF": "70 degC", "200 degF": "93 degC",
    "210 degF": "98 degC", "10 delta_degF": "5 K", "20 delta_degF": "10 K",
    "6200 degF*day": "3400 K*day", "3 Btu/h/degF": "1.5 W/K", "60 Btu/h/degF": "30 W/K",
    "250 Btu/h/degF": "130 W/K", "300 Btu/h/degF": "160 W/K", "600 Btu/h/degF": "300 W/K",
    "2500 Btu/h/degF": "1300 W/K", "25 Btu/h/ft2": "80 W/m2", "0.06 Btu/h/ft2/degF": "0.35 W/m2/K",
    "1/2 in": "12 mm", "3/4 in": "20 mm", "6 1/2 in": "165 mm", "9 in": "225 mm", "30 in": "0.75 m",
    "4 ft": "1.2 m", "5 ft": "1.5 m", "8 ft": "2.4 m", "240 ft": "75 m", "140 ft2": "13 m2",
    "400 ft2": "37 m2",
}  # fmt: skip
"""American examples of the vocabulary, and what stands for them where a plant is in SI."""
US = {"2 L/h": "0.01 gpm", "3 MJ/K": "1500 Btu/degF", "4 MJ/K": "2000 Btu/degF", "4.5 kW": "15 kBtu/h"}
"""Examples of the vocabulary in SI, and what stands for them in an American plant."""


def example(text: str, system: Literal["us", "si"] | str) -> str:
    """An example as one would type it in a system of units; as it is where it has no unit, or no other.

    Examples
    --------
    >>> example("2 gpm", "si"), example("2 gpm", "us"), example("3 MJ/K", "us"), example("5 min", "si")
    ('0.12 L/s', '2 gpm', '1500 Btu/degF', '5 min')
    """
    return (SI if system == "si" else US).get(text, text)
