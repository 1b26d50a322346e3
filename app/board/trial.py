"""What an edit, or one only tried, leaves as it was: lines and words that need not be made again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from dataclasses import replace
from itertools import compress, filterfalse
from operator import is_not
from typing import NamedTuple, TypeVar

from app.pens import text_width
from core.diagram import control_lines, guides, symbols
from core.diagram.geometry import Box, Polyline, box_of, hull
from core.diagram.labels import Placed
from core.diagram.picture import Detail, Picture, compose, texts_as_put
from core.diagram.routes import follow, route
from core.diagram.states import SolvedCase, state_of
from core.plant.model import Plant, PortRef

_Part = TypeVar("_Part")
_Thing = TypeVar("_Thing")

NEAR = 160.0
"""How far round a pipe in the hand its line minds other things, in board units."""
ON_ITS_WAY = 90.0
"""The same for a hand on its way, whose lines go no longer ways round."""
FEW = 4
"""Pipes that are laid with all care while a hand moves them."""


def moved(before: Plant, after: Plant) -> set[str]:
    """Items that are new, or do not lie where they lay."""
    known = before.items
    return {
        name
        for name in _other(after.items, known)
        if not symbols.same_place(known.get(name), after.items[name])
    }


def _other(after: Mapping[str, _Part], before: Mapping[str, _Part]) -> set[str]:
    """What is not the very same thing as before. A hand asks with each step, so no line of Python a thing."""
    if after is before:
        return set()
    return set(compress(after, map(is_not, after.values(), map(before.get, after))))


def _gone(before: Mapping[str, object], after: Mapping[str, object]) -> set[str]:
    """Names that are no longer there."""
    return set() if after is before else set(filterfalse(after.__contains__, before))


def same_lines(before: Plant, after: Plant) -> bool:
    """Whether nothing has changed that a pipe's line depends on."""
    if list(before.pipes) != list(after.pipes) or before.items.keys() != after.items.keys():
        return False
    same = all(
        old is new or (old.start, old.end, old.via) == (new.start, new.end, new.via)
        for old, new in zip(before.pipes.values(), after.pipes.values(), strict=True)
    )
    return same and not moved(before, after)


def same_look(before: Plant, after: Plant, solution: SolvedCase | None) -> bool:
    """Whether an edit that leaves all lines as they are changes nothing else that is drawn, but words."""
    if (before.units, before.systems, before.texts) != (after.units, after.systems, after.texts):
        return False
    pairs = [*zip(before.items.values(), after.items.values(), strict=True)]
    changed = [(old, new) for old, new in pairs if old is not new]
    if any(
        old.stage != new.stage or state_of(old, solution) is not state_of(new, solution)
        for old, new in changed
    ):
        return False
    if any(old.props.get(key) != new.props.get(key) for old, new in changed for key in control_lines.FOLLOWS):
        return False
    pipes = zip(before.pipes.values(), after.pipes.values(), strict=True)
    return all(old is new or (old.stage, old.system) == (new.stage, new.system) for old, new in pipes)


def same_figures(before: SolvedCase | None, after: SolvedCase | None) -> bool:
    """Whether two answers say the same of everything."""
    if before is None or after is None:
        return before is after
    return all(
        getattr(before, part) == getattr(after, part)
        for part in ("case", "signals", "pipes", "items", "notes")
    )


class Tried(NamedTuple):
    """Lines of a plant that is tried, and what about them is new."""

    lines: dict[str, Polyline]
    touched_items: set[str]
    """Items that are new or lie elsewhere, and those at the ends of changed pipes."""
    changed: set[str]
    """Pipes with another line, or other ends."""
    near: set[str]
    """Pipes round about, the changed ones among them."""
    careful: bool = True
    """Whether these are the best lines that are sought for a trial."""


class Trying(NamedTuple):
    """What the hand last tried of a large plant: from which plant of the document, which, and its lines."""

    known: Plant
    plant: Plant
    tried: Tried

    def lines_for(self, plant: Plant, known: Plant) -> Tried | None:
        """The lines with which a hand let go, where they are the best that a trial seeks."""
        fits = self.known is known and self.tried.careful and same_lines(self.plant, plant)
        return self.tried if fits else None


