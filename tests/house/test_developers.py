"""DEVELOPERS.md: short enough to be read, and true in what it names."""

from __future__ import annotations

import re
from pathlib import Path

from app.window import panes
from core.commands import TABLE
from core.sizing.everything import FAMILIES

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
LONGEST = 14_000  # bytes


def modules_named(text: str) -> list[Path]:
    """Places of the modules in the brackets behind the bold words of the page on solving."""
    page = text.partition("## How a case is solved\n")[2].partition("\n## ")[0]
    brackets = re.findall(r"\*\* \(([^)]*)\)", page)
    found = []
    for bracket in brackets:
        package = "solve"
        for name in re.findall(r"`([\w.]+)`", bracket):
            first, _, rest = name.partition(".")
            if (ROOT / "core" / first).is_dir():
                package, first = first, rest
            found.append(ROOT / "core" / package / f"{first}.py")
    return found


def test_it_can_be_read_at_one_sitting() -> None:
    assert len(TEXT.encode()) < LONGEST


def test_every_place_it_names_is_there() -> None:
    named = set(re.findall(r"`((?:core|app|tests|icons|sample_plants|\.ci)(?:/[\w.]+)*/?)`", TEXT))
    assert len(named) > 40
    assert [name for name in sorted(named) if "NAME" not in name and not (ROOT / name).exists()] == []


def test_every_module_of_the_page_on_solving_is_there() -> None:
    named = modules_named(TEXT)
    assert len(named) > 10
    assert [place for place in named if not place.exists()] == []


def test_what_the_recipes_extend_is_there() -> None:
    """A family, a page and a command are one row each, as the recipes say."""
    for family in FAMILIES:
        assert (ROOT / "core" / "sizing" / "families" / f"{family}.py").exists()
    for command in TABLE:
        assert (ROOT / "core" / "commands" / f"{command.replace('-', '_')}.py").exists()
    for row in panes.TABLE:
        assert (ROOT / f"{row.maker.partition(':')[0].replace('.', '/')}.py").exists()
