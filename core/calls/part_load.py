"""One circuit as its load falls from design to nothing: flow, speed, supply, return, rooms; who short-cycles.

The weather is moved from the case's outdoor temperature to indoors, and typed loads fall by the same share;
the plant is solved at each step, with the calls of the design case.

Weather moves to indoors and typed loads with it (snow melting excepted), calls as in the design case. What
lies behind exchangers counts with the circuit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from core.controls.expressions import runs
from core.controls.signals import Signals
from core.figures import EmitterFigures, PumpFigures, RoomFigures
from core.plant.as_set import plant_for
from core.plant.model import Case, Item, Overrides, Plant
from core.solve import Solution, Solver
from core.solve.sensing import Look, circuit_of, place_at
from core.solve.settle import Settled
from core.thermal.flowing import STILL
from core.vocabulary import Trait, signal_names
from core.water.numbers import reached

SHARES = tuple(k / 10 for k in range(10, -1, -1))
AT_LEAST = 1e-3  # share by which a speed may exceed the least one and still count as it
HALVINGS = 8
ZERO = 273.15
KeepOn = Callable[[], bool] | None


@dataclass(frozen=True)
class LoadPoint:
    """The circuit at one share of its design load.

    Attributes
    ----------
    share, speed : float
        Of the design load, of full speed, [-]
    outdoor, supply, back : float
        Temperatures, [K]; supply and return where the circulator feels them, else the warmest and the
        coldest water of its circuit
    flow : float
        [m^3/s]
    wanted, delivered : float
        Heat of the circuits behind it, [W]
    called : float or None
        Share of the time its circuits are called where they give more than is wanted, [-]
    rooms : dict
        Temperature of the rooms they serve, [K]
    converged : bool
    """

    share: float
    outdoor: float
    flow: float
    speed: float
    supply: float
    back: float
    wanted: float
    delivered: float
    called: float | None
    rooms: Mapping[str, float]
    converged: bool

    @property
    def difference(self) -> float:
        """Supply less return, [K]."""
        return self.supply - self.back

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "share": self.share,
            "outdoor_c": self.outdoor - ZERO,
            "flow_m3_s": self.flow,
            "speed": self.speed,
            "supply_c": self.supply - ZERO,
            "return_c": self.back - ZERO,
            "wanted_w": self.wanted,
            "delivered_w": self.delivered,
            "called_share": self.called,
            "rooms_c": {key: t - ZERO for key, t in self.rooms.items()},
            "converged": self.converged,
        }


@dataclass(frozen=True)
class ShortCycle:
    """A stat whose band is narrower than the temperatures its own circuit brings past it, [K]."""

    at: str
    differential: float
    difference: float
    share: float

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at,
            "differential_k": self.differential,
            "difference_k": self.difference,
            "share": self.share,
        }


@dataclass(frozen=True)
class PartLoad:
    """A circuit from design load to none.

    Attributes
    ----------
    circulator, case : str
    control : str
    points : tuple of LoadPoint
        From the design load down
    least_speed : float
        [-]
    least_from : float or None
        Share of the load at and below which a circulator held by temperature runs at its least speed
    short_cycles : tuple of ShortCycle
    circuits : tuple of str
        Emitters on its circuit
    """

    circulator: str
    case: str
    control: str
    points: tuple[LoadPoint, ...]
    least_speed: float
    least_from: float | None
    short_cycles: tuple[ShortCycle, ...]
    circuits: tuple[str, ...] = field(default=())

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "circulator": self.circulator,
            "case": self.case,
            "control": self.control,
            "points": [point.as_data() for point in self.points],
            "least_speed": self.least_speed,
            "least_speed_from_share": self.least_from,
            "short_cycles": [each.as_data() for each in self.short_cycles],
            "circuits": list(self.circuits),
        }


def part_load(
    plant: Plant,
    circulator: str,
    case: Case | None = None,
    shares: Sequence[float] = SHARES,
    keep_on: KeepOn = None,
) -> PartLoad:
    """Solve one circulator's circuit from design load down.

    Parameters
    ----------
    plant : Plant
    circulator : str
        Id of a circulator
    case : Case or None
        Design; where None the first in which it runs, else the first with its signals on
    shares : sequence of float
        Shares of the design load, falling
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    """
    case = _design(plant, circulator) if case is None else case
    plant, case = plant_for(plant, case), replace(case, set={}, lasts=None, start={})
    sweep = _Sweep(plant, circulator, case, keep_on)
    points = tuple(sweep.at(share) for share in shares)
    item = plant.items[circulator]
    least = float(item.si.get("min_speed") or 0.2)
    held = item.si.get("control") == "delta_t" and item.si.get("target") is not None
    return PartLoad(
        circulator,
        case.name,
        str(item.si.get("control") or "fixed"),
        points,
        least,
        sweep.least_from(points, least) if held else None,
        tuple(_short_cycles(plant, circulator, sweep.touched, points)),
        tuple(
            key
            for key in sorted(sweep.touched | sweep.behind)
            if key in plant.items and _is_circuit(plant.items[key])
        ),
    )


def _is_circuit(item: Item) -> bool:
    return item.has(Trait.GIVES_HEAT)


def _design(plant: Plant, circulator: str) -> Case:
    """The coldest case in which a circulator may run; else the first one, its signals on."""
    item, signals = plant.items[circulator], Signals(plant)
    calling = {key: True for key, each in signals.items.items() if each.has(Trait.STAT)}
    for case in sorted(plant.solve_cases, key=lambda case: _outdoor(plant, case)):
        if runs(item.si, signals.states(case, calling).on):
            return replace(case, signals=signals.states(case, calling).on)
    first = plant.solve_cases[0]
    names = {*signal_names(item.props.get("run_when")), *signal_names(item.props.get("powered_by"))}
    return replace(first, signals={**first.signals, **dict.fromkeys(sorted(names), True)})


def _outdoor(plant: Plant, case: Case) -> float:
    outdoor = case.si.outdoor
    return plant.site_si.outdoor_design if outdoor is None else outdoor


class _Sweep:
    """Solves the plant at shares of the load, each by itself."""

    def __init__(self, plant: Plant, circulator: str, case: Case, keep_on: KeepOn) -> None:
        self.plant, self.circulator, self.case, self.keep_on = plant, circulator, case, keep_on
        self.touched: set[str] = set()  # items and pipes on the circuit, at any load
        self.behind: set[str] = set()  # those its heat reaches through exchangers

    def at(self, share: float) -> LoadPoint:
        """The circuit at one share of the design load."""
        indoor = self.plant.site_si.indoor
        outdoor = indoor - share * (indoor - _outdoor(self.plant, self.case))
        plant = _with_loads(self.plant, share)
        case = self.case.with_si(Overrides(outdoor=outdoor))
        solver = Solver(plant)
        solution = solver.solve(case, self.keep_on)
        settled = solver.last
        assert settled is not None
        e = solver.net.of_item[self.circulator][0]
        moving = circuit_of(solver.net, e)(settled.balance.w)
        keys = {solver.net.elements[int(i)].key for i in moving}
        self.touched |= keys
        behind = _behind(settled, keys)
        self.behind |= behind
        figures = solution.role(self.circulator, PumpFigures)
        warm, cold = self._ends(solver, settled, moving)
        wanted, delivered, called, rooms = _heat(plant, solution, keys | behind)
        return LoadPoint(
            share,
            outdoor,
            figures.flow_m3_s,
            figures.speed,
            warm,
            cold,
            wanted,
            delivered,
            called,
            rooms,
            solution.converged,
        )

    def _ends(self, solver: Solver, settled: Settled, moving: npt.NDArray[np.intp]) -> tuple[float, float]:
        """Supply and return, [K]: where the circulator feels them, else the circuit's warmest and coldest."""
        thermal = settled.thermal
        senses = self.plant.items[self.circulator].si.get("senses")
        if senses and len(moving):
            look = Look(settled.balance.w, thermal.t_in, thermal.t_out, settled.rho, settled.node)
            warm, cold = (place_at(solver.net, place).temperature(look) for place in senses)
            return warm, cold
        t = [*thermal.t_in[moving].tolist(), *thermal.t_out[moving].tolist()]
        indoor = self.plant.site_si.indoor
        return (max(t), min(t)) if t else (indoor, indoor)

    def least_from(self, points: Sequence[LoadPoint], least: float) -> float | None:
        """The share of the load at which the least speed is reached, by halving; None where it never is."""
        low = [p.share for p in points if p.speed <= least * (1.0 + AT_LEAST)]
        high = [p.share for p in points if p.speed > least * (1.0 + AT_LEAST)]
        if not low:
            return None
        below = max(low)
        above = min((share for share in high if share > below), default=None)
        if above is None:
            return below
        for _ in range(HALVINGS):
            middle = 0.5 * (below + above)
            if self.at(middle).speed <= least * (1.0 + AT_LEAST):
                below = middle
            else:
                above = middle
        return 0.5 * (below + above)


