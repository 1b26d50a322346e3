"""Insert by name: a small box over the board, type-ahead, Return takes. Chooses a word; places nothing."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QIcon, QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.widgets.measure import scaled

VALUE = Qt.ItemDataRole.UserRole
ROWS = 9
Entry = tuple[str, str, QIcon | None]
"""Value, words, icon."""


class QuickBox(QFrame):
    """Emits `taken` with the value of the chosen row. Escape, or leaving it, closes it."""

    taken = Signal(str)
    closed = Signal()

    def __init__(
        self,
        title: str,
        parent: QWidget,
        nothing: Callable[[str], str] = lambda _text: "Nothing fits.",
        most: int = ROWS,
        wide: int = 280,
        example: str = "",
    ) -> None:
        """`nothing` says what stands there where nothing fits what is typed, `example` in the empty field."""
        super().__init__(parent)
        self._most, self._wide = most, wide
        self._room = parent
        self.setObjectName("messageBar")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._search: Callable[[str], Sequence[Entry]] = lambda _text: ()
        self._title = QLabel(title, self)
        self._title.setObjectName("soft")
        self.field = QLineEdit(self)
        self.field.setAccessibleName(title)
        self.field.setPlaceholderText(example)
        self.rows = QListWidget(self)
        self.rows.setAccessibleName(f"{title}: found")
        self.rows.setFrameShape(QFrame.Shape.NoFrame)
        self.rows.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.rows.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._said = nothing
        self._nothing = QLabel(self)
        self._nothing.setObjectName("soft")
        self._nothing.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 6, 8, 8)
        column.setSpacing(4)
        column.addWidget(self._title)
        column.addWidget(self.field)
        column.addWidget(self._nothing)
        column.addWidget(self.rows)
        self.field.textChanged.connect(self._refresh)
        self.field.installEventFilter(self)
        self.rows.itemClicked.connect(self._take)
        self.hide()

    def ask(self, search: Callable[[str], Sequence[Entry]]) -> None:
        self._search = search
        self.field.clear()
        self._refresh()
        self.setFixedWidth(scaled(self, self._wide))
        self.adjustSize()
        self.move((self._room.width() - self.width()) // 2, max(16, self._room.height() // 8))
        self.show()
        self.raise_()
        self.field.setFocus(Qt.FocusReason.PopupFocusReason)

    def _refresh(self) -> None:
        self.rows.clear()
        for value, words, icon in list(self._search(self.field.text()))[: self._most]:
            row = QListWidgetItem(words)
            if icon is not None:
                row.setIcon(icon)
            row.setData(VALUE, value)
            self.rows.addItem(row)
        self._nothing.setText(self._said(self.field.text()))
        self._nothing.setVisible(not self.rows.count())
        self.rows.setVisible(bool(self.rows.count()))
        if self.rows.count():
            self.rows.setCurrentRow(0)
        self.rows.setFixedHeight(ROWS * max(self.rows.sizeHintForRow(0), 24) + 4)
        self.adjustSize()

    def _take(self, row: QListWidgetItem | None) -> None:
        if row is not None:
            value = str(row.data(VALUE))
            self._close()
            self.taken.emit(value)

    def _close(self) -> None:
        if not self.isHidden():
            self.hide()
            self.closed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusOut and self.isVisible():
            self.hide()  # the keyboard has gone where the user wanted it
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = event.key()
            step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(key))
            if step is not None and self.rows.count():
                self.rows.setCurrentRow((self.rows.currentRow() + step) % self.rows.count())
                return True
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._take(self.rows.currentItem())
                return True
            if key == Qt.Key.Key_Escape:
                self._close()
                return True
        return False
