"""A takeoff as a table in a plant's own units: for text, spreadsheets and papers alike."""

from __future__ import annotations

from collections.abc import Iterator

from core import units
from core.papers.spreadsheet import Cell
from core.papers.takeoff import WASTE_SOURCE, Line, Takeoff
from core.working import Display

HEADS = ("group", "what", "size", "drawn", "to order", "unit", "tags", "price", "cost")


def unit_of(line: Line, display: Display) -> str:
    """The unit in which a line is ordered."""
    return {"m": ("ft", "m"), "m3": ("gal", "L")}.get(line.unit, ("ea", "ea"))[display == "si"]


def amount_in(line: Line, value: float, display: Display) -> float:
    """A line's amount in that unit."""
    unit = unit_of(line, display)
    return value if unit == "ea" else units.to_unit(value, unit)


def rows(found: Takeoff, display: Display) -> list[tuple[Cell, ...]]:
    """Headings, then a row a line, the sum of costs last where there is one."""
    table: list[tuple[Cell, ...]] = [HEADS]
    for line in found.lines:
        unit = unit_of(line, display)
        price = None if line.price is None else line.price / amount_in(line, 1.0, display)
        table.append(
            (
                line.group, line.what, line.size, amount_in(line, line.amount, display),
                amount_in(line, line.order, display), unit, ", ".join(line.at), price, line.cost,
            )
        )  # fmt: skip
    if found.cost is not None:
        table.append((None, "sum of what has a price", None, None, None, None, None, None, found.cost))
    return table


def remarks(found: Takeoff) -> Iterator[str]:
    """What has to be known with the table."""
    waste = max((line.waste for line in found.lines), default=0.0)
    if waste:
        yield f"To order: with {100 * waste:.0f} % of tube and insulation cut away ({WASTE_SOURCE})."
    yield from found.remarks
    if found.existing:
        yield f"There already, so not counted: {', '.join(found.existing)}."
    said = ", ".join(f"{count} {stage.replace('_', ' ')}" for stage, count in found.stages)
    if len(found.stages) > 1:
        yield f"Stage of the work: {said}. To order is what is drawn and not bought yet."
    if found.cost is not None and (missing := found.unpriced):
        yield f"Without a price, so not in the sum: {len(missing)} lines."
