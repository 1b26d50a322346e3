"""`wetside check-file FILE`: reads and validates a plant file, and says what was read."""

from __future__ import annotations

from core.commands.answering import wrapped
from core.commands.arguments import Arguments
from core.errors import escaped
from core.files import read


def run(argv: list[str]) -> int:
    """Validate the file named in `argv`; refusals are raised, the caller shows them."""
    parser = Arguments("wetside check-file", description="Validate a plant file.", allow_abbrev=False)
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    file = parser.parse_args(argv).file
    opened = read.open_file(file)
    plant = read.load(file) if opened.newer else opened.plant  # a newer file is refused there
    counts = ", ".join(
        _counted(count, word)
        for count, word in (
            (len(plant.items), "item"),
            (len(plant.pipes), "pipe"),
            (len(plant.systems), "system"),
            (len(plant.cases), "case"),
        )
    )
    title = f'"{plant.title}"' if plant.title else "no title"
    print(escaped(f"{file}: {title}, version {opened.version}: {counts}"))
    for note in opened.notes:
        print("\n".join(wrapped(note)))
    return 0


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" + ("" if count == 1 else "s")
