"""`wetside takeoff FILE`: what to order, grouped, as text, JSON, CSV or XLSX; costs from the user's list."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from core.commands.answering import hanging
from core.commands.arguments import Arguments
from core.errors import Refusal, escaped
from core.files import read
from core.files.places import spare_plants
from core.files.save import put, why
from core.plant.model import Plant
from core.working import Display

if TYPE_CHECKING:
    from core.papers.takeoff import Takeoff

MOST_WASTE = 100.0  # [%]


def run(argv: list[str]) -> int:
    """Count the plant named in `argv`; 0."""
    parser = Arguments(
        "wetside takeoff",
        description="What to order: tube, fittings, valves, equipment, insulation, fluid.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    out = parser.add_mutually_exclusive_group()
    out.add_argument("--csv", metavar="OUT", help="write the table as CSV")
    out.add_argument("--xlsx", metavar="OUT", help="write the table as a workbook")
    parser.add_argument("--json", action="store_true", help="as JSON, SI")
    parser.add_argument("--prices", metavar="CSV", help="your price list: what,size,unit,price")
    parser.add_argument("--waste", metavar="PERCENT", type=float, default=10.0, help="cut away (default 10)")
    given = parser.parse_args(argv)
    if not 0.0 <= given.waste <= MOST_WASTE:
        raise Refusal("--waste", f"{given.waste:g}", f"0 to {MOST_WASTE:g} percent")
    targets = [(Path(path), suffix) for path, suffix in ((given.csv, ".csv"), (given.xlsx, ".xlsx")) if path]
    for path, suffix in targets:
        _check(path, suffix)
    plant = read.load(given.file)
    from core.papers.prices import priced, read_prices
    from core.papers.takeoff import CAUTIONS, takeoff

    found = takeoff(plant, given.waste / 100.0)
    if given.prices:
        found = priced(found, read_prices(given.prices))
    display: Display = "si" if plant.units == "si" else "us"
    for path, _ in targets:
        write_table(plant, found, path)
    if given.json:
        data = {
            "lines": [line.as_data() for line in found.lines],
            "cost": found.cost,
            "existing": list(found.existing),
            "stages": dict(found.stages),
            "remarks": list(found.remarks),
            "cautions": list(CAUTIONS),
        }
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    elif targets:
        print("\n".join(str(path) for path, _ in targets))
    else:
        print("\n".join(_text(plant, found, display)))
    return 0


def _check(path: Path, suffix: str) -> None:
    """Refuse a target before any work is done."""
    spare_plants(path, "a file to write to")
    if path.suffix.lower() != suffix:
        raise Refusal("", str(path), f"a file ending in {suffix}")


def write_table(plant: Plant, found: Takeoff, path: Path) -> None:
    """Write a takeoff as CSV or XLSX, by the file's ending, in the plant's own units.

    Raises
    ------
    Refusal
        A file that is a plant's, or that cannot be written
    """
    from core.papers.plant_words import display_of
    from core.papers.spreadsheet import as_csv, as_xlsx
    from core.papers.takeoff_table import rows

    suffix = path.suffix.lower()
    _check(path, suffix)
    table = rows(found, display_of(plant))
    try:
        put(as_csv(table) if suffix == ".csv" else as_xlsx("takeoff", table), path.resolve())
    except OSError as error:
        raise Refusal("", f"{path}: {why(error, path)}", "a file that can be written") from None


def _text(plant: Plant, found: Takeoff, display: Display) -> Iterator[str]:
    from core.papers.takeoff import CAUTIONS
    from core.papers.takeoff_table import amount_in, remarks, unit_of

    yield escaped(f"{plant.title or 'untitled'} · takeoff")
    group = ""
    for line in found.lines:
        if line.group != group:
            group = line.group
            yield ""
            yield f"{group.upper():<78}{'drawn':>9}{'to order':>10}"
        unit = unit_of(line, display)
        digits = 0 if unit == "ea" else 1
        name = escaped(", ".join(part for part in (line.what, line.size) if part))
        head, *rest = textwrap.wrap(name, 74, subsequent_indent="    ") or [""]
        drawn, order = (amount_in(line, each, display) for each in (line.amount, line.order))
        cost = "" if line.cost is None else f"{line.cost:>12,.2f}"
        yield f"  {head:<76}{drawn:>9,.{digits}f}{order:>10,.{digits}f} {unit:<3}{cost}".rstrip()
        yield from (f"  {more}" for more in rest)
    yield ""
    if found.cost is not None:
        yield f"{'sum of what has a price':<101}{found.cost:>12,.2f}"
    for text in (*remarks(found), *(f"caution: {each}" for each in CAUTIONS)):
        yield from hanging(text)
