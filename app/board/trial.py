"""What an edit, or one only tried, leaves as it was: lines and words that need not be made again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from app.inking import text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Polyline, box_of, hull
from core.diagram.labels import Placed
from core.diagram.picture import Detail, Picture, compose, texts_as_put
from core.diagram.routes import route
from core.diagram.states import Figures
from core.plant.model import Item, Plant

NEAR = 160.0
"""How far round a pipe in the hand its line minds other things, in board units."""
FEW = 4
"""Pipes that are laid with all care while a hand moves them."""


def same_place(old: Item | None, new: Item) -> bool:
    """Whether a symbol looks the same and lies where it lay."""
    if old is new:
        return True
    looks = old is not None and symbols.shape(old) is symbols.shape(new)
    return looks and old is not None and (old.at, old.turn, old.flip) == (new.at, new.turn, new.flip)


def moved(before: Plant, after: Plant) -> set[str]:
    """Items that are new, or do not lie where they lay."""
    known = before.items
    changed = [item for name, item in after.items.items() if known.get(name) is not item]
    return {item.id for item in changed if not same_place(known.get(item.id), item)}


def same_lines(before: Plant, after: Plant) -> bool:
    """Whether nothing has changed that a pipe's line depends on."""
    if list(before.pipes) != list(after.pipes) or before.items.keys() != after.items.keys():
        return False
    same = all(
        old is new or (old.start, old.end, old.via) == (new.start, new.end, new.via)
        for old, new in zip(before.pipes.values(), after.pipes.values(), strict=True)
    )
    return same and not moved(before, after)


class Tried(NamedTuple):
    """Lines of a plant that is tried, and what about them is new."""

    lines: dict[str, Polyline]
    stirred: set[str]
    """Items that are new or lie elsewhere, and those at the ends of changed pipes."""
    changed: set[str]
    """Pipes with another line, or other ends."""
    near: set[str]
    """Pipes round about, the changed ones among them."""


def lines(plant: Plant, known: Plant, settled: Mapping[str, Polyline]) -> dict[str, Polyline]:
    """Lines of a plant that is tried."""
    return tried(plant, known, settled).lines


def tried(plant: Plant, known: Plant, settled: Mapping[str, Polyline]) -> Tried:
    """Lines of a plant that is tried: the pipes it touches are laid among what lies near.

    A few are sought as they will lie, and others give way to them; many only follow the hand, the rest stays.
    """
    stirred = moved(known, plant)
    touched = {
        name
        for name, pipe in plant.pipes.items()
        if pipe is not known.pipes.get(name) or pipe.start.item in stirred or pipe.end.item in stirred
    }
    kept = {name: settled[name] for name in plant.pipes if name not in touched}
    ends = {end.item for name in touched for end in (plant.pipes[name].start, plant.pipes[name].end)}
    gone = known.pipes.keys() - plant.pipes.keys()
    ends |= {end.item for name in gone for end in (known.pipes[name].start, known.pipes[name].end)}
    ends &= plant.items.keys()
    if not touched:
        return Tried(kept, stirred | ends, touched, touched)
    area = hull([symbols.box(plant.items[end]) for end in ends]).grown(NEAR)
    boxes = _line_boxes(settled)
    near = touched | {name for name in kept if boxes[name].overlaps(area)}
    pipes = {name: plant.pipes[name] for name in plant.pipes if name in near}
    held = {end.item for pipe in pipes.values() for end in (pipe.start, pipe.end)}
    lie = _item_boxes(known)
    items = {
        name: item
        for name, item in plant.items.items()
        if name in held or (symbols.box(item) if name in stirred else lie[name]).overlaps(area)
    }
    few = len(touched) <= FEW
    fresh = route(replace(plant, items=items, pipes=pipes), kept, quick=not few)
    new = {name: fresh[name] for name in (near if few else touched)}
    changed = touched | {name for name, line in new.items() if line != settled.get(name)}
    whole = {name: new.get(name) or kept[name] for name in plant.pipes}
    return Tried(whole, stirred | ends, changed, near)


_boxes: dict[str, tuple[object, dict[str, Box]]] = {}
"""Boxes of the last lines and the last plant asked about: a hand asks for the same ones again and again."""


def _line_boxes(settled: Mapping[str, Polyline]) -> dict[str, Box]:
    if "lines" not in _boxes or _boxes["lines"][0] is not settled:
        _boxes["lines"] = settled, {name: box_of(line).grown(0.0) for name, line in settled.items()}
    return _boxes["lines"][1]


def _item_boxes(plant: Plant) -> dict[str, Box]:
    if "items" not in _boxes or _boxes["items"][0] is not plant:
        _boxes["items"] = plant, {name: symbols.box(item) for name, item in plant.items.items()}
    return _boxes["items"][1]


def round_about(picture: Picture, plant: Plant, solution: Figures | None, tried: Tried) -> Picture:
    """The picture of a plant that is tried, made anew only where it was touched.

    Lines that cross a changed one get their hop when the whole is drawn again.
    """
    stirred, near = tried.stirred, tried.near
    pipes = {
        name: pipe
        for name, pipe in plant.pipes.items()
        if name in near or pipe.start.item in stirred or pipe.end.item in stirred
    }
    held = tried.stirred | {end.item for pipe in pipes.values() for end in (pipe.start, pipe.end)}
    part = replace(plant, items={name: plant.items[name] for name in held}, pipes=pipes, texts=())
    lines = {name: tried.lines[name] for name in pipes}
    fresh = compose(part, solution, text_width, Detail(tags=False, labels=False, wires=()), lines)
    renewed = tried.changed | (plant.pipes.keys() - picture.pipes.keys())
    known = {name: one for name, one in picture.pipes.items() if name in plant.pipes}
    states = {name: one for name, one in picture.states.items() if name in plant.items}
    stubs = {name: one for name, one in picture.stubs.items() if name in plant.items}
    ends = {name: one for name, one in picture.open_ends.items() if name in plant.items}
    for name in tried.stirred:
        states[name] = fresh.states[name]
        for mine, theirs in ((stubs, fresh.stubs), (ends, fresh.open_ends)):
            mine.pop(name, None)
            if name in theirs:
                mine[name] = theirs[name]  # type: ignore[assignment]
    return replace(
        picture,
        pipes=known | {name: fresh.pipes[name] for name in renewed if name in fresh.pipes},
        states=states,
        stubs=stubs,
        open_ends=ends,
        tags={k: tag for k, tag in picture.tags.items() if k not in tried.stirred and k in plant.items},
        labels={k: label for k, label in picture.labels.items() if k not in renewed and k in known},
        markers={k: m for k, m in picture.markers.items() if k not in tried.stirred and k not in renewed},
        hidden=frozenset(k for k in picture.hidden if k in known),
        ground=None,
    )


def with_words_of(before: Picture, picture: Picture, worded: Plant, plant: Plant, scale: float) -> Picture:
    """A picture with the words of the one before, but for moved items and pipes with another line.

    `worded` is the plant whose words those are. Texts of the user that are new or moved stand as they were
    put, enlarged by `scale`, until all words are placed again.
    """
    stirred = moved(worded, plant)
    return replace(
        picture,
        tags={k: tag for k, tag in before.tags.items() if k in picture.states and k not in stirred},
        labels={
            k: label
            for k, label in before.labels.items()
            if k in picture.pipes and picture.pipes[k].line == before.pipes[k].line
        },
        markers={k: mark for k, mark in before.markers.items() if k not in stirred},
        texts=_texts_of(before, picture, worded, plant, scale),
        hidden=frozenset(k for k in before.hidden if k in picture.pipes),
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
