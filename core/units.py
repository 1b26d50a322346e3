"""Text with units to SI floats and back, and figures for display; the only user of pint.

Not for meaning: which property has which dimension lives in `core.vocabulary`. Text is read by
a closed grammar (number, optional blank, unit of a closed list); nothing is ever evaluated.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache, lru_cache
from typing import Any, NamedTuple

from core.errors import Refusal, value_text


class _Unit(NamedTuple):
    """One unit of the closed list: its dimension, what it is in base units, how it is shown."""

    name: str
    dimension: str
    meaning: str  # in the words of _BASE
    sign: str  # on screen and paper
    digits: int  # after the point, shown


class _Dimension(NamedTuple):
    """Words for a dimension, an example, and its unit shown in US and in SI."""

    words: str
    example: str
    us: str
    si: str


# Exact by definition: inch, pound, standard gravity, US gallon of 231 cubic inches, psi and hp of these;
# Btu as the plant file's contract fixes it.
_BASE = (
    "meter = [length]",
    "second = [time]",
    "kilogram = [mass]",
    "ampere = [current]",
    "radian = []",
    "kelvin = [temperature]; offset: 0",
    "celsius = kelvin; offset: 273.15",
    "fahrenheit = 5 / 9 * kelvin; offset: 255.3722222222222",
    "inch = 0.0254 * meter",
    "foot = 12 * inch",
    "liter = 0.001 * meter ** 3",
    "gallon = 231 * inch ** 3",
    "minute = 60 * second",
    "hour = 3600 * second",
    "newton = kilogram * meter / second ** 2",
    "pound_force = 0.45359237 * 9.80665 * newton",
    "pascal = newton / meter ** 2",
    "joule = newton * meter",
    "watt = joule / second",
    "volt = watt / ampere",
    "british = 1055.056 * joule",
)

# A head is a length: a column of the fluid flowing there.
_UNITS: dict[str, _Unit] = {
    unit.name: unit
    for unit in (
        _Unit("gpm", "flow", "gallon / minute", "gpm", 1),
        _Unit("L/s", "flow", "liter / second", "L/s", 3),
        _Unit("L/min", "flow", "liter / minute", "L/min", 1),
        _Unit("L/h", "flow", "liter / hour", "L/h", 0),
        _Unit("m3/h", "flow", "meter ** 3 / hour", "m³/h", 2),
        _Unit("m3/s", "flow", "meter ** 3 / second", "m³/s", 6),
        _Unit("gal", "volume", "gallon", "gal", 1),
        _Unit("L", "volume", "liter", "L", 1),
        _Unit("m3", "volume", "meter ** 3", "m³", 3),
        _Unit("ft", "length", "foot", "ft", 1),
        _Unit("in", "length", "inch", "in", 2),
        _Unit("m", "length", "meter", "m", 2),
        _Unit("cm", "length", "0.01 * meter", "cm", 1),
        _Unit("mm", "length", "0.001 * meter", "mm", 1),
        _Unit("ft2", "area", "foot ** 2", "ft²", 0),
        _Unit("m2", "area", "meter ** 2", "m²", 1),
        _Unit("psi", "pressure", "pound_force / inch ** 2", "psi", 1),
        _Unit("kPa", "pressure", "1000 * pascal", "kPa", 1),
        _Unit("Pa", "pressure", "pascal", "Pa", 0),
        _Unit("bar", "pressure", "100000 * pascal", "bar", 2),
        _Unit("ft_head", "head", "foot", "ft", 1),
        _Unit("m_head", "head", "meter", "m", 2),
        _Unit("Btu/h", "power", "british / hour", "Btu/h", 0),
        _Unit("kBtu/h", "power", "1000 * british / hour", "kBtu/h", 1),
        _Unit("MBH", "power", "1000 * british / hour", "MBH", 1),
        _Unit("W", "power", "watt", "W", 0),
        _Unit("kW", "power", "1000 * watt", "kW", 2),
        _Unit("hp", "power", "550 * foot * pound_force / second", "hp", 2),
        _Unit("Btu/h/degF", "heat_per_kelvin", "british / hour / (5 / 9 * kelvin)", "Btu/h/°F", 0),
        _Unit("W/K", "heat_per_kelvin", "watt / kelvin", "W/K", 0),
        _Unit("Btu/h/ft2", "flux", "british / hour / foot ** 2", "Btu/h/ft²", 1),
        _Unit("W/m2", "flux", "watt / meter ** 2", "W/m²", 0),
        _Unit("W/m/K", "conductivity", "watt / meter / kelvin", "W/m/K", 3),
        _Unit("Btu/h/ft/degF", "conductivity", "british / hour / foot / (5 / 9 * kelvin)", "Btu/h/ft/°F", 3),
        _Unit("degF", "temperature", "fahrenheit", "°F", 0),
        _Unit("degC", "temperature", "celsius", "°C", 1),
        _Unit("delta_degF", "temperature_difference", "5 / 9 * kelvin", "°F", 1),
        _Unit("delta_degC", "temperature_difference", "kelvin", "°C", 1),
        _Unit("K", "temperature_difference", "kelvin", "K", 1),
        _Unit("ft/s", "velocity", "foot / second", "ft/s", 1),
        _Unit("m/s", "velocity", "meter / second", "m/s", 2),
        _Unit("mph", "velocity", "5280 * foot / hour", "mph", 1),
        _Unit("km/h", "velocity", "1000 * meter / hour", "km/h", 1),
        _Unit("s", "time", "second", "s", 0),
        _Unit("min", "time", "minute", "min", 1),
        _Unit("h", "time", "hour", "h", 1),
        _Unit("day", "time", "24 * hour", "days", 1),
        _Unit("kg/m3", "density", "kilogram / meter ** 3", "kg/m³", 1),
        _Unit("mPa*s", "viscosity", "0.001 * pascal * second", "mPa·s", 2),
        _Unit("Pa*s", "viscosity", "pascal * second", "Pa·s", 5),
        _Unit("J/kg/K", "heat_capacity", "joule / kilogram / kelvin", "J/kg/K", 0),
        _Unit("kJ/kg/K", "heat_capacity", "1000 * joule / kilogram / kelvin", "kJ/kg/K", 3),
        _Unit("rpm", "rotation", "6.283185307179586 * radian / minute", "rpm", 0),
        _Unit("A", "current", "ampere", "A", 1),
        _Unit("V", "voltage", "volt", "V", 0),
        _Unit("kWh", "energy", "1000 * watt * hour", "kWh", 1),
        _Unit("Btu", "energy", "british", "Btu", 0),
        _Unit("kBtu", "energy", "1000 * british", "kBtu", 1),
        _Unit("MJ", "energy", "1000000 * joule", "MJ", 1),
        _Unit("therm", "energy", "100000 * british", "therms", 1),
        _Unit("percent", "percent", "0.01 * radian", "%", 0),
        _Unit("Btu/degF", "heat_storage", "british / (5 / 9 * kelvin)", "Btu/°F", 0),
        _Unit("kJ/K", "heat_storage", "1000 * joule / kelvin", "kJ/K", 0),
        _Unit("MJ/K", "heat_storage", "1000000 * joule / kelvin", "MJ/K", 2),
        _Unit("kWh/K", "heat_storage", "1000 * watt * hour / kelvin", "kWh/K", 2),
        _Unit("1/K", "expansion", "1 / kelvin", "1/K", 6),
        _Unit(
            "Btu/h/ft2/degF", "transmittance", "1.8 * british / hour / foot ** 2 / kelvin", "Btu/h/ft²/°F", 3
        ),
        _Unit("W/m2/K", "transmittance", "watt / meter ** 2 / kelvin", "W/m²/K", 3),
        _Unit("ft2*h*degF/Btu", "resistance", "foot ** 2 * hour * kelvin / 1.8 / british", "ft²·h·°F/Btu", 2),
        _Unit("m2*K/W", "resistance", "meter ** 2 * kelvin / watt", "m²·K/W", 3),
        _Unit("degF*day", "degree_days", "5 / 9 * kelvin * 24 * hour", "°F·days", 0),
        _Unit("K*day", "degree_days", "kelvin * 24 * hour", "K·days", 0),
        _Unit("in/h", "snowfall", "inch / hour", "in/h", 2),
        _Unit("mm/h", "snowfall", "0.001 * meter / hour", "mm/h", 1),
    )
}

_DIMENSIONS: dict[str, _Dimension] = {
    "flow": _Dimension("a flow", "8 gpm", "gpm", "L/s"),
    "volume": _Dimension("a volume", "40 gal", "gal", "L"),
    "length": _Dimension("a length", "3 ft", "ft", "m"),
    "area": _Dimension("an area", "120 ft2", "ft2", "m2"),
    "pressure": _Dimension("a pressure", "15 psi", "psi", "kPa"),
    "head": _Dimension("a head", "12 ft_head", "ft_head", "m_head"),
    "lift": _Dimension("a head or a pressure", "12 ft_head", "ft_head", "m_head"),
    "power": _Dimension("a power", "40 kBtu/h", "kBtu/h", "kW"),
    "heat_per_kelvin": _Dimension("heat per degree", "300 Btu/h/degF", "Btu/h/degF", "W/K"),
    "flux": _Dimension("heat per area", "25 Btu/h/ft2", "Btu/h/ft2", "W/m2"),
    "conductivity": _Dimension("a conductivity", "0.04 W/m/K", "Btu/h/ft/degF", "W/m/K"),
    "temperature": _Dimension("a temperature", "120 degF", "degF", "degC"),
    "temperature_difference": _Dimension("a difference of temperature", "20 delta_degF", "delta_degF", "K"),
    "velocity": _Dimension("a velocity", "4 ft/s", "ft/s", "m/s"),
    "time": _Dimension("a time", "10 min", "min", "min"),
    "density": _Dimension("a density", "998 kg/m3", "kg/m3", "kg/m3"),
    "viscosity": _Dimension("a viscosity", "1.0 mPa*s", "mPa*s", "mPa*s"),
    "heat_capacity": _Dimension("a heat capacity", "4182 J/kg/K", "kJ/kg/K", "kJ/kg/K"),
    "rotation": _Dimension("a speed of rotation", "2800 rpm", "rpm", "rpm"),
    "current": _Dimension("a current", "15 A", "A", "A"),
    "voltage": _Dimension("a voltage", "120 V", "V", "V"),
    "energy": _Dimension("an energy", "12 kWh", "kBtu", "kWh"),
    "percent": _Dimension("a share in percent", "80 percent", "percent", "percent"),
    "heat_storage": _Dimension("heat stored per degree", "2 MJ/K", "Btu/degF", "kJ/K"),
    "expansion": _Dimension("an expansion per degree", "2.1e-4 1/K", "1/K", "1/K"),
    "transmittance": _Dimension(
        "heat per area and degree", "0.06 Btu/h/ft2/degF", "Btu/h/ft2/degF", "W/m2/K"
    ),
    "resistance": _Dimension("a thermal resistance", "19 ft2*h*degF/Btu", "ft2*h*degF/Btu", "m2*K/W"),
    "degree_days": _Dimension("degree days", "6200 degF*day", "degF*day", "K*day"),
    "snowfall": _Dimension("a snowfall as water", "0.1 in/h", "in/h", "mm/h"),
}

DIMENSIONS: dict[str, tuple[str, ...]] = {
    name: tuple(unit.name for unit in _UNITS.values() if unit.dimension == name)
    for name in _DIMENSIONS
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


class _Scale(NamedTuple):
    """SI = value * factor + offset."""

    factor: float
    offset: float


@cache
def _registry() -> Any:
    from pint import UnitRegistry

    # Only what the closed list needs: the whole registry takes a quarter of a second to build.
    registry: Any = UnitRegistry(None)
    for line in _BASE:
        registry.define(line)
    return registry


@cache
def _scale(unit: str) -> _Scale:
    """Factor and offset of one unit, asked of pint once."""
    registry = _registry()
    meaning = _UNITS[unit].meaning
    if _UNITS[unit].dimension == "temperature":
        zero = float(registry.Quantity(0.0, meaning).to("kelvin").magnitude)
        degree = float(registry.Quantity(1.0, f"delta_{meaning}").to("kelvin").magnitude)
        return _Scale(degree, zero)
    return _Scale(float(registry.Quantity(meaning).to_base_units().magnitude), 0.0)


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
    if unit not in _UNITS:
        raise Refusal("", value_text(text), "a number and a known unit", unit_hint(unit))
    return number, unit


def unit_hint(unit: str, dimension: str = "") -> str:
    """One sentence on an unknown unit: what it may have been meant to be."""
    if unit in _UNIT_HINTS:
        return f"Unknown unit {unit}: {_UNIT_HINTS[unit]}"
    known = list(units_of(dimension)) if dimension else list(_UNITS)
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
    return _DIMENSIONS[dimension].words


def expectation(dimension: str) -> str:
    """What a field of this dimension takes, in words, with an example."""
    return f'{words(dimension)} such as "{_DIMENSIONS[dimension].example}"'


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
    if unit in _UNITS:
        other = _UNITS[unit].dimension
        hint = f"{unit} is {words(other)}"
        if {dimension, other} == {"pressure", "head"}:
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


def unit_for(dimension: str, system: str) -> str:
    """Unit in which a dimension is shown."""
    return _DIMENSIONS[dimension].us if system == "us" else _DIMENSIONS[dimension].si


def sign_of(unit: str) -> str:
    """Unit as written on screen and paper."""
    return _UNITS[unit].sign


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
        digits = _UNITS[unit].digits
        if abs(number) >= 100:
            digits = 0
        elif abs(number) >= 10:
            digits = min(digits, 1)
    text = f"{number:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return f"{text} {sign_of(unit)}"
