"""Text with units to SI floats and back, and figures for display; the only user of pint.

Not for meaning: which property has which dimension lives in `core.vocabulary`. Text is read by
a closed grammar (number, optional blank, unit of a closed list); nothing is ever evaluated.
"""

from __future__ import annotations

import difflib
import math
import re
from functools import cache, lru_cache
from typing import Any, Literal, NamedTuple

from core.errors import Refusal, value_text

Display = Literal["us", "si"]

DIMENSIONS: dict[str, tuple[str, ...]] = {
    "flow": ("gpm", "L/s", "L/min", "L/h", "m3/h", "m3/s"),
    "volume": ("gal", "L", "m3"),
    "length": ("ft", "in", "m", "cm", "mm"),
    "area": ("ft2", "m2"),
    "pressure": ("psi", "kPa", "Pa", "bar"),
    "head": ("ft_head", "m_head"),
    "power": ("Btu/h", "kBtu/h", "MBH", "W", "kW", "hp"),
    "heat_per_kelvin": ("Btu/h/degF", "W/K"),
    "flux": ("Btu/h/ft2", "W/m2"),
    "conductivity": ("W/m/K", "Btu/h/ft/degF"),
    "temperature": ("degF", "degC"),
    "temperature_difference": ("delta_degF", "delta_degC", "K"),
    "velocity": ("ft/s", "m/s"),
    "time": ("s", "min", "h", "day"),
    "density": ("kg/m3",),
    "viscosity": ("mPa*s", "Pa*s"),
    "heat_capacity": ("J/kg/K", "kJ/kg/K"),
    "rotation": ("rpm",),
    "current": ("A",),
    "voltage": ("V",),
    "energy": ("kWh", "Btu", "kBtu", "MJ"),
    "percent": ("percent",),
    "heat_storage": ("Btu/degF", "kJ/K", "MJ/K", "kWh/K"),
    "expansion": ("1/K",),
}

WORDS: dict[str, str] = {
    "flow": "a flow",
    "volume": "a volume",
    "length": "a length",
    "area": "an area",
    "pressure": "a pressure",
    "head": "a head",
    "lift": "a head or a pressure",
    "power": "a power",
    "heat_per_kelvin": "heat per degree",
    "flux": "heat per area",
    "conductivity": "a heat conductivity, or heat loss per length",
    "temperature": "a temperature",
    "temperature_difference": "a difference of temperature",
    "velocity": "a velocity",
    "time": "a time",
    "density": "a density",
    "viscosity": "a viscosity",
    "heat_capacity": "a heat capacity",
    "rotation": "a speed of rotation",
    "current": "a current",
    "voltage": "a voltage",
    "energy": "an energy",
    "percent": "a share in percent",
    "heat_storage": "heat stored per degree",
    "expansion": "an expansion per degree",
}

_EXAMPLES: dict[str, str] = {
    "flow": "8 gpm", "volume": "40 gal", "length": "3 ft", "area": "120 ft2", "pressure": "15 psi",
    "head": "12 ft_head", "lift": "12 ft_head", "power": "40 kBtu/h", "heat_per_kelvin": "300 Btu/h/degF",
    "flux": "25 Btu/h/ft2", "conductivity": "0.04 W/m/K", "temperature": "120 degF",
    "temperature_difference": "20 delta_degF", "velocity": "4 ft/s", "time": "10 min",
    "density": "998 kg/m3", "viscosity": "1.0 mPa*s", "heat_capacity": "4182 J/kg/K",
    "rotation": "2800 rpm", "current": "15 A", "voltage": "120 V", "energy": "12 kWh",
    "percent": "80 percent", "heat_storage": "2 MJ/K", "expansion": "2.1e-4 1/K",
}  # fmt: skip

