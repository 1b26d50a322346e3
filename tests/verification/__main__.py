"""`python -m tests.verification -o OUT.md` writes the page; `--readme` puts its summary into README.md."""

import argparse
import sys
from pathlib import Path

from tests.verification.gather import ROOT, Unsound, gather
from tests.verification.page import between, page, summary


def main(argv: list[str]) -> int:
    """Exit code 1 when a check does not hold."""
    words = argparse.ArgumentParser(prog="python -m tests.verification", description=__doc__)
    words.add_argument("-o", metavar="OUT.md", type=Path, help="where the page goes")
    words.add_argument("--readme", action="store_true", help="put the summary into README.md")
    asked = words.parse_args(argv)
    try:
        checks = gather()
    except Unsound as unsound:
        print(unsound, file=sys.stderr)
        return 1
    if asked.o:
        asked.o.write_text(page(checks), encoding="utf-8")
    if asked.readme:
        readme = ROOT / "README.md"
        before, _, after = between(readme.read_text(encoding="utf-8"))
        readme.write_text(before + summary(checks) + after, encoding="utf-8")
    print(summary(checks), end="")
    return 0


sys.exit(main(sys.argv[1:]))
