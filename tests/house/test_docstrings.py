"""Public functions say what they do; formulas say in which units, from which source, and show one figure."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
FORMULA_PACKAGES = ("media", "hydraulics", "thermal")
NUMERIC = ("float", "NDArray", "Array", "ndarray")
NO_FORMULAS = ("core/thermal/temperatures.py:solve_cells",)  # linear algebra: no quantity, no law
SOURCE = re.compile(r"\b(source|identity|published|plant file's|(1[89]|20)\d\d)\b", re.IGNORECASE)
UNIT = re.compile(r"\[[^\]\n]{1,24}\]")


def public_functions(module: Path) -> Iterator[tuple[str, ast.FunctionDef]]:
    for node in ast.parse(module.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield f"{module.relative_to(ROOT)}:{node.name}", node


def test_every_module_says_what_it_is_for():
    silent = [
        str(path.relative_to(ROOT))
        for part in ("core", "app")
        for path in (ROOT / part).rglob("*.py")
        if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert silent == []


def test_every_public_function_of_core_has_a_docstring():
    silent = [
        name
        for module in sorted((ROOT / "core").rglob("*.py"))
        for name, node in public_functions(module)
        if not ast.get_docstring(node)
    ]
    assert silent == []


def formulas() -> Iterator[tuple[str, str, str]]:
    """Name, own and module's docstring of each public function of numbers that gives a number."""
    for package in FORMULA_PACKAGES:
        for module in sorted((ROOT / "core" / package).rglob("*.py")):
            whole = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""
            for name, node in public_functions(module):
                if _is_formula(node) and name not in NO_FORMULAS:
                    yield name, ast.get_docstring(node) or "", whole


def test_formulas_name_their_units():
    assert len(list(formulas())) > 10
    assert [name for name, own, _ in formulas() if not UNIT.search(own)] == []


def test_formulas_name_a_source_themselves_or_in_their_module():
    assert [name for name, own, whole in formulas() if not SOURCE.search(own + whole)] == []


def _is_formula(node: ast.FunctionDef) -> bool:
    """Numbers and words in, a number out; functions of plants and networks are no formulas."""
    annotations = [argument.annotation for argument in (*node.args.args, *node.args.kwonlyargs)]
    plain = all(_names(annotation, (*NUMERIC, "int", "str", "bool")) for annotation in annotations)
    return plain and _names(node.returns, NUMERIC) and any(_names(one, NUMERIC) for one in annotations)


def _names(annotation: ast.expr | None, words: tuple[str, ...]) -> bool:
    return annotation is not None and any(word in ast.unparse(annotation) for word in words)