def _behind(settled: Settled, keys: set[str]) -> set[str]:
    """Items and pipes that a circuit's heat reaches through exchangers and separators, one after another.

    On the far side of each are the ways from its outlet back to its inlet.
    """
    net, thermal, w = settled.net, settled.thermal, settled.balance.w

    def beyond(key: str) -> Iterator[str]:
        plates, ends = settled.roles.exchangers.get(key), {e.part: e for e in net.standing.get(key, ())}
        sides = [] if plates is None else [(plates.a, plates.a), (plates.b, plates.b)]
        sides += [(ends[f"{side}_in"], ends[f"{side}_out"]) for side in ("a", "b") if f"{side}_in" in ends]
        for into, out in sides:
            taken = float(thermal.t_out[out.index] - thermal.t_in[into.index])
            if abs(float(w[out.index])) > STILL and taken > 0.0:  # neither still nor the side that gives
                yield from (net.elements[int(k)].key for k in circuit_of(net, out)(w))

    return set(reached(keys, beyond)) - keys


def _with_loads(plant: Plant, share: float) -> Plant:
    """The plant with its typed loads at a share; what melts snow keeps its own."""
    items = dict(plant.items)
    for key, item in plant.items.items():
        load = item.si.get("load") if item.has(Trait.GIVES_HEAT) and not item.has(Trait.MELTS_SNOW) else None
        if load is not None:
            items[key] = item.with_si(load=share * float(load))
    return replace(plant, items=items)


