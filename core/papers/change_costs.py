"""What a change of a plant costs by a price list: what is bought for it, less what need not be bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from core.errors import Refusal
from core.papers.prices import Price, priced
from core.papers.takeoff import Line, Takeoff, parts_lines
from core.plant import edits
from core.plant.changes import apply
from core.plant.model import Plant
from core.sizing.result import Option
from core.sizing.table import Group

TO_BUY = "drawn"  # the stage of what is still to buy
LEAST = 1e-9

Key = tuple[str, str, str, str]


class Costs:
    """Costs of changes to one plant, which is counted once."""

    def __init__(self, plant: Plant, prices: Sequence[Price]) -> None:
        self.plant = plant
        self._prices = prices
        self._then, self._open_then = _counted(plant)

    def of(self, after: Plant) -> float | None:
        """Money for what a changed plant is built from beyond what it is built from now; None where any of
        that has no price.

        What comes in place of a part that is there is bought anew; what goes is saved only where it is not
        bought yet. What is only set otherwise costs nothing. Labor, wiring and venting are in no price.
        """
        then, open_then = self._then, self._open_then
        now, open_now = _counted(after)
        rows = [*now.values(), *(line for key, line in then.items() if key not in now)]
        found = 0.0
        for line in priced(Takeoff(tuple(rows)), self._prices).lines:
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

    def of_option(self, ids: Sequence[str], option: Option) -> float | None:
        """Money for taking an option of sizing at some items or pipes; None without a price, or where taking
        it means more than setting properties.
        """
        if option.props is None:
            return None
        now = self.plant
        try:
            for name in ids:
                changes = (
                    edits.set_pipe(now, name, **option.props)
                    if name in now.pipes
                    else edits.set_props(now, name, option.props)
                )
                now = apply(now, changes)
        except Refusal:
            return None
        return self.of(now)


def with_costs(table: list[tuple[str, ...]], group: Group, costs: Costs) -> list[tuple[str, ...]]:
    """A table of options with what each costs before its verdict; a saving has its sign, and a cell is empty
    where no cost is known."""
    if not table:
        return table
    head, *rows = table
    found = [costs.of_option(group.ids, option) for option in group.first.options]
    cells = ["" if cost is None else f"{cost:,.2f}" for cost in found]
    return [
        (*head[:-1], "cost", head[-1]),
        *((*row[:-1], cell, row[-1]) for row, cell in zip(rows, cells, strict=True)),
    ]


def _counted(plant: Plant) -> tuple[dict[Key, Line], dict[Key, Line]]:
    """What a plant is built from, as if all were still to buy, and what is still to buy of it."""
    stages = {part.stage for part in plant.items.values()} | {part.stage for part in plant.pipes.values()}
    still = {_key(line): line for line in parts_lines(plant)}
    if stages <= {TO_BUY}:
        return still, still
    return {_key(line): line for line in parts_lines(_all_drawn(plant))}, still


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