# What pint calls our units; `m_head` and `ft_head` are columns of the fluid itself, hence lengths.
_PINT_NAMES: dict[str, str] = {
    "gpm": "gallon/minute", "L/s": "liter/second", "L/min": "liter/minute", "L/h": "liter/hour",
    "m3/h": "meter**3/hour", "m3/s": "meter**3/second", "gal": "gallon", "L": "liter", "m3": "meter**3",
    "ft": "foot", "in": "inch", "m": "meter", "cm": "centimeter", "mm": "millimeter",
    "ft2": "foot**2", "m2": "meter**2", "psi": "psi", "kPa": "kilopascal", "Pa": "pascal", "bar": "bar",
    "ft_head": "foot", "m_head": "meter", "Btu/h": "Btu/hour", "kBtu/h": "kBtu/hour",
    "MBH": "kBtu/hour", "W": "watt", "kW": "kilowatt", "hp": "horsepower",
    "Btu/h/degF": "Btu/hour/delta_degF", "W/K": "watt/kelvin", "Btu/h/ft2": "Btu/hour/foot**2",
    "W/m2": "watt/meter**2", "W/m/K": "watt/meter/kelvin", "Btu/h/ft/degF": "Btu/hour/foot/delta_degF",
    "degF": "degF", "degC": "degC", "delta_degF": "delta_degF", "delta_degC": "delta_degC", "K": "kelvin",
    "ft/s": "foot/second", "m/s": "meter/second", "s": "second", "min": "minute", "h": "hour", "day": "day",
    "kg/m3": "kilogram/meter**3", "mPa*s": "millipascal*second", "Pa*s": "pascal*second",
    "J/kg/K": "joule/kilogram/kelvin", "kJ/kg/K": "kilojoule/kilogram/kelvin", "rpm": "rpm",
    "A": "ampere", "V": "volt", "kWh": "kilowatt*hour", "Btu": "Btu", "kBtu": "kBtu", "MJ": "megajoule",
    "percent": "percent", "Btu/degF": "Btu/delta_degF", "kJ/K": "kilojoule/kelvin",
    "MJ/K": "megajoule/kelvin", "kWh/K": "kilowatt*hour/kelvin", "1/K": "1/kelvin",
}  # fmt: skip

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

_LONGEST = 80
_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5),
    "⅗": (3, 5), "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)(?:"
    r"(?:(?P<whole>[0-9]+)[ ]+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    rf"|(?P<before>[0-9]+)?[ ]*(?P<vulgar>[{''.join(_VULGAR)}])"
    r"|(?P<decimal>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
    r")"
)
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_DASHED = re.compile(r"([0-9]+)-([0-9]+/[0-9]+)(.*)")


class _Scale(NamedTuple):
    """SI = value * factor + offset."""

    factor: float
    offset: float


@cache
def _registry() -> Any:
    from pint import UnitRegistry

    return UnitRegistry()


@cache
def _scale(unit: str) -> _Scale:
    """Factor and offset of one unit, asked of pint once."""
    registry = _registry()
    name = _PINT_NAMES[unit]
    if unit in DIMENSIONS["temperature"]:
        zero = float(registry.Quantity(0.0, name).to("kelvin").magnitude)
        hundred = float(registry.Quantity(100.0, name).to("kelvin").magnitude)
        # 5/9 exactly, whatever rounding the two conversions brought in
        return _Scale((5.0 / 9.0) if unit == "degF" else round((hundred - zero) / 100.0, 9), zero)
    return _Scale(float(registry.Quantity(1.0, name).to_base_units().magnitude), 0.0)


@cache
def _dimensions_of(unit: str) -> tuple[str, ...]:
    return tuple(name for name, units in DIMENSIONS.items() if unit in units)


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
    if comma := _COMMA.match(plain):
        dotted = plain.replace(",", ".", 1)
        raise Refusal(
            "",
            value_text(text),
            "a number with a dot",
            f'Comma in {comma.group()}: write "{dotted}", without one',
        )
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
    else:
        top, bottom = (
            _VULGAR[match["vulgar"]] if match["vulgar"] else (int(match["top"]), int(match["bottom"]))
        )
        if bottom == 0:
            raise Refusal("", value_text(text), "a number and a unit", "It divides by nothing")
        value = int(match["whole"] or match["before"] or 0) + top / bottom
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
    if unit not in _PINT_NAMES:
        raise Refusal("", value_text(text), "a number and a known unit", unit_hint(unit))
    return number, unit


def unit_hint(unit: str, dimension: str = "") -> str:
    """One sentence on an unknown unit: what it may have been meant to be."""
    if unit in _UNIT_HINTS:
        return f"Unknown unit {unit}: {_UNIT_HINTS[unit]}"
    known = list(units_of(dimension)) if dimension else list(_PINT_NAMES)
    if re.match(r"[0-9/.*+^()-]", unit):
        return f"{value_text(unit)} is not a unit, and nothing is calculated in a field"
    folded = {name.lower(): name for name in known}
    near = difflib.get_close_matches(unit.lower(), folded, n=1, cutoff=0.3) if len(unit) < 20 else []
    return f"Unknown unit {unit}" + (f"; the nearest is {folded[near[0]]}" if near else "")


