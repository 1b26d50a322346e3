"""Who robs whom: what each circuit, tank or tap loses while another call is on, and by which way.

A row stands for one that flows, a case, and another call that is on there: what it loses is what it gets with
that signal false, less what it gets as is. A stopped circulator that lets water pass has rows of its own: its
way shut, less as is. Causes are found by solving again without them, in every order, and averaged
(`core.questions.averaging`); a check valve that shuts, or a mixing valve that comes to its end, only with the
call on names the whole loss. Causes under 1 % of what is delivered are left out. A case that lasts minutes or
hours is asked at its end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from core.controls.expressions import runs
from core.figures import EmitterFigures, PumpFigures, RoomFigures
from core.hydraulics.network import Network, build
from core.plant.model import Case, Plant
from core.questions import why_words
from core.questions.asking import asking
from core.questions.averaging import MOST, Share, shares
from core.questions.counterfactual import (
    COLDER_SUPPLY,
    SHARED_HEAD,
    SOURCE_LIMIT,
    THROUGH,
    Asked,
    Counterfactual,
    State,
    joined_sources,
    run_conditions,
)
from core.questions.heat_way import heat_way
from core.questions.intake import NO_FLOW, ZERO, Got, got, intake, takers
from core.questions.resting import Marks
from core.questions.stops import held_shut, stopped, stream_of, valve_at_end
from core.questions.trials import KeepOn, OnProgress, Trials
from core.questions.why_words import Told
from core.solve import Solution
from core.vocabulary import Trait
from core.water.ways import WaterGraph, water_graph

LEAST = 0.01  # share of what is delivered below which a loss has no cause told
HARDLY = 0.1  # share of what it gets without a call, below which what it gets with it is no measure
SAME_FLOW = 2e-3  # share by which flows must differ for a shared head to be a cause
SAME_FALL = 0.02  # [K] by which the water must come colder against its source,
SAME_WARMTH = (
    0.004  # and share of its excess over the room's usual temperature: less makes no loss that is told
)
WARMER = 0.05  # [K] by which a room must be warmer for that to be told
DEPENDS = 0.5  # share of its heat left without a call, up to which the call counts as its own
CHECK_SHUT, VALVE_END = "check_shut", "valve_end"
OUT = {"out_of_service": True}


class Cause(NamedTuple):
    """One cause of a loss: its share of heat [W] and flow [m^3/s], least and greatest heat over the orders in
    which causes can be removed, and the sentence."""

    kind: str
    at: tuple[str, ...]
    share_w: float
    share_m3_s: float
    low_w: float
    high_w: float
    text: str

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {**self._asdict(), "at": list(self.at)}


class Row(NamedTuple):
    """What somebody loses to a call in a case, [W] and [m^3/s]; negative is a gain. `mark` is ~ where it
    rests on a guess."""

    at: str
    case: str
    call: str
    lost_w: float
    lost_m3_s: float
    got_w: float
    causes: tuple[Cause, ...]
    left_w: float
    text: str
    mark: str = ""

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json; `left_w` is what no cause named explains."""
        return {
            "at": self.at,
            "case": self.case,
            "call": self.call,
            "lost_w": self.lost_w,
            "lost_m3_s": self.lost_m3_s,
            "causes": [cause.as_data() for cause in self.causes],
            "delivered_w": self.got_w,
            "left_w": self.left_w,
            "text": self.text,
        }


def _anybody_short(solution: Solution) -> bool:
    return any(f.short_w > LEAST * max(f.wanted_w, 1.0) for f in solution.of(EmitterFigures).values())


class Unsolved(NamedTuple):
    """A case, or a case without a call, that is not solved: no row is made of it."""

    case: str
    call: str


class Why(NamedTuple):
    """All rows, and what could not be solved."""

    rows: tuple[Row, ...]
    unsolved: tuple[Unsolved, ...]


