"""The live review: after every edit what an expert would say, off the window's thread.

Rules that only read the drawing are asked at once, before the solver; those that read solved cases once
every case is solved, and until then their findings are those of before, marked as being checked. An edit that
touches nothing the review reads asks no rule at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject, Signal

from app.background import Background, Job
from app.board.overlay import Mark
from app.document import Document
from app.panels.port import Reviewed
from core.plant.model import Plant

if TYPE_CHECKING:
    from app.window.live import LiveSolve
    from core.review import Finding, Study
    from core.review.punch_list import Gathered
    from core.solve import Solution

LANE = "review"


class LiveReview(QObject):
    """Holds the punch list of the plant as it is now; made before the live solve, to be asked first."""

    changed = Signal()

    def __init__(self, document: Document, background: Background) -> None:
        super().__init__(document)
        self._document, self._background = document, background
        self._live: LiveSolve | None = None
        self._plant: Plant | None = None
        """That of which the drawing was read last."""
        self._study: Study | None = None
        self._drawn: Gathered = {}
        self._solved: Gathered = {}
        self._of: object = None
        self._left: tuple[Solution | None, Solution | None] = (None, None)  # a case, and it without findings
        """The plant whose solved cases were read last."""
        self._waits = True
        self.now = Reviewed()
        document.changed.connect(self._follow)
        background.done.connect(self._take)
        background.failed.connect(self._fail)

    def begin(self, live: LiveSolve) -> None:
        """Read the answers of a solver from now on."""
        self._live = live
        live.changed.connect(self._follow_cases)

    # ---- asking -----------------------------------------------------------------------

    def _follow(self, changes: object) -> None:
        plant = self._document.plant
        if changes is None:  # another plant: first of all it is drawn and solved
            self._drawn, self._solved, self._study = {}, {}, None
            self._plant = self._of = None
            self._show(checking=bool(plant.items))
            return
        if self._plant is not None and self._reads_alike(plant):
            self._show(checking=self.now.checking)
            return
        self._of = None
        self._ask(drawing=True)

    def _reads_alike(self, plant: Plant) -> bool:
        from core.review.reading import reads_alike

        assert self._plant is not None
        return reads_alike(self._plant, plant)

    def _follow_cases(self) -> None:
        if self._live is None or not self._live.all_answered or not self._document.plant.items:
            return
        plant = self._document.plant
        if self._of is plant:
            return
        if self._of is not None and self._plant is not None and self._reads_alike(plant):
            self._of = plant
            return
        self._of = plant
        self._ask(drawing=False)

    def _ask(self, drawing: bool) -> None:
        """Ask the rules: those of the drawing, or, with every case solved, those of the cases too."""
        plant = self._document.plant
        study = self._study if self._plant is plant else None
        cases = [] if drawing or self._live is None else list(self._live.solutions().values())
        names = {case.name for case in plant.solve_cases}
        cases = [one for one in cases if one.case in names]
        self._background.ask(LANE, lambda job: _review(job, plant, study, cases, drawing))

    # ---- taking -----------------------------------------------------------------------

    def _take(self, lane: str, _ticket: int, result: object) -> None:
        if lane != LANE:
            return
        plant, study, drawn, solved, rules = cast(
            "tuple[Plant, Study, Gathered | None, Gathered | None, int]", result
        )
        from core.review.reading import reads_alike

        if plant is not self._document.plant and not reads_alike(plant, self._document.plant):
            return
        self._plant, self._study = plant, study
        self._drawn = self._drawn if drawn is None else drawn
        self._solved = self._solved if solved is None else solved
        self._show(checking=solved is None, rules=rules)

    def _show(self, checking: bool, rules: int | None = None) -> None:
        findings: tuple[Finding, ...] = ()
        if self._drawn or self._solved:
            from core.review.punch_list import judged

            plant = self._document.plant
            there = plant.items.keys() | plant.pipes.keys() | {""}
            found = {**self._drawn, **self._solved}
            kept = {key: one for key, one in found.items() if there.issuperset(one[1].at[:1])}
            findings = tuple(judged(plant, kept))
        fresh = Reviewed(findings, checking, self.now.rules if rules is None else rules)
        if fresh != self.now:
            self.now = fresh
            self.changed.emit()

    def _fail(self, lane: str, _ticket: int, error: object) -> None:
        if lane == LANE:
            said = " ".join(f"{type(error).__name__}: {error}".split())
            self.now = Reviewed(self.now.findings, False, self.now.rules, f"The review failed ({said}).")
            self.changed.emit()

    # ---- what board and status line show ----------------------------------------------

    def without_findings(self, solution: Solution | None) -> Solution | None:
        """A solved case with the notes that no finding says; the same object as long as they are the same."""
        if solution is None or not self.now.findings:
            return solution
        from core.review.said_once import without_findings

        fresh = without_findings(solution, self.now.findings)
        whole, left = self._left
        if whole is not solution or left is None or fresh.notes != left.notes:
            self._left = solution, fresh
        return self._left[1]

    def open_findings(self) -> list[Finding]:
        """Those that nobody accepted, in the order of the list."""
        return [one for one in self.now.findings if one.accepted is None]

    def marks(self) -> list[Mark]:
        """One mark a place, that of the gravest finding there."""
        found: dict[str, Mark] = {}
        for number, one in enumerate(self.open_findings(), 1):
            if one.at and one.at[0]:
                found.setdefault(one.at[0], Mark(one.at[0], one.severity.value, str(number)))
        return [*found.values(), *self._pins()]

    def _pins(self) -> list[Mark]:
        """Marks of the remarks that nobody answered."""
        plant = self._document.plant
        if not plant.remarks:
            return []
        from core.logbook.remarks import remarks  # slow to import, and few plants have any

        return [Mark(one.at, "remark", str(one.number)) for one in remarks(plant) if one.is_open and one.at]

    def said(self, name: str) -> list[tuple[str, str]]:
        """Rows of the hover card: number and severity, and title, of the findings at an item or pipe."""
        there = [(k, one) for k, one in enumerate(self.open_findings(), 1) if name in one.at]
        return [(f"{k} {one.severity.value}", one.rule.title) for k, one in there[:4]]

    def words(self) -> str:
        """What stands in the status line: stops and what is to be mended."""
        severities = [one.severity.value for one in self.open_findings()]
        stops, mends = severities.count("stop"), severities.count("mend")
        parts = [f"{stops} stop{'s' * (stops != 1)}"] if stops else []
        parts += [f"{mends} to mend"] if mends else []
        return ", ".join(parts)

    def tab(self) -> str:
        """What stands on the page's tab."""
        many = len(self.open_findings())
        return f"Punch list {many}" if many else "Punch list"


def _review(job: Job, plant: Plant, study: Study | None, cases: list[Solution], drawing: bool) -> None:
    from core.review import Study
    from core.review.punch_list import gathered
    from core.review.rules import RULES

    drawn = None
    if study is None:
        study = Study(plant)
        drawn = gathered(study, (rule for rule in RULES if not rule.solved and not job.stale()))
    if job.stale():
        return
    solved = None
    if not drawing:
        rules = (rule for rule in RULES if rule.solved and not job.stale())
        solved = gathered(study.with_solutions(cases), rules)
    if not job.stale():
        job.report((plant, study, drawn, solved, len(RULES)))
