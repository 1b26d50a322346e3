"""Text with units to SI floats and back, and figures for display; the only user of pint.

Not for meaning: which property has which dimension lives in `core.vocabulary`. Text is read by
a closed grammar (number, optional blank, unit of a closed list); nothing is ever evaluated.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache, lru_cache, partial
from typing import Any, Literal

from core.errors import Refusal, value_text
from core.unit_table import MEASURES, UNITS

DIMENSIONS: dict[str, tuple[str, ...]] = {
    name: tuple(unit.name for unit in UNITS.values() if unit.dimension == name)
    for name in MEASURES
    if name != "lift"
}

_UNIT_HINTS: dict[str, str] = {
    "MBtu/h": "M means a thousand to some and a million to others; write kBtu/h for thousands",
    "MMBtu/h": "write kBtu/h for thousands",
    "Btu": "heat per time is Btu/h",
    "BTU/h": "write Btu/h",
    "btu/h": "write Btu/h",
    "F": "write degF for a temperature, delta_degF for a difference",
    "C": "write degC for a temperature, delta_degC for a difference",
    "°F": "write degF for a temperature, delta_degF for a difference",
    "°C": "write degC for a temperature, delta_degC for a difference",
    "'": "write ft",
    '"': "write in",
    "″": "write in",
    "′": "write ft",
    "%": "write percent",
    "GPM": "write gpm",
    "PSI": "write psi",
    "psig": "pressures are gauge; write psi",
    "inch": "write in",
    "feet": "write ft",
    "foot": "write ft",
}

# Dimensions whose other units are read by pint, with what it calls their base unit. Not those in which a word
# has two meanings in the trade, and no heads: a head is of the fluid flowing there.
_SI_WORDS: dict[str, str] = {
    "flow": "meter**3 / second",
    "volume": "meter**3",
    "length": "meter",
    "area": "meter**2",
    "pressure": "pascal",
    "power": "watt",
    "flux": "watt / meter**2",
    "temperature": "kelvin",
    "velocity": "meter / second",
    "time": "second",
    "density": "kilogram / meter**3",
    "viscosity": "pascal * second",
    "heat_capacity": "joule / kilogram / kelvin",
    "rotation": "radian / second",
    "current": "ampere",
    "voltage": "volt",
    "energy": "joule",
    "heat_per_kelvin": "watt / kelvin",
    "heat_storage": "joule / kelvin",
    "conductivity": "watt / meter / kelvin",
}
# Letters and powers only; M before Btu is a thousand to some and a million to others.
_POWER = r"(?:\^|\*\*)?([23])"
_FOREIGN = rf"(?!M+B)[A-Za-zµ°_]+(?:{_POWER})?(?:[/*][A-Za-zµ°_]+(?:{_POWER})?){{0,3}}"

_LONGEST = 80
_VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)(?:"
    r"(?:(?P<whole>[0-9]+)[ ]+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    rf"|(?P<before>[0-9]+)?[ ]*(?P<vulgar>[{_VULGAR}])"
    r"|(?P<decimal>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
    r")"
)
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(?![0-9])")
_DASHED = re.compile(r"([0-9]+)-([0-9]+/[0-9]+)(.*)")


def parse_number(text: str) -> float:
    """Number as a person writes it: decimal with a dot, fraction, mixed, or a sign like ½.

    Parameters
    ----------
    text : str
        The number without a unit

    Returns
    -------
    float
        Its value, [-]

    Raises
    ------
    Refusal
        Not a number of this grammar, a decimal comma, a division by nothing, or not finite

    Examples
    --------
    >>> parse_number("1 1/4"), parse_number("½"), parse_number("1e-3")
    (1.25, 0.5, 0.001)
    """
    number, rest = _split(text)
    if rest:
        raise Refusal("", value_text(text), "a number such as 1.5, 3/4 or 1 1/4")
    return number


def _split(text: str) -> tuple[float, str]:
    """Leading number and what follows it."""
    if len(text) > _LONGEST:
        raise Refusal("", value_text(text), f"at most {_LONGEST} characters")
    plain = text.replace("\u00a0", " ").replace("\u202f", " ").strip(" ")
    match = _NUMBER.match(plain)
    if _COMMA.match(plain):
        dotted = f'"{plain.replace(",", ".", 1)}"'
        if _THOUSANDS.match(plain):  # 1,200 is twelve hundred to some and little more than one to others
            dotted = f'"{plain.replace(",", "")}" or {dotted}'
        raise Refusal("", value_text(text), "a number with a dot", f"It has a comma: write {dotted}")
    if dashed := _DASHED.match(plain):
        mixed = f"{dashed.group(1)} {dashed.group(2)}{dashed.group(3)}"
        raise Refusal("", value_text(text), "a number and a unit", f'Write "{mixed}", with a blank')
    if match is None:
        raise Refusal("", value_text(text), "a number and a unit", "It must begin with a number")
    value = _value_of(match, text)
    return value, plain[match.end() :].lstrip(" ")


def _value_of(match: re.Match[str], text: str) -> float:
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"] is not None:
        value = float(match["decimal"])
    elif match["vulgar"]:
        value = int(match["before"] or 0) + unicodedata.numeric(match["vulgar"])
    elif int(match["bottom"]) == 0:
        raise Refusal("", value_text(text), "a number and a unit", "It divides by nothing")
    else:
        value = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    if not math.isfinite(value):
        raise Refusal("", value_text(text), "a finite number", "It is too large for any plant")
    return sign * value


def split_quantity(text: str) -> tuple[float, str]:
    """Number and unit of a quantity, the unit being one of the closed list.

    Raises
    ------
    Refusal
        Unreadable number, no unit or an unknown one
    """
    number, unit = _split(text)
    if not unit:
        raise Refusal("", value_text(text), "a number and a unit", "The unit is missing")
    if unit not in UNITS:
        raise Refusal("", value_text(text), "a number and a known unit", unit_hint(unit))
    return number, unit


def unit_hint(unit: str, dimension: str = "") -> str:
    """One sentence on an unknown unit: what it may have been meant to be."""
    if unit in _UNIT_HINTS:
        return f"Unknown unit {unit}: {_UNIT_HINTS[unit]}"
    known = list(units_of(dimension)) if dimension else list(UNITS)
    if re.match(r"[0-9/.*+^()-]", unit):
        return f"{value_text(unit)} is not a unit, and nothing is calculated in a field"
    folded = {name.lower(): name for name in known}
    import difflib  # slow to import, and only for what cannot be read

    near = difflib.get_close_matches(unit.lower(), folded, n=1, cutoff=0.3) if len(unit) < 20 else []
    return f"Unknown unit {unit}" + (f"; the nearest is {folded[near[0]]}" if near else "")


def units_of(dimension: str) -> tuple[str, ...]:
    """Units of a dimension; of a lift, those of head and of pressure."""
    if dimension == "lift":
        return DIMENSIONS["head"] + DIMENSIONS["pressure"]
    return DIMENSIONS[dimension]


def words(dimension: str) -> str:
    """A dimension in words, such as "a flow"."""
    return MEASURES[dimension].words


def expectation(dimension: str) -> str:
    """What a field of this dimension takes, in words, with an example."""
    return f'{words(dimension)} such as "{MEASURES[dimension].example}"'


@lru_cache(maxsize=65536)
def parse(text: str, dimension: str) -> float:
    """Text with a unit as an SI number.

    Parameters
    ----------
    text : str
        Number, optional blank, unit
    dimension : str
        A key of `DIMENSIONS`

    Returns
    -------
    float
        Kelvin for temperatures and their differences, Pa gauge, m, m^3/s, W …, [SI]

    Raises
    ------
    Refusal
        Unreadable, wrong dimension, unknown unit, not finite; its path is empty

    Examples
    --------
    >>> round(parse("3/4 in", "length"), 5)
    0.01905
    """
    number, unit = _split(text)
    if unit not in units_of(dimension):
        raise _wrong_unit(text, unit, dimension)
    return _scaled(number, unit, text)


def _wrong_unit(text: str, unit: str, dimension: str) -> Refusal:
    expected = expectation(dimension)
    if not unit:
        return Refusal("", value_text(text), expected, "The unit is missing")
    if unit in UNITS:
        other = UNITS[unit].dimension
        hint = f"{unit} is {words(other)}"
        if {dimension, other} == {"pressure", "head"}:
            hint += ": a head is a column of the fluid flowing there"
        return Refusal("", value_text(text), expected, hint)
    return Refusal("", value_text(text), expected, unit_hint(unit, dimension))


def _scaled(number: float, unit: str, text: str) -> float:
    scale = UNITS[unit]
    value = number * scale.factor + scale.zero
    if not math.isfinite(value):
        raise Refusal("", value_text(text), "a finite number", "It is too large for any plant")
    return value


@lru_cache(maxsize=16384)
def parse_lift(text: str) -> tuple[float, bool]:
    """Head or pressure.

    Returns
    -------
    tuple[float, bool]
        Value, [m] of the fluid where the flag is true, else [Pa]

    Raises
    ------
    Refusal
        As `parse`
    """
    number, unit = _split(text)
    if unit not in units_of("lift"):
        raise _wrong_unit(text, unit, "lift")
    return _scaled(number, unit, text), unit in DIMENSIONS["head"]


def to_unit(value: float, unit: str) -> float:
    """SI number in another unit.

    Examples
    --------
    >>> round(to_unit(310.15, "degC"), 2)
    37.0
    """
    scale = UNITS[unit]
    return (value - scale.zero) / scale.factor


def in_known_unit(text: str, dimension: str) -> str | None:
    """A quantity in a unit beyond the closed list, such as `2 yd` or `250 mbar`, in one of the list.

    The unit is read by pint. Of the units of the dimension the one is taken in which the number is shortest.

    Returns
    -------
    str or None
        Such as ``6 ft``; None where pint knows no such unit or it measures something else

    Raises
    ------
    Refusal
        Unreadable number

    Examples
    --------
    >>> in_known_unit("2 yd", "length"), in_known_unit("250 mbar", "pressure"), in_known_unit("2 yd", "flow")
    ('6 ft', '25 kPa', None)
    """
    number, unit = _split(text)
    if not re.fullmatch(_FOREIGN, unit) or dimension not in _SI_WORDS:
        return None
    import pint

    unit = re.sub(rf"{_POWER}(?=[/*]|$)", r"**\1", unit)
    try:
        value = float(_registry().Quantity(number, unit).to(_SI_WORDS[dimension]).magnitude)
    except (pint.errors.PintError, ArithmeticError, AttributeError, TypeError, ValueError):
        return None
    shown = [f"{to_unit(value, name):.6g} {name}" for name in DIMENSIONS[dimension]]
    return min(shown, key=lambda one: len(one.split()[0]))


@cache
def _registry() -> Any:
    from pint import UnitRegistry

    return UnitRegistry(autoconvert_offset_to_baseunit=True)


def unit_for(dimension: str, system: str) -> str:
    """Unit in which a dimension is shown."""
    return MEASURES[dimension].us if system == "us" else MEASURES[dimension].si


def sign_of(unit: str) -> str:
    """Unit as written on screen and paper."""
    return UNITS[unit].sign


def show(value: float, dimension: str, system: str, digits: int | None = None) -> str:
    """SI number as a person reads it.

    Parameters
    ----------
    value : float
        The number, [SI]
    dimension : str
        A key of `DIMENSIONS`, or "lift" for metres of head
    system : "us" or "si"
        Units shown
    digits : int, optional
        Digits after the point; by default those that suit the unit and size

    Returns
    -------
    str
        Such as ``8.4 gpm``

    Examples
    --------
    >>> show(0.00053, "flow", "us"), show(320.93, "temperature", "us"), show(-1e-9, "flow", "us")
    ('8.4 gpm', '118 °F', '0.0 gpm')
    """
    unit = unit_for(dimension, system)
    number = to_unit(value, unit)
    if digits is None:
        digits = UNITS[unit].digits
        if abs(number) >= 100:
            digits = 0
        elif abs(number) >= 10:
            digits = min(digits, 1)
    text = f"{number:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return f"{text} {sign_of(unit)}"


class Shown:
    """SI numbers as a plant's user reads them, one way for each dimension.

    Parameters
    ----------
    units : str
        The plant's
    """

    def __init__(self, units: str) -> None:
        self.system: Literal["us", "si"] = "si" if units == "si" else "us"
        self.warm = partial(show, dimension="temperature", system=self.system)
        self.span = partial(show, dimension="temperature_difference", system=self.system)
        self.flow = partial(show, dimension="flow", system=self.system)
        self.volume = partial(show, dimension="volume", system=self.system)
        self.heat = partial(show, dimension="power", system=self.system)
        self.pressure = partial(show, dimension="pressure", system=self.system)
        self.head = partial(show, dimension="head", system=self.system)
        self.length = partial(show, dimension="length", system=self.system)
        self.velocity = partial(show, dimension="velocity", system=self.system)
        self.per_kelvin = partial(show, dimension="heat_per_kelvin", system=self.system)
