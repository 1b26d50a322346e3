"""What a kind is stands in `core.vocabulary` alone: all else asks for traits and roles, not for names."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.vocabulary import KINDS

ROOT = Path(__file__).parents[2]
HOME = ROOT / "core" / "vocabulary"
# Words that happen to be names of kinds too, by file, each with its reason. Entries are only ever taken out.
OTHER_WORDS: dict[str, dict[str, str]] = {
    "core/calls/part_load.py": {"circulator": "key of call-sheet --json"},
    "core/commands/call_sheet.py": {"load": "head of a column"},
    "core/commands/failures.py": {"room": "head of a column"},
    "core/cures/structures.py": {
        "separator": "name of a sort of change",
        "buffer": "name of a sort of change",
    },
    "core/questions/failures.py": {"room": "key of failures --json"},
    "core/questions/spare.py": {"load": "property of an item"},
    "core/commands/second_pump.py": {"room": "key of second-pump --json"},
    "core/commands/size.py": {
        "circulator": "name of a family of sizes",
        "expansion_tank": "name of a family of sizes",
        "exchanger": "name of a family of sizes",
    },
    "core/commands/solve.py": {"room": "head of a column"},
    "core/sizing/everything.py": {"buffer": "name of a family of sizes"},
    "core/sizing/table.py": {"circulator": "name of a family of sizes"},
    "core/sizing/families/melt.py": {"load": "property of an item"},
    "core/solve/sensors.py": {"room": "what a stat feels, of four words"},
    "core/solve/thermostats.py": {"room": "what a stat feels, of four words"},
    "app/panels/call_sheet_cells.py": {"outlet": "head of a column"},
    "app/paper/schedules.py": {"room": "head of a column"},
}


def modules() -> list[Path]:
    """Modules of the program outside the vocabulary."""
    found = (path for part in ("core", "app") for path in (ROOT / part).rglob("*.py"))
    return sorted(path for path in found if HOME not in path.parents)


def compared(tree: ast.AST) -> Iterator[ast.expr | None]:
    """What is compared with, matched, a key of a mapping, or an element of a set, list or tuple."""
    for node in ast.walk(tree):
        match node:
            case ast.Compare():
                yield from (node.left, *node.comparators)
            case ast.MatchValue():
                yield node.value
            case ast.Dict():
                yield from node.keys
            case ast.Set() | ast.List() | ast.Tuple():
                yield from node.elts


def kinds_named(source: str) -> set[str]:
    """Names of kinds that a module's text asks by."""
    words = {one.value for one in compared(ast.parse(source)) if isinstance(one, ast.Constant)}
    return {word for word in words if isinstance(word, str) and word in KINDS}


@pytest.mark.parametrize(
    "text",
    [
        'x = item.kind == "tank"',
        'x = item.kind in ("tank", "buffer")',
        'x = {"boiler": 1}',
        'match kind:\n    case "boiler":\n        x = 1',
    ],
)
def test_the_rule_sees_each_way_of_asking_by_name(text: str) -> None:
    assert kinds_named(text)


def test_nothing_outside_the_vocabulary_asks_by_the_name_of_a_kind() -> None:
    found = {}
    for path in modules():
        name = path.relative_to(ROOT).as_posix()
        words = kinds_named(path.read_text(encoding="utf-8")) - OTHER_WORDS.get(name, {}).keys()
        if words:
            found[name] = sorted(words)
    assert found == {}, "ask item.has(Trait.…), or kind_info.waterway and kind_info.heat"


def test_every_exception_is_still_needed() -> None:
    for name, words in OTHER_WORDS.items():
        source = (ROOT / name).read_text(encoding="utf-8")
        assert words.keys() <= kinds_named(source), f"{name}: take out what is no longer there"
