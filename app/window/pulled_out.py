"""A page of the strip in a window of its own, and what stands in its place meanwhile."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QCloseEvent, QKeyEvent
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from app.panels.port import Pane
from app.widgets.measure import scaled

SIZE = 760, 520


class PaneWindow(QWidget):
    """Holds a page until it is closed; `closed` gives the page back. Lies over its window, blocks nothing."""

    closed = Signal()

    def __init__(self, pane: Pane, title: str, above: QWidget) -> None:
        super().__init__(above, Qt.WindowType.Window)
        self.pane = pane
        self.setAccessibleName(f"{title}, a page in its own window")
        self.retitle(title)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 6, 0, 0)
        whole.addWidget(pane)
        pane.show()
        self.resize(scaled(self, SIZE[0]), scaled(self, SIZE[1]))

    def retitle(self, title: str) -> None:
        """What stands on the page's tab stands on the window."""
        self.setWindowTitle(f"{title} – Wetside")

    def closeEvent(self, event: QCloseEvent) -> None:
        super().closeEvent(event)
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)


class Away(QWidget):
    """Stands in the strip while the page is in its own window. `back` asks for it."""

    back = Signal()

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        words = QLabel(f"{title} is in a window of its own.", self)
        words.setObjectName("soft")
        button = QPushButton("Bring it back here", self)
        button.clicked.connect(self.back)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 8, 14, 8)
        column.addWidget(words)
        column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
