"""What a change of a plant costs by a price list: what is bought for it, less what need not be bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from core.papers.prices import Price, priced
from core.papers.takeoff import Line, Takeoff, takeoff
from core.plant.model import Plant

TO_BUY = "drawn"  # the stage of what is still to buy
LEAST = 1e-9

Key = tuple[str, str, str, str]


def cost_of(before: Plant, after: Plant, prices: Sequence[Price]) -> float | None:
    """Money for what a changed plant is built from beyond what it is built from now; None where any of that
    has no price.

    What comes in place of a part that is there is bought anew; what goes is saved only where it is not bought
    yet. What is only set otherwise costs nothing. Labor, wiring and venting are in no price.
    """
    then, now = (_lines(takeoff(_all_drawn(plant))) for plant in (before, after))
    open_then, open_now = (_lines(takeoff(plant)) for plant in (before, after))
    rows = [*now.values(), *(line for key, line in then.items() if key not in now)]
    found = 0.0
    for line in priced(Takeoff(tuple(rows)), prices).lines:
        key = _key(line)
        more = _order(now, key) - _order(then, key)
        if more < 0.0:
            more = -min(-more, max(0.0, _order(open_then, key) - _order(open_now, key)))
        if abs(more) <= LEAST:
            continue
        if line.price is not None:
            found += more * line.price
        elif more > 0.0:
            return None
    return found


def _lines(found: Takeoff) -> dict[Key, Line]:
    return {_key(line): line for line in found.lines if line.group != "fluid"}


def _key(line: Line) -> Key:
    return line.group, line.what, line.size, line.unit


def _order(lines: dict[Key, Line], key: Key) -> float:
    return lines[key].order if key in lines else 0.0


def _all_drawn(plant: Plant) -> Plant:
    return replace(
        plant,
        items={key: replace(item, stage=TO_BUY) for key, item in plant.items.items() if item.stays},
        pipes={key: replace(pipe, stage=TO_BUY) for key, pipe in plant.pipes.items()},
    )
