"""The plant as a document: frozen items, pipes, systems, cases and records, raw values as typed.

`.si` of each gives the same in SI floats with defaults put in. Not for judging whether a plant is
valid (`core.plant.validity`) nor for changing it (`core.plant.changes`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import Any, NamedTuple

from core import units, vocabulary
from core.vocabulary import KINDS, Kind, Trait, TubeValues
from core.vocabulary.readers import read_tube, to_si
from core.vocabulary.values import read_quantity

Raw = Mapping[str, Any]

STAGES = ("existing", "to_remove", "drawn", "bought", "dry_fitted", "joined", "tested")
NO_TUBE = TubeValues(0.0, 0.0, 0.0)
INSULATION_CONDUCTIVITY = 0.040


class PortRef(NamedTuple):
    """One port of one item."""

    item: str
    port: str


class InsulationValues(NamedTuple):
    """Insulation of a pipe: thickness [m], conductivity [W/m/K]."""

    thickness: float
    conductivity: float


class PipeValues(NamedTuple):
    """A pipe in SI: metres; `k_total` is fittings and k at its own bore, [-].

    `insulation` is InsulationValues, heat loss per length [W/m/K], or None; `around` [K] and
    `straight` [m] are None where nothing is said; `joined` pipes have no tube and no loss.
    """

    bore: float
    roughness: float
    outside: float
    length: float
    k_total: float
    insulation: InsulationValues | float | None
    around: float | None
    straight: float | None
    joined: bool


class SystemValues(NamedTuple):
    """Fluid as `core.media.fluids.fluid_of` takes it, and fill pressure [Pa gauge] or None."""

    fluid: Mapping[str, Any]
    fill_pressure: float | None


class CaseValues(NamedTuple):
    """Outdoor [K] or None, draws [m^3/s] by fixture, tanks [K] or {tap: K} by tank.

    `lasts` [s] is None for an end state; `start` [K] by room or tank.
    """

    outdoor: float | None
    draws: Mapping[str, float]
    tanks: Mapping[str, float | Mapping[str, float]]
    lasts: float | None
    start: Mapping[str, float]


class SiteValues(NamedTuple):
    """Outdoor design, cold water and indoor temperature [K], altitude [m].

    Of the snow to be melted, None where nothing is said: rate as water [m/s], air temperature and dew point
    meanwhile [K], wind at the surface [m/s].
    """

    outdoor_design: float
    cold_water: float
    indoor: float
    altitude: float
    snowfall: float | None = None
    snow_temperature: float | None = None
    snow_dew_point: float | None = None
    snow_wind: float | None = None


class _Plain:
    """Pickled without what was computed from it: another thread may just be adding to that."""

    def __getstate__(self) -> dict[str, Any]:
        return {each.name: getattr(self, each.name) for each in fields(self)}  # type: ignore[arg-type]


@dataclass(frozen=True)
class Item(_Plain):
    """A symbol with ports; `props` stand as typed."""

    id: str
    kind: str
    at: tuple[float, float]
    turn: int = 0
    flip: bool = False
    label: str = ""
    note: str = ""
    stage: str = "drawn"
    props: Raw = field(default_factory=dict)
    out_of_service: bool = False
    """True only in a plant as a case sees it (`core.plant.as_set`)."""

    @property
    def kind_info(self) -> Kind:
        """The entry of its kind in the vocabulary."""
        return KINDS[self.kind]

    def has(self, *traits: Trait) -> bool:
        """Whether any of some traits is true of its kind."""
        return not KINDS[self.kind].traits.isdisjoint(traits)

    @property
    def stays(self) -> bool:
        """Whether it is part of the plant as it will be: not marked to be removed."""
        return self.stage != "to_remove"

    @cached_property
    def si(self) -> Mapping[str, Any]:
        """Every property of the kind in SI, defaults put in; None where absent without default."""
        values = dict(_defaults(self.kind))
        properties = KINDS[self.kind].properties
        for name, raw in self.props.items():
            values[name] = to_si(properties[name], raw, f"props.{name}")
        if "taps" in values and values["taps"] is None:
            values["taps"] = {tap: share * values["tall"] for tap, share in vocabulary.DEFAULT_TAPS.items()}
        return values

    @cached_property
    def ports(self) -> tuple[str, ...]:
        """Ports of this item, in the order of the table."""
        return vocabulary.ports_of(self.kind, self.props)


_DEFAULTS: dict[str, dict[str, Any]] = {}


def _defaults(kind: str) -> Mapping[str, Any]:
    if kind not in _DEFAULTS:
        _DEFAULTS[kind] = {name: vocabulary.default_si(prop) for name, prop in KINDS[kind].properties.items()}
    return _DEFAULTS[kind]


@dataclass(frozen=True)
class Pipe(_Plain):
    """A pipe from port to port; flow is positive from `start` to `end`."""

    id: str
    start: PortRef
    end: PortRef
    system: str
    tube: Raw | None = None
    length: str | None = None
    fittings: Mapping[str, int] = field(default_factory=dict)
    k: float = 0.0
    joined: str = ""
    straight: str | None = None
    insulation: Raw | None = None
    around: str | None = None
    via: tuple[tuple[float, float], ...] = ()
    label: str = ""
    note: str = ""
    stage: str = "drawn"
    out_of_service: bool = False
    """True only in a plant as a case sees it (`core.plant.as_set`)."""

    @cached_property
    def si(self) -> PipeValues:
        """The pipe in SI; a joined one has neither length nor loss."""
        around = None if self.around is None else units.parse(self.around, "temperature")
        straight = None if self.straight is None else units.parse(self.straight, "length")
        if self.joined:
            tube = NO_TUBE if self.tube is None else read_tube(self.tube, "tube")
            return PipeValues(*tube, 0.0, 0.0, None, around, straight, True)
        from core.media.fittings import fitting_k

        tube = read_tube(self.tube, "tube")
        length = units.parse(self.length or "", "length")
        k_total = self.k + sum(count * fitting_k(name, tube.bore) for name, count in self.fittings.items())
        return PipeValues(*tube, length, k_total, self._insulated(), around, straight, False)

    def _insulated(self) -> InsulationValues | float | None:
        if self.insulation is None:
            return None
        if "loss" in self.insulation:
            return units.parse(self.insulation["loss"], "conductivity")
        given = self.insulation.get("conductivity")
        conductivity = INSULATION_CONDUCTIVITY if given is None else units.parse(given, "conductivity")
        return InsulationValues(units.parse(self.insulation["thickness"], "length"), conductivity)


FLUID_DIMENSIONS = {
    "density": "density",
    "viscosity": "viscosity",
    "heat_capacity": "heat_capacity",
    "conductivity": "conductivity",
    "reference": "temperature",
}


@dataclass(frozen=True)
class System(_Plain):
    """One wetted body's use and fluid."""

    name: str
    use: str = "closed"
    fluid: Raw = field(default_factory=lambda: {"kind": "water"})
    fill_pressure: str | None = None

    @cached_property
    def si(self) -> SystemValues:
        """Fluid and fill pressure in SI."""
        fluid = {
            key: read_quantity(raw, FLUID_DIMENSIONS[key], f"fluid.{key}") if key in FLUID_DIMENSIONS else raw
            for key, raw in self.fluid.items()
        }
        if isinstance(fluid.get("expansion"), str):
            fluid["expansion"] = units.parse(fluid["expansion"], "expansion")
        fill = None if self.fill_pressure is None else units.parse(self.fill_pressure, "pressure")
        return SystemValues(fluid, fill)


