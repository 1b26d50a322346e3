"""One row of a form: name, editor, a soft remark beside it, and the error below it. Typed text stays."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QSizePolicy,
    QWidget,
)

from app.widgets.measure import scaled
from app.widgets.picks import Choice, Pick
from core.errors import Refusal
from core.vocabulary.spellings import spoken

NAME_WIDTH = 100
SENTENCE = 24
"""Letters from which on a remark stands below its field rather than not at all."""


class Line(QLineEdit):
    """One line of text; Return and leaving commit, Escape gives the last good text back."""

    committed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept = ""
        self.unit = ""
        """What a bare number takes: it stands soft at the right end, behind a number that has none."""
        self.editingFinished.connect(self.committed)

    def keep(self, text: str) -> None:
        """What Escape gives back."""
        self._kept = text

    def put(self, text: str) -> None:
        self._kept = text
        self.setText(text)
        self.setCursorPosition(0)

    def text_now(self) -> str:
        return self.text()

    def unit_shown(self) -> str:
        """The unit that stands in the field now: none where the text or the placeholder has its own."""
        text = self.text() or self.placeholderText()
        return "" if any(letter.isalpha() or letter in "%'\"°" for letter in text) else self.unit

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if unit := self.unit_shown():
            painter = QPainter(self)
            painter.setPen(self.palette().placeholderText().color())
            room = self.rect().adjusted(4, 0, -7, 0)
            painter.drawText(room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, unit)
            painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.text() != self._kept:
            self.put(self._kept)
            self.committed.emit()
        else:
            super().keyPressEvent(event)


class Lines(QPlainTextEdit):
    """Several lines, one entry a line.

    Ctrl+Return and leaving commit; Tab leaves, it is no character here.
    """

    committed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept = ""
        self.setTabChangesFocus(True)
        self.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.textChanged.connect(self.updateGeometry)

    def keep(self, text: str) -> None:
        """What Escape gives back."""
        self._kept = text

    def put(self, text: str) -> None:
        self._kept = text
        self.setPlainText(text)

    def text_now(self) -> str:
        return self.toPlainText()

    def sizeHint(self) -> QSize:
        rows = min(max(self.document().blockCount(), 2), 8)
        return QSize(120, rows * self.fontMetrics().lineSpacing() + 18)

    def minimumSizeHint(self) -> QSize:
        return QSize(60, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and held:
            self.committed.emit()
        elif event.key() == Qt.Key.Key_Escape:
            if self.toPlainText() == self._kept:
                event.ignore()
                return
            self.put(self._kept)
            self.committed.emit()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.committed.emit()


class Compound(QWidget):
    """An editor of several widgets round one line of text."""

    committed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = Line(self)
        self.setFocusProxy(self.line)

    def keep(self, text: str) -> None:
        """What Escape gives back."""
        self.line.keep(text)

    def put(self, text: str) -> None:
        self.line.put(text)

    def text_now(self) -> str:
        return self.line.text_now()

    def setPlaceholderText(self, text: str) -> None:
        self.line.setPlaceholderText(text)

    def setAccessibleName(self, name: str) -> None:
        super().setAccessibleName(name)
        self.line.setAccessibleName(name)

    def setProperty(self, name: str, value: object) -> bool:
        """The line shows that something is wrong."""
        return self.line.setProperty(name, value) or super().setProperty(name, value)


class Spread(QWidget):
    """An editor of several cells; its text is all of them together."""

    committed = Signal()

    def keep(self, text: str) -> None:
        """What Escape gives back."""
        raise NotImplementedError

    def put(self, text: str) -> None:
        raise NotImplementedError

    def text_now(self) -> str:
        raise NotImplementedError

    def typing(self, done: bool) -> bool:
        """Whether a cell was typed into since; `done`: it is being taken."""
        raise NotImplementedError

    def mark(self, path: str, trouble: str) -> str:
        """Mark the cell that a refusal names, none for ""; gives the cell's name in words."""
        raise NotImplementedError

    def mark_called(self, name: str, trouble: str) -> None:
        """Mark the cell of a name that `mark` gave."""
        raise NotImplementedError

    def setPlaceholderText(self, text: str) -> None:
        """Cells have examples of their own."""


