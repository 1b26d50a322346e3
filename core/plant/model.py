"""The plant as a document: frozen items, pipes, systems, cases and records, raw values as typed.

`.si` of each gives the same in SI floats with defaults put in. Not for judging whether a plant is
valid (`core.plant.validity`) nor for changing it (`core.plant.changes`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any, NamedTuple

from core import vocabulary
from core.vocabulary import KINDS, Kind, Property, Trait, TubeValues
from core.vocabulary.document import CASE, PIPE, SITE, SYSTEM
from core.vocabulary.readers import default_si, read_tube, to_si
from core.vocabulary.words import InsulationValues

Raw = Mapping[str, Any]

NO_TUBE = TubeValues(0.0, 0.0, 0.0)


class PortRef(NamedTuple):
    """One port of one item."""

    item: str
    port: str


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


class Overrides(NamedTuple):
    """Figures in SI in the place of what is typed: of cases made by arithmetic, never of a file.

    The first five are those of `CaseValues`; `parts` are properties by item [SI] as `Item.si` has them, and
    `out_of_service` of any item or pipe. What is None stays as it is typed.
    """

    outdoor: float | None = None
    draws: Mapping[str, float] | None = None
    tanks: Mapping[str, float | Mapping[str, float]] | None = None
    lasts: float | None = None
    start: Mapping[str, float] | None = None
    parts: Mapping[str, Mapping[str, Any]] | None = None


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


def _si(table: Mapping[str, Property], of: object, name: str) -> Any:
    """A value of a pipe, system or case in SI; None where nothing is said."""
    raw = getattr(of, name)
    return None if raw is None else to_si(table[name], raw, name)


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
    over: Mapping[str, Any] = field(default_factory=dict)
    """Properties in SI in the place of what is typed: of plants made by arithmetic, never of a file."""

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
            if name not in self.over:
                values[name] = to_si(properties[name], raw, f"props.{name}")
        values |= self.over
        if "taps" in values and values["taps"] is None:
            values["taps"] = {tap: share * values["tall"] for tap, share in vocabulary.DEFAULT_TAPS.items()}
        return values

    def with_si(self, **values: Any) -> Item:
        """The item with some properties in SI, as of `si`, in the place of those typed."""
        return replace(self, over={**self.over, **values})

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
        around, straight = _si(PIPE, self, "around"), _si(PIPE, self, "straight")
        if self.joined:
            tube = NO_TUBE if self.tube is None else read_tube(self.tube, "tube")
            return PipeValues(*tube, 0.0, 0.0, None, around, straight, True)
        from core.media.fittings import fitting_k

        tube = read_tube(self.tube, "tube")
        length = to_si(PIPE["length"], self.length, "length")
        k_total = self.k + sum(count * fitting_k(name, tube.bore) for name, count in self.fittings.items())
        return PipeValues(*tube, length, k_total, _si(PIPE, self, "insulation"), around, straight, False)


@dataclass(frozen=True)
class System(_Plain):
    """One wetted body's use and fluid."""

    name: str
    use: str = "closed"
    fluid: Raw = field(default_factory=lambda: {"kind": "water"})
    fill_pressure: str | None = None
    still_ok_days: float | None = None

    @cached_property
    def si(self) -> SystemValues:
        """Fluid and fill pressure in SI."""
        return SystemValues(_si(SYSTEM, self, "fluid"), _si(SYSTEM, self, "fill_pressure"))


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
    over: Overrides = field(default_factory=Overrides)

    @cached_property
    def si(self) -> CaseValues:
        """The case in SI."""
        given = {name: getattr(self.over, name) for name in CaseValues._fields}
        return CaseValues(**{k: _si(CASE, self, k) if v is None else v for k, v in given.items()})

    def with_si(self, figures: Overrides) -> Case:
        """The case with figures in SI in the place of those typed, and of those of the same name before."""
        given = {name: value for name, value in figures._asdict().items() if value is not None}
        return replace(self, over=self.over._replace(**given))


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
    remarks: tuple[Raw, ...] = ()
    version: int = 2
    revision: str = ""
    sheet: Raw = field(default_factory=dict)
    profiles: Raw = field(default_factory=dict)
    runs: tuple[Raw, ...] = ()

    @cached_property
    def site_si(self) -> SiteValues:
        """Site in SI, defaults put in."""
        values: dict[str, Any] = {name: default_si(prop) for name, prop in SITE.items()}
        values |= {name: to_si(SITE[name], raw, f"site.{name}") for name, raw in self.site.items()}
        return SiteValues(**values)

    def with_trait(self, *traits: Trait) -> list[Item]:
        """Items of which any of some traits is true, without those marked to be removed."""
        if len(traits) == 1:
            return list(self._staying_with.get(traits[0], ()))
        with_any = {item.id for trait in traits for item in self._staying_with.get(trait, ())}
        return [item for item in self.items.values() if item.id in with_any]

    @cached_property
    def _staying_with(self) -> Mapping[Trait, tuple[Item, ...]]:
        """Items that stay, by each trait of their kinds."""
        found: dict[Trait, list[Item]] = {}
        for item in self.items.values():
            for trait in item.kind_info.traits if item.stays else ():
                found.setdefault(trait, []).append(item)
        return {trait: tuple(items) for trait, items in found.items()}

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
    def as_set(self) -> dict[tuple[int, int], tuple[object, Plant]]:
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
