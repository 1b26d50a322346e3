"""One circuit of one case as it would be: with its flow, its sources or its water's temperature as they are
without another call.

* Its flow is kept by a strong circulator and a limiter put in where its water comes in.
* Its water is brought to a temperature by an exchanger without end put in there, whose far side is a bath.
* No source is limited: every capacity is beyond any need.
* A stopped circulator's way is shut by taking it out of service.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from core.controls.expressions import runs
from core.figures import SourceFigures
from core.media.fluids import fluid_of
from core.plant.model import Case, Item, Overrides, Pipe, Plant, PortRef
from core.questions import put_in
from core.questions.intake import ZERO, Got, Intake, arrives, got
from core.questions.trials import Changes, Trials
from core.solve import Solution
from core.vocabulary import CIRCULATOR, DEFAULT_TAPS, Trait
from core.vocabulary.words import Lift
from core.water.numbers import reached
from core.water.ways import WaterGraph

SHARED_HEAD = "shared_head"
SOURCE_LIMIT = "source_limit"
COLDER_SUPPLY = "colder_supply"
THROUGH = "through_off_pump"
BOUNDLESS = 3e7  # [W]
TABLE_TIMES = 50.0  # a heat pump's heat and power, for one without limit
LIMITER = "balance_valve"
PLATES = "exchanger"
BATH = "tank"
WIDE = ((0.0, Lift(1.0, True)), (0.05, Lift(0.0, True)))
STEPS = 12  # of the bath's temperature towards the one that is sought
NEAR = 0.01  # [K]


class State(NamedTuple):
    """A solved state of the plant, seen from one circuit."""

    solution: Solution
    got: Got
    arrives: float | None
    leaves: float | None

    @property
    def fall(self) -> float | None:
        """By how much its water comes colder than its sources send it, [K]; None without either."""
        if self.arrives is None or self.leaves is None:
            return None
        return self.leaves - self.arrives


class Asked(NamedTuple):
    """A circuit in a case, the sources whose heat can come to it, where its water comes in, and what runs it:
    the conditions of the circulators and valves on its way."""

    at: str
    case: Case
    call: str
    sources: tuple[str, ...]
    place: Intake
    runs: tuple[Any, ...] = ()


def joined_sources(plant: Plant, graph: WaterGraph, at: str) -> tuple[str, ...]:
    """Sources whose water, or heat through a wall, can come to an item."""

    def onward(place: PortRef) -> list[PortRef]:
        there = [
            way.end if way.start == place else way.start for way in graph.ways_at[place] if not way.parts
        ]
        return there + [
            w.other if w.one == place else w.one for w in graph.walls if place in (w.one, w.other)
        ]

    found = {place.item for place in reached(graph.places_of.get(at, ()), onward)}
    return tuple(item.id for item in plant.with_trait(Trait.MAKES_HEAT) if item.id in found)


class Counterfactual:
    """Solves the plant of one circuit as it would be.

    Parameters
    ----------
    trials : Trials
    asked : Asked
    """

    def __init__(self, trials: Trials, asked: Asked) -> None:
        self.trials, self.plant, self.asked = trials, trials.plant, asked
        self._made: dict[tuple[bool, bool], tuple[Trials, Mapping[str, str]]] = {}

    def off(self, gone: frozenset[str]) -> State:
        """With the call off; sources and stopped circulators as `gone` says."""
        signals = {self.asked.call: False}
        return self.seen(self.trials.solve(self.asked.case, self._changes(gone), signals))

    def on(self, gone: frozenset[str]) -> State:
        """With the call on, and without the causes in `gone`."""
        asked, changes = self.asked, self._changes(gone)
        keep, warm = SHARED_HEAD in gone, COLDER_SUPPLY in gone
        if not keep and not warm:
            return self.seen(self.trials.solve(asked.case, changes))
        off = self.off(gone)
        before = self.on(gone - {COLDER_SUPPLY}) if warm else None
        trials, names = self._with(keep, warm)
        if before is None or before.leaves is None or off.fall is None:
            plain = self.seen(self.trials.solve(asked.case, changes))
            return self._solved(trials, names, changes, off, plain.arrives, None)
        wanted = before.leaves - off.fall
        tried: list[tuple[float, float]] = []
        for _ in range(STEPS):
            found = self._solved(trials, names, changes, off if keep else None, wanted, wanted)
            missed = 0.0 if found.leaves is None else found.leaves - off.fall - wanted
            if abs(missed) <= NEAR:
                break
            tried.append((wanted, missed))
            wanted = _next_guess(tried)
        return found

    def as_warm(self) -> State:
        """With the call on, and its water as warm as with the call off."""
        trials, names = self._with(False, True)
        arrived = self.off(frozenset()).arrives
        return self._solved(trials, names, {}, None, arrived, arrived)

    def seen(self, solution: Solution) -> State:
        """A solved state from the circuit's side."""
        place = self.asked.place
        arrived = arrives(self.plant, solution, place) if place.pipe in solution.pipes else None
        running = [
            f
            for key in self.asked.sources
            if (f := solution.at(key, SourceFigures)) is not None and f.running and abs(f.flow_m3_s) > 0.0
        ]
        whole = sum(abs(f.flow_m3_s) for f in running)
        leaves = sum(abs(f.flow_m3_s) * f.temperature_c for f in running) / whole if running else 0.0
        return State(solution, got(self.plant, solution, self.asked.at), arrived, leaves)

    def _changes(self, gone: frozenset[str]) -> Changes:
        changes: dict[str, dict[str, Any]] = {}
        if SOURCE_LIMIT in gone:
            changes |= unlimited(self.plant)
        for cause in gone:
            if cause.startswith(THROUGH):
                changes[cause.partition(":")[2]] = {"out_of_service": True}
        return changes

    def _solved(
        self,
        trials: Trials,
        names: Mapping[str, str],
        changes: Changes,
        off: State | None,
        arrived: float | None,
        wanted: float | None,
    ) -> State:
        case = self.asked.case
        more: dict[str, Mapping[str, Any]] = dict(changes)
        if "limiter" in names and off is not None:
            more[names["limiter"]] = {"set_flow": self._limit(off, arrived)}
        if "bath" in names and wanted is not None:
            case = case.with_si(Overrides(tanks={**case.si.tanks, names["bath"]: wanted + ZERO}))
        return self.seen(trials.solve(case, more))

    def _limit(self, off: State, arrived: float | None) -> float:
        """The volume flow that carries as much mass as with the call off, [m^3/s]."""
        pipe = off.solution.pipes[self.asked.place.pipe]
        fluid = fluid_of(self.plant.systems[self.plant.pipes[self.asked.place.pipe].system].si.fluid)
        mean = 0.5 * (pipe.temperature_in_c + pipe.temperature_out_c) + ZERO
        now = (arrived if arrived is not None else mean - ZERO) + ZERO
        return abs(pipe.flow_m3_s) * float(fluid.density(mean)) / float(fluid.density(now))

    def _with(self, keep: bool, warm: bool) -> tuple[Trials, Mapping[str, str]]:
        """The plant with what keeps its flow, and what warms its water, put in."""
        if (keep, warm) not in self._made:
            plant, names = _put_in(self.plant, self.asked, keep, warm)
            self._made[keep, warm] = Trials(plant, self.trials.keep_on), names
        return self._made[keep, warm]


