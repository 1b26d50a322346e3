"""The second-circulator study: every place tried by solving the plant with it put in, then ranked.

Flows promised here are those of the plant that the edit gives. Of very many places those are solved that by
an estimate bring most (`estimate`: mostly within 3 % of what they do).
Where a circulator could sit is found by `places`, how the edit is made by `edit`.

A copy of the circulator beside it (or of the one that drives the water) at fixed full speed, running with
it. Worth it: at least 5 % more flow, no circuit put short or turned round, heat gained where heat was
short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from core.errors import Refusal, WetsideError
from core.plant.as_set import plant_for
from core.plant.changes import apply
from core.plant.model import Case, Plant
from core.sizing.context import Context
from core.sizing.demand.demands import demands
from core.sizing.second_circulator.available import Pump, at_hand, copy_of
from core.sizing.second_circulator.edit import put_in
from core.sizing.second_circulator.estimate import estimated_gains
from core.sizing.second_circulator.figures import figures, unsolved
from core.sizing.second_circulator.fit import RANK, best_spot, cuts, to_open
from core.sizing.second_circulator.found import Found, Wanted, wanted_of, wants
from core.sizing.second_circulator.places import Place, places
from core.solve import Solution, Solver
from core.solve.settle import Settled
from core.vocabulary import Trait
from core.vocabulary.values import nearest

MOST_NAMED = 12  # of the ids a refusal lists
MOST_SOLVED = 24  # places solved; the best three of all were among the 21 with the greatest estimates
LEFT_OUT = "not solved: by an estimate it brings less than the places that were"
OTHERS = 2  # places for which every other curve at hand is tried as well
CAUTIONS = (
    "Water in a plant is hot and under pressure: shut off, let cool and drain before a line is opened. "
    "Wiring a circulator is work for a licensed electrician where local code says so.",
)
NO_PRODUCT = "Curves marked as invented are no product: check the choice against a real maker's curve."

__all__ = ["Bench", "Found", "Study", "Wanted", "rank", "study"]

KeepOn = Callable[[], bool] | None


@dataclass(frozen=True)
class Study:
    """What was found.

    Attributes
    ----------
    case : str
        The case it was made in
    wanted : Wanted
        Where more flow was wanted
    found : tuple of Found
        Best first
    summary : str
        The answer in a sentence or two
    """

    case: str
    wanted: Wanted
    found: tuple[Found, ...]
    summary: str
    cautions: tuple[str, ...] = CAUTIONS
    before: Solution | None = field(default=None, compare=False)

    @property
    def worth(self) -> tuple[Found, ...]:
        """The places that are worth it, best first."""
        every = [*self.found, *(other for one in self.found for other in one.others)]
        return tuple(one for one in every if one.worth)


def study(
    plant: Plant,
    case: Case | None = None,
    *,
    circuit: str = "",
    beside: str = "",
    pump: Pump | None = None,
    keep_on: KeepOn = None,
    on_progress: Callable[[int, int], None] | None = None,
    others: bool = True,
    bench: Bench | None = None,
    ready: Study | None = None,
    most: int = MOST_SOLVED,
) -> Study:
    """Try another circulator wherever one can be.

    Parameters
    ----------
    plant : Plant
    case : Case or None
        The first by default
    circuit : str
        Item or pipe where more flow is wanted: all places of its water and of the water that heats it are
        tried
    beside : str
        A circulator: only places beside it are tried. With neither, all that bring water to what wants heat
    pump : Pump or None
        The curve to take; by default a copy of the circulator nearby, and for the best places every other
        curve at hand too
    keep_on : callable or None
        Asked often; False ends the run with `core.solve.Dropped`
    on_progress : callable or None
        Hears how many of how many have been tried
    others : bool
        Whether other curves are tried at the best places
    bench : Bench or None
        The plant solved in the case already
    ready : Study or None
        The same study without other curves, which then are only added
    most : int
        Places that are solved

    Raises
    ------
    Refusal
        An unknown id, or one that is no circulator for `beside`
    """
    _check(plant, circuit, beside)
    bench = bench or Bench(plant, case or plant.solve_cases[0], keep_on)
    wanted = wanted_of(plant, bench.before, circuit, beside)
    todo = [place for place in bench.places(circuit, beside) if circuit or beside or bench.is_wanted(place)]
    found: list[Found] = list(ready.found) if ready is not None else []
    pairs = [(place, pump or bench.same(place)) for place in (todo if ready is None else ())]
    chosen = bench.promising(pairs, wanted.at, most)
    for place, taken in pairs:
        if on_progress is not None:
            on_progress(sum(one.verdict != LEFT_OUT for one in found), min(len(todo), most))
        left_out = "" if any(place is one for one in chosen) else LEFT_OUT
        found.append(bench.try_out(place, taken, wanted, left_out))
    found.sort(key=rank)
    if pump is None and others:
        found = _with_other_curves(bench, found, wanted)
    tried = sum(one.verdict != LEFT_OUT for one in found)
    return Study(
        bench.case.name, wanted, tuple(found), _summary(found, wanted, bench, tried),
        (*CAUTIONS, NO_PRODUCT) if _invented(found) else CAUTIONS, bench.before,
    )  # fmt: skip


def _invented(found: Sequence[Found]) -> bool:
    return any(one.pump.invented or _invented(one.others) for one in found)


def _some_of(ids: Sequence[str]) -> str:
    return f"one of {', '.join(ids[:MOST_NAMED])}" + (" …" if len(ids) > MOST_NAMED else "")


def _check(plant: Plant, circuit: str, beside: str) -> None:
    if circuit and circuit not in plant.items and circuit not in plant.pipes:
        ids = [*plant.items, *plant.pipes]
        raise Refusal("--circuit", circuit, _some_of(ids), nearest(circuit, ids))
    pumps = [item.id for item in plant.items.values() if item.has(Trait.DRIVES)]
    if beside and beside not in pumps:
        expected = f"a circulator: {_some_of(pumps)}" if pumps else "a circulator; the plant has none"
        raise Refusal("--beside", beside, expected, nearest(beside, pumps))


class Bench:
    """One plant in one case, solved, on which places are tried out.

    Parameters
    ----------
    plant : Plant
    case : Case
    keep_on : callable or None
    """

    def __init__(self, plant: Plant, case: Case, keep_on: KeepOn = None) -> None:
        self.plant = plant
        self.case = case
        self.keep_on = keep_on
        self.solver = Solver(plant)
        self.before = self.solver.solve(case, keep_on)
        assert self.solver.last is not None
        self.settled: Settled = self.solver.last
        self.context = Context(plant_for(plant, case), {case.name: self.before}, keep_on)

    def places(self, circuit: str = "", beside: str = "") -> Iterator[Place]:
        """The places asked for."""
        bodies = self._bodies(circuit) if circuit else None
        for place in places(self.settled, bodies):
            if not beside or (place.at == beside and place.how != "branch"):
                yield place

    def is_wanted(self, place: Place) -> bool:
        """Whether circuits whose wanted heat is stated send their water through a place; yes without any.

        A hot water return, say, gains nothing for them, and has what it needs.
        """
        if not wants(self.plant, self.before):
            return True
        found = demands(self.context)
        pipes = [name for name in place.run if name in self.plant.pipes]
        return any(demand.load is not None for pipe in pipes for demand, _ in found.passing(pipe))

    def _bodies(self, name: str) -> set[int]:
        """Bodies of an item or pipe, and those that give it heat through an exchanger or coil."""
        net = self.settled.net
        own = {net.body_of[n] for e in net.of_item.get(name, ()) for n in (e.start, e.end)}
        near = set(own)
        for elements in net.of_item.values():
            touched = {net.body_of[e.start] for e in elements}
            if len(touched) > 1 and touched & own:
                near |= touched
        return near

    def same(self, place: Place) -> Pump:
        """A copy of the circulator beside a place, or of that which drives its water."""
        if place.how != "branch":
            return copy_of(self.plant, place.at)
        net = self.settled.net
        best: tuple[bool, bool, float, str] | None = None
        for item in self.plant.items.values():
            if not item.has(Trait.DRIVES) or item.id not in net.of_item or not item.props.get("curve"):
                continue
            here = net.body_of[net.of_item[item.id][0].start] in place.bodies
            key = (here, self.before.running(item.id), self.before.flow(item.id), item.id)
            best = max(best, key) if best else key
        if best is not None:
            return copy_of(self.plant, best[3])
        curves = at_hand(self.plant)
        return curves[0] if curves else Pump("none")

    def blocked(self, place: Place) -> str:
        """Why nothing would happen there in this case; empty where something would."""
        if place.how != "branch" and not self.before.running(place.at):
            return f"{place.at} rests in this case, and a second would rest with it"
        return f"{place.shut} is shut in this case" if place.shut else ""

    def promising(self, pairs: Sequence[tuple[Place, Pump]], at: str, most: int) -> list[Place]:
        """All places; of more than `most` those with the greatest estimated gains at `at`."""
        able = [pair for pair in pairs if not self.blocked(pair[0]) and pair[1].curve is not None]
        if len(able) <= most:
            return [place for place, _ in pairs]
        places, pumps = zip(*able, strict=True)
        gains = estimated_gains(self.settled, places, pumps, at)
        best = sorted(range(len(able)), key=lambda k: gains[k], reverse=True)[:most]
        return [places[k] for k in best]

    def try_out(self, place: Place, pump: Pump, wanted: Wanted, left_out: str = "") -> Found:
        """Solve the plant with a circulator put in; `left_out` says why this place is not solved."""
        spot, fit = best_spot(self.context, place, pump)
        opened = to_open(self.plant, place, spot)
        blocked = self.blocked(place)
        if not blocked and pump.curve is None:
            blocked = "no curve is at hand: give a circulator its curve, or name one with --curve"
        if blocked := blocked or left_out:
            return unsolved(self.plant, self.before, place, spot, fit, opened, pump, blocked)
        try:
            edit = put_in(self.plant, place, spot, pump)
            plant = apply(self.plant, edit.changes)
            # From a quiet start, as the file would be solved: where controls can rest in more than one
            # position, a start from the old answer may end in another, and the promise would not be kept.
            after = Solver(plant).solve(self.case, self.keep_on)
        except WetsideError as refusal:
            return unsolved(self.plant, self.before, place, spot, fit, opened, pump, f"cannot be: {refusal}")
        seen = plant_for(plant, self.case)
        found = figures(self.context, self.before, seen, after, place, edit, pump, wanted)
        return replace(found, spot=spot, fit=fit, opened=opened, undone=cuts(self.plant, place, spot))


def rank(found: Found) -> tuple[bool, int, int, float, int, float]:
    """Best first: worth it, what it does, room, least heat lacking or most gain, least undone, least power.

    Heat and gain count by twentieths, so that a little more of it does not outweigh a cut or a hundred watts.
    """
    share = found.gain_share if found.gain_share is not None else 0.0
    merit = -round(share * 20.0) if found.lacking is None else round(found.lacking * 20.0)
    return (
        not found.worth,
        {"helps": 0, "takes": 1, "little": 2, "none": 3, "unsettled": 4, "blocked": 5}[found.state],
        RANK[found.fit.fits],
        merit,
        found.undone,
        found.power if found.power is not None else 1e9,
    )


def _with_other_curves(bench: Bench, ranked: Sequence[Found], wanted: Wanted) -> list[Found]:
    """The same list; the best places know what every other curve at hand would do there."""
    best = [one for one in ranked if one.state in ("helps", "takes", "little")][:OTHERS]
    out = []
    for one in ranked:
        if not any(one is chosen for chosen in best):
            out.append(one)
            continue
        curve = one.pump.props.get("curve")
        pumps = [pump for pump in at_hand(bench.plant) if pump.props.get("curve") != curve]
        tried = sorted((bench.try_out(one.place, pump, wanted) for pump in pumps), key=rank)
        out.append(replace(one, others=tuple(tried)))
    return out


def _summary(found: Sequence[Found], wanted: Wanted, bench: Bench, tried: int) -> str:
    shown = bench.context.shown
    where = wanted.words
    if not bench.before.converged:
        return f"{bench.case.name} itself does not settle, so nothing can be promised here."
    if not tried:
        return f"No place was found for another circulator where {where} would gain by it."
    every = [*found, *(other for one in found for other in one.others)]
    best = next((one for one in every if one.worth), None)
    nothing_short = "" if wanted.short else " No circuit is short of heat in this case."
    if best is None:
        counted = "the only place" if tried == 1 else f"any of the {tried} places"
        return f"A second circulator is not worth it at {counted} tried: {_why_not(found)}.{nothing_short}"
    gain = shown(best.gain, "flow") if best.gain is not None else ""
    share = f" ({best.gain_share:.0%})" if best.gain_share is not None else ""
    watts = f" for {best.power:.0f} W" if best.power is not None else ""
    fits = {"yes": "it fits", "no": "it does not fit", "unknown": "whether it fits is not known"}[
        best.fit.fits
    ]
    what = f"{best.title}, {best.pump.title}"
    return f"Best: {what}: adds {gain}{share}{watts} at {best.gained_at}; {fits}.{nothing_short}"


def _why_not(found: Sequence[Found]) -> str:
    """What keeps the best of them from being worth it."""
    solved = [one for one in found if one.state not in ("blocked", "unsettled")]
    if not solved:
        return found[0].verdict if len(found) == 1 else "nothing could run there in this case"
    best = solved[0]
    said = best.verdict.replace("Adds ", "which adds ", 1)
    return f"the best would be {best.title}, {best.pump.title}, {said}"
