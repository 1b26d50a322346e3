"""From the command's words to a running window.

Nothing slow is imported before the window has been painted.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QStandardPaths
from PySide6.QtWidgets import QApplication

from app.inking import register_fonts
from app.settings import Settings
from app.widgets import theme
from app.window.main_window import Window


def run(argv: list[str]) -> int:
    """Open one window, with the plant file named in `argv` if there is one; returns the exit code."""
    application = QApplication.instance() or QApplication([sys.argv[0] if sys.argv else "wetside"])
    assert isinstance(application, QApplication)
    application.setApplicationName("wetside")
    application.setApplicationDisplayName("Wetside")
    register_fonts()
    settings = Settings(settings_file())
    theme.put_on(application, theme.chosen(settings.get("look")))
    window = Window(settings, Path(argv[0]) if argv else None)
    window.resize(1400, 900)
    window.show()
    # A clipboard left full at exit ends the process with a fault on some platforms.
    application.aboutToQuit.connect(lambda: QApplication.clipboard().clear())
    return application.exec()


def settings_file() -> Path:
    """Where the user's preferences are kept."""
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.GenericConfigLocation)
    return Path(place) / "wetside" / "settings.json"