def _next_guess(tried: Sequence[tuple[float, float]]) -> float:
    """The temperature from which nothing would be missed: by the secant of the last two, else straight on."""
    (wanted, missed) = tried[-1]
    if len(tried) > 1:
        before, was = tried[-2]
        slope = (missed - was) / (wanted - before) if wanted != before else 0.0
        if slope < -1e-3:
            return wanted - missed / slope
    return wanted + missed


def run_conditions(plant: Plant, way: Iterable[str], on: Mapping[str, bool]) -> tuple[Any, ...]:
    """Conditions under which the circulators and zone valves on a circuit's way that run do so, each once."""
    found: dict[str, Any] = {}
    for key in way:
        item = plant.items.get(key)
        if item is not None and item.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL):
            condition = item.si.get("run_when")
            if condition is not None and not isinstance(condition, bool) and runs(item.si, on):
                found[repr(condition)] = condition
    return tuple(found.values())


def unlimited(plant: Plant) -> dict[str, dict[str, Any]]:
    """What lets no source of a plant be limited."""
    found: dict[str, dict[str, Any]] = {}
    for item in plant.with_trait(Trait.MAKES_HEAT):
        table = item.si.get("table")
        if table:
            more = (
                (out, supply, TABLE_TIMES * heat, TABLE_TIMES * used) for out, supply, heat, used in table
            )
            found[item.id] = {"table": tuple(more)}
        elif item.si.get("capacity"):
            found[item.id] = {"capacity": BOUNDLESS}
    return found


def _put_in(plant: Plant, asked: Asked, keep: bool, warm: bool) -> tuple[Plant, dict[str, str]]:
    place = asked.place
    pieces: list[put_in.Piece] = []
    names: dict[str, str] = {}
    system = plant.pipes[place.pipe].system
    plates: Item | None = None
    if warm:  # the nearest to the circuit: what the limiter's water is brought to
        plates = put_in.made(plant, 1, PLATES, place.port, {"ua": 1e7})
        pieces.append(put_in.Piece(plates, "a_out", "a_in"))
    if keep:
        limiter = put_in.made(plant, 2, LIMITER, place.port, {"set_flow": 0.0})
        driven = {"curve": put_in.STRONG, "stopped_cv": 1000.0}
        driven |= {"run_when": {"all": list(asked.runs)}} if asked.runs else {}
        pump = put_in.made(plant, 3, CIRCULATOR, place.port, driven)
        pieces += [put_in.Piece(limiter, "b", "a"), put_in.Piece(pump, "out", "in")]
        names["limiter"] = limiter.id
    whole = put_in.in_end(plant, place.pipe, place.port, pieces)
    if plates is not None:
        bath = put_in.made(
            plant, 4, BATH, place.port, {"volume": 4.0, "taps": dict.fromkeys(DEFAULT_TAPS, 0.0)}
        )
        pump = put_in.made(plant, 5, CIRCULATOR, place.port, {"curve": WIDE})
        names["bath"] = bath.id
        ways = [
            (PortRef(bath.id, "hot"), PortRef(pump.id, "in")),
            (PortRef(pump.id, "out"), PortRef(plates.id, "b_in")),
            (PortRef(plates.id, "b_out"), PortRef(bath.id, "cold")),
        ]
        joins = {
            f"{put_in.MARK}w{n}": Pipe(f"{put_in.MARK}w{n}", a, b, system, joined=put_in.FLANGED)
            for n, (a, b) in enumerate(ways)
        }
        items = {**whole.items, bath.id: bath, pump.id: pump}
        whole = replace(whole, items=items, pipes={**whole.pipes, **joins})
    return whole, names
