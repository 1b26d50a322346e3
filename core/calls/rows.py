"""One combination of calls in figures: what runs, what circuits get, what sources and exchangers carry."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from core.calls.called import Reach
from core.calls.power import electric_power
from core.calls.receptacles import Fed, OutletLoad, outlet_loads
from core.controls.expressions import runs
from core.figures import (
    EmitterFigures,
    ExchangerFigures,
    PumpFigures,
    RoomFigures,
    SourceFigures,
    TankFigures,
)
from core.plant.as_set import plant_for
from core.plant.model import Case, Item, Plant
from core.plant.rated_point import rated_point
from core.plant.rated_rules import fluid_at
from core.solve import Solution
from core.vocabulary import Trait
from core.working import Working

RUN = (Trait.DRIVES, Trait.OPENS_BY_SIGNAL, Trait.MAKES_HEAT)
SAME = 1e-4  # share by which solutions of one state may differ
SHORT_SHARE = 0.005  # of what was wanted: below this a circuit counts as met


@dataclass(frozen=True)
class Circuit:
    """What a circuit gets: flow [m^3/s], heat [W]. Nothing is wanted of one that no call runs."""

    at: str
    called: bool
    flow: float
    wanted: float
    delivered: float
    short: float

    @property
    def is_short(self) -> bool:
        """Whether it misses more than half a percent of what it wants."""
        return self.called and self.short > SHORT_SHARE * max(self.wanted, 1.0)


@dataclass(frozen=True)
class Load:
    """What a source or an exchanger carries, [W].

    `capacity` is None where the plant file states none; `possible` is what an exchanger could pass at most
    with these flows and inlets (None for sources); `short` what a source lacks to hold its set point.
    """

    at: str
    running: bool
    duty: float
    capacity: float | None
    possible: float | None = None
    short: float = 0.0

    @property
    def share(self) -> float | None:
        """Duty over capacity, or over what could be passed, [-]."""
        most = self.capacity if self.capacity else self.possible
        return self.duty / most if most else None


@dataclass(frozen=True)
class Moved:
    """What a circulator does: flow [m^3/s], head [m], share of full speed, electric power [W] or None."""

    at: str
    running: bool
    flow: float
    head: float
    speed: float
    power: Working | None


@dataclass(frozen=True)
class CallRow:
    """One combination of calls, solved.

    Attributes
    ----------
    case : Case
    on : tuple of str
        Calls that are on, in the order of the sheet
    solution : Solution
    runs : dict
        Equipment by id: whether its signals let it run
    circuits, sources, exchangers, circulators : dict by id
    tanks : dict
        Heat taken up by each tank, [W], its element included
    duty_shares : dict
        Share of the time for which a stat calls to hold a room (the solver's) or a tank (see `duty`)
    outlets : tuple of OutletLoad
    """

    case: Case
    on: tuple[str, ...]
    solution: Solution
    runs: Mapping[str, bool]
    circuits: Mapping[str, Circuit]
    sources: Mapping[str, Load]
    exchangers: Mapping[str, Load]
    circulators: Mapping[str, Moved]
    tanks: Mapping[str, float]
    outlets: tuple[OutletLoad, ...]
    duty_shares: Mapping[str, float] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Calls joined by ' + ', or 'none'."""
        return self.case.name

    @property
    def wanted(self) -> float:
        """Heat wanted by the circuits that are called, [W]."""
        return sum(c.wanted for c in self.circuits.values() if c.called)

    @property
    def delivered(self) -> float:
        """Heat given by the circuits that are called, [W]."""
        return sum(c.delivered for c in self.circuits.values() if c.called)

    @property
    def short(self) -> float:
        """What called circuits lack, [W]; circuits that miss less than half a percent count as met."""
        return sum(c.short for c in self.circuits.values() if c.is_short)

    @property
    def heat(self) -> float:
        """Heat that all sources give, [W]."""
        return sum(load.duty for load in self.sources.values())

    @property
    def power(self) -> float:
        """Electric power of the circulators whose watts are known, [W]."""
        return sum(float(m.power.value) for m in self.circulators.values() if m.power is not None)

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "case": self.name,
            "calls": list(self.on),
            "converged": self.solution.converged,
            "runs": dict(self.runs),
            "heat_w": self.heat,
            "wanted_w": self.wanted,
            "delivered_w": self.delivered,
            "short_w": self.short,
            "circuits": {
                k: {
                    "called": c.called,
                    "flow_m3_s": c.flow,
                    "wanted_w": c.wanted,
                    "delivered_w": c.delivered,
                    "short_w": c.short,
                }
                for k, c in self.circuits.items()
            },
            "sources": {k: _load_data(load) for k, load in self.sources.items()},
            "exchangers": {k: _load_data(load) for k, load in self.exchangers.items()},
            "circulators": {
                k: {
                    "running": m.running,
                    "flow_m3_s": m.flow,
                    "head_m": m.head,
                    "speed": m.speed,
                    "power_w": None if m.power is None else m.power.value,
                }
                for k, m in self.circulators.items()
            },
            "tanks": {k: {"duty_w": w} for k, w in self.tanks.items()},
            "duty_shares": dict(self.duty_shares),
            "outlets": {o.at: o.as_data() for o in self.outlets},
            "notes": [note.as_data() for note in self.solution.notes],
        }


