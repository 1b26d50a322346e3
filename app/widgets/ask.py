"""A small box over the board that asks for a few words: a name, or a text to be read there.

Return takes what is written; Escape leaves all as it was.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QPlainTextEdit, QVBoxLayout, QWidget

from app.widgets.measure import scaled

WIDE = 260


class AskBox(QFrame):
    """One at a time: asking anew takes what was written before."""

    closed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._room = parent
        self.setObjectName("messageBar")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._take: Callable[[str], object] | None = None
        self._several = False
        self._title = QLabel(self)
        self._title.setObjectName("soft")
        self._title.setWordWrap(True)
        self.field = QPlainTextEdit(self)
        self.field.setTabChangesFocus(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 6, 8, 8)
        column.setSpacing(4)
        column.addWidget(self._title)
        column.addWidget(self.field)
        self.field.textChanged.connect(self._fit)
        self.field.installEventFilter(self)
        self.hide()

    def ask(
        self,
        title: str,
        text: str,
        take: Callable[[str], object],
        at: QPoint | None = None,
        several: bool = False,
    ) -> None:
        """Ask for words, `at` a place of the parent; with `several` Shift+Return begins another line."""
        self.finish()
        self._take, self._several = take, several
        self._title.setText(title)
        self.field.setAccessibleName(title)
        self.field.setPlainText(text)
        self.field.selectAll()
        wide = scaled(self, WIDE)
        self.setFixedWidth(wide)
        self._fit()
        self.adjustSize()
        spot = at if at is not None else QPoint((self._room.width() - wide) // 2, self._room.height() // 8)
        x = max(4, min(spot.x(), self._room.width() - self.width() - 4))
        y = max(4, min(spot.y(), self._room.height() - self.height() - 4))
        self.move(x, y)
        self.show()
        self.raise_()
        self.field.setFocus(Qt.FocusReason.PopupFocusReason)

    def finish(self, keep: bool = True, left: bool = False) -> None:
        """Close, taking what is written unless it is not to be kept; `left`: the keyboard is elsewhere."""
        take, self._take = self._take, None
        if self.isHidden():
            return
        self.hide()
        if not left:
            self.closed.emit()
        if keep and take is not None:
            take(self.field.toPlainText().strip())

    def _fit(self) -> None:
        rows = min(max(self.field.document().blockCount(), 1), 8)
        self.field.setFixedHeight(rows * self.field.fontMetrics().lineSpacing() + 16)
        self.adjustSize()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusOut and self.isVisible():
            self.finish(left=True)
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not (self._several and shift):
                self.finish()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self.finish(keep=False)
                return True
        return False