def lines(plant: Plant, known: Plant, settled: Mapping[str, Polyline]) -> dict[str, Polyline]:
    """Lines of a plant that is tried."""
    return tried(plant, known, settled).lines


def tried(plant: Plant, known: Plant, settled: Mapping[str, Polyline], hurried: bool = False) -> Tried:
    """Lines of a plant that is tried: the pipes it touches are laid among what lies near.

    A few are sought as they will lie, and others give way to them; many only follow the hand, the rest stays.
    `hurried`: few only follow it too, as while it is on its way.
    """
    moved_items = moved(known, plant)
    before = known.pipes
    touched = _other(plant.pipes, before)
    touched |= pipes_on(known, moved_items) & plant.pipes.keys()
    ends = {end.item for name in touched for end in (plant.pipes[name].start, plant.pipes[name].end)}
    gone = _gone(before, plant.pipes)
    ends |= {end.item for name in gone for end in (before[name].start, before[name].end)}
    ends &= plant.items.keys()
    kept = _less(settled, touched | gone)
    if not touched:
        return Tried(kept, moved_items | ends, touched, touched)
    few = len(touched) <= FEW
    careful = few and not hurried
    area = hull([symbols.box(plant.items[end]) for end in ends]).grown(NEAR if careful else ON_ITS_WAY)
    near = touched | (_places(settled, _line_boxes).within(area) & kept.keys())
    pipes = {name: plant.pipes[name] for name in sorted(near)}
    held = {end.item for pipe in pipes.values() for end in (pipe.start, pipe.end)}
    held |= _places(known, _item_boxes).within(area) & plant.items.keys()
    held |= {name for name in moved_items if symbols.box(plant.items[name]).overlaps(area)}
    part = replace(plant, items={name: plant.items[name] for name in sorted(held)}, pipes=pipes)
    if careful:
        new = route(part, kept)
    else:
        new = follow(part, touched, {name: kept[name] for name in near - touched})
    changed = touched | {name for name, line in new.items() if line != settled.get(name)}
    return Tried({**kept, **new}, moved_items | ends, changed, near, careful or not few)


def pipes_on(plant: Plant, items: Set[str]) -> set[str]:
    """Pipes that end at some items."""
    return {
        pipe
        for name in items & plant.items.keys()
        for port in plant.items[name].ports
        for pipe in plant.pipes_at.get(PortRef(name, port), ())
    }


def _less(known: Mapping[str, _Part], names: Set[str]) -> dict[str, _Part]:
    out = dict(known)
    for name in names:
        out.pop(name, None)
    return out


