"""What became of the stats of a case: what holds what, for which share of the time, and which hunt.

* share = -(surplus off) / (surplus on - surplus off). With too little heat the place is let go (share 1). A
  stat that runs nothing holds nothing; one that the case keeps on still holds its room; one that it fixes
  holds no tank. Of several that warm one place the higher comes first.
* Where a stat is kept on over a room that needs no heat, its share is 0.
* A room on a circuit that other stats switch gets heat for their share of the time (any-of: the longest).
  Where a free tank has priority, rooms get the rest of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from core.controls.stats import Stat
from core.controls.wiring import Wiring
from core.thermal.roles import Holding


@dataclass(frozen=True)
class Turn:
    """A room heated only while a stat elsewhere rests.

    That stat, the room's temperature [K], the share of the time heat comes, and that heat as it comes, [W].
    """

    waits_for: str
    t: float
    share: float
    heat: float


@dataclass(frozen=True)
class Pinned:
    """Places laid down, not settled: room temperatures [K], and whether stats are on."""

    rooms: Mapping[str, float]
    calling: Mapping[str, bool]


@dataclass(frozen=True)
class Moved:
    """A room or tank of a case of minutes or hours: where it began and ended [K], and whether it stays."""

    began: float
    ended: float
    stays: bool


@dataclass(frozen=True)
class Moment:
    """One moment of a case of minutes or hours: its time [s], and by moving place the temperature [K] and how
    fast it warms [K/s]."""

    time: float
    at: Mapping[str, float]
    rates: Mapping[str, float]


@dataclass
class ThermostatResults:
    """Outcome for the stats of one case.

    Attributes
    ----------
    holdings : dict
        By room or store: what holds it
    share : dict
        By room or store that is held: share of the time its stat is on, 0..1
    hunts : dict
        By stat over water that comes to no rest: what it feels on and off, [K]
    cycles : dict
        By stat over flowing water that cycles: share of the time it is on, 0..1
    turns : dict
        By room whose circuit rests while a store is heated: what it gets in the rest of the time
    moved : dict
        By room or tank of a case that lasts minutes or hours: where it began and ended
    moments : tuple of Moment
        Of such a case the moments that were stepped to, the first and the last among them
    felt : dict
        By stat: what it feels, [K]; nan where nothing
    blind : tuple of str
        Stats left to themselves that feel nothing or have no point to act at
    unpowered : frozenset of str
        Stats left to themselves that have no power
    stats, wiring
        The stats of the plant, and who runs whom
    """

    holdings: dict[str, Holding] = field(default_factory=dict)
    share: dict[str, float] = field(default_factory=dict)
    hunts: dict[str, tuple[float, float]] = field(default_factory=dict)
    cycles: dict[str, float] = field(default_factory=dict)
    turns: dict[str, Turn] = field(default_factory=dict)
    moved: dict[str, Moved] = field(default_factory=dict)
    moments: tuple[Moment, ...] = ()
    felt: dict[str, float] = field(default_factory=dict)
    blind: tuple[str, ...] = ()
    unpowered: frozenset[str] = frozenset()
    stats: Mapping[str, Stat] = field(default_factory=dict)
    wiring: Wiring | None = None
