"""`wetside remarks FILE`: what reviewers wrote and how it was answered; takes remarks back as text."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from core.commands.answering import hanging
from core.commands.arguments import Arguments, concerning
from core.errors import PlainRefusal, Refusal, escaped
from core.files import read
from core.logbook.remarks import Remark, from_csv, remarks, taken
from core.plant.model import Plant


def run(argv: list[str]) -> int:
    """Show remarks, or take some; 1 while one is open."""
    parser = Arguments(
        "wetside remarks",
        description="Remarks of whoever looked at the plant, and their answers.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="remarks as JSON")
    parser.add_argument("--take", metavar="CSV", help="add remarks written as text by the page for review")
    parser.add_argument("-o", dest="new", metavar="NEW", help="with --take: the plant file to write")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    if given.take is not None or given.new is not None:
        return _take(plant, given.file, given.take, given.new)
    found = remarks(plant)
    if given.json:
        print(json.dumps({"remarks": [_as_data(one) for one in found]}, ensure_ascii=False, indent=1))
    else:
        print("\n".join(_text(plant, found)))
    return 1 if any(one.is_open for one in found) else 0


def _take(plant: Plant, file: str, source: str | None, new: str | None) -> int:
    """Write the plant with remarks from a text added."""
    from core.files.save import save
    from core.plant.changes import apply

    if source is None or new is None:
        raise Refusal("--take", "one of --take and -o", "both: --take CSV -o NEW")
    if Path(new).exists() or Path(new).is_symlink():
        raise PlainRefusal("it is there already; name a new file after -o", new)
    with concerning(source):
        change = taken(plant, from_csv(read.bytes_of(Path(source)).decode("utf-8", "replace")))
    save(apply(plant, [change]), new)
    print(escaped(f"{new}: {len(change.values['remarks']) - len(plant.remarks)} remarks added"))
    return 0


def _as_data(one: Remark) -> dict[str, object]:
    return {
        "id": one.id,
        "number": one.number,
        "at": one.at or None,
        "text": one.text,
        "by": one.by,
        "date": one.date,
        "answer": one.answer or None,
    }


def _text(plant: Plant, found: tuple[Remark, ...]) -> Iterator[str]:
    yield escaped(f"{plant.title or 'untitled'} · remarks")
    for one in found:
        by = f" ({', '.join(part for part in (one.by, one.date) if part)})" if one.by or one.date else ""
        yield from hanging(f"{one.id} {one.at or 'plant'}: {one.text}{by}")
        yield from hanging(f"    answered: {one.answer}" if one.answer else "    open")
    if not found:
        yield "No remarks."
