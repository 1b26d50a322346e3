"""The plant's graph is walked in core/water alone: networkx, groups and searches are nowhere else."""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]


def imports_networkx(text: str) -> bool:
    for node in ast.walk(ast.parse(text)):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        if any(name.split(".")[0] == "networkx" for name in names):
            return True
    return False


def test_an_import_inside_a_function_is_seen():
    assert imports_networkx("def f():\n    import networkx as nx\n")
    assert imports_networkx("from networkx.algorithms import flow\n")
    assert not imports_networkx("x = 'import networkx'\n")


def test_networkx_is_imported_in_core_water_alone():
    found = {
        path.relative_to(ROOT).as_posix()
        for top in ("core", "app")
        for path in (ROOT / top).rglob("*.py")
        if imports_networkx(path.read_text(encoding="utf-8"))
    }
    assert {name for name in found if not name.startswith("core/water/")} == set()
