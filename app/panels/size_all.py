"""Size all: sizes drawn against those proposed, in one table, with what taking them does; many at a time.

Solved in the background, row by row, and given up for whatever is wanted sooner.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, cast

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.costs import Costs
from app.panels.port import Pane, PanePort, Sight
from app.widgets.table import Table, TableRow
from core.errors import WetsideError, escaped
from core.solve import Dropped

if TYPE_CHECKING:
    from core.papers.prices import Price
    from core.plant.model import Plant
    from core.questions.size_all import Consequence, Joint, Row, Weighing
    from core.sizing.result import Option
    from core.solve import Solution

LANE, JOINT_LANE = "size all", "size all together"
ROW, OPTION = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1
HEAD = ("At", "Verdict", "Drawn", "Proposed", "Flow", "Heat", "Room", "Circulators", "Cost")
WIDTHS = (122, 138, 138, 138, 96, 124, 120, 96, 80)
FIGURES = 4  # the column of the first figure
COST = 8  # there while there is a price list
TICKED = Qt.CheckState.Checked
NOT_TICKED = Qt.CheckState.Unchecked
SOLVING = "…"
NOTHING = "Tick what you would take: what all of it does together is then told here."
CAUTION = "Draining, soldering, gas, electric, drinking water: local code and licensed trades decide."
Picked = list[tuple["Row", "Option"]]


class Told(NamedTuple):
    """What one job reports: rows at first, then one consequence after the other; `rest` where it gave way."""

    weighing: Weighing
    rows: tuple[Row, ...] | None = None
    key: tuple[tuple[str, str], str] | None = None
    found: Consequence | str = ""
    rest: bool = False


class SizeAllPane(Pane):
    """The table; below it what the ticked rows do together, the reason, and the button that takes them."""

    TITLE = "Size all"
    HIGH = 430

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: tuple[object, ...] = ()
        self._trouble = ""  # with the price list
        self._selected: frozenset[str] = frozenset()
        self._weighing: Weighing | None = None
        self._joint: Joint | None = None
        self._lines: dict[tuple[tuple[str, str], str], QTreeWidgetItem] = {}
        self.only = QCheckBox("Needs change", self)
        self.only.setToolTip("Only what is over a limit, not chosen yet, otherwise than proposed, or lacking")
        self.only.setChecked(True)
        self.only.toggled.connect(lambda _on: self._hide())
        self.all = QPushButton("&Tick all shown", self)
        self.all.setToolTip("Tick what is proposed in every row shown (Ctrl+T)")
        self.all.clicked.connect(self.tick_shown)
        self.costs = Costs(port.settings, port.to_read_table, self)
        self.costs.changed.connect(self._again)
        self.table = Table("Sizes drawn and proposed", HEAD, WIDTHS, self)
        self.table.setRootIsDecorated(True)
        self.table.setUniformRowHeights(True)
        self.table.itemClicked.connect(lambda line, _column: self._frame(line))
        self.table.itemActivated.connect(lambda line, _column: self._frame(line))
        self.table.itemChanged.connect(self._ticked)
        self.together = QLabel(NOTHING, self)
        self.together.setWordWrap(True)
        self.together.setTextFormat(Qt.TextFormat.PlainText)
        self.together.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.reason = QLineEdit(self)
        self.reason.setAccessibleName("Reason for the logbook")
        self.reason.setPlaceholderText("Why, for the logbook; empty: what the ticked rows do together")
        self.take = QPushButton("Ta&ke what is ticked", self)
        self.take.setToolTip("All ticked sizes and one entry in the logbook: one step of undo (Ctrl+Return)")
        self.take.clicked.connect(self.take_ticked)
        self._lay_out()
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)
        self._enable()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.only)
        head.addWidget(self.all)
        head.addWidget(self.costs)
        head.addStretch(1)
        caution = QLabel(CAUTION, self)
        caution.setObjectName("soft")
        caution.setWordWrap(True)
        below = QWidget(self)
        words = QVBoxLayout(below)
        words.setContentsMargins(0, 0, 6, 0)
        words.setSpacing(2)
        words.addWidget(self.together)
        words.addWidget(caution)
        words.addStretch(1)
        foot = QHBoxLayout()
        foot.addWidget(self.reason, 1)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 2, 14, 4)
        column.setSpacing(3)
        column.addLayout(head)
        column.addWidget(self.table, 1)
        told = QScrollArea(self)
        told.setWidgetResizable(True)
        told.setFrameShape(QFrame.Shape.NoFrame)
        told.setAccessibleName("What the ticked rows do together")
        told.setWidget(below)
        self._told = told
        self._leave_room(2)
        column.addWidget(told)
        column.addLayout(foot)

    def _leave_room(self, lines: int) -> None:
        """For what the ticked rows do together; the table has the rest."""
        self._told.setFixedHeight(lines * self.fontMetrics().height() + 4)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if held and event.key() == Qt.Key.Key_T:
            self.tick_shown()
        elif held and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.take_ticked()
        else:
            super().keyPressEvent(event)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        asked = (sight.revision, sight.display, len(sight.solutions), self.costs.file)
        if asked != self._asked and not sight.waiting:
            self._asked = asked
            self._begin(sight)
        if sight.selection != self._selected:
            self._selected = sight.selection
            self._find(sight.selection)

    def focus_first(self) -> None:
        self.table.setFocus(Qt.FocusReason.TabFocusReason)

    def _again(self) -> None:
        if self._sight is not None:
            self.follow(self._sight)

    def _begin(self, sight: Sight) -> None:
        plant, solutions = _shown(sight), dict(sight.solutions)
        self._weighing = None
        prices, self._trouble = self.costs.prices()
        self.table.setColumnHidden(COST, not prices)
        self.remarked.emit("working…")
        self.port.background.ask(LANE, lambda job: _work(job, plant, solutions, prices))

    def _find(self, selection: frozenset[str]) -> None:
        """The row of what was clicked on the board; the keyboard stays where it is."""
        if len(selection) != 1:
            return
        (name,) = selection
        row = next((r for r in self._rows() if name in cast("Row", r.data(0, ROW)).ids), None)
        current = self.table.currentItem()
        if row is not None and (current is None or name not in cast("Row", current.data(0, ROW)).ids):
            row.setHidden(False)
            self.table.setCurrentItem(row)
            self.table.scrollToItem(row)

    def _rows(self) -> Iterator[QTreeWidgetItem]:
        yield from self.table.every()

    # ---- what comes from the background ------------------------------------------------

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == JOINT_LANE:
            self._show_joint(cast("Joint | str", result))
        if lane != LANE:
            return
        told = cast("Told", result)
        self._weighing = told.weighing
        if told.rows is not None:
            self._fill(told.rows)
        if told.key is not None and told.key in self._lines:
            self._show(self._lines[told.key], told.found)
            if all(line.text(FIGURES) != SOLVING for line in self._lines.values()):
                self.table.sort_again()
        if told.rest:
            todo = tuple(
                (cast("Row", line.data(0, ROW)), cast("Option", line.data(0, OPTION)))
                for line in self._lines.values()
                if line.text(FIGURES) == SOLVING
            )
            weighing = told.weighing
            self.port.background.ask(LANE, lambda job: _weigh(job, weighing, todo))

    def _failed(self, lane: str, _ticket: int, error: object) -> None:
        if lane in (LANE, JOINT_LANE) and not isinstance(error, Dropped):
            said = str(error) if isinstance(error, WetsideError) else f"{type(error).__name__}: {error}"
            self.remarked.emit(f"not sized: {escaped(said)}")

    # ---- the table ---------------------------------------------------------------------

    def _fill(self, rows: tuple[Row, ...]) -> None:
        ticked = {key for key, line in self._lines.items() if line.checkState(0) == TICKED}
        current = self.table.currentItem()
        kept = cast("Row", current.data(0, ROW)).key if current is not None else None
        with QSignalBlocker(self.table):
            self.table.clear()
            self._lines = {}
            for row in rows:
                self._add(row, ticked, kept)
            self._hide()
        needing = sum(row.needs_change for row in rows)
        self.titled.emit(f"Size all {needing}" if needing else "Size all")
        over = sum(row.standing == "over" for row in rows)
        told = f"{len(rows)} rows, {needing} need a change, {over} over a limit"
        self.remarked.emit(f"{self._trouble}; {told}" if self._trouble else told)
        self._find(self._selected)
        self._ask_joint()

    def _add(self, row: Row, ticked: set[tuple[tuple[str, str], str]], kept: object) -> None:
        proposed = row.proposed
        name = proposed.name if proposed is not None else ""
        line = TableRow([row.named, row.verdict, row.drawn, name])
        line.setData(0, ROW, row)
        line.setData(0, OPTION, proposed)
        line.setToolTip(0, ", ".join(row.ids))
        line.setToolTip(1, row.sized.words)
        if row.standing == "over":
            font = line.font(1)
            font.setBold(True)
            line.setFont(1, font)
        self.table.addTopLevelItem(line)
        for place, option in enumerate(row.options()):
            into = line
            if place:
                words = "greater" if option is row.greater else "lesser"
                into = TableRow([words, option.verdict, "", option.name])
                into.setData(0, ROW, row)
                into.setData(0, OPTION, option)
                into.setToolTip(1, option.verdict)
                line.addChild(into)
            key = row.key, option.name
            self._lines[key] = into
            into.setCheckState(0, TICKED if key in ticked else NOT_TICKED)
            into.setText(FIGURES, SOLVING)
        line.setExpanded(row.key == kept)
        if row.key == kept:
            self.table.setCurrentItem(line)

    def _hide(self) -> None:
        for line in self._rows():
            line.setHidden(self.only.isChecked() and not cast("Row", line.data(0, ROW)).needs_change)
        self._enable()

    def _show(self, line: QTreeWidgetItem, found: Consequence | str) -> None:
        from core.questions.size_all import figures, money, sentence

        if self._sight is None:
            return
        with QSignalBlocker(self.table):
            if isinstance(found, str):
                line.setText(FIGURES, "not possible")
                line.setToolTip(FIGURES, found)
                line.setCheckState(0, NOT_TICKED)
                line.setFlags(line.flags() & ~Qt.ItemFlag.ItemIsUserCheckable)
                return
            for place, text in enumerate(figures(found, self._sight.display), start=FIGURES):
                line.setText(place, text)
                line.setToolTip(place, sentence(found, self._sight.display))
            line.setText(COST, money(found.cost))
            line.setTextAlignment(COST, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            if found.harmed or not found.solved:
                said = f"less for {', '.join(found.harmed)}" if found.solved else "not solved"
                line.setText(FIGURES, f"{line.text(FIGURES)}; {said}".removeprefix("; "))
        self.table.viewport().update()

    def _frame(self, line: QTreeWidgetItem) -> None:
        row = cast("Row", line.data(0, ROW))
        line.setExpanded(True)
        self._selected = frozenset(row.ids)
        self.port.frame(list(row.ids))

    # ---- ticking -----------------------------------------------------------------------

    def tick_shown(self) -> None:
        """Tick what is proposed in every row in sight, unless another option of it is ticked."""
        with QSignalBlocker(self.table):
            for line in self._rows():
                row = cast("Row", line.data(0, ROW))
                lines = [self._lines[row.key, option.name] for option in row.options()]
                if not line.isHidden() and lines and not any(one.checkState(0) == TICKED for one in lines):
                    line.setCheckState(0, TICKED)
        self.table.viewport().update()
        self._ask_joint()

    def _ticked(self, line: QTreeWidgetItem, column: int) -> None:
        """One option a row: ticking one lets go of the others."""
        if column:
            return
        row = cast("Row", line.data(0, ROW))
        if line.checkState(0) == TICKED:
            with QSignalBlocker(self.table):
                for option in row.options():
                    other = self._lines[row.key, option.name]
                    if other is not line:
                        other.setCheckState(0, NOT_TICKED)
            self.table.viewport().update()
        self._ask_joint()

    def picked(self) -> Picked:
        """Rows and options that are ticked, hidden ones too."""
        return [
            (cast("Row", line.data(0, ROW)), cast("Option", line.data(0, OPTION)))
            for line in self._lines.values()
            if line.checkState(0) == TICKED
        ]

    def _ask_joint(self) -> None:
        self._joint = None
        picked, weighing = self.picked(), self._weighing
        self._enable()
        if not picked or weighing is None:
            self.together.setText(NOTHING)
            self._leave_room(2)
            self.port.background.ask(JOINT_LANE, lambda _job: None)
            return
        self._leave_room(4)
        self.together.setText(f"{len(picked)} ticked; solving every case with all of them…")
        self.port.background.ask(JOINT_LANE, lambda job: _together(job, weighing, picked))

    def _show_joint(self, joint: Joint | str) -> None:
        from core.questions.size_all import money, sentence

        if isinstance(joint, str):
            self.together.setText(f"Not possible together: {joint}")
            return
        self._joint = joint
        display = self._sight.display if self._sight is not None else "us"
        told = "\n".join(sentence(found, display) for found in joint.consequences)
        cost = (
            ""
            if self.table.isColumnHidden(COST)
            else f"Parts more than drawn: {money(joint.cost)}, no labor.\n"
        )
        self.together.setText(f"All {len(self.picked())} ticked together:\n{cost}{told}")
        self._enable()

    def _enable(self) -> None:
        self.take.setEnabled(self._joint is not None and bool(self.picked()))

    def take_ticked(self) -> None:
        """Put all that is ticked into the plant, with one entry in the logbook: one step of undo."""
        if self._joint is None or self._sight is None:
            return
        from core.logbook.write import figures_of_the_day, write_down
        from core.questions.size_all import named, sentence

        joint, picked, display = self._joint, self.picked(), self._sight.display
        at = [name for row, _ in picked for name in row.ids]
        because = self.reason.text().strip() or "; ".join(
            sentence(found, display) for found in joint.consequences
        )
        weighed = [f"{o.name}: {o.verdict}" for row, taken in picked for o in row.options() if o is not taken]
        entry = write_down(
            joint.plant,
            list(dict.fromkeys(at)),
            "; ".join(named(row, option) for row, option in picked),
            because,
            list(dict.fromkeys(weighed))[:6],
            figures_of_the_day(joint.plant, joint.solutions, [row.ids[0] for row, _ in picked]),
        )
        for row, option in picked:
            self._lines[row.key, option.name].setCheckState(0, NOT_TICKED)
        if self.port.commit(f"Size {len(at)} at once", [*joint.changes, entry]):
            self.reason.clear()
            self.port.leave()


def _shown(sight: Sight) -> Plant:
    """The plant in the units in sight, so that words of sizing are in them too."""
    return sight.plant if sight.plant.units == sight.display else replace(sight.plant, units=sight.display)


def _work(job: Job, plant: Plant, solutions: Mapping[str, Solution], prices: list[Price]) -> None:
    from core.papers.change_costs import Costs as ChangeCosts
    from core.questions.size_all import Weighing, table_of
    from core.sizing.everything import size

    rows = tuple(table_of(plant, size(plant, None, solutions, lambda: not job.stale())))
    weighing = Weighing(plant, solutions, ChangeCosts(plant, prices).of if prices else None)
    job.report(Told(weighing, rows))
    first = [(row, row.proposed) for row in rows if row.proposed is not None]
    first.sort(key=lambda one: not one[0].needs_change)
    others = [(row, o) for row in rows for o in row.options() if o is not row.proposed]
    others.sort(key=lambda one: not one[0].needs_change)
    _weigh(job, weighing, (*first, *others))


def _weigh(job: Job, weighing: Weighing, todo: tuple[tuple[Row, Option], ...]) -> None:
    """One consequence after the other; gives way between two of them."""
    for number, (row, option) in enumerate(todo):
        if job.stale():
            return
        if number and job.others_wait():
            job.report(Told(weighing, rest=True))
            return
        try:
            found: Consequence | str = weighing.alone(row, option, lambda: not job.stale())
        except Dropped:
            return
        except WetsideError as refusal:
            found = escaped(str(refusal))
        job.report(Told(weighing, None, (row.key, option.name), found))


def _together(job: Job, weighing: Weighing, picked: Picked) -> None:
    try:
        job.report(weighing.joint(picked, lambda: not job.stale()))
    except Dropped:
        return
    except WetsideError as refusal:
        job.report(escaped(str(refusal)))
