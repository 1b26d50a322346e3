"""What may lie in the tree: no large file, no path of a machine, no module that outgrew its reader."""

import ast
import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LARGEST_FILE = 1024 * 1024  # [bytes]
LONGEST_MODULE = 500  # lines
LONGEST_FUNCTION = 60  # lines
# Each with its reason; entries are only ever taken out.
LONG_MODULES: dict[str, str] = {}
LONG_FUNCTIONS: dict[str, str] = {}
# Written so that this file does not hold what it looks for.
MACHINE_PATH = re.compile(
    r"(?<![\w.~}])/(?:wor[k]|roo[t]|hom[e]/\w|User[s]/\w)/|C:\\User[s]|pypi\.or[g]|deb\.debian\.or[g]"
)


def tracked_files() -> list[Path]:
    if not shutil.which("git"):
        pytest.skip("git is not installed")
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]


def modules() -> list[Path]:
    return sorted(path for part in ("core", "app") for path in (ROOT / part).rglob("*.py"))


def test_no_large_file():
    assert [str(path) for path in tracked_files() if path.stat().st_size > LARGEST_FILE] == []


def test_no_path_of_a_machine():
    found = []
    for path in tracked_files():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture or a font, or a plant file spoiled on purpose
        found += [f"{path.relative_to(ROOT)}: {hit.group()}" for hit in MACHINE_PATH.finditer(text)]
    assert found == []


def test_modules_stay_short():
    long = {
        str(path.relative_to(ROOT)): lines
        for path in modules()
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    }
    assert sorted(long) == sorted(LONG_MODULES), long


def test_functions_stay_short():
    long = {}
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or node.lineno) - node.lineno + 1 - _docstring_lines(node)
                if lines > LONGEST_FUNCTION:
                    long[f"{path.relative_to(ROOT)}:{node.name}"] = lines
    assert sorted(long) == sorted(LONG_FUNCTIONS), long


def _docstring_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    if ast.get_docstring(node) is None:
        return 0
    text = node.body[0]
    return (text.end_lineno or text.lineno) - text.lineno + 1


def test_every_package_with_data_is_shipped():
    """A folder without `__init__.py` would be left out of the wheel."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = config["tool"]["setuptools"]["packages"]["find"]["include"]
    for part in ("app", "core", "icons", "sample_plants"):
        assert {part, f"{part}.*"} <= set(named)
        assert (ROOT / part / "__init__.py").is_file()
    bare = {
        str(path.parent.relative_to(ROOT))
        for path in modules()
        if not (path.parent / "__init__.py").is_file()
    }
    assert bare == set()


def test_no_test_judges_a_time():
    """A busy machine would fail it: times belong to tests/benchmarks, as ratios of one run."""
    clocks = re.compile(r"\b(perf_counter|process_time|thread_time|timeit)\b")
    here = Path(__file__)
    tests = [path for path in (ROOT / "tests").rglob("test_*.py") if path != here]
    assert [path.name for path in tests if clocks.search(path.read_text(encoding="utf-8"))] == []
