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


# Searches that are no reading of the water, or that do more than search, with the reason. Only to shrink.
OTHER_SEARCHES = {
    "core/controls/signals.py": "signals that feed signals",
    "core/controls/wiring.py": "signals that feed signals",
    "core/plant/similar.py": "lies below core/water: which pipes a new one is like",
    "core/plant/gather.py": "what is connected on the drawing, to select it",
}


def searches(text: str) -> bool:
    """Whether a text holds a search: a loop takes from a list and puts onto it, or climbs to an owner."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.While):
            continue
        if isinstance(node.test, ast.Compare) and isinstance(node.test.left, ast.Subscript):
            index = node.test.left.slice
            if any(ast.dump(index) == ast.dump(other) for other in node.test.comparators):
                return True
        taken = {ast.dump(call.func.value) for call in _calls(node, "pop", "popleft")}
        put = {ast.dump(call.func.value) for call in _calls(node, "append", "extend", "add", "update")}
        put |= {
            ast.dump(one.target).replace("Store()", "Load()")
            for one in ast.walk(node)
            if isinstance(one, ast.AugAssign)
        }
        if taken & put:
            return True
    return False


def _calls(tree: ast.AST, *names: str) -> list[ast.Call]:
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in names
    ]


def modules() -> dict[str, str]:
    return {
        path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
        for top in ("core", "app")
        for path in (ROOT / top).rglob("*.py")
    }


def test_an_import_inside_a_function_is_seen():
    assert imports_networkx("def f():\n    import networkx as nx\n")
    assert imports_networkx("from networkx.algorithms import flow\n")
    assert not imports_networkx("x = 'import networkx'\n")


def test_searches_are_seen():
    assert searches("while queue:\n    n = queue.pop()\n    queue += at[n]\n")
    assert searches("while ends:\n    n = ends.popleft()\n    ends.append(n + 1)\n")
    assert searches("while owner[n] != n:\n    n = owner[n]\n")
    assert not searches("while rows:\n    rows.pop()\n")


def test_networkx_is_imported_in_core_water_alone():
    found = {name for name, text in modules().items() if imports_networkx(text)}
    assert {name for name in found if not name.startswith("core/water/")} == set()


def test_the_water_is_searched_in_core_water_alone():
    found = {name for name, text in modules().items() if searches(text)}
    assert {name for name in found if not name.startswith("core/water/")} == OTHER_SEARCHES.keys()
