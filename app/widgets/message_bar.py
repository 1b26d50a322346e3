"""One plain message across the window, with the buttons that answer it. Instead of a dialog."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

Answer = tuple[str, Callable[[], object]]


class MessageBar(QFrame):
    """Hidden until `show_message`; once answered or closed, the keyboard returns where it was."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("messageBar")
        self.setAccessibleName("Message")
        self._label = QLabel(self)
        self._label.setTextFormat(Qt.TextFormat.PlainText)
        self._label.setWordWrap(True)
        self._label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._label.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(14, 6, 10, 6)
        self._row.setSpacing(8)
        self._row.addWidget(self._label, 1)
        self._buttons: list[QPushButton] = []
        self._before: QWidget | None = None
        self.hide()

    @property
    def text(self) -> str:
        return self._label.text() if not self.isHidden() else ""

    @property
    def buttons(self) -> list[QPushButton]:
        return list(self._buttons)

    def show_message(self, text: str, answers: list[Answer] | None = None) -> None:
        """Show one message over any older one. A question puts the keyboard on its first answer."""
        if self.isHidden():
            self._before = self.window().focusWidget()
        self._clear()
        self._label.setText(text)
        for words, act in [*(answers or []), ("Close", lambda: None)]:
            button = QPushButton(words, self)
            button.setAutoDefault(True)
            button.setAccessibleDescription(text)
            button.clicked.connect(lambda _=False, act=act: self._answer(act))
            self._row.addWidget(button)
            self._buttons.append(button)
        if answers:
            self._buttons[-1].setText("Keep working")
        self.show()
        if answers:
            self._buttons[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def dismiss(self) -> None:
        if self.isHidden():
            return
        had_focus = self.isAncestorOf(self.focusWidget()) if self.focusWidget() is not None else False
        self.hide()
        self._clear()
        if had_focus and self._before is not None:
            self._before.setFocus(Qt.FocusReason.OtherFocusReason)
        self._before = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.dismiss()
        else:
            super().keyPressEvent(event)

    def _answer(self, act: Callable[[], object]) -> None:
        self.dismiss()
        act()

    def _clear(self) -> None:
        for button in self._buttons:
            self._row.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
