"""How soon the command answers and the window stands, against the least Python and Qt can do."""

import os
import subprocess
import sys
from collections.abc import Iterator

from tests.benchmarks.figures import Figure, seconds

BARE_WINDOW = """
from PySide6.QtWidgets import QApplication, QLabel
app = QApplication([]); label = QLabel("x"); label.show(); app.processEvents()
"""
SLOW_IMPORTS = "import numpy, scipy.optimize, networkx, pint; pint.UnitRegistry()"
OUR_WINDOW = """
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.settings import Settings
from app.window.main_window import Window
window = Window(Settings()); window.show(); app.processEvents()
import os; os._exit(0)
"""


def _process(code: str) -> float:
    environment = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    return seconds(
        lambda: subprocess.run(
            [sys.executable, "-c", code], env=environment, check=True, stderr=subprocess.DEVNULL
        )
    )


def figures() -> Iterator[Figure]:
    """Whole processes, as ratios."""
    python = _process("pass")
    yield Figure("wetside --help / python alone", _process("import app.main") / python, "x", 6.0)
    bare, ours, eager = _process(BARE_WINDOW), _process(OUR_WINDOW), _process(SLOW_IMPORTS + BARE_WINDOW)
    yield Figure("bare Qt window", bare * 1000, "ms")
    yield Figure("our window / bare Qt window", ours / bare, "x")
    yield Figure("our window / bare Qt window behind every slow import", ours / eager, "x", 0.5)