Editor = Line | Lines | Choice | Pick | Compound | Spread


class _ErrorMark(QWidget):
    """The crossed square before an error text: shape, not colour."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFixedSize(14, 16)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(self.palette().windowText().color()), 1.4))
        box = QRectF(1.2, 2.7, 10.6, 10.6)
        painter.drawRect(box)
        inner = box.adjusted(2.6, 2.6, -2.6, -2.6)
        painter.drawLine(QPointF(inner.left(), inner.top()), QPointF(inner.right(), inner.bottom()))
        painter.drawLine(QPointF(inner.left(), inner.bottom()), QPointF(inner.right(), inner.top()))
        painter.end()


class Field(QWidget):
    """A named editor.

    `take` gets the typed text and stores it, or raises `Refusal`: then the text stays and the error stands
    below. `beside` gives the soft remark for the text now in the field, `reading` that for a text while it is
    typed. `refused` and `mended` tell of a text that was not taken, and that none waits any longer.
    """

    refused = Signal(str, str)
    """The text and why."""
    mended = Signal()

    def __init__(
        self,
        name: str,
        editor: Editor,
        take: Callable[[str], None],
        beside: Callable[[str], str] = lambda _text: "",
        hint: str = "",
        parent: QWidget | None = None,
        reading: Callable[[str], str] | None = None,
    ) -> None:
        super().__init__(parent)
        self.name, self.editor = name, editor
        self._take, self._beside, self._hint = take, beside, hint
        self._reading = reading
        self._stored = ""
        label = QLabel(name, self)
        label.setWordWrap(True)
        label.setFixedWidth(scaled(self, NAME_WIDTH))
        label.setBuddy(editor)
        label.setToolTip(hint)
        editor.setParent(self)
        editor.setAccessibleName(name)
        editor.setToolTip(hint)
        editor.setAccessibleDescription(hint)
        self._remark = QLabel(self)
        self._remark.setObjectName("soft")
        self._remark.setTextFormat(Qt.TextFormat.PlainText)
        self._mark = _ErrorMark(self)
        self._error = QLabel(self)
        self._error.setTextFormat(Qt.TextFormat.PlainText)
        self._error.setWordWrap(True)
        self._lay_out(label)
        editor.committed.connect(self.commit)
        if isinstance(editor, Line) and reading is not None:
            editor.textEdited.connect(self._read_along)
        editor.setProperty("wrong", False)
        self._show_error("")

    def _lay_out(self, label: QLabel) -> None:
        grid = self._grid = QGridLayout(self)
        self._place = (0, 2, 1, 1)
        grid.setContentsMargins(0, 2, 0, 2)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(2)
        across = isinstance(self.editor, (Lines, Compound))
        top = Qt.AlignmentFlag.AlignTop
        if isinstance(self.editor, Spread):
            grid.addWidget(label, 0, 0, 1, 2)
            grid.addWidget(self.editor, 1, 0, 1, 3)
            grid.addWidget(self._mark, 2, 0, top | Qt.AlignmentFlag.AlignRight)
            grid.addWidget(self._error, 2, 1, 1, 2)
            grid.setColumnStretch(1, 3)
            label.setWordWrap(False)
            label.setMaximumWidth(16777215)
            label.setMinimumWidth(0)
            return
        grid.addWidget(label, 0, 0, top if across else Qt.AlignmentFlag.AlignVCenter)
        grid.addWidget(self.editor, 0, 1)
        grid.addWidget(self._remark, 0, 2)
        grid.addWidget(self._mark, 1, 0, top | Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self._error, 1, 1, 1, 2)
        grid.setColumnStretch(1, 3)
        self.editor.setMinimumWidth(scaled(self, 86))

    @property
    def error(self) -> str:
        return self._error.text()

    @property
    def remark(self) -> str:
        return self._remark.text()

    @property
    def stored(self) -> str:
        return self._stored

    def put(self, text: str) -> None:
        """Show the stored text. An error the user has not mended stays until the stored text moves on."""
        same, beside = text == self._stored, self._beside(text)
        if same and self._typing():
            return  # figures that come meanwhile do not wipe what is being typed
        if same and (self.error or (self.editor.text_now() == text and self._remark.text() == beside)):
            return
        self._stored = text
        if self.editor.text_now() != text or self.error:
            self.editor.put(text)
        else:
            self.editor.keep(text)  # or Escape would bring back what stood there before
        self._show_error("")
        self._remark.setText(beside)
        self._fit_remark()

    def _typing(self, done: bool = False) -> bool:
        """Whether the text was typed into since it was put there or taken; `done`: it is being taken."""
        if isinstance(self.editor, Spread):
            return self.editor.typing(done)
        editor = self.editor.line if isinstance(self.editor, Compound) else self.editor
        text = editor.lineEdit() if isinstance(editor, QComboBox) else editor
        held = text.document() if isinstance(text, QPlainTextEdit) else text
        if held is None:
            return False
        typing = held.isModified()
        if done:
            held.setModified(False)
        return typing

    def restore(self, text: str, reason: str) -> None:
        """A text that was refused before stands here again, with its reason."""
        if self.editor.text_now() != text:
            stored = self._stored
            self.editor.put(text)
            self.editor.keep(stored)
        if isinstance(self.editor, Spread):
            self.editor.mark_called(reason.partition(":")[0], reason)
        self._show_error(reason)

    def _read_along(self, text: str) -> None:
        """While one types: how the value would be read."""
        if self._reading is not None:
            self._remark.setText(self._reading(text))
            self._fit_remark()

    def commit(self) -> None:
        text = self.editor.text_now()
        self._typing(done=True)
        if text == self._stored:
            self._remark.setText(self._beside(text))
            self._show_error("")
            self._fit_remark()
            self.mended.emit()
            return
        try:
            self._take(text)
            self.mended.emit()
        except Refusal as refusal:
            short = "\n" not in self._stored
            kept = f" Kept for now: {self._stored}." if short else " Kept as it was before."
            kept = kept if self._stored else ""
            words = plain_words(refusal)
            if isinstance(self.editor, Spread):
                place = self.editor.mark(refusal.path, words)
                words = f"{place}: {words}" if place else words
            self._show_error(words + kept)
            self.refused.emit(text, self.error)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_remark()

    def _fit_remark(self) -> None:
        """The remark gives way where the typed text would be cut: it is in the tooltip then."""
        text, remark = self.editor.text_now(), self._remark.text()
        metrics = self.editor.fontMetrics()
        wanted = metrics.horizontalAdvance(text) + self._remark.fontMetrics().horizontalAdvance(remark) + 26
        room = wanted <= self.width() - scaled(self, NAME_WIDTH) - 12
        typing = text != self._stored and self._reading is not None
        below = not room and bool(remark) and (typing or len(remark) > SENTENCE)
        at = (1, 1, 1, 2) if below else (0, 2, 1, 1)
        if self._place != at:
            self._place = at
            self._grid.addWidget(self._remark, *at)
        self._remark.setWordWrap(below)  # or a sentence would make the form wider than its panel
        room = room or below
        self._remark.setVisible(bool(remark) and room and not self.error)
        self.editor.setToolTip(self._hint if room or not remark else f"{remark}. {self._hint}".strip())

    def _show_error(self, text: str) -> None:
        wrong = bool(text)
        changed = self.editor.property("wrong") is not wrong
        self._error.setText(text)
        self._remark.setVisible(bool(self._remark.text()) and not wrong)
        self._error.setVisible(wrong)
        self._mark.setVisible(wrong)
        if not wrong and isinstance(self.editor, Spread):
            self.editor.mark("", "")
        if changed:
            self.editor.setProperty("wrong", wrong)
            self.editor.style().unpolish(self.editor)
            self.editor.style().polish(self.editor)
        self.editor.setAccessibleDescription(text or self.editor.toolTip())


def plain_words(refusal: Refusal) -> str:
    """A refusal beside its field: the place is in sight there, so only what was found and expected."""
    words = f"Found {refusal.found}; expected {spoken(refusal.expected)}."
    return f"{words} {spoken(refusal.hint).rstrip('.')}." if refusal.hint else words
