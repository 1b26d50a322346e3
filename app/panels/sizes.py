"""What size, and why: the answers of sizing with the options weighed; taking one changes the plant.

Computed off the window's thread, for what is selected or for the whole plant.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.costs import Costs
from app.panels.drafts import EntryDraft
from app.panels.port import Pane, PanePort, Sight
from app.widgets.halves import Halves
from app.widgets.table import Table, TableRow
from core.errors import Refusal, WetsideError
from core.plant import edits
from core.plant.changes import Change
from core.plant.model import Plant
from core.sizing import table
from core.sizing.result import Option, Sized
from core.solve import Dropped, Solution

if TYPE_CHECKING:
    from core.papers.prices import Price

LANE = "sizes"
ANSWER = Qt.ItemDataRole.UserRole


class SizesPane(Pane):
    """Answers at the left, the options of the one chosen at the right."""

    TITLE = "Sizes"
    HIGH = 330

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: tuple[object, ...] = ()
        self._answers: list[Sized] = []
        self._prices: list[Price] = []
        self._taken = ("", "", "")  # where, what of it, and which option
        self.list = Table("Sizes", ("At", "What", "Answer"), (70, 110), self)
        self.options = Table("Options", ("Option", "Verdict"), (), self)
        for tree in (self.list, self.options):
            tree.setRootIsDecorated(False)
            tree.setFrameShape(QFrame.Shape.NoFrame)
            tree.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.currentItemChanged.connect(lambda *_: self._show_answer())
        self.list.itemActivated.connect(lambda row, _c: self.port.go_to(self._answer(row).at))
        self.options.itemActivated.connect(lambda *_: self.take())
        self.options.currentItemChanged.connect(lambda *_: self._show_possible())
        self._words = QLabel("", self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._cautions = QLabel("", self)
        self._cautions.setWordWrap(True)
        self._cautions.setObjectName("soft")
        self._take = QPushButton("Use this size", self)
        self._take.setToolTip("Put the option chosen into the plant: one step of undo")
        self._take.clicked.connect(self.take)
        self._why = QPushButton("Write down why…", self)
        self._why.setToolTip("An entry in the logbook about this size, or the one just used")
        self._why.clicked.connect(self._offer)
        self._working = QPushButton("Working", self)
        self._working.setToolTip("How this number came about")
        self._working.clicked.connect(self._explain)
        self.costs = Costs(port.settings, port.to_read_table, self)
        self.costs.changed.connect(self._again)
        self._trouble = ""  # with the price list
        self._lay_out()
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)

    def _lay_out(self) -> None:
        line = QHBoxLayout()
        for button in (self._take, self._why, self._working):
            line.addWidget(button)
        line.addStretch(1)
        page = QWidget(self)
        reading = QVBoxLayout(page)
        reading.setContentsMargins(0, 0, 6, 0)
        reading.addWidget(self._words)
        reading.addWidget(self.options)
        reading.addWidget(self.costs)
        reading.addWidget(self._cautions)
        reading.addStretch(1)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setAccessibleName("The answer, its options and cautions")
        scroll.setWidget(page)
        right = QWidget(self)
        column = QVBoxLayout(right)
        column.setContentsMargins(8, 0, 0, 0)
        column.addWidget(scroll, 1)
        column.addLayout(line)
        split = Halves(self.list, right, 0.5, self)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 14, 8)
        whole.addWidget(split)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        asked = (sight.revision, sight.selection, len(sight.solutions), self.costs.file)
        if asked == self._asked or not sight.plant.items:
            return
        self._asked = asked
        about = ", ".join(sorted(sight.selection)) if 0 < len(sight.selection) < 4 else ""
        self._prices, self._trouble = self.costs.prices()
        self.remarked.emit(f"{about or 'the whole plant'}, working…")
        plant, ids, solutions = sight.plant, sorted(sight.selection) or None, dict(sight.solutions)
        self.port.background.ask(LANE, lambda job: _size(job, plant, ids, solutions))

    def _again(self) -> None:
        if self._sight is not None:
            self.follow(self._sight)

    def focus_first(self) -> None:
        self.list.setFocus(Qt.FocusReason.TabFocusReason)

    def answers(self) -> list[Sized]:
        return list(self._answers)

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == LANE:
            self._answers = cast("list[Sized]", result)
            self.titled.emit(f"Sizes {len(self._answers)}" if self._answers else "Sizes")
            chosen = self._sight.selection if self._sight is not None else frozenset()
            lacking = sum(bool(each.missing) for each in self._answers)
            words = ", ".join(sorted(chosen)) if 0 < len(chosen) < 4 else "the whole plant"
            told = f"{words}; {lacking} lack something" if lacking else words
            self.remarked.emit(f"{told}; {self._trouble}" if self._trouble else told)
            self._fill()

    def _failed(self, lane: str, _ticket: int, error: object) -> None:
        if lane == LANE and not isinstance(error, Dropped):
            said = str(error) if isinstance(error, WetsideError) else f"{type(error).__name__}: {error}"
            self.remarked.emit(f"not sized: {' '.join(said.split())}")

    # ---- the list -------------------------------------------------------------------

    def _fill(self) -> None:
        current = self.list.currentItem()
        kept = self._key(current.data(0, ANSWER)) if current is not None else None
        self.list.clear()
        for answer in self._answers:
            row = TableRow([answer.at, table.title(answer.what), answer.words])
            row.setData(0, ANSWER, answer)
            row.setToolTip(2, answer.words)
            if answer.missing:
                font = row.font(2)
                font.setItalic(True)
                row.setFont(2, font)
            self.list.addTopLevelItem(row)
            if self._key(answer) == kept:
                self.list.setCurrentItem(row)
        first = self.list.topLevelItem(0)
        if self.list.currentItem() is None and first is not None:
            self.list.setCurrentItem(first)
        self._show_answer()

    @staticmethod
    def _key(answer: Sized) -> tuple[str, str]:
        return answer.at, answer.what

    def _answer(self, row: QTreeWidgetItem) -> Sized:
        return cast("Sized", row.data(0, ANSWER))

    def _show_answer(self) -> None:
        row = self.list.currentItem()
        self.options.clear()
        if row is None or self._sight is None:
            self._words.setText("Nothing to size here." if self._sight is not None else "")
            self._cautions.setText("")
            self._show_possible()
            return
        answer = self._answer(row)
        known = any(case.name == answer.case for case in self._sight.plant.solve_cases)
        case = f" Decided by {answer.case}." if known else ""
        lack = f" {' '.join(answer.missing)}" if answer.missing else ""
        self._words.setText(f"{answer.words}{case}{lack if lack.strip() not in answer.words else ''}")
        self._cautions.setText(" ".join(answer.cautions))
        self._cautions.setVisible(bool(answer.cautions))
        head, *lines = self._rows(answer) or [("", "Option", "Verdict")]
        self.options.setColumnCount(len(head) - 1)
        self.options.setHeaderLabels(
            [words.capitalize() if k == 0 else words for k, words in enumerate(head[1:])]
        )
        figures = len(head) - 3
        for option, texts in zip(answer.options, lines, strict=True):
            line = TableRow(list(texts[1:]))
            line.setData(0, ANSWER, option)
            line.setToolTip(figures + 1, option.verdict)
            for column in range(1, figures + 1):
                line.setTextAlignment(column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            if option.name == answer.chosen:
                font = line.font(0)
                font.setBold(True)
                for column in range(figures + 2):
                    line.setFont(column, font)
            self.options.addTopLevelItem(line)
            if option.name == answer.chosen:
                self.options.setCurrentItem(line)
        for column in range(figures + 1):
            self.options.resizeColumnToContents(column)
        self._fit_options(len(answer.options))
        self._show_possible()

    def _rows(self, answer: Sized) -> list[tuple[str, ...]]:
        """The options in words, with what each costs where there is a price list."""
        sight = self._sight
        found = table.rows(answer, sight.display) if sight is not None else []
        if not self._prices or sight is None:
            return found
        from core.papers.change_costs import Costs as ChangeCosts
        from core.papers.change_costs import with_costs

        return with_costs(found, table.Group((answer.at,), answer), ChangeCosts(sight.plant, self._prices))

    def _fit_options(self, count: int) -> None:
        """As high as its rows: the page scrolls, not the table in it."""
        self.options.setVisible(bool(count))
        self.costs.setVisible(bool(count))
        first = self.options.topLevelItem(0)
        row = self.options.visualItemRect(first).height() if first is not None else 0
        head = self.options.header().sizeHint().height()
        bar = self.options.horizontalScrollBar().sizeHint().height()
        self.options.setFixedHeight(head + count * max(row, 20) + bar + 6)

    def _show_possible(self) -> None:
        answer = self._answer(row) if (row := self.list.currentItem()) is not None else None
        option = self._option()
        self._take.setEnabled(option is not None and option.props is not None)
        self._take.setVisible(answer is not None and bool(answer.options))
        self._why.setEnabled(answer is not None)
        working = option.working if option is not None and option.working is not None else None
        self._working.setEnabled(working is not None or (answer is not None and answer.working is not None))

    def _option(self) -> Option | None:
        line = self.options.currentItem()
        return cast("Option", line.data(0, ANSWER)) if line is not None else None

    # ---- acting ---------------------------------------------------------------------

    def take(self) -> None:
        """Put the option chosen into the plant; the reason may be written down afterwards."""
        row, option = self.list.currentItem(), self._option()
        if row is None or option is None or option.props is None:
            return
        answer = self._answer(row)
        try:
            changes = changes_of(self.port.document.plant, answer.at, option.props)
        except Refusal as refusal:
            self.port.warn(str(refusal))
            return
        if self.port.commit(f"Use {option.name} for {answer.at}", changes):
            self._taken = *self._key(answer), option.name
            self.port.say(f"{answer.at} has {option.name} now; Write down why… keeps the reason")
            self.port.leave()

    def _offer(self) -> None:
        row = self.list.currentItem()
        if row is None:
            return
        answer = self._answer(row)
        taken = self._taken[2] if self._taken[:2] == self._key(answer) else ""
        choice = taken or answer.chosen or answer.words
        weighed = tuple(
            f"{o.name}: {o.verdict}" if o.verdict else o.name for o in answer.options if o.name != choice
        )[:6]
        self.port.open_pane("logbook", EntryDraft((answer.at,), choice, weighed))

    def _explain(self) -> None:
        row, option = self.list.currentItem(), self._option()
        if row is None:
            return
        working = (option.working if option is not None else None) or self._answer(row).working
        if working is not None:
            self.port.open_pane("working", working)


def changes_of(plant: Plant, name: str, props: Mapping[str, Any]) -> Sequence[Change]:
    """Changes that set properties of an item, or fields of a pipe."""
    if name in plant.pipes:
        return edits.set_pipe(plant, name, **props)
    return edits.set_props(plant, name, props)


def _size(job: Job, plant: Plant, ids: list[str] | None, solutions: dict[str, Solution]) -> None:
    from core.sizing.everything import size

    job.report(size(plant, ids, solutions, lambda: not job.stale()))