def _heat(
    plant: Plant, solution: Solution, keys: set[str]
) -> tuple[float, float, float | None, dict[str, float]]:
    """Heat wanted and delivered by the circuits among some ids, how long they are called, their rooms."""
    wanted = delivered = 0.0
    rooms: dict[str, float] = {}
    shares = []
    for key in keys:
        figures = solution.at(key, EmitterFigures)
        if figures is None:
            continue
        wanted += figures.wanted_w
        delivered += figures.delivered_w
        serves = str(plant.items[key].si.get("serves") or "")
        if (room := solution.at(serves, RoomFigures)) is not None:
            rooms[serves] = room.temperature_c + ZERO
            shares.append(room.duty_share)
    if shares:
        return wanted, delivered, max(shares), rooms
    called = wanted / delivered if delivered > wanted * (1.0 + 1e-6) else None
    return wanted, delivered, called, rooms


def _short_cycles(
    plant: Plant, circulator: str, touched: set[str], points: Sequence[LoadPoint]
) -> list[ShortCycle]:
    """Stats that feel the circuit's water and boilers on it, where their band is narrower than it differs.

    When the circulator starts or stops, the place they feel goes from return to supply temperature or back:
    with a band narrower than that they break what they made at once.
    """
    moving = [p for p in points if p.flow > 1e-8]
    if not moving:
        return []
    widest = max(moving, key=lambda p: p.difference)
    out = []
    for item in plant.items.values():
        differential = item.si.get("differential")
        if differential is None or item.stage == "to_remove":
            continue
        if item.has(Trait.STAT):
            senses = item.si.get("senses")
            name = str(senses[0]) if senses else ""
            place = plant.items.get(name) or plant.pipes.get(name)
            # Stored water does not swing with the circuit.
            stores = isinstance(place, Item) and place.has(Trait.STORES_HEAT)
            felt = place is not None and place.id in touched and not stores
            acts = item.id in _stats_of(plant, circulator) and _comes_past(item, moving)
        else:
            felt = acts = item.has(Trait.KEEPS_OWN_WATER_HOT) and item.id in touched
        if felt and acts and float(differential) < widest.difference:
            out.append(ShortCycle(item.id, float(differential), widest.difference, widest.share))
    return out


def _comes_past(stat: Item, points: Sequence[LoadPoint]) -> bool:
    """Whether the circuit's water comes to where a stat acts: a frost stat's set point lies below it all."""
    set_at = stat.si.get("set_temperature")
    band = float(stat.si.get("differential", 0.0))
    return not isinstance(set_at, float) or any(p.back - band <= set_at <= p.supply + band for p in points)


def _stats_of(plant: Plant, circulator: str) -> set[str]:
    """Signals that run a circulator or what heats its water, through outlets too."""
    names: set[str] = set()
    for item in plant.items.values():
        if item.id == circulator or item.has(Trait.MAKES_HEAT):
            names |= {*signal_names(item.props.get("run_when")), *signal_names(item.props.get("powered_by"))}
    for name in tuple(names):
        outlet = plant.items.get(name)
        if outlet is not None and outlet.has(Trait.FEEDS_POWER):
            names |= set(signal_names(outlet.props.get("switched_by")))
    return names
