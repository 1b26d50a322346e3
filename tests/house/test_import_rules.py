"""Who may import whom: the contracts of pyproject.toml, and the two promises they cannot see."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

IMPORT_ALL_OF_CORE = """
import importlib, pkgutil, sys

class Forbidden:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"PySide6", "shiboken6", "app"}:
            raise ImportError(f"core asked for {name}")

sys.meta_path.insert(0, Forbidden())
import core
count = 0
for module in pkgutil.walk_packages(core.__path__, "core."):
    importlib.import_module(module.name)
    count += 1
slow = {"scipy", "networkx", "pint", "fluids", "ht", "iapws", "CoolProp"} & set(sys.modules)
print(count, *sorted(slow))
"""
LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"
WINDOW_START_MAY_NOT_LOAD = ("PySide6", "numpy", "scipy", "networkx", "pint")


def run_python(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_contracts_of_pyproject_hold():
    done = subprocess.run(
        [sys.executable, "-c", LINT_IMPORTS, "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken" in done.stdout


def test_all_of_core_is_imported_without_qt_app_or_anything_slow():
    count, *slow = run_python(IMPORT_ALL_OF_CORE).split()
    assert int(count) > 20
    assert slow == []


@pytest.mark.parametrize("package", ["core", "app"])
def test_package_itself_imports_nothing(package: str):
    loaded = run_python(
        f"import sys; before = set(sys.modules); import {package}; print(*set(sys.modules) - before)"
    )
    assert loaded.split() == [package]


def test_the_command_starts_without_qt_and_without_arithmetic():
    loaded = run_python("import sys, app.main; print(*sys.modules)").split()
    assert [name for name in WINDOW_START_MAY_NOT_LOAD if name in loaded] == []
