"""Fields that are picked from a list: one of a closed list, or a line of text with a list beside it."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QComboBox, QCompleter, QLineEdit, QWidget


class Arrowed(QComboBox):
    """A box with our own arrow; scrolling the particulars must not change a value in passing."""

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.palette().text())
        x, y = self.width() - 12.0, self.height() / 2
        painter.drawPolygon(QPolygonF([QPointF(x - 4, y - 2), QPointF(x + 4, y - 2), QPointF(x, y + 3)]))
        painter.end()

    def wheelEvent(self, event: object) -> None:
        event.ignore()  # type: ignore[attr-defined]


class Choice(Arrowed):
    """A pick from a list; committed at once when picked. `words` are shown, `values` are stored."""

    committed = Signal()

    def __init__(self, words: list[str], values: list[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        for word, value in zip(words, values, strict=True):
            self.addItem(word, value)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(6)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.activated.connect(lambda _index: self.committed.emit())

    def keep(self, text: str) -> None:
        """A choice is stored at once: there is nothing to give back."""

    def put(self, text: str) -> None:
        index = self.findData(text)
        if index < 0:
            self.addItem(text, text)
            index = self.count() - 1
        self.setCurrentIndex(index)

    def text_now(self) -> str:
        return str(self.currentData() or "")


class Pick(Arrowed):
    """A line of text with a list to pick from; any other text may be typed. Typing narrows the list."""

    committed = Signal()

    def __init__(self, words: list[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept = ""
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.addItems(words)
        self.setMaxVisibleItems(14)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(6)
        completer = QCompleter(words, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        self.setCompleter(completer)
        self._line().editingFinished.connect(self._left)
        self.activated.connect(lambda _index: self.committed.emit())

    def _left(self) -> None:
        if not self._line().hasFocus():
            self._line().setCursorPosition(0)  # what is too long is cut at its end
        self.committed.emit()

    def _line(self) -> QLineEdit:
        line = self.lineEdit()
        assert line is not None, "an editable box has a line"
        return line

    def keep(self, text: str) -> None:
        """What Escape gives back."""
        self._kept = text

    def put(self, text: str) -> None:
        self._kept = text
        self.setEditText(text)
        self._line().setCursorPosition(0)

    def text_now(self) -> str:
        return self.currentText()

    def setPlaceholderText(self, text: str) -> None:
        self._line().setPlaceholderText(text)

    def setAccessibleName(self, name: str) -> None:
        super().setAccessibleName(name)
        self._line().setAccessibleName(name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.currentText() != self._kept:
            self.put(self._kept)
            self.committed.emit()
        elif event.key() == Qt.Key.Key_Down:
            self.showPopup()
        else:
            super().keyPressEvent(event)
