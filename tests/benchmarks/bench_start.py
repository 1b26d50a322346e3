"""How soon the command answers and the window stands, against the least Python and Qt can do."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial

from tests.benchmarks.figures import Figure, seconds

BARE_WINDOW = """
from PySide6.QtWidgets import QApplication, QLabel
app = QApplication([]); label = QLabel("x"); label.show(); app.processEvents()
"""
SLOW_IMPORTS = "import numpy, scipy.optimize, networkx, pint; pint.UnitRegistry()"
OUR_WINDOW = """
from app.preflight import load_qt
load_qt()
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.settings import Settings
from app.window.main_window import Window
window = Window(Settings()); window.show(); app.processEvents()
import os; os._exit(0)
"""


def _process(code: str, cache: str) -> float:
    environment = os.environ | {"QT_QPA_PLATFORM": "offscreen", "PYTHONPYCACHEPREFIX": cache}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    command = [sys.executable, "-c", code]
    run = partial(subprocess.run, command, env=environment, check=True, stderr=subprocess.DEVNULL)
    run()  # writes the bytecode, as an installation has it
    return seconds(run)


def figures() -> Iterator[Figure]:
    """Whole processes, as ratios."""
    with tempfile.TemporaryDirectory() as cache:
        yield from _figures(cache)


def _figures(cache: str) -> Iterator[Figure]:
    python = _process("pass", cache)
    yield Figure("wetside --help / python alone", _process("import app.main", cache) / python, "x", 6.0)
    codes = (BARE_WINDOW, OUR_WINDOW, SLOW_IMPORTS + BARE_WINDOW)
    bare, ours, eager = (_process(code, cache) for code in codes)
    yield Figure("bare Qt window", bare * 1000, "ms")
    yield Figure("our window / bare Qt window", ours / bare, "x")
    yield Figure("our window / bare Qt window behind every slow import", ours / eager, "x", 0.5)
