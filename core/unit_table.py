"""The closed list of units: what each measures, how much of the base unit it is, how it is shown."""

from __future__ import annotations

import math
from typing import NamedTuple


class Unit(NamedTuple):
    """One unit of the closed list: its dimension, how many base units it is, how it is shown."""

    name: str
    dimension: str
    factor: float  # [SI]
    sign: str  # on screen and paper
    digits: int  # after the point, shown
    zero: float = 0.0  # [SI], where the unit's own count begins


class Measure(NamedTuple):
    """Words for a dimension, an example, and its unit shown in US and in SI."""

    words: str
    example: str
    us: str
    si: str


# Exact by definition: inch, pound, standard gravity, US gallon of 231 cubic inches, psi and hp of these;
# Btu as the plant file's contract fixes it. A test holds every factor against pint's stock registry.
_INCH = 0.0254  # [m]
_FOOT = 12 * _INCH
_GALLON = 231 * _INCH**3  # [m^3]
_LITRE = 1e-3  # [m^3]
_POUND = 0.45359237 * 9.80665  # of force, [N]
_BTU = 1055.056  # [J]
_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0  # [s]
_DEGF = 5 / 9  # a degree Fahrenheit, [K]

# A head is a length: a column of the fluid flowing there.
UNITS: dict[str, Unit] = {
    unit.name: unit
    for unit in (
        Unit("gpm", "flow", _GALLON / _MINUTE, "gpm", 1),
        Unit("L/s", "flow", _LITRE, "L/s", 3),
        Unit("L/min", "flow", _LITRE / _MINUTE, "L/min", 1),
        Unit("L/h", "flow", _LITRE / _HOUR, "L/h", 0),
        Unit("m3/h", "flow", 1 / _HOUR, "m³/h", 2),
        Unit("m3/s", "flow", 1.0, "m³/s", 6),
        Unit("gal", "volume", _GALLON, "gal", 1),
        Unit("L", "volume", _LITRE, "L", 1),
        Unit("m3", "volume", 1.0, "m³", 3),
        Unit("ft", "length", _FOOT, "ft", 1),
        Unit("in", "length", _INCH, "in", 2),
        Unit("m", "length", 1.0, "m", 2),
        Unit("cm", "length", 0.01, "cm", 1),
        Unit("mm", "length", 0.001, "mm", 1),
        Unit("ft2", "area", _FOOT**2, "ft²", 0),
        Unit("m2", "area", 1.0, "m²", 1),
        Unit("psi", "pressure", _POUND / _INCH**2, "psi", 1),
        Unit("kPa", "pressure", 1e3, "kPa", 1),
        Unit("Pa", "pressure", 1.0, "Pa", 0),
        Unit("bar", "pressure", 1e5, "bar", 2),
        Unit("ft_head", "head", _FOOT, "ft", 1),
        Unit("m_head", "head", 1.0, "m", 2),
        Unit("Btu/h", "power", _BTU / _HOUR, "Btu/h", 0),
        Unit("kBtu/h", "power", 1e3 * _BTU / _HOUR, "kBtu/h", 1),
        Unit("MBH", "power", 1e3 * _BTU / _HOUR, "MBH", 1),
        Unit("W", "power", 1.0, "W", 0),
        Unit("kW", "power", 1e3, "kW", 2),
        Unit("hp", "power", 550 * _FOOT * _POUND, "hp", 2),
        Unit("Btu/h/degF", "heat_per_kelvin", _BTU / _HOUR / _DEGF, "Btu/h/°F", 0),
        Unit("W/K", "heat_per_kelvin", 1.0, "W/K", 0),
        Unit("Btu/h/ft2", "flux", _BTU / _HOUR / _FOOT**2, "Btu/h/ft²", 1),
        Unit("W/m2", "flux", 1.0, "W/m²", 0),
        Unit("W/m/K", "conductivity", 1.0, "W/m/K", 3),
        Unit("Btu/h/ft/degF", "conductivity", _BTU / _HOUR / _FOOT / _DEGF, "Btu/h/ft/°F", 3),
        Unit("degF", "temperature", _DEGF, "°F", 0, 273.15 - 32 * _DEGF),
        Unit("degC", "temperature", 1.0, "°C", 1, 273.15),
        Unit("delta_degF", "temperature_difference", _DEGF, "°F", 1),
        Unit("delta_degC", "temperature_difference", 1.0, "°C", 1),
        Unit("K", "temperature_difference", 1.0, "K", 1),
        Unit("ft/s", "velocity", _FOOT, "ft/s", 1),
        Unit("m/s", "velocity", 1.0, "m/s", 2),
        Unit("mph", "velocity", 0.44704, "mph", 1),
        Unit("km/h", "velocity", 1e3 / _HOUR, "km/h", 1),
        Unit("s", "time", 1.0, "s", 0),
        Unit("min", "time", _MINUTE, "min", 1),
        Unit("h", "time", _HOUR, "h", 1),
        Unit("day", "time", _DAY, "days", 1),
        Unit("kg/m3", "density", 1.0, "kg/m³", 1),
        Unit("mPa*s", "viscosity", 0.001, "mPa·s", 2),
        Unit("Pa*s", "viscosity", 1.0, "Pa·s", 5),
        Unit("J/kg/K", "heat_capacity", 1.0, "J/kg/K", 0),
        Unit("kJ/kg/K", "heat_capacity", 1e3, "kJ/kg/K", 3),
        Unit("rpm", "rotation", math.tau / _MINUTE, "rpm", 0),
        Unit("A", "current", 1.0, "A", 1),
        Unit("V", "voltage", 1.0, "V", 0),
        Unit("kWh", "energy", 1e3 * _HOUR, "kWh", 1),
        Unit("Btu", "energy", _BTU, "Btu", 0),
        Unit("kBtu", "energy", 1e3 * _BTU, "kBtu", 1),
        Unit("MJ", "energy", 1e6, "MJ", 1),
        Unit("therm", "energy", 1e5 * _BTU, "therms", 1),
        Unit("percent", "percent", 0.01, "%", 0),
        Unit("Btu/degF", "heat_storage", _BTU / _DEGF, "Btu/°F", 0),
        Unit("kJ/K", "heat_storage", 1e3, "kJ/K", 0),
        Unit("MJ/K", "heat_storage", 1e6, "MJ/K", 2),
        Unit("kWh/K", "heat_storage", 1e3 * _HOUR, "kWh/K", 2),
        Unit("1/K", "expansion", 1.0, "1/K", 6),
        Unit("Btu/h/ft2/degF", "transmittance", _BTU / _HOUR / _FOOT**2 / _DEGF, "Btu/h/ft²/°F", 3),
        Unit("W/m2/K", "transmittance", 1.0, "W/m²/K", 3),
        Unit("ft2*h*degF/Btu", "resistance", _FOOT**2 * _HOUR * _DEGF / _BTU, "ft²·h·°F/Btu", 2),
        Unit("m2*K/W", "resistance", 1.0, "m²·K/W", 3),
        Unit("degF*day", "degree_days", _DEGF * _DAY, "°F·days", 0),
        Unit("K*day", "degree_days", _DAY, "K·days", 0),
        Unit("in/h", "snowfall", _INCH / _HOUR, "in/h", 2),
        Unit("mm/h", "snowfall", 0.001 / _HOUR, "mm/h", 1),
    )
}