def why(
    plant: Plant,
    circuit: str = "",
    case: str = "",
    keep_on: KeepOn | None = None,
    on_progress: OnProgress | None = None,
) -> Why:
    """Who robs whom in a plant.

    Parameters
    ----------
    plant : Plant
    circuit, case : str
        Only this circuit, tank or tap; only this case
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    on_progress : callable or None
        Told how many cases are done, of how many
    """
    trials = Trials(plant, keep_on)
    graph, net, marks = water_graph(plant), build(plant), Marks(plant, keep_on)
    cases = [c for c in plant.solve_cases if case in ("", c.name)]
    asked = [circuit] if circuit else takers(plant)
    rows: list[Row] = []
    unsolved: list[Unsolved] = []
    for number, one in enumerate(cases, 1):
        as_is = trials.solve(one)
        if as_is.converged:
            finder = _Finder(trials, graph, net, one, as_is, marks)
            rows += finder.rows(asked)
            unsolved += finder.unsolved
        else:
            unsolved.append(Unsolved(one.name, ""))
        if on_progress is not None:
            on_progress(number, len(cases))
    return Why(tuple(rows), tuple(unsolved))


class _Finder:
    """Rows of one case."""

    def __init__(
        self, trials: Trials, graph: WaterGraph, net: Network, case: Case, as_is: Solution, marks: Marks
    ) -> None:
        self.trials, self.plant, self.graph, self.marks = trials, trials.plant, graph, marks
        self.case, self.as_is, self.net = case, as_is, net
        self.unsolved: list[Unsolved] = []

    def rows(self, asked: Iterable[str]) -> Iterator[Row]:
        """Rows of some circuits, tanks and taps, by call."""
        asked = list(asked)
        for call in asking(self.plant):
            if not self.as_is.signals.get(call):
                continue
            off = self.trials.solve(self.case, signals={call: False})
            if not off.converged:
                self.unsolved.append(Unsolved(self.case.name, call))
                continue
            yield from (row for at in asked if (row := self._row(at, call, off)) is not None)
        for pump, figures in self.as_is.of(PumpFigures).items():
            if not figures.running and abs(figures.flow_m3_s) > NO_FLOW:
                shut = self.trials.solve(self.case, {pump: OUT})
                if shut.converged:
                    yield from (row for at in asked if (row := self._passing(at, pump, shut)) is not None)
                else:
                    self.unsolved.append(Unsolved(self.case.name, pump))

    def _row(self, at: str, call: str, off: Solution) -> Row | None:
        one, other = got(self.plant, self.as_is, at), got(self.plant, off, at)
        if self._is_own(at, call, off):
            return None
        if other.flow <= NO_FLOW or (other.heat <= 0.0 and one.heat <= 0.0):
            return None  # it is this call that lets it flow, or it has no part in the case
        lost = Got(other.heat - one.heat, other.flow - one.flow)
        scale = max(abs(one.heat), HARDLY * abs(other.heat))
        told: list[Cause] = []
        if abs(lost.heat) >= LEAST * scale:
            told = self._causes(at, call, off, lost, scale)
        return self._made(at, call, lost, one, told)

    def _is_own(self, at: str, call: str, off: Solution) -> bool:
        """Whether a call is the one that asks for this very circuit: its stat feels the tank or the room, or
        it runs what lets water into it."""
        senses = self.plant.items[call].si.get("senses") or ()
        if senses and senses[0] in (at, self.plant.items[at].si.get("serves")):
            return True
        place = intake(self.plant, self.as_is, at)
        if self._needs(at, off):
            return True
        if place is None or place.pipe not in self.net.of_item:
            return False
        branch = int(self.net.branch_of[self.net.of_item[place.pipe][0].index])
        items = (
            {self.net.elements[i].key for i in self.net.branches[branch].elements} if branch >= 0 else set()
        )
        return any(self._stops(key, off) for key in items & self.plant.items.keys())

    def _needs(self, at: str, off: Solution) -> bool:
        """Whether without a call something that brings it its heat stops, and with that most of its heat."""
        now, then = (got(self.plant, solution, at).heat for solution in (self.as_is, off))
        if then > DEPENDS * now:
            return False
        way = heat_way(self.plant, stream_of(self.graph, self.as_is), at)
        return any(self._stops(key, off) for key in way if key in self.plant.items)

    def _stops(self, key: str, off: Solution) -> bool:
        item = self.plant.items[key]
        if not item.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL):
            return False
        return runs(item.si, self.as_is.signals) and not runs(item.si, off.signals)

    def _passing(self, at: str, pump: str, shut: Solution) -> Row | None:
        one, other = got(self.plant, self.as_is, at), got(self.plant, shut, at)
        if max(one.flow, other.flow) <= NO_FLOW:
            return None
        lost = Got(other.heat - one.heat, other.flow - one.flow)
        told = []
        if abs(lost.heat) >= LEAST * max(abs(one.heat), abs(other.heat)):
            text = why_words.through(self.plant, self.as_is, pump)
            told = [Cause(THROUGH, (pump,), lost.heat, lost.flow, lost.heat, lost.heat, text)]
        return self._made(at, pump, lost, one, told)

    def _made(self, at: str, call: str, lost: Got, got_now: Got, told: list[Cause]) -> Row:
        left = lost.heat - sum(cause.share_w for cause in told)
        words = [c.text for c in told] or self._otherwise(at, call, lost)
        if told and abs(left) >= LEAST * max(abs(lost.heat), 0.5 * abs(got_now.heat)):
            words += self._warmer_room(at, call, lost) or [why_words.rest(self.plant, left)]
        mark = self.marks.at(self.case, at)
        text = why_words.sentence(self.plant, self.case.name, at, call, lost, words, mark)
        case = self.case.name
        return Row(at, case, call, lost.heat, lost.flow, got_now.heat, tuple(told), left, text, mark)

    def _otherwise(self, at: str, call: str, lost: Got) -> list[str]:
        """Why it gets less without being robbed: what moves its water is told to stop, or others share its
        room's need."""
        if call not in self.as_is.signals or lost.heat <= 0.0:
            return []
        off = self.trials.solve(self.case, signals={call: False})
        still = stopped(self.plant, self.as_is, off, stream_of(self.graph, off).circuit(at))
        if still:
            return [why_words.stopped(still, call)]
        warmer = self._warmer_room(at, call, lost)
        if warmer:
            return warmer
        one, other = self.as_is.at(at, EmitterFigures), off.at(at, EmitterFigures)
        if one is None or other is None or one.short_w > LEAST * max(one.wanted_w, 1.0):
            return []
        return ["it is needed less, and short of nothing"] if one.wanted_w < other.wanted_w else []

    def _warmer_room(self, at: str, call: str, lost: Got) -> list[str]:
        """That its room is warmer with the call on, as it runs for longer: then it gives less to it."""
        room = str(self.plant.items[at].si.get("serves") or "")
        off = self.trials.solve(self.case, signals={call: False} if call in self.as_is.signals else None)
        now, then = (solution.at(room, RoomFigures) for solution in (self.as_is, off))
        if now is None or then is None or lost.heat <= 0.0:
            return []
        warmer = now.temperature_c - then.temperature_c
        return [why_words.warmer(self.plant, room, warmer)] if warmer > WARMER else []

    # causes ------------------------------------------------------------------------------------------------

    def _causes(self, at: str, call: str, off: Solution, lost: Got, scale: float) -> list[Cause]:
        told = Told(self.plant, self.graph, self.as_is, off, at)
        shut = held_shut(self.plant, self.graph, self.as_is, off, at)
        if shut is not None:
            return [self._whole(CHECK_SHUT, shut, lost, told.check(shut))]
        place = intake(self.plant, self.as_is, at) or intake(self.plant, off, at)
        if place is None:
            return []
        sources = joined_sources(self.plant, self.graph, at)
        conditions = run_conditions(self.plant, told.way, self.as_is.signals)
        asked = Asked(at, self.case, call, sources, place, conditions)
        counter = Counterfactual(self.trials, asked)
        if got(self.plant, self.as_is, at).flow <= NO_FLOW and stopped(self.plant, self.as_is, off, told.way):
            return []
        ended = valve_at_end(self.plant, self.graph, self.as_is, off, at)
        if ended is not None and self._warmth_is_it(counter, lost):
            return [self._whole(VALVE_END, ended, lost, told.valve(ended))]
        return self._shared(counter, told, lost, scale)

    @staticmethod
    def _whole(kind: str, at: tuple[str, ...], lost: Got, text: str) -> Cause:
        return Cause(kind, at, lost.heat, lost.flow, lost.heat, lost.heat, text)

    @staticmethod
    def _warmth_is_it(counter: Counterfactual, lost: Got) -> bool:
        """Whether water as warm as with the call off takes away most of the loss."""
        warm = counter.as_warm()
        off = counter.off(frozenset())
        return warm.solution.converged and abs(off.got.heat - warm.got.heat) < 0.5 * abs(lost.heat)

    def _shared(self, counter: Counterfactual, told: Told, lost: Got, scale: float) -> list[Cause]:
        on, off = counter.on(frozenset()), counter.off(frozenset())
        limited = self._limited(counter, told, on, off, scale)
        players = self._players(told, on, off, bool(limited))
        known: dict[frozenset[str], tuple[float, float]] = {}

        def left(gone: frozenset[str]) -> tuple[float, float]:
            one, other = counter.off(gone), counter.on(gone)
            if not (one.solution.converged and other.solution.converged):
                less = max((k for k in known if k < gone), key=len, default=None)
                return (lost.heat, lost.flow) if less is None else known[less]  # as if it changed nothing
            known[gone] = one.got.heat - other.got.heat, one.got.flow - other.got.flow
            return known[gone]

        found = shares(players, left)
        rest = lost.heat - sum(share.mean[0] for share in found.values())
        even = abs(rest) < LEAST * scale  # arithmetic of what was put in: told with the causes in proportion
        whole = sum(abs(share.mean[0]) for share in found.values())
        causes = []
        for name, share in found.items():
            more = rest * abs(share.mean[0]) / whole if even and whole > 0.0 else 0.0
            causes.append(self._cause(name, share, more, told, counter, limited))
        return [cause for cause in causes if abs(cause.share_w) >= LEAST * scale]

    def _limited(
        self, counter: Counterfactual, told: Told, on: State, off: State, scale: float
    ) -> tuple[str, ...]:
        """Sources whose limit has a part in a loss: those seen to be at it, else those that would give more
        where it gets more without any limit."""
        if told.limited:
            return told.limited
        if not (_anybody_short(on.solution) or _anybody_short(off.solution)):
            return ()  # nobody's load is cut for the sake of a source
        gone = frozenset({SOURCE_LIMIT})
        free, other = counter.on(gone), counter.off(gone)
        if not (free.solution.converged and other.solution.converged):
            return ()
        left = other.got.heat - free.got.heat
        if abs(off.got.heat - on.got.heat - left) < LEAST * scale:
            return ()
        return told.driven_harder(free.solution)

    def _players(self, told: Told, on: State, off: State, limited: bool) -> list[str]:
        """Causes that this loss can have, from the two states alone: what does not differ is none."""
        found = []
        flows = on.got.flow, off.got.flow
        taps = told.is_tap
        if not taps and min(flows) > NO_FLOW and abs(flows[0] - flows[1]) > SAME_FLOW * max(flows):
            found.append(SHARED_HEAD)
        if limited:
            found.append(SOURCE_LIMIT)
        if on.fall is not None and off.fall is not None and on.arrives is not None:
            least = max(SAME_FALL, SAME_WARMTH * (on.arrives + ZERO - self.plant.site_si.indoor))
            found += [COLDER_SUPPLY] if abs(on.fall - off.fall) > least else []
        found += [f"{THROUGH}:{pump}" for pump in told.passing]
        return found[:MOST]

    @staticmethod
    def _cause(
        name: str, share: Share, more: float, told: Told, counter: Counterfactual, limited: tuple[str, ...]
    ) -> Cause:
        kind, _, pump = name.partition(":")
        at, text = told.of(kind, pump, counter.on(frozenset()), counter.off(frozenset()), limited)
        mean = share.mean[0] + more
        return Cause(kind, at, mean, share.mean[1], share.low[0] + more, share.high[0] + more, text)