class _Places:
    """Boxes by coarse squares of the board, so that what lies in an area is found without asking all."""

    SIDE = 400.0

    def __init__(self, boxes: Mapping[str, Box]) -> None:
        self._boxes = boxes
        self._squares: dict[tuple[int, int], set[str]] = {}
        for name, box in boxes.items():
            for square in self._over(box):
                self._squares.setdefault(square, set()).add(name)

    def within(self, area: Box) -> set[str]:
        """Names of the boxes that an area overlaps."""
        found: set[str] = set()
        for square in self._over(area):
            found |= self._squares.get(square, set())
        return {name for name in found if self._boxes[name].overlaps(area)}

    def _over(self, box: Box) -> Iterator[tuple[int, int]]:
        for x in range(int(box.x0 // self.SIDE), int(box.x1 // self.SIDE) + 1):
            for y in range(int(box.y0 // self.SIDE), int(box.y1 // self.SIDE) + 1):
                yield x, y


_known: dict[Callable[..., object], tuple[object, _Places]] = {}
"""Places of the last lines and the last plant asked about: a hand asks for the same ones again and again."""


def _places(of: _Thing, boxes: Callable[[_Thing], dict[str, Box]]) -> _Places:
    known = _known.get(boxes)
    if known is None or known[0] is not of:
        known = _known[boxes] = of, _Places(boxes(of))
    return known[1]


def prepare(plant: Plant, settled: Mapping[str, Polyline]) -> None:
    """Make what the first step of a hand will ask for; from any thread."""
    _places(settled, _line_boxes)
    _places(plant, _item_boxes)
    guides.prepare(plant)


def _line_boxes(settled: Mapping[str, Polyline]) -> dict[str, Box]:
    return {name: box_of(line) for name, line in settled.items()}


def _item_boxes(plant: Plant) -> dict[str, Box]:
    return {name: symbols.box(item) for name, item in plant.items.items()}


def round_about(
    picture: Picture, plant: Plant, known: Plant, solution: SolvedCase | None, tried: Tried
) -> Picture:
    """The picture of a plant that is tried, made anew only where `picture`, that of `known`, was touched.

    Lines that cross a changed one get their hop when the whole is drawn again.
    """
    around = _beside(tried) | (pipes_on(known, tried.touched_items) & plant.pipes.keys())
    pipes = {name: plant.pipes[name] for name in sorted(around)}
    held = tried.touched_items | {end.item for pipe in pipes.values() for end in (pipe.start, pipe.end)}
    part = replace(plant, items={name: plant.items[name] for name in held}, pipes=pipes, texts=())
    lines = {name: tried.lines[name] for name in pipes}
    fresh = compose(part, solution, text_width, Detail(tags=False, labels=False, wires=()), lines)
    renewed = tried.changed | _gone(plant.pipes, known.pipes)
    lost, dry = _gone(known.items, plant.items), _gone(known.pipes, plant.pipes)
    drawn = _less(picture.pipes, dry)
    states, stubs = _less(picture.states, lost), _less(picture.stubs, lost)
    ends = _less(picture.open_ends, lost)
    for name in tried.touched_items:
        states[name] = fresh.states[name]
        for mine, theirs in ((stubs, fresh.stubs), (ends, fresh.open_ends)):
            mine.pop(name, None)
            if name in theirs:
                mine[name] = theirs[name]  # type: ignore[assignment]
    return replace(
        picture,
        pipes=drawn | {name: fresh.pipes[name] for name in renewed if name in fresh.pipes},
        states=states,
        stubs=stubs,
        open_ends=ends,
        tags=_less(picture.tags, tried.touched_items | lost),
        labels=_less(picture.labels, renewed | dry),
        markers=_less(picture.markers, tried.touched_items | lost | renewed | dry),
        hidden=picture.hidden - dry,
    )


def _beside(tried: Tried) -> set[str]:
    """The pipes with other lines, and those that may meet them."""
    if not tried.changed:
        return set()
    area = hull([box_of(tried.lines[name]) for name in tried.changed]).grown(1.0)
    return {name for name in tried.near if box_of(tried.lines[name]).overlaps(area)} | tried.changed


def with_words_of(before: Picture, picture: Picture, worded: Plant, plant: Plant, scale: float) -> Picture:
    """A picture with the words of the one before, but for moved items and pipes with another line.

    `worded` is the plant whose words those are. Texts of the user that are new or moved stand as they were
    put, enlarged by `scale`, until all words are placed again.
    """
    moved_items = moved(worded, plant)
    return replace(
        picture,
        tags={k: tag for k, tag in before.tags.items() if k in picture.states and k not in moved_items},
        labels={
            k: label
            for k, label in before.labels.items()
            if k in picture.pipes and picture.pipes[k].line == before.pipes[k].line
        },
        markers={k: mark for k, mark in before.markers.items() if k not in moved_items},
        texts=_texts_of(before, picture, worded, plant, scale),
        hidden=before.hidden,
    )


def _texts_of(
    before: Picture, picture: Picture, worded: Plant, plant: Plant, scale: float
) -> dict[str, Placed]:
    kept = {
        str(number): before.texts[str(number)]
        for number, (old, new) in enumerate(zip(worded.texts, plant.texts, strict=False))
        if old is new and str(number) in before.texts
    }
    fresh = [number for number in range(len(plant.texts)) if str(number) not in kept]
    return {**kept, **texts_as_put(plant, text_width, picture, fresh, scale)} if fresh else kept
