"""A label of one line: what does not fit is cut and stands in the tooltip."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget


class OneLine(QLabel):
    """Never wider than its place; `whole` is all of its text."""

    def __init__(self, parent: QWidget | None = None, soft: bool = False) -> None:
        super().__init__("", parent)
        self.whole = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        if soft:
            self.setObjectName("soft")

    def put(self, text: str, more: str = "") -> None:
        """Show a text; `more` is what the tooltip says besides."""
        self.whole = text
        self.setAccessibleName(text)
        self.setToolTip(more or text)
        self._fit()

    def minimumSizeHint(self) -> QSize:
        return QSize(20, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = max(0, self.width() - 2)
        self.setText(self.fontMetrics().elidedText(self.whole, Qt.TextElideMode.ElideRight, room))