def units_of(dimension: str) -> tuple[str, ...]:
    """Units of a dimension; of a lift, those of head and of pressure."""
    if dimension == "lift":
        return DIMENSIONS["head"] + DIMENSIONS["pressure"]
    return DIMENSIONS[dimension]


def expectation(dimension: str) -> str:
    """What a field of this dimension takes, in words, with an example."""
    return f'{WORDS[dimension]} such as "{_EXAMPLES[dimension]}"'


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
    others = _dimensions_of(unit)
    if unit not in _UNIT_HINTS and others:
        hint = f"{unit} is {WORDS[others[0]]}" if unit != "K" else "K is a difference of temperature"
        if dimension in ("pressure", "head") and others[0] in ("pressure", "head"):
            hint += ": a head is a column of the fluid flowing there"
        return Refusal("", value_text(text), expected, hint)
    return Refusal("", value_text(text), expected, unit_hint(unit, dimension))


def _scaled(number: float, unit: str, text: str) -> float:
    scale = _scale(unit)
    value = number * scale.factor + scale.offset
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
    scale = _scale(unit)
    return (value - scale.offset) / scale.factor


_SHOWN: dict[str, tuple[str, str]] = {
    "flow": ("gpm", "L/s"), "volume": ("gal", "L"), "length": ("ft", "m"), "area": ("ft2", "m2"),
    "pressure": ("psi", "kPa"), "head": ("ft_head", "m_head"), "lift": ("ft_head", "m_head"),
    "power": ("kBtu/h", "kW"), "heat_per_kelvin": ("Btu/h/degF", "W/K"), "flux": ("Btu/h/ft2", "W/m2"),
    "conductivity": ("Btu/h/ft/degF", "W/m/K"), "temperature": ("degF", "degC"),
    "temperature_difference": ("delta_degF", "delta_degC"), "velocity": ("ft/s", "m/s"), "time": ("min", "min"),
    "density": ("kg/m3", "kg/m3"), "viscosity": ("mPa*s", "mPa*s"), "heat_capacity": ("kJ/kg/K", "kJ/kg/K"),
    "rotation": ("rpm", "rpm"), "current": ("A", "A"), "voltage": ("V", "V"), "energy": ("kBtu", "kWh"),
    "percent": ("percent", "percent"), "heat_storage": ("Btu/degF", "kJ/K"), "expansion": ("1/K", "1/K"),
}  # fmt: skip

# On screen and paper: typographic signs; a head is a length of water column, and reads as one.
_SIGNS: dict[str, str] = {
    "ft2": "ft²", "m2": "m²", "m3": "m³", "m3/h": "m³/h", "m3/s": "m³/s", "ft_head": "ft", "m_head": "m",
    "Btu/h/degF": "Btu/h/°F", "Btu/h/ft2": "Btu/h/ft²", "W/m2": "W/m²", "Btu/h/ft/degF": "Btu/h/ft/°F",
    "degF": "°F", "degC": "°C", "delta_degF": "°F", "delta_degC": "°C", "kg/m3": "kg/m³", "mPa*s": "mPa·s",
    "Pa*s": "Pa·s", "percent": "%", "Btu/degF": "Btu/°F",
}  # fmt: skip

_DECIMALS: dict[str, int] = {
    "degF": 0, "Btu/h/degF": 0, "W/K": 0, "Btu/h/ft2": 1, "kPa": 0, "V": 0, "rpm": 0, "percent": 0,
    "ft2": 0, "kg/m3": 0, "L/s": 3, "m/s": 2, "W/m/K": 3, "Btu/h/ft/degF": 3, "kJ/kg/K": 3, "mPa*s": 2,
    "m_head": 2, "1/K": 6,
}  # fmt: skip


def unit_for(dimension: str, system: Display) -> str:
    """Unit in which a dimension is shown."""
    return _SHOWN[dimension][0 if system == "us" else 1]


def sign_of(unit: str) -> str:
    """Unit as written on screen and paper."""
    return _SIGNS.get(unit, unit)


def show(value: float, dimension: str, system: Display, digits: int | None = None) -> str:
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
        digits = _DECIMALS.get(unit, 1)
        if abs(number) >= 100:
            digits = 0
        elif abs(number) >= 10:
            digits = min(digits, 1)
    text = f"{number:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return f"{text} {sign_of(unit)}"
