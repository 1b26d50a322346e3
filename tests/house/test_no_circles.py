"""No circle among modules anywhere in core and app, whatever line the import stands on."""

import ast
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def module_name(path: Path, root: Path) -> str:
    return ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__")


def imports(text: str) -> Iterator[str]:
    """Dotted names that a module's text imports: at its top, in functions, and for types alone."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def graph(root: Path) -> dict[str, set[str]]:
    """Modules of core and app under a folder, each with those of them that it imports."""
    paths = {module_name(p, root): p for part in ("core", "app") for p in (root / part).rglob("*.py")}
    found: dict[str, set[str]] = {}
    for name, path in paths.items():
        wanted = imports(path.read_text(encoding="utf-8"))
        known = {one if one in paths else one.rpartition(".")[0] for one in wanted}
        found[name] = (known & paths.keys()) - {name}
    return found


def test_no_circle_among_modules():
    modules = graph(ROOT)
    assert len(modules) > 300
    try:
        TopologicalSorter(modules).prepare()
    except CycleError as error:
        pytest.fail(" <- ".join(error.args[1]))


@pytest.mark.parametrize(
    "late", ["def f():\n    from core import a\n", "if TYPE_CHECKING:\n    import core.a\n"]
)
def test_a_late_import_would_be_found(tmp_path: Path, late: str):
    (tmp_path / "core").mkdir()
    (tmp_path / "core" / "a.py").write_text("import core.b\n")
    (tmp_path / "core" / "b.py").write_text(late)
    with pytest.raises(CycleError):
        TopologicalSorter(graph(tmp_path)).prepare()
