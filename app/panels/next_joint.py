"""Before the next joint is made: what must be settled, by stage of the work, and what can wait."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from app.panels.severity_icon import severity_icon
from app.pens import Palette
from app.widgets.measure import scaled

if TYPE_CHECKING:
    from core.review import Finding
    from core.review.before_joint import BeforeJoint

KEY = Qt.ItemDataRole.UserRole
NOTHING = "Nothing is drawn yet."
ALL_WELL = "Nothing is left to settle before the next joint."


class NextJointPane(Pane):
    """A tree: stages, below each what to settle first and what can wait. A click frames the place."""

    TITLE = "Next joint"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._shown: tuple[object, ...] = ()
        self._findings: dict[str, Finding] = {}
        self.words = QLabel(NOTHING, self)
        self.words.setObjectName("soft")
        self.words.setWordWrap(True)
        self.list = QTreeWidget(self)
        self.list.setAccessibleName("What to settle before the next joint, by stage")
        self.list.setHeaderLabels(["", "At", "What", "Cure"])
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setIndentation(12)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.header().setStretchLastSection(False)
        self.list.header().setSectionResizeMode(2, self.list.header().ResizeMode.Stretch)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for number, wide in enumerate((64, 70, 300, 300)):
            self.list.setColumnWidth(number, wide)
        self.list.itemClicked.connect(lambda row, _c: self._frame(row))
        self.list.itemActivated.connect(lambda row, _c: self._open(row))
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addWidget(self.words)
        column.addWidget(self.list, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.list.setColumnHidden(3, self.width() < scaled(self, 760))  # else the tip of a row says it

    def follow(self, sight: Sight) -> None:
        from core.review.before_joint import before_joint

        state = (sight.plant, sight.review.findings, sight.palette)
        if all(one is other for one, other in zip(state, self._shown, strict=False)) and self._shown:
            return
        self._shown = state
        self._findings = {one.key: one for one in sight.review.findings}
        stages = before_joint(sight.plant, sight.review.findings)
        settle = sum(len(one.settle) for one in stages)
        words = f"{settle} to settle before it is joined" if settle else ALL_WELL
        self.words.setText(f"{words}." if settle else words if sight.plant.items else NOTHING)
        self._fill(stages, sight.palette)

    def focus_first(self) -> None:
        self.list.setFocus(Qt.FocusReason.TabFocusReason)

    def rows(self) -> list[tuple[str, str, str]]:
        """Stage heading, group and id of each finding, in order."""
        heads = _below(self.list.invisibleRootItem())
        return [
            (head.text(0), group.text(0), row.text(1))
            for head in heads
            for group in _below(head)
            for row in _below(group)
        ]

    def _fill(self, stages: list[BeforeJoint], palette: Palette) -> None:
        from core.review.before_joint import HEADS

        self.list.setUpdatesEnabled(False)
        scrolled = self.list.verticalScrollBar().value()
        self.list.clear()
        for one in stages:
            many = len(one.parts)
            head = _head(self.list, f"{HEADS[one.stage]}: {many} part{'s' * (many != 1)}", bold=True)
            for words, findings in (("Settle first", one.settle), ("Can wait", one.can_wait)):
                if findings:
                    group = _head(head, f"{words}: {len(findings)}", bold=words == "Settle first")
                    for finding in findings:
                        self._add(group, finding, palette)
                    group.setExpanded(words == "Settle first")
            if not one.settle and not one.can_wait:
                _head(head, "Nothing found", bold=False)
            head.setExpanded(True)
        self.list.verticalScrollBar().setValue(scrolled)
        self.list.setUpdatesEnabled(True)

    def _add(self, group: QTreeWidgetItem, finding: Finding, palette: Palette) -> None:
        at = finding.at[0] if finding.at else ""
        row = QTreeWidgetItem(group, ["", at, finding.text, finding.cure])
        row.setData(0, KEY, finding.key)
        row.setIcon(0, severity_icon(finding.severity.value, "", palette, self.devicePixelRatioF()))
        row.setData(0, Qt.ItemDataRole.AccessibleTextRole, finding.severity.value)
        row.setToolTip(2, f"{finding.text} {finding.cure}")
        row.setToolTip(3, finding.cure)

    def _frame(self, row: QTreeWidgetItem) -> None:
        finding = self._findings.get(row.data(0, KEY) or "")
        if finding is not None:
            self.port.frame([one for one in finding.at if one])

    def _open(self, row: QTreeWidgetItem) -> None:
        """The finding in the punch list, where it can be cured or accepted."""
        if key := row.data(0, KEY):
            self.port.open_pane("punch", key)


def _below(row: QTreeWidgetItem) -> list[QTreeWidgetItem]:
    return [one for k in range(row.childCount()) if (one := row.child(k)) is not None]


def _head(parent: QTreeWidget | QTreeWidgetItem, words: str, bold: bool) -> QTreeWidgetItem:
    row = QTreeWidgetItem(parent, [words])
    row.setFirstColumnSpanned(True)
    row.setFlags(Qt.ItemFlag.ItemIsEnabled)
    font = row.font(0)
    font.setBold(bold)
    row.setFont(0, font)
    return row
