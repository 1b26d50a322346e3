"""How much straight pipe lies before a port, as far as the drawing tells: for rules on calm water.

A straight run that was typed counts as it is. Else pipes without bends add up through open valves and past
tees of gauges, and what lies beyond a bend is not known: the rule then asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.plant.model import Item, Pipe, PortRef
from core.review.finding import Figure
from core.review.study import Study
from core.vocabulary import Trait

NEED_PUMP, NEED_CHECK = 10.0, 12.0  # diameters
STRAIGHT = ("tee_run", "coupling", "union", "ball_valve", "gate_valve")  # fittings that do not bend the water


@dataclass(frozen=True)
class Short:
    """Too little straight pipe: the words, its figure, the pipes that were counted, whether it is a guess."""

    text: str
    figures: tuple[Figure, ...]
    pipes: tuple[str, ...]
    guess: bool


def bends(pipe: Pipe) -> bool:
    """Whether a pipe has fittings that turn or stir its water."""
    return any(count and name not in STRAIGHT for name, count in pipe.fittings.items())


def straight_length(study: Study, pipe: Pipe) -> tuple[float, bool]:
    """Straight length of one pipe [m], and whether it is only a guess."""
    guess = pipe.id in study.guessed
    if pipe.si.straight is not None:
        return pipe.si.straight, guess
    return pipe.si.length, guess or bends(pipe)


def straight_before(study: Study, item: Item, port: str, need: float) -> Short | None:
    """Less straight pipe before a port than some diameters; None where there is enough, or no live pipe."""
    pipe = study.pipe_at(item, port)
    if pipe is None or pipe.si.joined or pipe.si.bore <= 0.0:
        return None
    total, guess, counted = 0.0, False, []
    for one in _pipes_before(study, PortRef(item.id, port)):
        length, unsure = straight_length(study, one)
        counted.append(one.id)
        if one.si.straight is None and bends(one):
            guess = True  # its bend may lie at the far end
            break
        total += length
        guess |= unsure
        if one.si.straight is not None and one.si.straight < one.si.length * (1.0 - 1e-6):
            break
    if not counted or total >= need * pipe.si.bore * (1.0 - 1e-6):
        return None
    diameters = total / pipe.si.bore
    said = f"{study.length(total)} of straight pipe lie before {item.id}, {diameters:.0f} diameters"
    if guess and bends(study.plant.pipes[counted[-1]]):
        unknown = f"how much of {counted[-1]} is straight is not known"
        said = f"At least {said}; {unknown}" if total > 0.0 else f"Before {item.id} {unknown}"
    text = f"{said}. About {need:.0f} are wanted."
    return Short(text, (Figure("straight_diameters", diameters, -1),), tuple(counted), guess)


def _pipes_before(study: Study, place: PortRef) -> Iterator[Pipe]:
    for way in study.runs.from_port(place):
        if way.is_pipe:
            yield study.plant.pipes[way.key]
        elif not study.plant.items[way.key].has(Trait.HAND_VALVE, Trait.SPACER, Trait.JOINS):
            return
