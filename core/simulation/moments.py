"""The moments of a run worth a look, each with a sentence of its cause."""

from __future__ import annotations

import math
from typing import Any

from core.simulation.observer import Observer
from core.simulation.tally import SHORT_ROOM
from core.thermal.heat import ZERO
from core.vocabulary import Trait

SHORT_TAP = 1.0  # [K]


def moments_of(seen: Observer) -> list[dict[str, Any]]:
    """What happened, where, when, how much, and because of what, in order of time."""
    found = [*_rooms(seen), *_taps(seen), *_tanks(seen), *_sources(seen)]
    return sorted(found, key=lambda moment: (moment["time_s"], moment["at"]))


def _moment(what: str, at: str, t: float, value: float, because: str) -> dict[str, Any]:
    return {"what": what, "at": at, "time_s": t, "value": value, "because": because}


def because(seen: Observer, t: float) -> str:
    """Who called and what was at its limit at a time, in one sentence."""
    why = seen.why_at(t)
    parts = [f"{_list(why.calls)} called" if why.calls else "nothing called"]
    if why.drawing:
        parts.append(f"{_list(why.drawing)} drew")
    if why.limited:
        verb = "were" if len(why.limited) > 1 else "was"
        parts.append(f"{_list(why.limited)} {verb} at full output")
    elif not why.heating:
        parts.append("no source gave heat")
    return ", ".join(parts)


def _list(names: tuple[str, ...]) -> str:
    if len(names) > 4:
        return f"{', '.join(names[:3])} and {len(names) - 3} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _rooms(seen: Observer) -> list[dict[str, Any]]:
    found = []
    for key, short in seen.short.items():
        if short.deepest > SHORT_ROOM:
            t, longest = short.deepest_at, short.longest_at
            found.append(_moment("room below wanted, K", key, t, short.deepest, because(seen, t)))
            words = because(seen, longest)
            found.append(_moment("longest below wanted, s", key, longest, short.longest, words))
    return found


def _taps(seen: Observer) -> list[dict[str, Any]]:
    found = []
    for key, tap in seen.taps.items():
        if not tap.draws:
            continue
        if math.isfinite(tap.high):
            words = because(seen, tap.high_at)
            found.append(_moment("hottest at tap, degC", key, tap.high_at, tap.high - ZERO, words))
        if math.isfinite(tap.span.low) and tap.span.low < tap.set_at - SHORT_TAP:
            words = because(seen, tap.span.low_at)
            found.append(_moment("coldest at tap, degC", key, tap.span.low_at, tap.span.low - ZERO, words))
        if tap.wait > 0.0:
            words = "the water in the pipe had cooled; " + because(seen, tap.wait_at)
            found.append(_moment("longest wait, s", key, tap.wait_at, tap.wait, words))
    return found


def _tanks(seen: Observer) -> list[dict[str, Any]]:
    found = []
    for key, span in seen.tanks.items():
        found.append(
            _moment("coldest tank, degC", key, span.low_at, span.low - ZERO, because(seen, span.low_at))
        )
        recovery = seen.recovery[key]
        if recovery.longest is not None:
            t = recovery.longest_at
            found.append(_moment("longest recovery, s", key, t, recovery.longest, because(seen, t)))
    return found


def _sources(seen: Observer) -> list[dict[str, Any]]:
    found = []
    for key, item in seen.items.items():
        if math.isfinite(item.shortest):
            t = item.shortest_at
            found.append(_moment("shortest run, s", key, t, item.shortest, because(seen, t)))
        back = seen.returns.get(key)
        if back is not None and math.isfinite(back.low) and seen.plant.items[key].has(Trait.MAKES_HEAT):
            words = because(seen, back.low_at)
            found.append(_moment("coldest return, degC", key, back.low_at, back.low - ZERO, words))
    return found
