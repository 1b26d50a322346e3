"""What each shared part has left for one more circuit, found by adding until somebody goes short.

* Heater, boiler, heat pump, exchanger: the largest load in the water right after it (same flow, no loss)
  that leaves nobody more than 1 % short, the new load included, in any case in which it carries heat.
* Circulator and shared pipe: the largest flow beside the circuits, added in parallel without loss: the
  circulator, or the pipe, carries it on top of its own.
  A circuit whose water is turned round counts as short.
* Expansion tanks: what they can take in beyond what swells out.

Cases that last minutes or hours are left out: what can be added there depends on how long it lasts. Where
somebody is more than 1 % short before anything is added, nothing is spare; `beside` is then what could
be added without making it worse.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any, NamedTuple

from core import units
from core.calls.called import Reach
from core.figures import EmitterFigures, ExchangerFigures, PumpFigures, SourceFigures
from core.plant.model import Case, Pipe, Plant, PortRef
from core.questions import put_in
from core.questions.expansion_left import Left, expansion_left
from core.questions.resting import Marks
from core.questions.shortness import gives_out, shares_short, shortest, taps_colder
from core.questions.trials import KeepOn, OnProgress, Trials
from core.sizing.context import Context, MissingInput
from core.solve import Solution
from core.vocabulary import CIRCULATOR, Trait
from core.water.ways import water_graph

SHORT = 0.01  # share of its need from which on somebody counts as short
CLOSE = 3e-3  # share of the answer within which it is searched
NO_FLOW = 1e-8  # [m^3/s]
FIRST_LOAD = 1e3  # [W]
MOST_LOAD = 1e7  # [W]
MOST_FLOW = 10.0  # times what flows
FAR = 200.0  # times the first amount: as far as the greatest is tried at once
LADDER = 3.0
BACK = 1e-14  # [m^6/s^2] of flow then and now: it runs the other way
LOAD = "load"
LIMITER = "balance_valve"
UNIT = {"w": ("power", "spare_w"), "m3_s": ("flow", "spare_m3_s"), "m3": ("volume", "spare_m3")}


class Spare(NamedTuple):
    """What a part has left.

    `unit` is "w", "m3_s" or "m3"; `first_limit` the id of what gives out first, "" where nothing did up to
    what was tried; `case` in which it does; `beside` what could be added leaving out who is short already.
    """

    at: str
    unit: str
    spare: float
    first_limit: str
    case: str
    text: str
    beside: float | None = None

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        key = UNIT[self.unit][1]
        data = {"at": self.at, key: self.spare, "first_limit": self.first_limit}
        data |= {"case": self.case, "text": self.text}
        return data if self.beside is None else {**data, f"{key.replace('spare', 'beside')}": self.beside}


def parts_of(plant: Plant, trials: Trials) -> list[str]:
    """Ids that `spare` answers for: what makes, passes, moves heat for several, and holds expansion."""
    found = [i.id for i in plant.with_trait(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.DRIVES)]
    found += _common_pipes(plant, trials)
    return [*found, *(i.id for i in plant.with_trait(Trait.EXPANDS))]


def steady_cases(plant: Plant) -> list[Case]:
    """Cases that are an end state: one that lasts minutes or hours tells of a moment."""
    return [case for case in plant.solve_cases if case.lasts is None]


def can_answer(plant: Plant, at: str) -> bool:
    """Whether an id is one that `spare` can be asked about."""
    item = plant.items.get(at)
    traits = (Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.DRIVES, Trait.EXPANDS)
    return (item is not None and item.stays and item.has(*traits)) or at in plant.pipes


def spare(
    plant: Plant, at: str = "", keep_on: KeepOn | None = None, on_progress: OnProgress | None = None
) -> tuple[Spare, ...]:
    """What one part, or every shared part, has left; a part without flow in every case is left out."""
    trials, marks = Trials(plant, keep_on), Marks(plant, keep_on)
    parts = [at] if at else parts_of(plant, trials)
    found = []
    for number, part in enumerate(parts, 1):
        answer = _spare_of(plant, trials, part, marks)
        if answer is not None:
            found.append(answer)
        if on_progress is not None:
            on_progress(number, len(parts))
    return tuple(found)


def _common_pipes(plant: Plant, trials: Trials) -> list[str]:
    """Of each run that several circuits or stores share, the pipe that loses most for its flow."""
    graph = water_graph(plant)
    best: dict[int, tuple[float, str]] = {}
    reach = Reach(plant)
    net = reach.net
    users = {
        int(net.branch_of[e.index])
        for item in plant.with_trait(Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL)
        for e in net.of_item.get(item.id, ())
    }
    counts: dict[int, int] = {}
    for user in users:
        if user >= 0:
            body = net.body_of[net.branches[user].start]
            counts[body] = counts.get(body, 0) + 1
    driven = {net.body_of[e.start] for e in net.elements if e.has(Trait.DRIVES)}
    for case in steady_cases(plant):
        solution = trials.solve(case)
        for key, f in solution.pipes.items():
            if key not in graph.ways_of or key not in net.of_item or plant.pipes[key].joined:
                continue
            e = net.of_item[key][0]
            branch = int(net.branch_of[e.index])
            body = net.body_of[e.start]
            if branch < 0 or branch in users or body not in driven or counts.get(body, 0) < 2:
                continue
            if abs(f.flow_m3_s) > NO_FLOW:
                found = (abs(f.drop_pa), key)
                best[branch] = max(best.get(branch, found), found)
    chosen = {key for _, key in best.values()}
    return [key for key in plant.pipes if key in chosen]


def _spare_of(plant: Plant, trials: Trials, part: str, marks: Marks) -> Spare | None:
    item = plant.items.get(part)
    if item is not None and item.has(Trait.EXPANDS):
        return _expansion(plant, part, marks)
    unit = "w" if item is not None and not item.has(Trait.DRIVES) else "m3_s"
    trying = [t for case in steady_cases(plant) if (t := _trial(plant, trials, part, case)) is not None]
    if not trying:
        return None
    already = [(t, before) for t in trying if (before := shortest(t.shorts(0.0))).share > SHORT]
    if not already:
        amount, limit, case = least = _least(trying, {})
        return Spare(part, unit, amount, limit, case, _words(marks, part, unit, least))
    leaving: dict[str, set[str]] = {
        t.case.name: {key for key, share in t.shorts(0.0).items() if share > SHORT} for t, _ in already
    }
    beside = _least(trying, leaving)
    at, case = already[0][1].at, already[0][0].case.name
    text = f"{at} is more than 1 % short already in {case}. Leaving that aside: "
    return Spare(part, unit, 0.0, at, case, text + _words(marks, part, unit, beside), beside[0])


class _Trial(NamedTuple):
    """One case with the added load or flow as a handle: `shorts(amount)` says who lacks which share."""

    case: Case
    first: float
    most: float
    shorts: Callable[[float], dict[str, float]]
    blame: Callable[[float], str]


def _trial(plant: Plant, trials: Trials, part: str, case: Case) -> _Trial | None:
    before = trials.solve(case)
    if not before.converged:
        return None
    item = plant.items.get(part)
    if item is not None and item.has(Trait.MAKES_HEAT):
        if not before.role(part, SourceFigures).running or abs(before.flow(part)) <= NO_FLOW:
            return None
        ref = PortRef(part, "out" if before.flow(part) > 0.0 else "in")
        return _load_trial(plant, trials, case, before, ref)
    if item is not None and item.has(Trait.EXCHANGES_HEAT):
        ref_found = _warmed_outlet(plant, before, part)
        return None if ref_found is None else _load_trial(plant, trials, case, before, ref_found)
    if item is not None:
        figures = before.role(part, PumpFigures)
        if not figures.running or figures.flow_m3_s <= NO_FLOW:
            return None
        return _pump_trial(plant, trials, case, before, part)
    if abs(before.flow(part)) <= NO_FLOW:
        return None
    return _pipe_trial(plant, trials, case, before, plant.pipes[part])


def _warmed_outlet(plant: Plant, before: Solution, part: str) -> PortRef | None:
    """Where the water that an exchanger warms leaves it; None where it passes no heat."""
    figures = before.role(part, ExchangerFigures)
    if figures.duty_w <= 1.0:
        return None
    best: tuple[float, PortRef] | None = None
    for side, flow in (("a", figures.a_flow_m3_s), ("b", figures.b_flow_m3_s)):
        ends = [PortRef(part, f"{side}_in"), PortRef(part, f"{side}_out")]
        if flow < 0.0:
            ends.reverse()
        temperatures = [_temperature(plant, before, ref) for ref in ends]
        if None in temperatures:
            continue
        rise = float(temperatures[1] or 0.0) - float(temperatures[0] or 0.0)
        if best is None or rise > best[0]:
            best = rise, ends[1]
    return None if best is None else best[1]


def _temperature(plant: Plant, solution: Solution, ref: PortRef) -> float | None:
    for name in plant.pipes_at.get(ref, ()):
        if name in solution.pipes:
            return solution.pipes[name].temperature_at(plant.pipes[name].start == ref)
    return None


def _load_trial(plant: Plant, trials: Trials, case: Case, before: Solution, ref: PortRef) -> _Trial | None:
    part, pipes = ref.item, plant.pipes_at.get(ref, ())
    if len(pipes) != 1:
        return None
    load = put_in.made(plant, 1, LOAD, ref, {"load": 0.0})
    with_load = put_in.in_end(plant, pipes[0], ref, [put_in.Piece(load, "in", "out")])
    return _handle(
        part,
        plant, with_load, trials, case, before, FIRST_LOAD, MOST_LOAD,
        lambda amount: {load.id: {"load": amount}}, load.id,
    )  # fmt: skip


def _pump_trial(plant: Plant, trials: Trials, case: Case, before: Solution, part: str) -> _Trial | None:
    ends = PortRef(part, "out"), PortRef(part, "in")
    pipes = [plant.pipes_at.get(ref, ()) for ref in ends]
    if any(len(found) != 1 for found in pipes):
        return None
    teed, start = put_in.tee(plant, 1, pipes[0][0], ends[0])
    teed, end = put_in.tee(teed, 2, pipes[1][0], ends[1])
    limiter = put_in.made(plant, 3, LIMITER, ends[0], {"set_flow": 0.0})
    system = plant.pipes[pipes[0][0]].system
    whole = put_in.beside(teed, start, end, system, [put_in.Piece(limiter, "a", "b")])
    flow = abs(before.flow(part))
    return _handle(
        part,
        plant, whole, trials, case, before, 0.1 * flow, MOST_FLOW * flow,
        lambda amount: {limiter.id: {"set_flow": amount}}, limiter.id,
    )  # fmt: skip


def _pipe_trial(plant: Plant, trials: Trials, case: Case, before: Solution, pipe: Pipe) -> _Trial | None:
    part = pipe.id
    ends = (pipe.end, pipe.start) if before.flow(pipe.id) > 0.0 else (pipe.start, pipe.end)
    teed, start = put_in.tee(plant, 1, pipe.id, ends[0])
    teed, end = put_in.tee(teed, 2, pipe.id, ends[1])
    limiter = put_in.made(plant, 3, LIMITER, ends[0], {"set_flow": 0.0})
    pump = put_in.made(plant, 4, CIRCULATOR, ends[0], {"curve": put_in.STRONG})
    pieces = [put_in.Piece(pump, "in", "out"), put_in.Piece(limiter, "a", "b")]
    whole = put_in.beside(teed, start, end, pipe.system, pieces)
    flow = abs(before.flow(pipe.id))
    return _handle(
        part,
        plant, whole, trials, case, before, 0.1 * flow, MOST_FLOW * flow,
        lambda amount: {limiter.id: {"set_flow": amount}}, limiter.id,
    )  # fmt: skip


def _handle(
    part: str,
    plant: Plant,
    changed: Plant,
    trials: Trials,
    case: Case,
    before: Solution,
    first: float,
    most: float,
    setting: Callable[[float], Mapping[str, Mapping[str, Any]]],
    put: str,
) -> _Trial:
    """Solves the changed plant at an amount; nothing put in yet is the plant itself."""
    inner = Trials(changed, trials.keep_on)
    reach, own = Reach(changed), Reach(plant)

    def solved(amount: float) -> Solution:
        return before if amount <= 0.0 else inner.solve(case, setting(amount))

    def shorts(amount: float) -> dict[str, float]:
        found = solved(amount)
        if not found.converged:
            return {put: 1.0}
        here = (plant, own) if amount <= 0.0 else (changed, reach)
        lacking = shares_short(here[0], case, found, here[1])
        lacking |= taps_colder(plant, before, found)
        turned = (key for key in before.of(EmitterFigures) if before.flow(key) * found.flow(key) < -BACK)
        lacking |= dict.fromkeys(turned, 1.0)
        if amount > 0.0 and put in found.items and not changed.items[put].has(Trait.GIVES_HEAT):
            lacking[put] = max(0.0, 1.0 - abs(found.flow(put)) / amount)
        return lacking

    def blame(amount: float) -> str:
        out = gives_out(changed, solved(amount)) or shortest(shorts(amount)).at
        return part if out == put else out

    return _Trial(case, first, most, shorts, blame)


def _least(trying: list[_Trial], leaving: Mapping[str, set[str]]) -> tuple[float, str, str]:
    """The least amount over the cases, what gives out there, and in which case."""
    best: tuple[float, str, str] | None = None
    for trial in trying:
        out = leaving.get(trial.case.name, set())

        def worst(amount: float, trial: _Trial = trial, out: set[str] = out) -> float:
            return shortest({k: v for k, v in trial.shorts(amount).items() if k not in out}).share

        if best is not None and best[0] > 0.0 and worst(best[0]) <= SHORT:
            continue
        amount, over = _largest(worst, trial.first, trial.most if best is None else best[0])
        best = amount, "" if over is None else trial.blame(over), trial.case.name
    assert best is not None
    return best


def _largest(worst: Callable[[float], float], first: float, most: float) -> tuple[float, float | None]:
    """The largest amount with which nobody is short, and one a little over it; None where all is well."""
    seen: list[tuple[float, float]] = []

    def short(amount: float) -> bool:
        seen.append((amount, worst(amount)))
        return seen[-1][1] > SHORT

    first = min(first, most)
    low, high = 0.0, most if most <= FAR * first else first
    while not short(high):
        if high >= most:
            return high, None
        low, high = high, min(LADDER * high, most)
    while high > 2.0 * max(low, first):
        middle = math.sqrt(max(low, first) * high)
        low, high = (low, middle) if short(middle) else (middle, high)
    widths = [math.inf, math.inf]
    while high - low > CLOSE * max(high, first):
        middle = 0.5 * (low + high)
        if high - low <= 0.5 * widths[-2]:  # else two straight lines did not halve it: a jump, or bent
            middle = _straight(low, high, seen) or middle
        widths.append(high - low)
        low, high = (low, middle) if short(middle) else (middle, high)
    return low, high


def _straight(low: float, high: float, seen: list[tuple[float, float]]) -> float | None:
    """Where a straight line through the two amounts nearest the limit meets it, a little to the side that is
    farther from what is known; None where that is outside."""
    near = sorted((one for one in seen if one[1] > 0.0), key=lambda one: abs(one[1] - SHORT))[:2]
    if len(near) < 2 or near[0][1] == near[1][1]:
        return None
    (x1, y1), (x2, y2) = near
    meets, edge = x1 + (SHORT - y1) * (x2 - x1) / (y2 - y1), 0.4 * CLOSE * high
    if not low < meets < high:
        return None
    return min(max(meets + edge if high - meets > meets - low else meets - edge, low + edge), high - edge)


def _words(marks: Marks, part: str, unit: str, least: tuple[float, str, str]) -> str:
    amount, limit, case = least
    shown = marks.at(case, part, limit) + units.show(amount, UNIT[unit][0], marks.plant.units)
    if not limit:
        return f"{part} has at least {shown} left: nothing gave out up to there."
    first = "it gives out itself" if limit == part else f"{limit} gives out first"
    return f"{part} has {shown} left; then {first}, in {case}."


def _left(plant: Plant, part: str) -> Left | None:
    try:
        return expansion_left(Context(plant), part)
    except MissingInput:
        return None


def _takes(plant: Plant, part: str) -> float | None:
    found = _left(plant, part)
    return None if found is None else found.takes


def _expansion(plant: Plant, part: str, marks: Marks) -> Spare | None:
    left = _left(plant, part)
    if left is None:
        return None
    part_names, mark = " and ".join(left.tanks), marks.when(partial(_takes, part=part))
    shown = mark + units.show(max(0.0, left.takes), "volume", plant.units)
    more = mark + units.show(max(0.0, left.content), "volume", plant.units)
    text = f"{part_names} can take in {shown} more: enough for {more} more water in the system."
    if left.takes < 0.0:
        text = f"{part_names} is too small already: it has nothing left."
    return Spare(part, "m3", max(0.0, left.takes), part, left.case, text, None)


def every(plant: Plant) -> Iterator[str]:
    """Ids that can be asked about, for a refusal."""
    yield from (name for name in (*plant.items, *plant.pipes) if can_answer(plant, name))
