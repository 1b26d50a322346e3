"""One plain message across the window, with the buttons that answer it. Instead of a dialog."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

Answer = tuple[str, Callable[[], object]]


class _Message(NamedTuple):
    text: str
    answers: tuple[Answer, ...]
    leave: str
    lasting: bool = False
    quiet: bool = False
    stays: bool = False
    left: Callable[[], object] = lambda: None


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
        self._shown: _Message | None = None
        self._waiting: list[_Message] = []
        self.hide()

    @property
    def text(self) -> str:
        return self._label.text() if not self.isHidden() else ""

    @property
    def buttons(self) -> list[QPushButton]:
        return list(self._buttons)

    def show_message(
        self,
        text: str,
        answers: list[Answer] | None = None,
        *,
        leave: str = "",
        left: Callable[[], object] = lambda: None,
    ) -> None:
        """Show one message over any older one. A question puts the keyboard on its first answer.

        `leave` is the word of the last button, after which, as when another message takes its place, `left`
        is called. A lasting question (`later`) comes back when what was shown over it is answered.
        """
        message = _Message(text, tuple(answers or ()), leave, left=left)
        if self._shown is not None:
            if self._shown.lasting and self._shown.text != text:
                self._waiting.insert(0, self._shown)
            else:
                self._shown.left()
        self._show(message)

    def later(
        self, text: str, answers: list[Answer] | None = None, *, leave: str = "", stays: bool = False
    ) -> None:
        """A lasting question nobody asked for: after all that is shown, and it leaves the keyboard alone.

        Who is typing must not press its first button by a blank or Return. One that `stays` is not about the
        plant in the window, and `forget` keeps it.
        """
        message = _Message(text, tuple(answers or ()), leave, lasting=True, quiet=True, stays=stays)
        if self._shown is None:
            self._show(message)
        else:
            self._waiting.append(message)

    def forget(self) -> None:
        """Drop what is shown and what waits: it was about a plant that is no longer here."""
        kept = [one for one in (self._shown, *self._waiting) if one is not None and one.stays]
        self._waiting.clear()
        self.dismiss()
        for message in kept:
            self.later(message.text, list(message.answers), leave=message.leave, stays=True)

    def settled(self) -> None:
        """What was asked or refused is done: only what lasts stays."""
        if self._shown is not None and not self._shown.lasting:
            self.dismiss()

    def dismiss(self) -> None:
        """Take away what is shown; what waits comes next."""
        if self.isHidden():
            return
        left, self._shown = self._shown, None
        if left is not None:
            left.left()
        had_focus = self.isAncestorOf(self.focusWidget()) if self.focusWidget() is not None else False
        if self._waiting:
            self._show(self._waiting.pop(0))
            return
        self.hide()
        self._clear()
        if had_focus and self._before is not None:
            self._before.setFocus(Qt.FocusReason.OtherFocusReason)
        self._before = None

    def focus_first(self) -> None:
        """The keyboard to the first answer."""
        if self._buttons:
            self._buttons[0].setFocus(Qt.FocusReason.TabFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.dismiss()
        else:
            super().keyPressEvent(event)

    def _show(self, message: _Message) -> None:
        if self.isHidden():
            self._before = self.window().focusWidget()
        self._shown = message
        self._clear()
        self._label.setText(message.text)
        leave = message.leave or ("Keep working" if message.answers else "Close")
        for words, act in (*message.answers, (leave, None)):
            button = QPushButton(words, self)
            button.setAutoDefault(True)
            button.setAccessibleDescription(message.text)
            button.clicked.connect(lambda _=False, act=act: self._answer(act))
            self._row.addWidget(button)
            self._buttons.append(button)
        self.show()
        if message.answers and not message.quiet:
            self._buttons[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _answer(self, act: Callable[[], object] | None) -> None:
        if act is not None and self._shown is not None:
            self._shown = self._shown._replace(left=lambda: None)
        self.dismiss()
        if act is not None:
            act()

    def _clear(self) -> None:
        for button in self._buttons:
            self._row.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
