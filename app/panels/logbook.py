"""The logbook: entries with their standing today, and the form in which one is written.

Entries are only ever added; "look again" offers a new one that follows the old.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.drafts import EntryDraft
from app.panels.port import Pane, PanePort, Sight
from app.widgets.halves import Halves
from app.widgets.table import Table, TableRow
from core.derivation.leaves import name_of
from core.logbook import Figure, Standing, figures_of_the_day, standings, write_down
from core.working import show_value

NAME = Qt.ItemDataRole.UserRole
MARKS = {"holds": "✓", "look again": "?", "gone": "?", "not checked": "·", "superseded": "–"}
EMPTY = "Nothing written down yet. Select a pipe or item and write down why it is as it is."


class LogbookPane(Pane):
    """The list at the left; at the right the entry chosen, or the one being written."""

    TITLE = "Logbook"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._standings: tuple[Standing, ...] = ()
        self._draft: EntryDraft | None = None
        self._figures: list[Figure] = []
        heads = ("", "Entry", "At", "Date", "Chosen")
        self.list = Table("Entries of the logbook", heads, (24, 52, 90, 84), self)
        self.list.currentItemChanged.connect(lambda *_: self._show_entry())
        self.list.itemActivated.connect(self._go)
        self._add = QPushButton("Write down why…", self)
        self._add.setToolTip("A new entry about what is selected")
        self._add.clicked.connect(lambda: self.about(EntryDraft(self._chosen())))
        self._words = QLabel(EMPTY, self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._again = QPushButton("Write again…", self)
        self._again.setToolTip("A new entry that follows this one; this one is kept")
        self._again.clicked.connect(self._write_again)
        self._compare = QPushButton("Compare with now", self)
        self._compare.setToolTip("What was changed since, and what that changed")
        self._compare.clicked.connect(self._compare_entry)
        self._reading = QWidget(self)
        reading = QVBoxLayout(self._reading)
        reading.setContentsMargins(8, 0, 0, 0)
        reading.addWidget(self._words, 1)
        asks = QHBoxLayout()
        asks.addWidget(self._again)
        asks.addWidget(self._compare)
        asks.addStretch(1)
        reading.addLayout(asks)
        self._form = self._make_form()
        self._lay_out()
        self._form.hide()

    def _lay_out(self) -> None:
        left = QWidget(self)
        column_ = QVBoxLayout(left)
        column_.setContentsMargins(0, 0, 8, 0)
        column_.addWidget(self.list, 1)
        column_.addWidget(self._add, 0, Qt.AlignmentFlag.AlignLeft)
        right = QWidget(self)
        both = QVBoxLayout(right)
        both.setContentsMargins(0, 0, 0, 0)
        both.addWidget(self._reading, 1)
        both.addWidget(self._form, 1)
        split = Halves(left, right, 0.6, self)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 14, 8)
        whole.addWidget(split)

    def _make_form(self) -> QWidget:
        form = QWidget(self)
        self.at = QLineEdit(form)
        self.choice = QLineEdit(form)
        self.weighed = QLineEdit(form)
        self.because = QPlainTextEdit(form)
        self.because.setTabChangesFocus(True)
        self._recorded = QLabel("", form)
        self._recorded.setObjectName("soft")
        self._recorded.setWordWrap(True)
        self.at.setPlaceholderText("tags, separated by commas")
        self.choice.setPlaceholderText("what was chosen")
        self.weighed.setPlaceholderText("what else was weighed; separated by semicolons")
        self.because.setPlaceholderText("the reason, in your own words")
        rows = QFormLayout()
        rows.setContentsMargins(8, 0, 0, 0)
        for words, field in (
            ("At", self.at),
            ("Chosen", self.choice),
            ("Weighed", self.weighed),
            ("Because", self.because),
        ):
            field.setAccessibleName(words)
            rows.addRow(words, field)
        rows.addRow("Figures", self._recorded)
        self.at.textEdited.connect(lambda _text: self._take_figures())
        save = QPushButton("Write it down", form)
        save.clicked.connect(self.write)
        leave = QPushButton("Leave it", form)
        leave.clicked.connect(self.leave)
        line = QHBoxLayout()
        line.setContentsMargins(8, 0, 0, 0)
        line.addWidget(save)
        line.addWidget(leave)
        line.addStretch(1)
        column = QVBoxLayout(form)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(rows, 1)
        column.addLayout(line)
        return form

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        found = standings(sight.plant, sight.solutions)
        if found != self._standings or not self.list.topLevelItemCount():
            self._standings = found
            self._fill()
        again = sum(each.state in ("look again", "gone") for each in found)
        self.titled.emit(f"Logbook {len(found)}" if found else "Logbook")
        self.remarked.emit(f"{again} to look at again" if again else "")
        if self._draft is not None:
            self._take_figures()
        else:
            self._show_entry()

    def focus_first(self) -> None:
        place: QWidget = self.choice if self._draft is not None else self.list
        place.setFocus(Qt.FocusReason.TabFocusReason)

    def about(self, topic: Any) -> None:
        """A draft to write, or the tag whose entries are wanted."""
        if isinstance(topic, EntryDraft):
            self._draft = topic
            self.at.setText(", ".join(topic.at))
            self.choice.setText(topic.choice)
            self.weighed.setText("; ".join(topic.weighed))
            self.because.clear()
            self._reading.hide()
            self._form.show()
            self._take_figures()
            place: QWidget = self.because if topic.choice else self.choice
            place.setFocus(Qt.FocusReason.OtherFocusReason)
        elif isinstance(topic, str):
            for row in self._rows():
                if topic in self._entry(row).entry.at:
                    self.list.setCurrentItem(row)

    def _chosen(self) -> tuple[str, ...]:
        return tuple(sorted(self._sight.selection)) if self._sight is not None else ()

    def _rows(self) -> list[QTreeWidgetItem]:
        found = self.list.every()
        return [row for row in found if row is not None]

    def _entry(self, row: QTreeWidgetItem) -> Standing:
        return next(each for each in self._standings if each.entry.id == row.data(0, NAME))

    def _fill(self) -> None:
        current = self.list.currentItem()
        kept = current.data(0, NAME) if current is not None else None
        self.list.clear()
        for standing in reversed(self._standings):  # newest on top
            e = standing.entry
            row = TableRow([MARKS[standing.state], e.id, ", ".join(e.at), e.date, e.choice])
            row.setData(0, NAME, e.id)
            row.setToolTip(0, standing.state)
            row.setData(0, Qt.ItemDataRole.AccessibleTextRole, standing.state)
            row.setToolTip(4, standing.words)
            if standing.state in ("look again", "gone"):
                font = row.font(4)
                font.setBold(True)
                for column in range(5):
                    row.setFont(column, font)
            self.list.addTopLevelItem(row)
            if e.id == kept:
                self.list.setCurrentItem(row)
        if kept is None and self._rows():
            self.list.setCurrentItem(self._rows()[0])

    def _show_entry(self) -> None:
        row = self.list.currentItem()
        for button in (self._again, self._compare):
            button.setVisible(row is not None)
        if row is None:
            self._words.setText(EMPTY)
            return
        standing = self._entry(row)
        e = standing.entry
        weighed = f"Weighed: {'; '.join(e.weighed)}\n" if e.weighed else ""
        reason = f"“{e.because}”\n" if e.because else ""
        figures = "\n".join(self._figure_words(f) for f in e.figures)
        self._words.setText(f"{e.choice}\n{reason}{weighed}\n{standing.words}\n\n{figures}".strip())

    def _figure_words(self, figure: Figure) -> str:
        _, name, key = figure.place
        value = figure.si()
        shown = str(figure.value)
        if value is not None and self._sight is not None:
            shown = show_value(value, figure.dimension, self._sight.display)
        where = f", {figure.case}" if figure.case else ""
        return f"{name} {name_of(key).replace('.', ' ')} {shown}{where}"

    # ---- writing --------------------------------------------------------------------

    def _tags(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(tag.strip() for tag in self.at.text().split(",") if tag.strip()))

    def _take_figures(self) -> None:
        if self._sight is None:
            return
        known = [t for t in self._tags() if t in self._sight.plant.items or t in self._sight.plant.pipes]
        self._figures = figures_of_the_day(self._sight.plant, self._sight.solutions, known)
        words = " · ".join(self._figure_words(figure) for figure in self._figures)
        self._recorded.setText(words or "none: nothing solved at these tags yet")

    def write(self) -> None:
        """Add the entry; one step of undo."""
        if self._sight is None or self._draft is None:
            return
        unknown = [t for t in self._tags() if not self.port.document.knows(t)]
        if unknown:
            self.port.warn(f"{', '.join(unknown)}: no such tag on this sheet. Mend it, or leave it away.")
            self.at.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        because = self.because.toPlainText().strip()
        if not because and not self.choice.text().strip():
            self.port.warn("Nothing to write down yet: say what was chosen, or why.")
            return
        weighed = [part.strip() for part in self.weighed.text().split(";") if part.strip()]
        change = write_down(
            self.port.document.plant,
            self._tags(),
            self.choice.text().strip(),
            because,
            weighed,
            self._figures,
            self._draft.follows,
        )
        if self.port.commit("Write in the logbook", [change]):
            self.leave()
            if self._rows():
                self.list.setCurrentItem(self._rows()[0])

    def leave(self) -> None:
        """Give the form up."""
        self._draft = None
        self._form.hide()
        self._reading.show()
        self._show_entry()

    def _write_again(self) -> None:
        row = self.list.currentItem()
        if row is not None:
            e = self._entry(row).entry
            self.about(EntryDraft(e.at, e.choice, e.weighed, e.id))

    def _compare_entry(self) -> None:
        row = self.list.currentItem()
        if row is not None:
            self.port.open_pane("compare", self._entry(row).entry.id).focus_first()

    def _go(self, row: QTreeWidgetItem, _column: int) -> None:
        at = self._entry(row).entry.at
        if at:
            self.port.go_to(at[0])
