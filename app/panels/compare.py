"""Compare: the plant as it is now beside another moment of it, or beside another file.

What was changed and what that changed in behavior stand in a table; on the board what is otherwise is marked,
with figures before and after beside it. A moment is a step of this session's history; an entry of the logbook
that an earlier session wrote is compared by the figures it recorded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.board.beside import NOTHING, Beside
from app.panels.port import Pane, PanePort, Sight
from app.widgets.picks import Arrowed
from app.widgets.table import Table, TableRow
from core.errors import WetsideError, escaped
from core.logbook.entries import Entry, entries

if TYPE_CHECKING:
    from app.document import Document
    from core.plant.model import Plant
    from core.questions.compare import Comparison

LANE = "compare"
AT = Qt.ItemDataRole.UserRole
HEAD = ("At", "What", "Before", "Now", "In case")
WIDTHS = (110, 170, 190, 190, 170)
MOST_STEPS = 200  # of the history, offered
CHANGED = "changed"  # stands where an effect has its case
NONE_YET = "Nothing was changed since the plant was opened. Choose another file to compare with it."


class Moment(NamedTuple):
    """Something to compare with: after how many steps of the history, else a plant, or an entry's figures."""

    words: str
    step: int = -1
    plant: Plant | None = None
    entry: Entry | None = None


class Told(NamedTuple):
    """A comparison and the case whose figures stand on the board; or how far it is."""

    found: Comparison | None
    beside: Beside = NOTHING
    number: int = 0
    of: int = 0


def moments(document: Document) -> list[Moment]:
    """Steps of the history, the newest first, then entries of the logbook from before it."""
    steps = document.steps
    now = document.stack.index()
    clean = document.stack.cleanIndex()
    first = max(0, len(steps) - MOST_STEPS)
    found: list[Moment] = []
    written: set[str] = set()
    for step in range(len(steps), first - 1, -1):
        if step == now:
            continue
        name = f"after “{steps[step - 1]}” (undone)" if step > now else f"before “{steps[step]}”"
        if step == 0:
            name = f"as opened, {name}"
        saved = ", as saved" if step == clean else ""
        new = _written(document, step) if step < now else []
        written.update(new)
        entry = f", entry {', '.join(new)}" if new else ""
        found.append(Moment(f"{name}{entry}{saved}", step))
    earlier = [one for one in reversed(entries(document.plant)) if one.id not in written and one.figures]
    return [*found, *(Moment(f"entry {one.id}, {one.date}: {one.choice}", entry=one) for one in earlier)]


def _written(document: Document, step: int) -> list[str]:
    """Entries of the logbook that a step wrote."""
    before, after = (document.plant_after(one).logbook for one in (step, step + 1))
    return [str(raw["id"]) for raw in after[len(before) :]] if len(after) > len(before) else []


