"""Pipes that follow one another and say the same."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from core.diagram import annotations as words_of
from core.vocabulary import Trait
from core.water.numbers import grouped

if TYPE_CHECKING:
    from core.plant.model import Plant

STANDS = (words_of.NO_FLOW,)


def chains(
    plant: Plant, words: Mapping[str, tuple[str, ...]], parting: tuple[Trait, ...] = ()
) -> list[list[str]]:
    """Pipes that follow one another and say the same, in groups that end at items of `parting`."""
    meeting: dict[str, list[str]] = {}
    for name in words:
        pipe = plant.pipes[name]
        for end in (pipe.start, pipe.end):
            meeting.setdefault(end.item, []).append(name)
    pairs: list[tuple[str, str]] = []
    for item, names in meeting.items():
        if item in plant.items and plant.items[item].has(Trait.EXCHANGES_HEAT, Trait.WATER_STANDS, *parting):
            continue
        pairs += pairwise(name for name in names if words[name] == STANDS)
        moving = [name for name in names if words[name] != STANDS]
        if len(moving) == 2 and words[moving[0]] == words[moving[1]]:
            pairs.append((moving[0], moving[1]))
    groups: dict[str, list[str]] = {}
    for name, first in grouped(words, pairs).items():
        groups.setdefault(first, []).append(name)
    return list(groups.values())
