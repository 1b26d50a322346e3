"""Water, glycol mixtures and custom fluids: properties by temperature from tables, quick on arrays.

Every fluid is one table on a uniform grid of temperatures, with the cubic pieces worked out when the fluid is
made; a look-up is one index computation for all properties. Viscosity is kept as its logarithm, which a cubic
follows far better and which can never turn negative. Not here: steam, freezing as an event, air in water.

Glycol `fraction` counts the ingredients' volumes before mixing, 0.10 to 0.60. Water is taken at 2 bar
absolute. Beyond a table the properties go on smoothly, and the solver says so at the place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from core.errors import Refusal
from core.media.catalogue import nearest_word, read_rows
from core.media.cubic import Values, faded, pieces, spline_at, spline_slopes

ZERO_CELSIUS = 273.15  # [K]
FADE = 40.0  # [K] beyond a table the slope dies away over this range
PADDING = 60  # grid steps added on either side of a table; at their end the slope has long died
GLYCOLS = ("propylene_glycol", "ethylene_glycol")
KINDS = ("water", *GLYCOLS, "custom")
CUSTOM_LOW, CUSTOM_HIGH = 1.0, 2000.0  # [K]
WATER_LIKE_CONDUCTIVITY = 0.6  # [W/m/K]
PROPERTY_COLUMNS = ("density_kg_m3", "viscosity_Pa_s", "heat_capacity_J_kg_K", "conductivity_W_m_K")

# Densities at 60 degF (15.56 degC), [kg/m^3]: water IAPWS-97; propylene glycol the equation of state in
# CoolProp 8.0.0; ethylene glycol from memory (1113.5 at 20 degC, falling 0.70 per kelvin).
WATER_AT_60F = 999.02
PURE_AT_60F = {"propylene_glycol": 1039.7, "ethylene_glycol": 1116.6}

TOXIC = (
    "Ethylene glycol is toxic when swallowed, also to animals: never where it can reach potable water. "
    "The local code and a licensed trade decide whether it may be used and how it is kept apart."
)


@dataclass(frozen=True, eq=False)
class Fluid:
    """A liquid's properties by temperature.

    Attributes
    ----------
    name : str
        As shown, e.g. "35 % propylene glycol"
    kind : str
        One of KINDS
    fraction, mass_fraction : float
        Share of glycol by volume at 60 degF and by mass, 0..1; 0 for water and custom fluids, [-]
    low, high : float
        Range of the table (from freezing up), [K]; beyond it the values go on smoothly but are a guess
    freezing : float or None
        Temperature at which the first ice forms, [K]
    source, caution : str
        Where the table comes from; a caution to show beside results, or empty
    """

    name: str
    kind: str
    fraction: float
    mass_fraction: float
    low: float
    high: float
    freezing: float | None
    source: str
    start: float = field(repr=False)  # first node of the grid, [K]
    step: float = field(repr=False)  # [K]
    flow: Values = field(repr=False)  # (4 powers x 3: density, ln viscosity, heat capacity; intervals)
    conductive: Values = field(repr=False)  # (4 powers, intervals)
    caution: str = ""

    def properties(self, temperature: Values) -> tuple[Values, Values, Values]:
        """Density [kg/m^3], viscosity [Pa s] and heat capacity [J/kg/K] at temperatures [K], shape kept."""
        index, share = self._place(temperature)
        cubic = self.flow.take(index, axis=1).reshape(4, 3, *share.shape)
        value: Values = cubic[3] * share
        value += cubic[2]
        value *= share
        value += cubic[1]
        value *= share
        value += cubic[0]
        np.exp(value[1], out=value[1])
        return value[0], value[1], value[2]

    def _place(self, temperature: Values) -> tuple[NDArray[np.intp], Values]:
        """Interval and share of it, 0..1; temperatures beyond the padded grid stay at its ends."""
        place = (temperature - self.start) * (1.0 / self.step)
        place = np.minimum(np.maximum(place, 0.0), self.flow.shape[1] - 1e-9)
        index = place.astype(np.intp)
        return index, place - index

    @overload
    def density(self, temperature: float) -> float: ...
    @overload
    def density(self, temperature: Values) -> Values: ...
    def density(self, temperature: float | Values) -> float | Values:
        """Density [kg/m^3] at a temperature or temperatures [K]."""
        return self._one(0, temperature)

    @overload
    def viscosity(self, temperature: float) -> float: ...
    @overload
    def viscosity(self, temperature: Values) -> Values: ...
    def viscosity(self, temperature: float | Values) -> float | Values:
        """Dynamic viscosity [Pa s] at a temperature or temperatures [K]."""
        return self._one(1, temperature)

    @overload
    def heat_capacity(self, temperature: float) -> float: ...
    @overload
    def heat_capacity(self, temperature: Values) -> Values: ...
    def heat_capacity(self, temperature: float | Values) -> float | Values:
        """Heat capacity at constant pressure [J/kg/K] at a temperature or temperatures [K]."""
        return self._one(2, temperature)

    @overload
    def conductivity(self, temperature: float) -> float: ...
    @overload
    def conductivity(self, temperature: Values) -> Values: ...
    def conductivity(self, temperature: float | Values) -> float | Values:
        """Thermal conductivity [W/m/K] at a temperature or temperatures [K]."""
        index, share = self._place(np.asarray(temperature, dtype=np.float64))
        c = self.conductive.take(index, axis=1)
        value: Values = ((c[3] * share + c[2]) * share + c[1]) * share + c[0]
        return float(value) if np.ndim(temperature) == 0 else value

    def _one(self, which: int, temperature: float | Values) -> float | Values:
        if isinstance(temperature, (float, int)):
            return self._single(which, float(temperature))
        return self.properties(np.asarray(temperature, dtype=np.float64))[which]

    @cached_property
    def _cubics(self) -> list[list[list[float]]]:
        """Coefficients by property, interval and power, for single temperatures."""
        found: list[list[list[float]]] = self.flow.reshape(4, 3, -1).transpose(1, 2, 0).tolist()
        return found

    def _single(self, which: int, temperature: float) -> float:
        """As `properties`, without the cost of arrays."""
        cubics = self._cubics[which]
        place = (temperature - self.start) * (1.0 / self.step)
        place = min(max(place, 0.0), len(cubics) - 1e-9)
        index = int(place)
        share = place - index
        c0, c1, c2, c3 = cubics[index]
        value = ((c3 * share + c2) * share + c1) * share + c0
        return math.exp(value) if which == 1 else value


def fluid_of(spec: Mapping[str, Any]) -> Fluid:
    """The fluid that a system names; the same spec gives the same object.

    Parameters
    ----------
    spec : Mapping
        kind: water, propylene_glycol, ethylene_glycol or custom; for a glycol its fraction by volume at
        60 degF, 0..1, [-]; for a custom fluid density [kg/m^3], viscosity [Pa s], heat_capacity [J/kg/K],
        conductivity [W/m/K] (default 0.6) and, where it expands, expansion [1/K] and reference [K] (default
        20 degC)

    Raises
    ------
    Refusal
        Unknown kind, a fraction outside the table, a custom fluid without a value or with one not above zero
    """
    return _fluid_of(tuple(sorted((key, value) for key, value in spec.items() if value is not None)))


@lru_cache(maxsize=256)
def _fluid_of(items: tuple[tuple[str, Any], ...]) -> Fluid:
    spec = dict(items)
    kind = str(spec.get("kind", "water"))
    if kind == "water":
        return _water()
    if kind in GLYCOLS:
        return _glycol(kind, spec.get("fraction"))
    if kind == "custom":
        return _custom(spec)
    raise Refusal("fluid.kind", kind, f"one of {', '.join(KINDS)}", nearest_word(kind, KINDS))


def mass_fraction(kind: str, fraction: float) -> float:
    """Share of glycol by mass from its share of the ingredients' volumes at 60 degF, both 0..1, [-].

    Source: densities of the pure liquids, PURE_AT_60F and WATER_AT_60F.

    Examples
    --------
    >>> round(mass_fraction("propylene_glycol", 0.35), 3)
    0.359
    """
    glycol = fraction * PURE_AT_60F[kind]
    return glycol / (glycol + (1.0 - fraction) * WATER_AT_60F)


@lru_cache(maxsize=1)
def _water() -> Fluid:
    rows = read_rows("water.csv")
    low, high = (float(rows[i]["temperature_C"]) + ZERO_CELSIUS for i in (0, -1))
    values = np.array([[float(row[column]) for column in PROPERTY_COLUMNS] for row in rows])
    return _tabled(
        values,
        (low, high),
        name="water",
        kind="water",
        fraction=0.0,
        low=low,
        freezing=ZERO_CELSIUS,
        mass_fraction=0.0,
        source="IAPWS-97, IAPWS 2008 viscosity, IAPWS 2011 conductivity, at 2 bar",
    )


@dataclass(frozen=True, eq=False)
class _GlycolTable:
    fractions: Values  # by volume, uniform steps, [-]
    kelvins: Values  # uniform steps, [K]
    freezing: Values  # by fraction, [K]
    values: Values  # (fractions, temperatures, properties), viscosity as its logarithm


@lru_cache(maxsize=2)
def _glycol_table(kind: str) -> _GlycolTable:
    rows = read_rows(f"{kind}.csv")
    fractions = sorted({float(row["percent_by_volume"]) / 100.0 for row in rows})
    kelvins = sorted({float(row["temperature_C"]) + ZERO_CELSIUS for row in rows})
    values = np.array([[float(row[column]) for column in PROPERTY_COLUMNS] for row in rows])
    values = values.reshape(len(fractions), len(kelvins), len(PROPERTY_COLUMNS))
    values[..., 1] = np.log(values[..., 1])
    freezing = np.array([float(row["freezing_C"]) for row in rows[:: len(kelvins)]]) + ZERO_CELSIUS
    return _GlycolTable(np.array(fractions), np.array(kelvins), freezing, values)


def fraction_range(kind: str) -> tuple[float, float]:
    """Least and greatest fraction by volume in the table of a glycol, [-]."""
    fractions = _glycol_table(kind).fractions
    return float(fractions[0]), float(fractions[-1])


def _glycol(kind: str, fraction: object) -> Fluid:
    table = _glycol_table(kind)
    least, most = fraction_range(kind)
    number = isinstance(fraction, (int, float)) and not isinstance(fraction, bool)
    if not number or not least <= float(fraction) <= most:  # type: ignore[arg-type]
        found = "nothing" if fraction is None else str(fraction)
        raise Refusal(
            "fluid.fraction", found, f"a fraction by volume from {least:g} to {most:g} (range of the table)"
        )
    share = float(fraction)  # type: ignore[arg-type]
    place = (share - least) / float(table.fractions[1] - table.fractions[0])
    values = spline_at(table.values, place)
    values[:, 1] = np.exp(values[:, 1])
    freezing = float(spline_at(table.freezing, place))
    low, high = float(table.kelvins[0]), float(table.kelvins[-1])
    return _tabled(
        values,
        (low, high),
        name=f"{100.0 * share:.4g} % {kind.replace('_', ' ')}",
        kind=kind,
        fraction=share,
        low=max(low, freezing),
        freezing=freezing,
        mass_fraction=mass_fraction(kind, share),
        source="ASHRAE Fundamentals tables as fitted in CoolProp 8.0.0, by volume",
        caution=TOXIC if kind == "ethylene_glycol" else "",
    )


def _tabled(values: Values, span: tuple[float, float], **about: Any) -> Fluid:
    """A fluid from values at uniform temperatures; shape (temperatures, PROPERTY_COLUMNS)."""
    first, last = span
    step = (last - first) / (len(values) - 1)
    nodes = values.copy()
    nodes[:, 1] = np.log(nodes[:, 1])
    nodes, slopes = faded(nodes, spline_slopes(nodes), PADDING, FADE / step)
    cubics = pieces(nodes, slopes).transpose(0, 2, 1)  # powers, properties, intervals
    return Fluid(
        high=last,
        start=first - PADDING * step,
        step=step,
        flow=np.ascontiguousarray(cubics[:, :3].reshape(12, -1)),
        conductive=np.ascontiguousarray(cubics[:, 3]),
        **about,
    )


def _custom(spec: Mapping[str, Any]) -> Fluid:
    """A fluid of constants; density falls by `expansion` of itself per kelvin above `reference`."""
    wanted = ("density", "viscosity", "heat_capacity")
    density, viscosity, heat_capacity = (_above_zero(key, spec.get(key)) for key in wanted)
    conductivity = _above_zero("conductivity", spec.get("conductivity", WATER_LIKE_CONDUCTIVITY))
    expansion = float(spec.get("expansion", 0.0))
    reference = float(spec.get("reference", 20.0 + ZERO_CELSIUS))
    # Straight to a density of a twentieth, which no plant comes near; so nothing ever turns negative.
    reach = 0.95 / abs(expansion) if expansion else CUSTOM_HIGH
    low = max(CUSTOM_LOW, reference - reach) if expansion < 0.0 else CUSTOM_LOW
    high = min(CUSTOM_HIGH, reference + reach) if expansion > 0.0 else CUSTOM_HIGH
    coldest = density * (1.0 - expansion * (low - reference))
    hottest = density * (1.0 - expansion * (high - reference))
    flow = np.zeros((4, 3, 1))
    flow[0, :, 0] = coldest, np.log(viscosity), heat_capacity
    flow[1, 0, 0] = hottest - coldest
    conductive = np.zeros((4, 1))
    conductive[0] = conductivity
    return Fluid(
        name="custom fluid",
        kind="custom",
        fraction=0.0,
        low=low,
        high=high,
        freezing=None,
        mass_fraction=0.0,
        source="constants in the plant file",
        start=low,
        step=high - low,
        flow=flow.reshape(12, 1),
        conductive=conductive,
    )


def _above_zero(key: str, value: object) -> float:
    if isinstance(value, (int, float)) and 0.0 < value < float("inf"):
        return float(value)
    raise Refusal(f"fluid.{key}", "nothing" if value is None else str(value), "a value above zero")
