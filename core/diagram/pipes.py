"""Pipes as they are painted: lines with hops, weights, arrows and letters; what room they take from texts.

Branches to gauges, vents, drains, reliefs and expansion tanks are thin and solid while still; the dash is
for still mains.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from core.diagram import annotations as words_of
from core.diagram import stages, states
from core.diagram.chains import STANDS, chains
from core.diagram.geometry import Box, Point, Polyline, box_of, length, segments
from core.diagram.marks import LETTER_RUN, Arrow, Letter, arrows_on, letter_on
from core.diagram.routes import HOP, crossings
from core.diagram.runs import stretches
from core.diagram.states import SolvedCase

if TYPE_CHECKING:
    from core.plant.model import Plant

LETTER_EVERY = 240.0  # letters of one system keep this distance
LETTER_AGAIN = 120.0  # and this one where a loop would have none
LEAST_LETTER = 70.0  # a run shorter than this has no room for one beside its arrow
BARE_LETTER = 24.0  # unless its system would have none at all
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
    plant: Plant,
    solution: SolvedCase | None,
    lines: Mapping[str, Polyline],
    staged: bool,
    clear: Sequence[Box] = (),
) -> dict[str, PipePicture]:
    """Every pipe as it is painted, in the plant's order.

    `staged`: with letters of the work's stage; `clear`: where no system's letter may stand.
    """
    lay = lay_of(lines)
    led = _leads(plant, solution, lay.reach)
    letters = letters_of(plant, lines, tuple(clear))
    out: dict[str, PipePicture] = {}
    for pipe in plant.pipes.values():
        line = lines[pipe.id]
        value = states.flow(solution, pipe.id)
        stands = states.still(solution, pipe.id)
        dead = states.dead_end(plant, pipe) and (stands or value is None)
        heavy = 1.0 if dead else states.weight(value)
        jumps = tuple(lay.jumps.get(pipe.id, ()))
        crossed = (*jumps, *lay.jumped.get(pipe.id, ()))
        marks = [letters[pipe.id]] if pipe.id in letters else []
        if staged:
            marks += stages.in_line(line, pipe, crossed, marks)
        arrows: tuple[Arrow, ...] = ()
        if value is not None and not stands and pipe.id in led:
            arrows = arrows_on(line, value > 0, heavy, crossed, tuple(marks))
        out[pipe.id] = PipePicture(pipe.id, line, jumps, heavy, stands and not dead, arrows, tuple(marks))
    return out


_lettered: tuple[Mapping[str, Polyline], list[list[str]], tuple[Any, ...], dict[str, Letter]] | None = None
"""Letters of the lines, stretches and words last asked about."""


def letters_of(plant: Plant, lines: Mapping[str, Polyline], clear: tuple[Box, ...] = ()) -> dict[str, Letter]:
    """The letter of its system in the gap of a pipe's line: on every loop, and not too near to one another.

    The same in every case, solved or not; nobody changes the answer in place.
    """
    global _lettered
    known, along = _lettered, stretches(plant)
    said = words_of.system_letters(plant), words_of.system_strokes(plant), clear
    if known is None or known[0] is not lines or known[1] is not along or known[2] != said:
        known = _lettered = lines, along, said, _letters(plant, lines, along, *said)
    return known[3]


def _letters(
    plant: Plant,
    lines: Mapping[str, Polyline],
    along: list[list[str]],
    texts: Mapping[str, str],
    strokes: Mapping[str, int],
    clear: tuple[Box, ...],
) -> dict[str, Letter]:
    lay = lay_of(lines)
    flowing = [stretch for stretch in along if not states.dead_end(plant, plant.pipes[stretch[0]])]
    out: dict[str, Letter] = {}

    def put(name: str, least: float, every: float) -> bool:
        crossed = (*lay.jumps.get(name, ()), *lay.jumped.get(name, ()))
        system = plant.pipes[name].system
        mark = letter_on(lines[name], texts.get(system, ""), crossed, strokes.get(system, 0), least, clear)
        if mark is None or any(_near(mark, other, every) for other in out.values()):
            return False
        out[name] = mark
        return True

    # The longest choose first where the letters stand.
    longest = [sorted(stretch, key=lambda name: (-lay.reach[name], name)) for stretch in flowing]
    for name in sorted((name for stretch in longest for name in stretch), key=lambda n: (-lay.reach[n], n)):
        put(name, LETTER_RUN, LETTER_EVERY)
    for least, every in ((LEAST_LETTER, LETTER_AGAIN), (BARE_LETTER, 0.0)):
        bare = {pipe.system for pipe in plant.pipes.values()} - {plant.pipes[name].system for name in out}
        for stretch in sorted(longest, key=lambda names: (-lay.reach[names[0]], names[0])):
            system = plant.pipes[stretch[0]].system
            if not (every or system in bare) or out.keys() & set(stretch):
                continue
            if any(put(name, least, every) for name in stretch):
                bare.discard(system)
    return out


def _near(a: Letter, b: Letter, every: float) -> bool:
    """Whether two letters say the same too near to each other."""
    return a.text == b.text and abs(a.at[0] - b.at[0]) + abs(a.at[1] - b.at[1]) < every


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
