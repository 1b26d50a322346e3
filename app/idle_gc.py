"""Python's search for lost objects, put where nobody waits for it.

A search through everything takes a tenth of a second, and Python begins one whenever it has made enough
objects: in the middle of a drag as likely as not. Here it is done when window and background have come to
rest; what it then finds in use is not looked through again until another plant comes.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

from app.background import Background
from app.document import Document
from app.preflight import SELDOM

REST = 1500
"""Milliseconds without an edit or other work."""


class IdleCollector(QObject):
    """Searches for one window; belongs to it."""

    def __init__(self, document: Document, background: Background, parent: QObject) -> None:
        super().__init__(parent)
        gc.set_threshold(*SELDOM)
        self._background = background
        self._other = True
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST)
        self._rest.timeout.connect(self.clear)
        document.changed.connect(self._follow)
        background.idle.connect(self._rest.start)
        self._rest.start()

    def _follow(self, changes: object) -> None:
        self._other |= changes is None
        self._rest.start()

    def clear(self) -> None:
        """Search now, unless work is under way: its end asks again."""
        if self._background.busy:
            return
        if self._other:
            gc.unfreeze()
            self._other = False
        gc.collect()
        gc.freeze()