@dataclass(frozen=True)
class Case(_Plain):
    """One set of calls and weather; None where the file says nothing."""

    name: str
    outdoor: str | None = None
    signals: Mapping[str, bool] = field(default_factory=dict)
    draws: Mapping[str, str] = field(default_factory=dict)
    tanks: Mapping[str, Any] = field(default_factory=dict)
    season: str = ""
    hours_per_year: float | None = None
    note: str = ""
    set: Mapping[str, Raw] = field(default_factory=dict)
    lasts: str | None = None
    start: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def si(self) -> CaseValues:
        """The case in SI."""

        def temperature(raw: Any) -> float | Mapping[str, float]:
            if isinstance(raw, Mapping):
                return {tap: units.parse(one, "temperature") for tap, one in raw.items()}
            return units.parse(raw, "temperature")

        return CaseValues(
            None if self.outdoor is None else units.parse(self.outdoor, "temperature"),
            {name: units.parse(raw, "flow") for name, raw in self.draws.items()},
            {name: temperature(raw) for name, raw in self.tanks.items()},
            None if self.lasts is None else units.parse(self.lasts, "time"),
            {name: units.parse(raw, "temperature") for name, raw in self.start.items()},
        )


SITE_DEFAULTS = {
    "outdoor_design": "-10 degC",
    "cold_water": "10 degC",
    "indoor": "20 degC",
    "altitude": "0 m",
}