class ComparePane(Pane):
    """What to compare with, and the table."""

    TITLE = "Compare"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._revision = -1
        self._ticket = 0
        self._entry = ""
        self._others: list[Moment] = []
        self._moments: list[Moment] = []
        self._beside = NOTHING
        self.moment = Arrowed(self)
        self.moment.setAccessibleName("What to compare with")
        self.moment.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.moment.setMinimumContentsLength(36)
        self.other = QPushButton("Another file…", self)
        self.other.setToolTip("Compare this plant with a file, which is only read")
        self.progress = QProgressBar(self)
        self.progress.setAccessibleName("How far the comparison is")
        self.progress.setMaximumWidth(140)
        self.progress.setTextVisible(False)
        self.progress.hide()
        self.table = Table("What was changed, and what that changed", HEAD, WIDTHS, self)
        self.words = QLabel("", self)
        self.words.setObjectName("soft")
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self._lay_out()
        self.moment.activated.connect(lambda _row: self.compare_now())
        self.other.clicked.connect(lambda: self.port.to_read(self.read))
        self.table.itemClicked.connect(lambda line, _column: self._frame(line))
        self.table.itemActivated.connect(lambda line, _column: self._frame(line))
        port.document.stack.indexChanged.connect(lambda _step: self._history_moved())
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(QLabel("Now, beside", self))
        head.addWidget(self.moment, 1)
        head.addWidget(self.other)
        head.addWidget(self.progress)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addLayout(head)
        column.addWidget(self.words)
        column.addWidget(self.table, 1)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        case = self._sight.case if self._sight is not None else sight.case
        self._sight = sight
        if sight.revision != self._revision or sight.case != case:
            self._revision = sight.revision
            self._offer()
            self.compare_now()

    def _history_moved(self) -> None:
        """The plant was followed already, while its step was not yet in the history."""
        if self.isVisible() and self._sight is not None:
            self._offer()
            self.compare_now()

    def about(self, topic: Any) -> None:
        """Turn to an entry of the logbook, by its id."""
        self._entry = str(topic)
        self._revision = -1

    def focus_first(self) -> None:
        self.moment.setFocus(Qt.FocusReason.TabFocusReason)

    def hideEvent(self, event: QHideEvent) -> None:
        self.port.show_beside(NOTHING)
        super().hideEvent(event)

    def _offer(self) -> None:
        """Moments of the history as it is now; what was chosen stays so where it is still there."""
        chosen = self._chosen
        self._moments = [*moments(self.port.document), *self._others]
        with QSignalBlocker(self.moment):
            self.moment.clear()
            self.moment.addItems([escaped(one.words) for one in self._moments])
        at = next((k for k, one in enumerate(self._moments) if chosen is not None and _same(one, chosen)), 0)
        if self._entry:
            wanted = (f"entry {self._entry},", f", entry {self._entry}")
            at = next((k for k, one in enumerate(self._moments) if any(w in one.words for w in wanted)), at)
            self._entry = ""
        self.moment.setCurrentIndex(at if self._moments else -1)

    @property
    def _chosen(self) -> Moment | None:
        row = self.moment.currentIndex()
        return self._moments[row] if 0 <= row < len(self._moments) else None

    def read(self, file: Path) -> None:
        """Compare with a file."""
        from core.files.read import load

        try:
            plant = load(str(file))
        except (WetsideError, OSError) as trouble:
            self.port.warn(f"Not read. {trouble}")
            return
        self._others = [*self._others, Moment(f"the file {file.name}", plant=plant)]
        self._offer()
        self.moment.setCurrentIndex(len(self._moments) - 1)
        self.compare_now()

    # ---- comparing ------------------------------------------------------------------

    def compare_now(self) -> None:
        """Ask for the comparison with what is chosen."""
        moment, sight = self._chosen, self._sight
        self.table.clear()
        self._show(NOTHING)
        self.words.setText("" if moment is not None else NONE_YET)
        if moment is None or sight is None:
            self.progress.hide()
            return
        if moment.entry is not None:
            self._show_entry(moment.entry, sight)
            return
        before = moment.plant if moment.plant is not None else self.port.document.plant_after(moment.step)
        plants = [replace(plant, units=sight.display) for plant in (before, sight.plant)]
        case = sight.case
        self.progress.setRange(0, 0)
        self.progress.show()
        self._ticket = self.port.background.ask(LANE, lambda job: _compare(job, plants[0], plants[1], case))

    def _came(self, lane: str, ticket: int, result: object) -> None:
        if lane != LANE or ticket != self._ticket or not isinstance(result, Told):
            return
        if result.found is None:
            self.progress.setRange(0, result.of)
            self.progress.setValue(result.number)
            return
        self.progress.hide()
        self._fill(result.found)
        self._show(result.beside)

    def _failed(self, lane: str, ticket: int, error: Exception) -> None:
        if lane == LANE and ticket == self._ticket:
            self.progress.hide()
            said = escaped(str(error)) if isinstance(error, WetsideError) else "This failed."
            self.words.setText(said)

    def _show(self, beside: Beside) -> None:
        self._beside = beside
        if self.isVisible() or beside == NOTHING:
            self.port.show_beside(beside)

    def _fill(self, found: Comparison) -> None:
        from core.commands.compare import changed_row, effect_row, first_told, told

        assert self._sight is not None
        plant = replace(self._sight.plant, units=self._sight.display)
        changed = [(*changed_row(one), CHANGED) for one in found.changed]
        case = self._sight.case
        said = [one for one in found.effects if told(plant, one)]
        said.sort(key=lambda one: (one.case != case, first_told(plant, one)))
        effects = [(*row[1:], row[0]) for row in (effect_row(plant, one) for one in said)]
        self._rows([*changed, *effects])
        words = [f"{name} is only in one of them" for name in found.unmatched]
        words += [f"{name} is not solved in one of them" for name in found.unsolved]
        if not changed:
            words.insert(0, "Nothing was changed")
        rest = len(found.effects) - len(effects)
        if rest:
            words.append(f"{rest} more figures of pipes and parts differ")
        self.words.setText(f"{'. '.join(words)}." if words else "")

    def _show_entry(self, entry: Entry, sight: Sight) -> None:
        """The figures that an entry recorded, beside today's."""
        from core.logbook.standing import standings

        self.progress.hide()
        plant = replace(sight.plant, units=sight.display)
        standing = next(one for one in standings(plant, sight.solutions) if one.entry.id == entry.id)
        rows: list[tuple[str, ...]] = []
        for one in standing.compared:
            then, now = one.shown(sight.display)
            rows.append((one.figure.place[1], one.named, then, now, one.figure.case))
        self._rows(rows)
        self.words.setText(
            "It was written in an earlier session: only the figures it recorded are known. " + standing.words
        )
        self._show(Beside(frozenset(), frozenset(entry.at)))

    def _rows(self, rows: Sequence[tuple[str, ...]]) -> None:
        for row in rows:
            line = TableRow([escaped(text) for text in row])
            line.setData(0, AT, row[0])
            for column, text in enumerate(row):
                line.setToolTip(column, escaped(text))
            self.table.addTopLevelItem(line)

    def _frame(self, line: QTreeWidgetItem) -> None:
        name = line.data(0, AT)
        if self._sight is None or not name:
            return
        if name in self._sight.plant.items or name in self._sight.plant.pipes:
            self.port.frame([name])


def _same(one: Moment, other: Moment) -> bool:
    return (one.step, one.plant is other.plant, one.entry) == (other.step, True, other.entry)


def _compare(job: Job, before: Plant, after: Plant, case: str) -> None:
    from core.questions.compare import compare
    from core.questions.headlines import headlines
    from core.solve import Dropped

    def on_progress(number: int, of: int) -> None:
        job.report(Told(None, NOTHING, number, of))

    try:
        found = compare(before, after, lambda: not job.stale(), on_progress)
    except Dropped:
        return
    changed = frozenset(one.at for one in found.changed)
    words = headlines(after, (one for one in found.effects if one.case == case))
    job.report(Told(found, Beside(frozenset(), changed, words)))
