"""What the window and the papers say is plain American trade English."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
READ = ("app", "core/diagram", "core/vocabulary", "core/solve")
NOT_ON_SCREEN = re.compile(
    r"colour|\bcentre|\bmetres?\b|\blitres?\b|\bgrey\b|neighbour|behaviour|labelled|parted by|\bheals\b"
    r"|desktop|\bcold main\b|(?<!snow-)melt circuit|face to face|way round|not said|not settled"
    r"|^still$|at rest\b|^set at$|takes up\b|weather line|Take it away|^given$|\bcopper L\b|"
    r"stands still|rests in|\bupright\b|Throw away|^Take it$|Put in\b"
    r"|moving and stopping|making and storing|using heat|last used|Further loss|Spread",
)
EXCEPTIONS = {
    "centre",  # the action's name, bound to settings and methods
    "litre", "litres", "litre/s", "litre/min", "metre", "metres",  # spellings a user may type
}  # fmt: skip


def said(text: str) -> Iterator[tuple[int, str]]:
    """Line and words of every string that is no docstring."""
    tree = ast.parse(text)
    silent = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node.lineno, node.value


def test_no_string_uses_a_word_that_the_trade_does_not():
    found = [
        f"{path.relative_to(ROOT)}:{line}: {words}"
        for folder in READ
        for path in sorted((ROOT / folder).rglob("*.py"))
        for line, words in said(path.read_text(encoding="utf-8"))
        if words not in EXCEPTIONS and NOT_ON_SCREEN.search(words)
    ]
    assert found == []


def test_a_british_label_would_be_found_and_a_docstring_not():
    text = '"""The colour of a pipe."""\nLABEL = "Colour and colour"\n'
    assert [words for _, words in said(text) if NOT_ON_SCREEN.search(words)] == ["Colour and colour"]
