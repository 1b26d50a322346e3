"""Remarks of reviewers, numbered as their pins on the drawing; an answer goes into the logbook too."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from app.widgets.halves import Halves
from app.widgets.table import Table, TableRow
from core.errors import WetsideError, escaped
from core.logbook.remarks import Remark, answered, from_csv, remarks, taken

NAME = Qt.ItemDataRole.UserRole
EMPTY = (
    "No remarks. `wetside handbook FILE --for-review -o OUT.html` writes one page to send round; the text "
    "that a reviewer writes there is taken here."
)


class RemarksPane(Pane):
    """The list at the left; at the right the remark chosen and the field for its answer."""

    TITLE = "Remarks"

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._remarks: tuple[Remark, ...] = ()
        self.list = Table("Remarks", ("No.", "At", "Remark", "By"), (44, 66, 340), self)
        self.list.currentItemChanged.connect(lambda *_: self._turn())
        self.list.itemClicked.connect(lambda *_: self._frame())
        self.words = QLabel(EMPTY, self)
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.reply = QPlainTextEdit(self)
        self.reply.setAccessibleName("Answer")
        self.reply.setPlaceholderText("what was changed, or why it stays as it is")
        self.reply.setTabChangesFocus(True)
        self.take = QPushButton("Take from text…", self)
        self.take.setToolTip("Remarks as the page for review wrote them")
        self.take.clicked.connect(self._choose)
        self.answer = QPushButton("Answer", self)
        self.answer.setToolTip("Stands beside the remark and in the logbook")
        self.answer.clicked.connect(self.write)
        self._lay_out()

    def _lay_out(self) -> None:
        left, right = QWidget(self), QWidget(self)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 8, 0)
        column.addWidget(self.list, 1)
        column.addWidget(self.take, 0, Qt.AlignmentFlag.AlignLeft)
        beside = QVBoxLayout(right)
        beside.setContentsMargins(8, 0, 0, 0)
        beside.addWidget(self.words, 1)
        beside.addWidget(self.reply, 1)
        line = QHBoxLayout()
        line.addWidget(self.answer)
        line.addStretch(1)
        beside.addLayout(line)
        split = Halves(left, right, 0.6, self)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 14, 8)
        whole.addWidget(split)

    def follow(self, sight: Sight) -> None:
        found = remarks(sight.plant)
        if found != self._remarks or not self.list.topLevelItemCount():
            self._remarks = found
            self._fill()
        waiting = sum(one.is_open for one in found)
        self.titled.emit(f"Remarks {waiting}" if waiting else "Remarks")
        self._turn()

    def focus_first(self) -> None:
        place: QWidget = self.reply if self.chosen() is not None else self.list
        place.setFocus(Qt.FocusReason.TabFocusReason)

    def about(self, topic: Any) -> None:
        """Turn to the first remark at an item or pipe."""
        names = {one.id for one in self._remarks if topic in (one.id, one.at)}
        row = next((row for row in self.list.every() if row.data(0, NAME) in names), None)
        if row is not None:
            self.list.setCurrentItem(row)

    def chosen(self) -> Remark | None:
        """The remark that is read."""
        row = self.list.currentItem()
        name = row.data(0, NAME) if row is not None else None
        return next((one for one in self._remarks if one.id == name), None)

    def _fill(self) -> None:
        before = self.chosen()
        self.list.clear()
        for one in self._remarks:
            mark = str(one.number) if one.is_open else f"{one.number} ✓"
            row = TableRow([mark, one.at, escaped(one.text), escaped(one.by)])
            row.setData(0, NAME, one.id)
            row.setData(0, Qt.ItemDataRole.AccessibleTextRole, "open" if one.is_open else "answered")
            row.setToolTip(2, escaped(one.text))
            self.list.addTopLevelItem(row)
            if before is not None and one.id == before.id:
                self.list.setCurrentItem(row)

    def _turn(self) -> None:
        one = self.chosen()
        for widget in (self.reply, self.answer):
            widget.setVisible(one is not None and one.is_open)
        if one is None:
            self.words.setText(EMPTY if not self._remarks else "Choose a remark.")
            return
        by = ", ".join(part for part in (one.by, one.date) if part)
        reply = f"\n\nAnswered {one.answered}: {one.answer}" if one.answer else ""
        self.words.setText(escaped(f"{one.id} {one.at}{' · ' + by if by else ''}") + f"\n{one.text}{reply}")

    def _frame(self) -> None:
        one = self.chosen()
        if one is not None and one.at:
            self.port.frame([one.at])

    def write(self) -> None:
        """Answer the remark; one step of undo."""
        one = self.chosen()
        words = self.reply.toPlainText().strip()
        if one is None:
            return
        if not words:
            self.port.warn("Nothing is answered yet: write what was changed, or why it stays.")
            return
        if self.port.commit(f"Answer {one.id}", answered(self.port.document.plant, one.id, words)):
            self.reply.clear()

    def _choose(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Remarks as text", "", "Text (*.csv *.txt)")
        if name:
            self.take_text(Path(name))

    def take_text(self, path: Path) -> None:
        """Remarks from a file; one step of undo."""
        plant = self.port.document.plant
        try:
            change = taken(plant, from_csv(path.read_text(encoding="utf-8", errors="replace")))
        except (OSError, WetsideError) as error:
            self.port.warn(f"{escaped(path.name)}: {error}")
            return
        count = len(change.values["remarks"]) - len(plant.remarks)
        if count and self.port.commit("Take remarks", [change]):
            self.port.say(f"{count} remarks taken from {escaped(path.name)}.")
        elif not count:
            self.port.say("All of these remarks are there already.")
