"""`wetside handbook FILE -o OUT.html`: the plant on one page for a phone, without a network."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from core.commands.arguments import Arguments
from core.errors import Refusal, WetsideError, escaped
from core.files import read
from core.files.places import spare_plants


def run(argv: list[str]) -> int:
    """Write the page; 1 where a case was not solved or a stop is open."""
    parser = Arguments(
        "wetside handbook",
        description="One page for a phone: dangers, drawing, cards, readings, lists and logbook.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("-o", dest="out", metavar="OUT.html", required=True, help="the page to write")
    parser.add_argument(
        "--for-review", action="store_true", help="to be sent round: with questions, assumptions, remarks"
    )
    given = parser.parse_args(argv)
    out = Path(given.out)
    if out.suffix.lower() not in (".html", ".htm"):
        raise Refusal("-o", given.out, "a name ending in .html")
    spare_plants(out, "a page to write", "-o")
    plant = read.load(given.file)
    from core.handbook.gather import gathered
    from core.handbook.page import page
    from core.review import Severity

    contents = replace(gathered(plant, _progress), for_review=given.for_review)
    try:
        out.write_text(page(contents), encoding="utf-8")
    except OSError as error:
        raise WetsideError(escaped(f"{given.out}: cannot be written: {error.strerror or error}.")) from None
    print(
        escaped(
            f"Written: {given.out} ({out.stat().st_size / 1e3:.0f} kB). Open it once before you rely on it."
        )
    )
    stops = any(one.severity is Severity.STOP and one.accepted is None for one in contents.findings)
    return 1 if stops or not all(one.converged for one in contents.solutions) else 0


def _progress(what: str) -> None:
    if sys.stderr.isatty():
        print(f"{what} …", file=sys.stderr, flush=True)