def _load_data(load: Load) -> dict[str, Any]:
    data: dict[str, Any] = {"running": load.running, "duty_w": load.duty, "capacity_w": load.capacity}
    if load.possible is not None:
        data["possible_w"] = load.possible
    else:
        data["short_w"] = load.short
    return {**data, "share": load.share}


def call_row(
    plant: Plant,
    case: Case,
    solution: Solution,
    calls: tuple[str, ...],
    reach: Reach | None = None,
    fed: Fed | None = None,
) -> CallRow:
    """The figures of one solved combination.

    Parameters
    ----------
    plant : Plant
    case : Case
    solution : Solution
        Of that case
    calls : tuple of str
        All calls of the sheet
    reach : Reach or None
        Which circuits a running circulator reaches; made where None
    fed : dict or None
        What each outlet feeds; made where None
    """
    reach = reach if reach is not None else Reach(plant)
    plant = plant_for(plant, case)
    items = {key: item for key, item in plant.items.items() if item.stage != "to_remove"}
    on = solution.signals
    run = {key: runs(item.si, on) for key, item in items.items() if item.has(*RUN)}
    flowing = {key for key, found in solution.items.items() if abs(found.flow or 0.0) > 1e-8}
    called = reach.called(run, flowing)
    return CallRow(
        case,
        tuple(name for name in calls if on.get(name)),
        solution,
        run,
        {key: _circuit(key, f, key in called) for key, f in solution.of(EmitterFigures).items()},
        {key: _source(items[key], f) for key, f in solution.of(SourceFigures).items()},
        {key: _exchanger(plant, items[key], f) for key, f in solution.of(ExchangerFigures).items()},
        {key: _moved(items[key], f) for key, f in solution.of(PumpFigures).items()},
        {key: f.duty_w for key, f in solution.of(TankFigures).items()},
        outlet_loads(plant, solution, fed),
        {key: f.duty_share for key, f in solution.of(RoomFigures).items()},
    )


def equal(one: CallRow, other: CallRow) -> bool:
    """Whether two combinations run the same and come to the same figures, within the solver's own error."""
    if one.runs != other.runs or one.solution.converged != other.solution.converged:
        return False
    pairs = zip(_compared(one), _compared(other), strict=True)
    return all(abs(a - b) <= SAME * max(abs(a), abs(b)) + floor for (a, floor), (b, _) in pairs)


def _compared(row: CallRow) -> Iterator[tuple[float, float]]:
    """Figures by which rows are told apart, each with the difference that says nothing."""
    for c in row.circuits.values():
        yield from ((c.flow, 1e-9), (c.wanted, 0.1), (c.delivered, 0.1), (c.short, 0.1))
    for load in (*row.sources.values(), *row.exchangers.values()):
        yield load.duty, 0.1
    for moved in row.circulators.values():
        yield from ((moved.flow, 1e-9), (moved.head, 1e-4))
    yield from ((heat, 0.1) for heat in row.tanks.values())
    yield from ((share, 1e-4) for share in row.duty_shares.values())
    yield from ((float(outlet.amps.value), 1e-6) for outlet in row.outlets)


def _circuit(key: str, f: EmitterFigures, called: bool) -> Circuit:
    wanted, short = (f.wanted_w, f.short_w) if called else (0.0, 0.0)
    return Circuit(key, called, abs(f.flow_m3_s), wanted, f.delivered_w, short)


def _source(item: Item, f: SourceFigures) -> Load:
    stated = item.si.get("capacity")
    capacity = float(stated) if stated else None
    if capacity is None and f.short_w > 0.0:
        capacity = f.duty_w  # what it gives at its limit
    return Load(item.id, f.running, f.duty_w, capacity, None, f.short_w)


def _exchanger(plant: Plant, item: Item, f: ExchangerFigures) -> Load:
    """An exchanger has no capacity but a rated point; its effectiveness tells what it could pass at most."""
    rated = item.si.get("rated")
    capacity = None
    if rated:
        fluids = [fluid_at(plant, item.id, f"{side}_in", f"{side}_out") for side in "ab"]
        capacity = abs(rated_point(rated, fluids).duty)
    possible = f.duty_w / f.effectiveness if f.effectiveness > 0.0 else 0.0
    return Load(item.id, f.duty_w > 0.0, f.duty_w, capacity, possible)


def _moved(item: Item, f: PumpFigures) -> Moved:
    return Moved(item.id, f.running, f.flow_m3_s, f.head_m, f.speed, electric_power(item, f))
