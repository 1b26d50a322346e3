"""The punch list: what to stop for, to mend and to consider; why, and what would cure it.

A click frames the place on the board. A finding is accepted with a reason, or cured where that is one part to
insert; either is one step of undo.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING, Any, cast

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QTextBrowser,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.accepting import AcceptForm
from app.panels.port import Pane, PanePort, Reviewed, Sight
from app.panels.severity_icon import SIZE, severity_icon
from app.pens import Palette
from app.widgets.halves import Halves
from core.plant.changes import SetPlant, apply
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.review import Finding
    from core.review.cures import Offer

LANE = "cure"
KEY = Qt.ItemDataRole.UserRole
HEADS = {"stop": "Stop", "mend": "To mend", "consider": "To consider"}
PATIENCE = 400  # [ms] until it is said that the list is being checked: shorter would only flicker


class PunchListPane(Pane):
    """The list at the left; at the right the finding chosen, or the form in which it is accepted."""

    TITLE = "Punch list"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._shown: tuple[object, ...] = ()
        self._offer: tuple[str, int, Offer | str | None] = ("", -1, None)
        self.list = QTreeWidget(self)
        self.list.setAccessibleName("Findings")
        self.list.setHeaderLabels(["", "At", "Finding"])
        self.list.setRootIsDecorated(False)
        self.list.setIndentation(0)
        self.list.setIconSize(QSize(SIZE, SIZE))
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        for column, wide in enumerate((38, 66, 300)):
            self.list.setColumnWidth(column, wide)
        self.list.header().setStretchLastSection(False)
        self.list.header().setSectionResizeMode(2, self.list.header().ResizeMode.Stretch)
        self.list.currentItemChanged.connect(lambda *_: self._turn())
        self.list.itemClicked.connect(lambda row, _c: self._frame(row))
        self.list.itemActivated.connect(lambda row, _c: self._go(row))
        self.text = QTextBrowser(self)
        self.text.setAccessibleName("The finding: reason, source and cure")
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.viewport().setAutoFillBackground(False)
        self.form = AcceptForm(self)
        self.form.written.connect(self._accept)
        self.form.left.connect(self._leave_form)
        self.cure = QPushButton("", self)
        self.cure.clicked.connect(self.insert)
        self.accept = QPushButton("Accept…", self)
        self.accept.setToolTip("Let it be, with a written reason; it opens again if it becomes worse")
        self.accept.clicked.connect(self._ask_reason)
        self.reopen = QPushButton("Open again", self)
        self.reopen.setToolTip("Take the acceptance back")
        self.reopen.clicked.connect(self.open_again)
        self._lay_out()
        self._slow = QTimer(self)
        self._slow.setSingleShot(True)
        self._slow.setInterval(PATIENCE)
        self._slow.timeout.connect(lambda: self.remarked.emit("checking the cases…"))
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for button in (self.cure, self.accept, self.reopen):
            buttons.addWidget(button)
        buttons.addStretch(1)
        right = QWidget(self)
        column = QVBoxLayout(right)
        column.setContentsMargins(8, 0, 0, 0)
        column.addWidget(self.text, 1)
        column.addWidget(self.form, 1)
        column.addLayout(buttons)
        self.form.hide()
        split = Halves(self.list, right, 0.6, self)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 14, 8)
        whole.addWidget(split)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        review = sight.review
        if review.checking and sight.plant.items:
            if not self._slow.isActive():
                self._slow.start()
        else:
            self._slow.stop()
            self.remarked.emit("")
        state = (review.findings, sight.palette, bool(sight.plant.items), review.trouble, review.rules)
        if state != self._shown:
            self._shown = state
            self._fill(review, sight.palette)
        self._turn()

    def focus_first(self) -> None:
        place: QWidget = self.form.because if self.form.isVisible() else self.list
        place.setFocus(Qt.FocusReason.TabFocusReason)

    def about(self, topic: Any) -> None:
        """Turn to the first finding at an item or pipe, or to that of a key."""
        for row in self.rows():
            finding = self.finding(row)
            if finding is not None and topic in (finding.key, *finding.at):
                self.list.setCurrentItem(row)
                return

    def rows(self) -> list[QTreeWidgetItem]:
        """All rows, headings too, in order."""
        found = (self.list.topLevelItem(i) for i in range(self.list.topLevelItemCount()))
        return [row for row in found if row is not None]

    def finding(self, row: QTreeWidgetItem | None) -> Finding | None:
        """The finding of a row; None for a heading."""
        key = row.data(0, KEY) if row is not None else None
        findings = self._sight.review.findings if self._sight is not None else ()
        return next((one for one in findings if one.key == key), None) if key else None

    @property
    def current(self) -> Finding | None:
        """The finding that is read."""
        return self.finding(self.list.currentItem())

    def _fill(self, review: Reviewed, palette: Palette) -> None:
        current = self.list.currentItem()
        kept = current.data(0, KEY) if current is not None else None
        scrolled = self.list.verticalScrollBar().value()
        self.list.setUpdatesEnabled(False)
        self.list.blockSignals(True)
        self.list.clear()
        number = 0
        for severity, head in HEADS.items():
            there = [one for one in review.findings if one.severity.value == severity]
            standing = [one for one in there if one.accepted is None]
            if there:
                self._add_head(head, len(standing), len(there) - len(standing))
            for finding in standing:
                number += 1
                self._add(finding, str(number), palette, kept)
            for finding in there:
                if finding.accepted is not None:
                    self._add(finding, "", palette, kept)
        self.list.verticalScrollBar().setValue(scrolled)
        self.list.blockSignals(False)
        self.list.setUpdatesEnabled(True)
        self.list.setColumnHidden(3, not any(one.found.case for one in review.findings))
        self.list.setVisible(bool(review.findings))

    def _add_head(self, head: str, standing: int, accepted: int) -> None:
        words = f"{head}: {standing}" + (f", {accepted} accepted" if accepted else "")
        row = QTreeWidgetItem([words])
        row.setFlags(Qt.ItemFlag.ItemIsEnabled)
        font = row.font(0)
        font.setBold(True)
        row.setFont(0, font)
        self.list.addTopLevelItem(row)
        row.setFirstColumnSpanned(True)

    def _add(self, finding: Finding, number: str, palette: Palette, kept: object) -> None:
        guess = " ~" if finding.found.guess else ""
        reason = f"  (accepted: {finding.accepted.because})" if finding.accepted is not None else ""
        at = finding.at[0] if finding.at else ""
        case = f"  [{finding.found.case}]" if finding.found.case else ""
        row = QTreeWidgetItem(["", at, f"{finding.text}{case}{guess}{reason}"])
        row.setData(0, KEY, finding.key)
        ratio = self.devicePixelRatioF()
        row.setIcon(0, severity_icon(finding.severity.value, number or "–", palette, ratio))
        said = f"{finding.severity.value} {number}" if number else f"{finding.severity.value}, accepted"
        row.setData(0, Qt.ItemDataRole.AccessibleTextRole, said)
        row.setToolTip(0, said)
        row.setToolTip(2, finding.text)
        if finding.accepted is not None:
            font = QFont(self.list.font())
            font.setStrikeOut(True)
            for column in (1, 2):
                row.setFont(column, font)
                row.setForeground(column, palette.soft)
        self.list.addTopLevelItem(row)
        if finding.key == kept:
            self.list.setCurrentItem(row)

    # ---- the finding that is read -----------------------------------------------------

    def _turn(self) -> None:
        """Show the current finding, and ask whether its cure can be inserted."""
        finding = self.current
        self.accept.setVisible(finding is not None and finding.accepted is None and not self.form.isVisible())
        self.reopen.setVisible(finding is not None and finding.accepted is not None)
        words = self._nothing() if finding is None else _as_html(finding)
        if self.text.property("words") != words:
            self.text.setProperty("words", words)
            self.text.setHtml(words)
        if self.form.isVisible() and (finding is None or finding.key != self.form.key):
            self._leave_form()
        self._ask_cure(finding)

    def _nothing(self) -> str:
        review = self._sight.review if self._sight is not None else Reviewed()
        if review.trouble:
            return escape(review.trouble)
        if review.findings:
            return "Choose a finding to read why it matters and what would cure it."
        if self._sight is None or not self._sight.plant.items:
            return "Nothing is drawn yet."
        if review.checking or not review.rules:
            return "Looking…"
        return f"Nothing found. What was checked: {review.rules} rules in every case."

    def _frame(self, row: QTreeWidgetItem) -> None:
        finding = self.finding(row)
        if finding is not None:
            self.port.frame([one for one in finding.at if one])

    def _go(self, row: QTreeWidgetItem) -> None:
        finding = self.finding(row)
        if finding is not None and finding.at and finding.at[0]:
            self.port.go_to(finding.at[0])

    # ---- accepting --------------------------------------------------------------------

    def _ask_reason(self) -> None:
        finding = self.current
        if finding is not None:
            self.form.ask(finding, datetime.date.today().isoformat())
            self.text.hide()
            self.form.show()
            self._turn()
            self.form.because.setFocus(Qt.FocusReason.OtherFocusReason)

    def _leave_form(self) -> None:
        self.form.hide()
        self.text.show()
        self._turn()

    def _accept(self, because: str, by: str, checked_with: str, date: str) -> None:
        from core.review.punch_list import record

        finding = self.current
        if finding is None or self._sight is None:
            return
        try:
            raw = record(finding, because, by, checked_with, date)
        except ValueError as lacking:
            self.form.refuse(str(lacking))
            return
        others = self._accepted_besides(self._sight.plant, finding)
        words = f"Accept {finding.rule.title.lower()}"
        if self.port.commit(words, [SetPlant({"accepted": (*others, raw)})]):
            self._leave_form()

    def open_again(self) -> None:
        """Take the acceptance of the current finding back; one step of undo."""
        finding = self.current
        if finding is not None and self._sight is not None:
            others = self._accepted_besides(self._sight.plant, finding)
            self.port.commit(f"Open {finding.rule.title.lower()} again", [SetPlant({"accepted": others})])

    @staticmethod
    def _accepted_besides(plant: Plant, finding: Finding) -> tuple[Mapping[str, Any], ...]:
        from core.review.finding import plain_key

        return tuple(one for one in plant.accepted if plain_key(one["key"]) != finding.key)

    # ---- curing -----------------------------------------------------------------------

    def _ask_cure(self, finding: Finding | None) -> None:
        if finding is None or self._sight is None or finding.accepted is not None or not finding.rule.insert:
            self.cure.hide()
            return
        asked = (finding.key, self._sight.revision)
        if self._offer[:2] != asked and not self._sight.review.checking and not self._sight.waiting:
            self._offer = (*asked, None)
            sight = self._sight
            self.port.background.ask(LANE, lambda job: _work_out(job, sight, finding))
        self._show_cure()

    def _show_cure(self) -> None:
        offer = self._offer[2]
        self.cure.setVisible(not self.form.isVisible())
        self.cure.setEnabled(offer is not None and not isinstance(offer, str))
        if offer is None:
            self.cure.setText("Looking for a cure…")
            self.cure.setToolTip("The plant is solved and reviewed with it")
        elif isinstance(offer, str):
            self.cure.setText("No cure by one part")
            self.cure.setToolTip(offer)
        else:
            self.cure.setText(offer.words)
            self.cure.setToolTip("Drawn, its ratings left open, noted in the logbook: one step of undo")

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == LANE:
            key, revision, answer = cast("tuple[str, int, Offer | str]", result)
            if (key, revision) == self._offer[:2]:
                self._offer = (key, revision, answer)
                self._show_cure()

    def _failed(self, lane: str, _ticket: int, error: object) -> None:
        if lane == LANE:
            self._offer = (*self._offer[:2], f"It could not be worked out: {error}")
            self._show_cure()

    def insert(self) -> None:
        """Insert the part that cures the current finding."""
        offer = self._offer[2]
        if offer is None or isinstance(offer, str) or self._sight is None:
            return
        if self._offer[1] == self._sight.revision and self.port.commit(offer.words, offer.changes):
            self.port.frame(offer.parts)


def _work_out(job: Job, sight: Sight, finding: Finding) -> None:
    """The cure of a finding, solved and reviewed: an offer, or why it is none."""
    from core.errors import WetsideError
    from core.review import review
    from core.review.cures import offers, raises
    from core.solve import Dropped, solve_case

    plant: Plant = sight.plant

    def tell(answer: Offer | str) -> None:
        job.report((finding.key, sight.revision, answer))

    reason = ""
    try:
        for found in offers(plant, finding, list(sight.solutions.values())):
            after = apply(plant, found.changes)
            solved = [solve_case(after, case, keep_on=lambda: not job.stale()) for case in after.solve_cases]
            if job.stale():
                return
            findings = review(after, solved)
            if fresh := raises(sight.review.findings, findings):
                reason = f"It would raise a stop: {fresh[0].text}"
            elif any(one.key == finding.key for one in findings):
                reason = reason or "No one part that can be inserted cures it."
            else:
                tell(found)
                return
    except Dropped:
        return
    except WetsideError as refusal:
        reason = reason or str(refusal)
    tell(reason or "No one part that can be inserted cures it.")


def _as_html(finding: Finding) -> str:
    """All that is to be read of a finding."""
    rule = finding.rule
    parts: list[tuple[str, str]] = []
    places: Sequence[str] = [one for one in finding.at if one]
    if len(places) > 1:
        parts.append(("At", ", ".join(places)))
    if finding.found.case:
        parts.append(("Case", finding.found.case))
    parts += [("Why", f"{rule.reason} ({rule.source})"), ("Cure", finding.cure)]
    if rule.ask:
        parts.append(("Ask", rule.ask))
    if finding.found.guess:
        parts.append(("Note", "It rests on a guess: type the length or figure that is marked ~."))
    if finding.accepted is not None:
        given = finding.accepted
        who = "".join(
            f", {word} {name}"
            for word, name in (("by", given.by), ("checked with", given.checked_with))
            if name
        )
        parts.append(("Accepted", f"“{given.because}”{who}{f', {given.date}' if given.date else ''}"))
    if finding.reopened:
        parts.append(("Open again", finding.reopened))
    body = "".join(f"<p style='margin:3px 0'><b>{escape(w)}</b>&nbsp; {escape(t)}</p>" for w, t in parts)
    return f"<p style='margin:0 0 4px 0'><b>{escape(rule.title)}.</b> {escape(finding.text)}</p>{body}"
