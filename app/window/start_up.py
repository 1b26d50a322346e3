"""From the command's words to a running window.

Nothing slow is imported before the window has been painted.

An opened plant is painted before the solver is imported. Ask no Qt-made scrolling area for its `viewport()`
before the first paint.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QStandardPaths
from PySide6.QtWidgets import QApplication

from app import crash
from app.board import accessible
from app.pens import register_fonts
from app.settings import Settings
from app.window.windows import Windows
from core.files.places import state_folder


def run(argv: list[str]) -> int:
    """Open one window, with the plant file named in `argv` if there is one; returns the exit code."""
    application = QApplication.instance() or QApplication([sys.argv[0] if sys.argv else "wetside"])
    assert isinstance(application, QApplication)
    application.setApplicationName("wetside")
    application.setApplicationDisplayName("Wetside")
    register_fonts()
    accessible.install()
    crash.watch_for_faults()
    crash.note(f"start {' '.join(argv)}")
    settings = Settings(settings_file(), state_folder())
    windows = Windows(settings)  # a window puts the look on when all of it is there: earlier it costs twice
    sys.excepthook = lambda kind, error, trace: unforeseen(windows, error)
    windows.open(Path(argv[0]) if argv else None, then=windows.offer_left_work)
    # A clipboard left full at exit ends the process with a fault on some platforms.
    application.aboutToQuit.connect(lambda: QApplication.clipboard().clear())
    return application.exec()


def unforeseen(windows: Windows, error: BaseException) -> None:
    """A fault inside an event: say so in the window, keep the details in a file, go on."""
    file = crash.report(error)
    details = f" The details are in {file}." if file else ""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    if (window := windows.front) is not None:
        window.bar.show_message(
            f"The program met something it did not foresee ({what})."
            f" The plant is still here: save it.{details}"
        )


def settings_file() -> Path:
    """Where the user's preferences are kept."""
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.GenericConfigLocation)
    return Path(place) / "wetside" / "settings.json"
