"""`wetside tidy FILE -o NEW`: writes a plant file with the trade's spellings as a plant file wants them."""

from __future__ import annotations

from pathlib import Path

from core.commands.answering import wrapped
from core.commands.arguments import Arguments
from core.errors import PlainRefusal, Refusal, escaped
from core.files import migrate, read, syntax, tidy
from core.files.save import save


def run(argv: list[str]) -> int:
    """Tidy the file named in `argv`; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside tidy",
        description="Write a plant file anew with units and numbers spelled strictly: 64,000 Btu/h, 150 °F, "
        "1-1/4 in, 1 ft 6 in, GPM.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, perhaps loosely typed")
    parser.add_argument("-o", dest="new", metavar="NEW", required=True, help="the file to write")
    options = parser.parse_args(argv)
    if Path(options.new).exists() or Path(options.new).is_symlink():
        raise PlainRefusal("it is there already; name a new file after -o", options.new)
    try:
        data, respelled = tidy.tidied(syntax.parsed(syntax.decoded(read.bytes_of(Path(options.file)))))
        plant = read.from_data(data)
    except Refusal as refusal:
        raise refusal.located(file=options.file) from None
    save(plant, options.new)
    for one in respelled:
        print(escaped(f"{one.path}: {one.before} is now {one.after}"))
    for note in migrate.migrated(data)[1]:
        print("\n".join(wrapped(note)))
    count = f"{len(respelled)} spelling{'' if len(respelled) == 1 else 's'}" if respelled else "nothing"
    print(escaped(f"{options.new}: {count} changed"))
    return 0
