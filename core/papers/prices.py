"""The user's own price list: read strictly, put beside the lines of a takeoff. No price is ours."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from core import units
from core.errors import Refusal
from core.papers.takeoff import Line, Takeoff
from core.vocabulary.values import nearest

COLUMNS = ("what", "size", "unit", "price")
UNITS = {"ea": ("ea", ""), "ft": ("m", "length"), "m": ("m", "length"), "gal": ("m3", "volume"),
         "L": ("m3", "volume"), "m3": ("m3", "volume")}  # fmt: skip
MOST_BYTES = 5_000_000


@dataclass(frozen=True)
class Price:
    """Money for one piece, metre or cubic metre of something; an empty size is any."""

    what: str
    size: str
    unit: str
    each: float
    row: int


def read_prices(path: str | Path) -> list[Price]:
    """A price list: UTF-8 CSV with the header `what,size,unit,price`, units ea, ft, m, gal, L or m3.

    Raises
    ------
    Refusal
        A file that cannot be read, a header or a row that is not understood, with its row
    """
    try:
        with Path(path).open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        text = content.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        found = error.strerror if isinstance(error, OSError) else "not UTF-8"
        raise Refusal("", str(found or error).lower(), "a price list as CSV", "", str(path)) from None
    if len(content) > MOST_BYTES:
        raise Refusal("", "a file over 5 MB", "a price list", "", str(path))
    rows = csv.reader(io.StringIO(text))
    try:
        head = tuple(cell.strip().lower() for cell in next(rows, []))
        if sorted(head) != sorted(COLUMNS):
            raise Refusal("row 1", ",".join(head), f"the header {','.join(COLUMNS)}", "", str(path))
        return [
            _price(dict(zip(head, row, strict=False)), number, len(row), str(path))
            for number, row in enumerate(rows, start=2)
            if any(cell.strip() for cell in row)
        ]
    except csv.Error as error:
        raise Refusal("", str(error), "a price list as CSV", "", str(path)) from None


def _price(row: dict[str, str], number: int, cells: int, path: str) -> Price:
    place = f"row {number}"
    if cells != len(COLUMNS):
        raise Refusal(place, f"{cells} cells", f"{len(COLUMNS)} cells", "", path)
    unit = row["unit"].strip()
    if unit not in UNITS:
        hint = nearest(unit, UNITS)
        raise Refusal(f"{place}.unit", unit, f"one of {', '.join(UNITS)}", hint, path)
    if not row["what"].strip():
        raise Refusal(f"{place}.what", "nothing", "the name of a line of the takeoff", "", path)
    try:
        money = units.parse_number(row["price"].strip())
    except Refusal as refusal:
        raise refusal.located(f"{place}.price", path) from None
    if not 0.0 <= money < math.inf:
        raise Refusal(f"{place}.price", row["price"], "a price of 0 or more", "", path)
    own, dimension = UNITS[unit]
    if dimension:
        money /= units.parse(f"1 {unit}", dimension)
    return Price(row["what"].strip(), row["size"].strip(), own, money, number)


def priced(found: Takeoff, prices: Sequence[Price]) -> Takeoff:
    """The takeoff with what it costs; the list's rows that fit nothing become a remark.

    A price fits a line of the same name, or of the same name up to its first comma, and of the same size or
    any. The closest counts.
    """
    used: set[int] = set()
    lines = []
    for line in found.lines:
        price = _closest(line, prices)
        if price is None:
            lines.append(line)
            continue
        used.add(price.row)
        lines.append(replace(line, price=price.each, cost=price.each * line.order))
    idle = [price for price in prices if price.row not in used]
    remarks = list(found.remarks)
    if idle:
        names = "; ".join(f"{price.what} {price.size}".strip() for price in idle)
        remarks.append(f"In the price list, but nothing in the plant answers to it: {names}.")
    return replace(found, lines=tuple(lines), remarks=tuple(remarks))


def _closest(line: Line, prices: Sequence[Price]) -> Price | None:
    fits = list(_fitting(line, prices))
    return max(fits, key=lambda fit: fit[0])[1] if fits else None


def _fitting(line: Line, prices: Sequence[Price]) -> Iterator[tuple[tuple[bool, bool], Price]]:
    whole = _plain(line.what)
    for price in prices:
        name, size = _plain(price.what), _plain(price.size)
        same = name == whole
        if price.unit != line.unit or not (same or name == whole.split(",")[0]):
            continue
        if size in ("", _plain(line.size)):
            yield (same, bool(size)), price


def _plain(text: str) -> str:
    """Text as it is compared: case, blanks and the dash of a mixed number do not count."""
    return " ".join(text.casefold().replace("-", " ").replace("×", "x").split())
