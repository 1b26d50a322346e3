"""The lowest versions that `pyproject.toml` allows, tried.

`python -m tests.tools.floors` prints them for pip; `python -m tests.tools.floors FILE` opens a window on a
plant with what is installed, and waits for its figures.
"""

from __future__ import annotations

import re
import sys
import time
import tomllib
from pathlib import Path

PATIENCE = 60.0  # [s]


def pins() -> list[str]:
    """What the program needs, each at its lowest version.

    Examples
    --------
    >>> [pin for pin in pins() if pin.startswith("PySide6")]
    ['PySide6-Essentials==6.8.3']
    """
    text = (Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8")
    wanted = tomllib.loads(text)["project"]["dependencies"]
    return sorted({re.sub(r">=([^,;]+).*", r"==\1", one) for one in wanted})


def opens(file: Path) -> bool:
    """Whether a window opens on a plant, and every case of it is solved."""
    from PySide6.QtWidgets import QApplication

    from app.settings import Settings
    from app.window.main_window import Window

    application = QApplication([])
    window = Window(Settings(), file)
    window.show()
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and not (window.document.file == file and window.live.all_answered):
        application.processEvents()
    solutions = window.live.solutions().values()
    good = bool(solutions) and all(solution.converged for solution in solutions)
    window.close()
    print(f"{file.name}: {len(solutions)} cases solved" if good else f"{file.name}: not solved in time")
    return good


if __name__ == "__main__":
    if len(sys.argv) < 2:
        print(*pins())
    else:
        sys.exit(not opens(Path(sys.argv[1])))
