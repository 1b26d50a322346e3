"""Pipes as they are painted: lines with hops, weights, arrows and letters; what room they take from texts.

Branches to gauges, vents, drains, reliefs and expansion tanks are thin and solid while still; the dash is
for still mains.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from core.diagram import annotations as words_of
from core.diagram import stages, states
from core.diagram.geometry import Box, Point, Polyline, box_of, length, segments
from core.diagram.marks import Arrow, Letter, arrows_on, letter_on
from core.diagram.routes import HOP, crossings
from core.diagram.states import SolvedCase
from core.vocabulary import Trait
from core.water.numbers import grouped

if TYPE_CHECKING:
    from core.plant.model import Plant

STANDS = (words_of.NO_FLOW,)
LETTER_EVERY = 240.0  # letters of one system keep this distance
LONG = 44.0  # a pipe with a run this long carries an arrow


@dataclass(frozen=True)
class PipePicture:
    """One pipe as it is painted."""

    id: str
    line: Polyline
    hops: tuple[Point, ...]
    weight: float
    still: bool
    arrows: tuple[Arrow, ...]
    letters: tuple[Letter, ...]
    proposed: bool = False


class Lay(NamedTuple):
    """What follows from the lines alone."""

    jumps: Mapping[str, list[Point]]
    jumped: Mapping[str, list[Point]]
    reach: Mapping[str, float]
    """Length of each pipe's longest run [u]."""


_last: tuple[Mapping[str, Polyline], Lay] | None = None
"""Of the lines last asked about: an edit of figures draws the same ones twice."""


def lay_of(lines: Mapping[str, Polyline]) -> Lay:
    """Crossings and lengths of lines that nobody changes in place."""
    global _last
    known = _last
    if known is None or known[0] is not lines:
        reach = {name: max(map(length, segments(line)), default=0.0) for name, line in lines.items()}
        known = _last = lines, Lay(*crossings(lines), reach)
    return known[1]


def pipes_of(
    plant: Plant, solution: SolvedCase | None, lines: Mapping[str, Polyline], staged: bool
) -> dict[str, PipePicture]:
    """Every pipe as it is painted, in the plant's order; `staged`: with letters of the work's stage."""
    letters = words_of.system_letters(plant)
    lay = lay_of(lines)
    led = _leads(plant, solution, lay.reach)
    out: dict[str, PipePicture] = {}
    lettered: list[Letter] = []
    # The longest choose first where the letters stand.
    for pipe in sorted(plant.pipes.values(), key=lambda pipe: (-lay.reach[pipe.id], pipe.id)):
        line = lines[pipe.id]
        value = states.flow(solution, pipe.id)
        stands = states.still(solution, pipe.id)
        dead = states.dead_end(plant, pipe) and (stands or value is None)
        heavy = 1.0 if dead else states.weight(value)
        jumps = tuple(lay.jumps.get(pipe.id, ()))
        crossed = (*jumps, *lay.jumped.get(pipe.id, ()))
        mark = None if dead else letter_on(line, letters.get(pipe.system, ""), crossed)
        marks = [] if mark is None or any(_near(mark, other) for other in lettered) else [mark]
        lettered += marks
        if staged:
            marks += stages.in_line(line, pipe, crossed, marks)
        arrows: tuple[Arrow, ...] = ()
        if value is not None and not stands and pipe.id in led:
            arrows = arrows_on(line, value > 0, heavy, crossed, tuple(marks))
        out[pipe.id] = PipePicture(pipe.id, line, jumps, heavy, stands and not dead, arrows, tuple(marks))
    return {name: out[name] for name in plant.pipes}


def _near(a: Letter, b: Letter) -> bool:
    """Whether two letters say the same too near to each other."""
    return a.text == b.text and abs(a.at[0] - b.at[0]) + abs(a.at[1] - b.at[1]) < LETTER_EVERY


def _leads(plant: Plant, solution: SolvedCase | None, reach: Mapping[str, float]) -> set[str]:
    """Pipes that carry an arrow: all long ones, and of a chain of short ones the longest."""
    flows = {
        name: STANDS if states.still(solution, name) else (f"{abs(states.flow(solution, name) or 0.0):.3e}",)
        for name in plant.pipes
    }
    out = {name for name, far in reach.items() if far >= LONG}
    for chain in chains(plant, flows):
        if not out & set(chain):
            out.add(max(chain, key=lambda name: reach[name]))
    return out


def chains(plant: Plant, words: Mapping[str, tuple[str, ...]]) -> list[list[str]]:
    """Pipes that follow one another and say the same, in groups."""
    meeting: dict[str, list[str]] = {}
    for name in words:
        pipe = plant.pipes[name]
        for end in (pipe.start, pipe.end):
            meeting.setdefault(end.item, []).append(name)
    pairs: list[tuple[str, str]] = []
    for item, names in meeting.items():
        if item in plant.items and plant.items[item].has(Trait.EXCHANGES_HEAT, Trait.WATER_STANDS):
            continue
        pairs += pairwise(name for name in names if words[name] == STANDS)
        moving = [name for name in names if words[name] != STANDS]
        if len(moving) == 2 and words[moving[0]] == words[moving[1]]:
            pairs.append((moving[0], moving[1]))
    groups: dict[str, list[str]] = {}
    for name, first in grouped(words, pairs).items():
        groups.setdefault(first, []).append(name)
    return list(groups.values())


def boxes_of(picture: PipePicture) -> Iterator[tuple[Box, str]]:
    """What a pipe covers and no text may, with the word before its name there."""
    for run in segments(picture.line):
        yield box_of(run).grown(picture.weight / 2 + 1.0), ""
    for x, y in picture.hops:
        yield Box(x, y - HOP, x + HOP, y + HOP).grown(1.0), ""
    for arrow in picture.arrows:
        yield arrow.box.grown(1.0), "arrow "
    for letter in picture.letters:
        yield letter.box, "letter "
