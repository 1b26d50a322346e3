"""What an edit, or one only tried, leaves as it was: lines and words that need not be made again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from app.inking import text_width
from core.diagram import symbols
from core.diagram.geometry import Polyline, box_of, hull
from core.diagram.labels import Placed
from core.diagram.picture import Picture, texts_as_put
from core.diagram.routes import route
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
    return {name for name, item in after.items.items() if not same_place(before.items.get(name), item)}


def same_lines(before: Plant, after: Plant) -> bool:
    """Whether nothing has changed that a pipe's line depends on."""
    if list(before.pipes) != list(after.pipes) or before.items.keys() != after.items.keys():
        return False
    same = all(
        old is new or (old.start, old.end, old.via) == (new.start, new.end, new.via)
        for old, new in zip(before.pipes.values(), after.pipes.values(), strict=True)
    )
    return same and not moved(before, after)


def lines(plant: Plant, known: Plant, settled: Mapping[str, Polyline]) -> dict[str, Polyline]:
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
    if not touched:
        return kept
    ends = {end.item for name in touched for end in (plant.pipes[name].start, plant.pipes[name].end)}
    area = hull([symbols.box(plant.items[end]) for end in ends]).grown(NEAR)
    near = touched | {name for name, line in kept.items() if box_of(line).overlaps(area)}
    pipes = {name: plant.pipes[name] for name in plant.pipes if name in near}
    held = {end.item for pipe in pipes.values() for end in (pipe.start, pipe.end)}
    items = {
        name: item for name, item in plant.items.items() if name in held or symbols.box(item).overlaps(area)
    }
    few = len(touched) <= FEW
    fresh = route(replace(plant, items=items, pipes=pipes), kept, quick=not few)
    if few:
        return {name: fresh[name] if name in near else kept[name] for name in plant.pipes}
    return {name: fresh[name] if name in touched else kept[name] for name in plant.pipes}


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