MEASURES: dict[str, Measure] = {
    "flow": Measure("a flow", "8 gpm", "gpm", "L/s"),
    "volume": Measure("a volume", "40 gal", "gal", "L"),
    "length": Measure("a length", "3 ft", "ft", "m"),
    "area": Measure("an area", "120 ft2", "ft2", "m2"),
    "pressure": Measure("a pressure", "15 psi", "psi", "kPa"),
    "head": Measure("a head", "12 ft_head", "ft_head", "m_head"),
    "lift": Measure("a head or a pressure", "12 ft_head", "ft_head", "m_head"),
    "power": Measure("a power", "40 kBtu/h", "kBtu/h", "kW"),
    "heat_per_kelvin": Measure("heat per degree", "300 Btu/h/degF", "Btu/h/degF", "W/K"),
    "flux": Measure("heat per area", "25 Btu/h/ft2", "Btu/h/ft2", "W/m2"),
    "conductivity": Measure("a conductivity", "0.04 W/m/K", "Btu/h/ft/degF", "W/m/K"),
    "temperature": Measure("a temperature", "120 degF", "degF", "degC"),
    "temperature_difference": Measure("a difference of temperature", "20 delta_degF", "delta_degF", "K"),
    "velocity": Measure("a velocity", "4 ft/s", "ft/s", "m/s"),
    "time": Measure("a time", "10 min", "min", "min"),
    "density": Measure("a density", "998 kg/m3", "kg/m3", "kg/m3"),
    "viscosity": Measure("a viscosity", "1.0 mPa*s", "mPa*s", "mPa*s"),
    "heat_capacity": Measure("a heat capacity", "4182 J/kg/K", "kJ/kg/K", "kJ/kg/K"),
    "rotation": Measure("a speed of rotation", "2800 rpm", "rpm", "rpm"),
    "current": Measure("a current", "15 A", "A", "A"),
    "voltage": Measure("a voltage", "120 V", "V", "V"),
    "energy": Measure("an energy", "12 kWh", "kBtu", "kWh"),
    "percent": Measure("a share in percent", "80 percent", "percent", "percent"),
    "heat_storage": Measure("heat stored per degree", "2 MJ/K", "Btu/degF", "kJ/K"),
    "expansion": Measure("an expansion per degree", "2.1e-4 1/K", "1/K", "1/K"),
    "transmittance": Measure("heat per area and degree", "0.06 Btu/h/ft2/degF", "Btu/h/ft2/degF", "W/m2/K"),
    "resistance": Measure("a thermal resistance", "19 ft2*h*degF/Btu", "ft2*h*degF/Btu", "m2*K/W"),
    "degree_days": Measure("degree days", "6200 degF*day", "degF*day", "K*day"),
    "snowfall": Measure("a snowfall as water", "0.1 in/h", "in/h", "mm/h"),
}
