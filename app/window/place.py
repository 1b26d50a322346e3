"""Where a window stands: as it was left, and never beside or larger than the screen."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMainWindow

from app.settings import Settings

USUAL = QSize(1400, 900)
FRAME = 40
"""Pixels that the system's title bar and borders take."""


def fitted(wanted: QRect, screens: list[QRect]) -> QRect:
    """A place that lies on one of the screens: the one that holds most of it, else the first.

    Examples
    --------
    >>> fitted(QRect(3000, 10, 1400, 900), [QRect(0, 0, 1280, 800)])
    PySide6.QtCore.QRect(0, 0, 1280, 760)
    """

    def shared(screen: QRect) -> int:
        both = screen.intersected(wanted)
        return max(0, both.width()) * max(0, both.height())

    screen = max(screens, key=shared)
    size = wanted.size().boundedTo(QSize(screen.width(), screen.height() - FRAME))
    x = min(max(wanted.x(), screen.x()), screen.x() + screen.width() - size.width())
    y = min(max(wanted.y(), screen.y()), screen.y() + screen.height() - size.height() - FRAME)
    return QRect(x, y, size.width(), size.height())


def put(window: QMainWindow, settings: Settings) -> None:
    """Where the last window was left; the first time in the middle of the screen, as large as fits."""
    screens = [screen.availableGeometry() for screen in QGuiApplication.screens()]
    kept = settings.get("place")
    if kept:
        wanted = QRect(*kept[:4])
    else:
        wanted = QRect(0, 0, USUAL.width(), USUAL.height())
        wanted.moveCenter(screens[0].center())
    place = fitted(wanted, screens)
    window.resize(place.size())
    window.move(place.topLeft())
    if kept and kept[4]:
        window.showMaximized()


def keep(window: QMainWindow, settings: Settings) -> None:
    """Remember where a window stands, for the next start."""
    whole = window.isMaximized() or window.isFullScreen()
    here = window.normalGeometry() if whole else window.geometry()
    settings.set("place", [window.x(), window.y(), here.width(), here.height(), int(whole)])
