"""The guided first plant: eight steps beside the board, each a step of undo made from the user's own numbers.

Knows no plumbing: what a step asks and does stands in `core.first_plant`. May be left at any step; what was
made is read from the plant, so that it goes on where it was left.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.document import Document
from app.widgets.field import Line
from app.widgets.picks import Choice
from core.errors import Refusal, WetsideError
from core.first_plant import STEPS, Answers, Step, Wish, answer, make
from core.plant.changes import Change

ROWS, ABREAST = 2, 2
Editor = Line | Choice


class GuideWindow(Protocol):
    """What the guide asks of the window."""

    def commit(self, words: str, changes: Sequence[Change]) -> bool: ...
    def fit(self) -> None: ...
    def open_page(self, key: str) -> None: ...
    def run(self, command: str) -> None: ...


class Guide(QWidget):
    """One step in sight; the list above it says which are made."""

    left = Signal()

    def __init__(self, document: Document, window: GuideWindow, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Guided first plant")
        self._document, self._window = document, window
        self._typed: dict[str, str] = {}
        self._rows: list[dict[str, str]] = [{} for _ in range(ROWS)]
        self.editors: dict[str, Editor] = {}
        self.row_editors: list[dict[str, Editor]] = []
        self.key = STEPS[0].key
        self._lay_out()
        document.changed.connect(lambda _changes: self._follow())
        self.resume()

    def _lay_out(self) -> None:
        title = QLabel("A first plant", self)
        title.setObjectName("heading")
        close = QToolButton(self)
        close.setText("×")
        close.setAccessibleName("Leave the guide")
        close.setToolTip("Leave the guide; Insert, Guided first plant goes on where it was left")
        close.clicked.connect(self.left)
        head = QHBoxLayout()
        head.addWidget(title, 1)
        head.addWidget(close)
        self.steps: dict[str, QPushButton] = {}
        listed = QVBoxLayout()
        listed.setSpacing(0)
        for step in STEPS:
            button = QPushButton(self)
            button.setObjectName("step")
            button.setCheckable(True)
            button.clicked.connect(lambda _on=False, key=step.key: self.show_step(key))
            self.steps[step.key] = button
            listed.addWidget(button)
        self._form = QWidget(self)
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.go, self.skip = QPushButton(self), QPushButton("Leave it out", self)
        self.go.clicked.connect(self.do)
        self.skip.clicked.connect(lambda: self.show_step(self._next()))
        self.skip.setToolTip("To the next step; this one may be taken later")
        foot = QHBoxLayout()
        foot.addWidget(self.go)
        foot.addWidget(self.skip)
        foot.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 8, 8, 8)
        for part in (head, listed):
            column.addLayout(part)
        column.addWidget(self._scroll, 1)
        column.addWidget(self.told)
        column.addLayout(foot)

    # ---- which step ---------------------------------------------------------------------

    @property
    def step(self) -> Step:
        return next(step for step in STEPS if step.key == self.key)

    def _next(self) -> str:
        keys = [step.key for step in STEPS]
        return keys[min(keys.index(self.key) + 1, len(keys) - 1)]

    def resume(self) -> None:
        """Turn to the first step of which the plant has nothing."""
        plant = self._document.plant
        self.show_step(next((step.key for step in STEPS if not step.made(plant)), STEPS[-1].key))

    def show_step(self, key: str) -> None:
        """Bring a step in sight; what was typed in the one before is kept."""
        self._remember()
        self.key = key
        self._make_form()
        self._follow()
        self.told.clear()
        self.focus_first()

    def focus_first(self) -> None:
        if self.isVisible():
            first = next(iter(self.editors.values()), None)
            (first or self.go).setFocus(Qt.FocusReason.OtherFocusReason)
            if isinstance(first, Line):
                first.selectAll()

    def _follow(self) -> None:
        """What is made is told in the list; whoever undoes a step sees it open again."""
        plant = self._document.plant
        for number, step in enumerate(STEPS, start=1):
            made, button = step.made(plant), self.steps[step.key]
            button.setText(f"{number}  {step.title}{'  ✓' if made else ''}")
            button.setAccessibleName(f"Step {number}, {step.title}{', made' if made else ''}")
            button.setToolTip(f"{step.title}: {made}" if made else step.title)
            button.setChecked(step.key == self.key)
        self.go.setText(self.step.does)
        self.skip.setText("Next" if self.step.made(plant) else "Leave it out")
        self.skip.setVisible(self.key != STEPS[-1].key)

    # ---- the form -----------------------------------------------------------------------

    def _make_form(self) -> None:
        step = self.step
        form = QWidget(self._scroll)
        column = QVBoxLayout(form)
        column.setContentsMargins(0, 4, 6, 0)
        title, words = QLabel(step.title, form), QLabel(step.words, form)
        title.setObjectName("heading")
        column.addWidget(title)
        for label in [words, *([_soft(step.caution, form)] if step.caution else [])]:
            label.setWordWrap(True)
            column.addWidget(label)
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        self.editors, self.row_editors = {}, []
        for place, wish in enumerate(step.wishes):
            editor = self._editor(wish, form, self._typed.get(wish.key))
            label = QLabel(wish.label, form)
            label.setBuddy(editor)
            grid.addWidget(label, place, 0)
            grid.addWidget(editor, place, 1)
            self.editors[wish.key] = editor
        column.addLayout(grid)
        if step.row:
            column.addLayout(self._table(step, form))
        column.addStretch(1)
        self._form = form
        self._scroll.setWidget(form)

    def _table(self, step: Step, form: QWidget) -> QVBoxLayout:
        """Lines of one thing each, and a button for one more."""
        whole, grid = QVBoxLayout(), QGridLayout()
        grid.setHorizontalSpacing(4)
        deep = -(-len(step.row) // ABREAST)
        for place, wish in enumerate(step.row):
            grid.addWidget(_soft(wish.label, form), place // ABREAST, place % ABREAST)
        for column in range(ABREAST):
            grid.setColumnStretch(column, 1)
        for number, texts in enumerate(self._rows):
            made: dict[str, Editor] = {}
            for place, wish in enumerate(step.row):
                first = texts.get(wish.key)
                if first is None and not wish.choices and not wish.dimension:
                    first = step.names[number]
                editor = self._editor(wish, form, first)
                editor.setAccessibleName(f"{wish.label} {number + 1}")
                grid.addWidget(editor, (number + 1) * deep + place // ABREAST, place % ABREAST)
                made[wish.key] = editor
            self.row_editors.append(made)
        whole.addLayout(grid)
        whole.addWidget(_soft("An empty name leaves a line out.", form))
        more = QPushButton("One more line", form)
        more.setEnabled(len(self._rows) < len(step.names))
        more.clicked.connect(self._add_row)
        whole.addWidget(more, 0, Qt.AlignmentFlag.AlignLeft)
        return whole

    def _editor(self, wish: Wish, form: QWidget, text: str | None) -> Editor:
        """A field with the first guess in it; a list for a choice."""
        if wish.choices:
            pick = Choice([words for _, words in wish.choices], [key for key, _ in wish.choices], form)
            pick.setCurrentIndex(max(0, pick.findData(text)) if text else 0)
            pick.setAccessibleName(wish.label)
            return pick
        plant = self._document.plant
        line = Line(form)
        line.textEdited.connect(line.keep)  # Escape leaves the guide, and what was typed stays
        line.unit = wish.bare[plant.units == "si"]
        line.put(wish.begin(plant) if text is None else text)
        line.setPlaceholderText(
            "not known"
            if wish.open and wish.hint.endswith("yet.")
            else "none"
            if wish.open
            else wish.begin(plant)
        )
        line.setAccessibleName(wish.label)
        line.setToolTip(wish.hint or wish.label)
        return line

    def _add_row(self) -> None:
        self._remember()
        self._rows.append({})
        self._make_form()
        self.row_editors[-1][self.step.row[0].key].setFocus(Qt.FocusReason.OtherFocusReason)

    def _remember(self) -> None:
        self._typed |= {key: _said(editor) for key, editor in self.editors.items()}
        if self.row_editors:
            self._rows = [{key: _said(one) for key, one in row.items()} for row in self.row_editors]

    # ---- doing --------------------------------------------------------------------------

    def do(self) -> None:
        """Make the step; where something cannot be taken, say so and put the keyboard there."""
        step, plant = self.step, self._document.plant
        self._remember()
        try:
            answers = self._answers()
            changes = make(step, plant, answers)
        except WetsideError as refusal:
            self.told.setText(str(refusal))
            return
        title = f"First plant: {step.title.lower()}"
        if changes and not self._window.commit(title, changes):
            self.told.setText("Not made; the message over the board says why.")
            return
        if changes:
            self._window.fit()
        if step.page:
            self._window.open_page(step.page)
        if step.command:
            self._window.run(step.command)
            return
        made = step.made(self._document.plant)
        self.show_step(self._next())
        self.told.setText(f"{step.title}: {made}. Ctrl+Z takes it back in one step." if made else "")

    def _answers(self) -> Answers:
        texts = {wish.key: self._read(wish, self.editors[wish.key]) for wish in self.step.wishes}
        rows = []
        for editors in self.row_editors:
            first = self.step.row[0].key
            if _said(editors[first]).strip():
                rows.append({wish.key: self._read(wish, editors[wish.key]) for wish in self.step.row})
        return Answers(texts, rows)

    def _read(self, wish: Wish, editor: Editor) -> str:
        """An answer as a file spells it; a refused one keeps its text, marked, with the keyboard in it."""
        try:
            found = answer(wish, _said(editor), self._document.plant)
        except Refusal as refusal:
            _mark(editor, True)
            editor.setFocus(Qt.FocusReason.OtherFocusReason)
            raise Refusal(wish.label, refusal.found, refusal.expected, refusal.hint) from None
        _mark(editor, False)
        return found

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.do()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


def _said(editor: Editor) -> str:
    return str(editor.currentData()) if isinstance(editor, Choice) else editor.text()


def _mark(editor: Editor, wrong: bool) -> None:
    editor.setProperty("wrong", wrong)
    editor.style().unpolish(editor)
    editor.style().polish(editor)


def _soft(words: str, parent: QWidget) -> QLabel:
    label = QLabel(words, parent)
    label.setObjectName("soft")
    return label
