"""Two parts of a page: side by side where there is room, one above the other where there is not."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QWidget

from app.widgets.measure import scaled

NARROW = 480


class Halves(QSplitter):
    """A splitter that turns by its width; `share` is what the first part gets of it."""

    def __init__(self, first: QWidget, second: QWidget, share: float, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._share = share
        self._laid = False
        self.setChildrenCollapsible(False)
        for place, part in enumerate((first, second)):
            self.addWidget(part)
            self.setStretchFactor(place, round(100 * (share, 1.0 - share)[place]))

    def resizeEvent(self, event: QResizeEvent) -> None:
        narrow = self.width() < scaled(self, NARROW)
        turn = Qt.Orientation.Vertical if narrow else Qt.Orientation.Horizontal
        if turn != self.orientation() or not self._laid:
            self._laid = True
            self.setOrientation(turn)
            whole = self.height() if narrow else self.width()
            share = 0.5 if narrow else self._share
            self.setSizes([round(share * whole), round((1.0 - share) * whole)])
        super().resizeEvent(event)