# What may be said of the site besides: its dimension, least and greatest value.
SITE_SNOW = {
    "snowfall": ("snowfall", "0 in/h", "2 in/h"),
    "snow_temperature": ("temperature", "-40 degC", "5 degC"),
    "snow_dew_point": ("temperature", "-50 degC", "5 degC"),
    "snow_wind": ("velocity", "0 mph", "120 mph"),
}


@dataclass(frozen=True)
class Plant(_Plain):
    """The whole document. Mappings keep the order of the file and are never mutated."""

    title: str = ""
    units: str = "us"
    site: Raw = field(default_factory=dict)
    systems: Mapping[str, System] = field(default_factory=dict)
    items: Mapping[str, Item] = field(default_factory=dict)
    pipes: Mapping[str, Pipe] = field(default_factory=dict)
    cases: tuple[Case, ...] = ()
    curves: tuple[Raw, ...] = ()
    texts: tuple[Raw, ...] = ()
    logbook: tuple[Raw, ...] = ()
    readings: tuple[Raw, ...] = ()
    accepted: tuple[Raw, ...] = ()
    version: int = 2
    revision: str = ""
    sheet: Raw = field(default_factory=dict)
    profiles: Raw = field(default_factory=dict)
    runs: tuple[Raw, ...] = ()

    @cached_property
    def site_si(self) -> SiteValues:
        """Site in SI, defaults put in."""
        given = {**SITE_DEFAULTS, **self.site}
        return SiteValues(
            units.parse(given["outdoor_design"], "temperature"),
            units.parse(given["cold_water"], "temperature"),
            units.parse(given["indoor"], "temperature"),
            units.parse(given["altitude"], "length"),
            **{key: units.parse(given[key], SITE_SNOW[key][0]) for key in SITE_SNOW if key in given},
        )

    def with_trait(self, *traits: Trait) -> list[Item]:
        """Items of which any of some traits is true, without those marked to be removed."""
        return [item for item in self.items.values() if item.stays and item.has(*traits)]

    @cached_property
    def signal_ids(self) -> tuple[str, ...]:
        """Ids of the items that are signals."""
        return tuple(item.id for item in self.items.values() if item.has(Trait.SIGNALS))

    @cached_property
    def solve_cases(self) -> tuple[Case, ...]:
        """Cases of the plant; without any, one named "design" with every signal true."""
        if self.cases:
            return self.cases
        return (Case("design", self.site.get("outdoor_design"), dict.fromkeys(self.signal_ids, True)),)

    @cached_property
    def as_set(self) -> dict[int, tuple[Mapping[str, Raw], Plant]]:
        """Kept by `core.plant.as_set`: what a case sets, by identity, and the plant as that case sees it."""
        return {}

    @cached_property
    def pipes_at(self) -> Mapping[PortRef, tuple[str, ...]]:
        """Ids of the pipes on each port that has any."""
        found: dict[PortRef, list[str]] = {}
        for pipe in self.pipes.values():
            found.setdefault(pipe.start, []).append(pipe.id)
            if pipe.end != pipe.start:
                found.setdefault(pipe.end, []).append(pipe.id)
        return {port: tuple(pipes) for port, pipes in found.items()}
