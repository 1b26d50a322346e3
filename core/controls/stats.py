"""What a stat makes of the temperature it feels: its points, and on which side of its band it stands."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from core.controls.resets import Resets
from core.plant.model import Item, Plant
from core.vocabulary import Trait

EDGE = 1e-6  # [K] within which a point counts as not yet passed


@dataclass(frozen=True)
class Stat:
    """A stat that feels something.

    `place` is [item or pipe, port or sensor]; `set_at` [K], where it breaks; `differential` [K] between
    making and breaking; `rising` one that makes as the temperature rises.
    """

    key: str
    place: tuple[str, ...]
    set_at: float
    differential: float
    rising: bool

    @property
    def on_point(self) -> float:
        """Temperature beyond which it makes, [K]."""
        return self.set_at + self.differential if self.rising else self.set_at - self.differential

    @property
    def sense(self) -> float:
        """1 where what it calls is to warm its place, -1 where it is to cool it."""
        return -1.0 if self.rising else 1.0

    def calls(self, t: float) -> bool:
        """Whether it is on at a temperature [K]: beyond its on point, and inside its band too.

        Examples
        --------
        >>> stat = Stat("AQ-1", ("T-1",), 330.0, 5.0, False)
        >>> [stat.calls(t) for t in (320.0, 327.0, 331.0)]
        [True, True, False]
        """
        return self.sense * (t - self.set_at) <= EDGE

    @property
    def middle(self) -> float:
        """Middle of its band, [K]."""
        return 0.5 * (self.set_at + self.on_point)

    def passes(self, on: bool, start: float, end: float) -> float:
        """Share of a straight way between two temperatures [K] at which it flips; infinite where it does not.

        One that feels nothing any more (nan) breaks at once.

        Examples
        --------
        >>> stat = Stat("AQ-1", ("T-1",), 330.0, 5.0, False)
        >>> [round(stat.passes(on, 320.0, 340.0), 3) for on in (True, False)]
        [0.5, 0.0]
        """
        if math.isnan(end):
            return 0.0 if on else math.inf
        point, sense = (self.set_at, self.sense) if on else (self.on_point, -self.sense)
        begin, past = (sense * (t - point) - EDGE for t in (start, end))
        if begin > 0.0:
            return 0.0
        if past <= 0.0:
            return math.inf
        return 1.0 if math.isnan(begin) else -begin / (past - begin)

    def beyond_on(self, t: float) -> bool:
        """Whether a temperature [K] lies on the far side of its on point."""
        return self.sense * (t - self.on_point) < -EDGE


def stats_of(plant: Plant) -> dict[str, Stat]:
    """Stats that feel a place and have a point to act at, by id."""
    found = {}
    for item in plant.items.values():
        if item.has(Trait.STAT) and item.stage != "to_remove" and item.si.get("senses"):
            place = tuple(item.si["senses"])
            set_at = _set_at(plant, item, place)
            if set_at is not None:
                width = float(item.si.get("differential") or 0.0)
                found[item.id] = Stat(item.id, place, set_at, width, item.si.get("makes_on") == "rise")
    return found


def out_of_reach(plant: Plant, stat: Stat) -> bool:
    """Whether a stat that makes on a fall acts above all that any source is set to: a limit, which its water
    does not come to in service, so that it does not cycle."""
    set_at = [item.si.get("set_temperature") for item in plant.with_trait(Trait.MAKES_HEAT)]
    below = (isinstance(one, float) and one < stat.set_at - EDGE for one in set_at)
    return not stat.rising and bool(set_at) and all(below)


def as_reset(stats: Mapping[str, Stat], resets: Resets) -> dict[str, Stat]:
    """Stats at the points that outdoor resets give them in some weather."""
    return {
        key: replace(stat, set_at=resets.set[key][1]) if key in resets.set else stat
        for key, stat in stats.items()
    }


def _set_at(plant: Plant, item: Item, place: Iterable[str]) -> float | None:
    """Where a stat acts, [K]; one that feels a room and has no point of its own takes what the room wants."""
    own = item.si.get("set_temperature")
    if own is not None:
        return float(own)
    room = plant.items.get(next(iter(place)))
    if room is None or not room.has(Trait.ROOM):
        return None
    wanted = room.si.get("wanted")
    return float(plant.site_si.indoor if wanted is None else wanted)
