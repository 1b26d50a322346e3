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
OUR_WINDOW = """
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.window import Window
window = Window(); window.show(); app.processEvents()
import os; os._exit(0)
"""


def _process(code: str) -> float:
    environment = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    return seconds(lambda: subprocess.run([sys.executable, "-c", code], env=environment, check=True))


def figures() -> Iterator[Figure]:
    """Whole processes, as ratios."""
    python = _process("pass")
    yield Figure("wetside --help / python alone", _process("import app.main") / python, "x", 6.0)
    bare = _process(BARE_WINDOW)
    yield Figure("bare Qt window", bare * 1000, "ms")
    yield Figure("our window / bare Qt window", _process(OUR_WINDOW) / bare, "x", 2.5)
