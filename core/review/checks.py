"""Rules of check valves: missing beside a circulator, backward, doubled, too near what stirs water."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from core.controls.expressions import runs
from core.figures import PumpFigures, SourceFigures
from core.plant.model import Item
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.straight import NEED_CHECK, straight_before
from core.review.study import Study
from core.vocabulary import Trait
from core.water.runs import Run

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
SLIGHT = 1e-6  # [m^3/s]
PUSHED = -0.01  # share of another circulator's water that a run must be able to take backward


def keeps_back(study: Study, item: Item) -> bool:
    """Whether something on the run of a circulator stops water from going back through it at rest."""
    if item.si.get("integral_check"):
        return True
    return any(one.has(Trait.CHECKS, Trait.OPENS_BY_SIGNAL) for one in study.on_run(item))


@rule(
    "check-beside-circulator",
    "Circulator beside another without a check valve",
    Severity.MEND,
    "While the other circulator runs, water goes backward through this one: it heats a circuit that nobody "
    "called and cools the header.",
    "published trade journal article on check valves of parallel circulators",
    "Put a check valve behind the circulator, or take one with a check valve in it.",
    origin="check-parallel-pumps",
    insert="check valve",
)
def check_beside_circulator(study: Study) -> Iterator[Found]:
    """Circulators that another one pushes backward, with nothing in their run to stop that."""
    for item in study.items(Trait.DRIVES):
        beside = [
            other
            for other, shares in study.pushes.items()
            if shares.get(item.id, 0.0) < PUSHED and other not in study.arrows.backward
        ]
        if beside and item.id not in study.arrows.backward and not keeps_back(study, item):
            names = ", ".join(beside)
            verb = "runs" if len(beside) == 1 else "run"
            yield Found(
                (item.id,),
                f"{item.id} lies beside {names} with no check valve in its run: water goes back through it "
                f"while {names} {verb} and it rests.",
            )


@rule(
    "against-the-arrow",
    "Piped backward",
    Severity.MEND,
    "Against its arrow a circulator works against all else, and a check valve lets nothing pass.",
    "published trade column (three cases seen)",
    "Turn it round.",
    origin="circ-direction",
)
def against_the_arrow(study: Study) -> Iterator[Found]:
    """Circulators and checks whose arrow no water can follow, though it could go the other way."""
    for key in study.arrows.backward:
        item = study.plant.items[key]
        if item.has(Trait.DRIVES):
            yield Found(
                (key,), f"{key} pushes against the arrows of all else on its way: it is drawn backward."
            )
        elif item.has(Trait.ONE_WAY):
            held = [p.id for p in study.on_run(item) if p.has(Trait.DRIVES)]
            more = f" It holds the head of {held[0]}." if held else ""
            yield Found((key,), f"{key} points against the way of its water: nothing can pass.{more}")


@rule(
    "source-backward",
    "Inlet and outlet changed over",
    Severity.MEND,
    "A source or valve that water enters at its outlet does not work as made, and its sensors mislead it.",
    PRACTICE,
    "Change its two pipes over.",
)
def source_backward(study: Study) -> Iterator[Found]:
    """Sources and valves that are piped backward, or passed backward in a solved case."""
    for key in study.arrows.backward:
        item = study.plant.items[key]
        if not item.has(Trait.DRIVES, Trait.ONE_WAY):
            yield Found((key,), f"Water can only enter {key} at its outlet.")
    for solution, _ in study.each():
        for key, source in solution.of(SourceFigures).items():
            called = runs(study.plant.items[key].si, solution.signals)
            if source.flow_m3_s < -SLIGHT and called and key not in study.arrows.backward:
                yield Found((key,), f"Water enters {key} at its outlet.", case=solution.case)


@rule(
    "pushed-backward",
    "Running circulator with water going back through it",
    Severity.MEND,
    "Others push more than it does: it heats itself and moves nothing.",
    PRACTICE,
    "Put a check valve behind it, and see whether it is too small beside the others.",
    origin="circ-direction",
    solved=True,
)
def pushed_backward(study: Study) -> Iterator[Found]:
    """Circulators that run while water flows against their arrow."""
    for solution, _ in study.each():
        for key, pump in solution.of(PumpFigures).items():
            if pump.running and pump.flow_m3_s < -SLIGHT and key not in study.arrows.backward:
                flow = study.flow(-pump.flow_m3_s)
                yield Found(
                    (key,),
                    f"{key} runs, and {flow} go back through it.",
                    (Figure("back_m3_s", -pump.flow_m3_s),),
                    solution.case,
                )


@rule(
    "check-twice",
    "Two check valves in one run",
    Severity.CONSIDER,
    "The second adds loss and a rattle, and water locked between them swells with heat.",
    PRACTICE,
    "Keep one; a circulator with a check valve in it needs no other.",
)
def check_twice(study: Study) -> Iterator[Found]:
    """Runs with two checks that point the same way and nothing between them that wants both."""
    for run in study.runs.all:
        checks = [
            item
            for item in study.runs.items(run)
            if item.has(Trait.CHECKS) or (item.has(Trait.DRIVES) and item.si.get("integral_check"))
        ]
        for one, other in pairwise(checks):
            second = other if other.has(Trait.CHECKS) else one
            first = one if second is other else other
            if run.sign(one.id) == run.sign(other.id) and not _both_legs(study, run, one, other):
                words = (
                    f"{first.id} holds it already" if first.has(Trait.CHECKS) else f"{first.id} has its own"
                )
                yield Found(
                    (second.id, first.id), f"{second.id} is a second check valve in the run: {words}."
                )


def _both_legs(study: Study, run: Run, one: Item, other: Item) -> bool:
    """Whether what gives or takes heat lies between two checks: then each guards a leg."""
    at = [run.keys.index(item.id) for item in (one, other)]
    between = [study.plant.items.get(key) for key in run.keys[min(at) : max(at)]]
    heat = (Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL, Trait.MAKES_HEAT)
    return any(item is not None and item.has(*heat) for item in between)


@rule(
    "check-in-stirred-water",
    "Check valve close behind what stirs the water",
    Severity.CONSIDER,
    "In stirred water its disc flutters and rattles; about 12 diameters of straight pipe before it calm "
    "that.",
    "published trade text on detailing of primary and secondary piping",
    "Move it farther behind the circulator or bend, or take one made to sit close behind it.",
    origin="circ-check-distance",
)
def check_in_stirred_water(study: Study) -> Iterator[Found]:
    """Checks on a live run with less than 12 diameters of straight pipe before them."""
    for item in study.items(Trait.CHECKS):
        found = straight_before(study, item, "in", NEED_CHECK)
        if found is not None:
            yield Found((item.id, *found.pipes), found.text, found.figures, guess=found.guess)
