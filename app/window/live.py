"""The live solve: after every change the case in sight first, then the others, off the window's thread.

The latest edit wins: an answer to an older plant is never shown.

After the case in sight is solved the others wait, at most half a second, until it is drawn.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject, QTimer, Signal

from app.background import Background, Job
from app.document import Document
from core.errors import WetsideError

if TYPE_CHECKING:
    from core.plant.model import Case, Plant
    from core.solve import Solution

LANE = "solve"
PATIENCE = 0.5
"""Seconds that work waits at most for the plant to be drawn, or for the figures of the case in sight."""
Solve = Callable[["Plant", "Case"], "Solution"]


class LiveSolve(QObject):
    """Holds the solutions of the plant as it is now."""

    changed = Signal()
    """A solution came, or the case was changed."""

    def __init__(self, document: Document, background: Background, solve: Solve | None = None) -> None:
        super().__init__(document)
        self._document = document
        self._background = background
        self._solve = solve
        self._case = ""
        self._trial: Case | None = None
        self._moment: Solution | None = None
        self._when = ""
        self._revision = -1
        self._fresh: dict[str, Solution] = {}
        self._last: dict[str, Solution] = {}
        self._refusals: dict[str, str] = {}
        self._drawn, self._shown = threading.Event(), threading.Event()
        self._drawn.set()
        document.changed.connect(self._follow)
        background.done.connect(self._take)
        background.failed.connect(self._fail)

    @property
    def case(self) -> str:
        """The case in sight; the first one when the plant has no case of the chosen name."""
        if self._moment is not None:
            return self._moment.case
        return self._chosen()

    def _chosen(self) -> str:
        names = [case.name for case in self._cases()]
        return self._case if self._case in names else names[0]

    def names(self) -> list[str]:
        """The plant's cases, the one on trial, and a moment in time that is shown."""
        moment = [self._moment.case] if self._moment is not None else []
        return [*(case.name for case in self._cases()), *moment]

    def show_moment(self, moment: Solution | None, words: str = "") -> None:
        """Show figures that stand already, of a moment in time; None goes back to the case before."""
        if moment is not self._moment:
            self._moment, self._when = moment, words
            self.changed.emit()

    def _cases(self) -> list[Case]:
        """The plant's cases, and the one on trial."""
        cases = list(self._document.plant.solve_cases)
        if self._trial is not None and all(case.name != self._trial.name for case in cases):
            cases.append(self._trial)
        return cases

    def moment_words(self) -> dict[str, str]:
        """Which moment is shown, by the name that stands for its case; nothing where none is."""
        return {self._moment.case: self._when} if self._moment is not None else {}

    def try_case(self, case: Case | None) -> None:
        """Solve and show a case that is not the plant's; None takes it away."""
        if case == self._trial:
            return
        if self._trial is not None:
            self._fresh.pop(self._trial.name, None)
            self._last.pop(self._trial.name, None)
        self._trial, self._moment = case, None
        if case is not None:
            self._case = case.name
        self.ask()
        self.changed.emit()

    def choose(self, case: str) -> None:
        if case != self.case:
            self._case, self._moment = case, None
            if self._trial is not None and case != self._trial.name:
                self._trial = None
            if case not in self._fresh:
                self.ask()
            self.changed.emit()

    def follow_name(self, old: str, new: str) -> None:
        """A case got another name."""
        if self._case in ("", old):
            self._case = new

    @property
    def solution(self) -> Solution | None:
        """Of the case in sight; the last one known while a newer is under way."""
        if self._moment is not None:
            return self._moment
        return self._fresh.get(self.case) or self._last.get(self.case)

    @property
    def waiting(self) -> bool:
        """Whether the figures shown are of an older plant, or missing."""
        if self._moment is not None:
            return False
        return self.case not in self._fresh and self.case not in self._refusals

    def solutions(self) -> dict[str, Solution]:
        return dict(self._fresh)

    @property
    def all_answered(self) -> bool:
        """Whether every case of the plant is solved, or refused, as the plant is now."""
        names = (case.name for case in self._document.plant.solve_cases)
        return all(name in self._fresh or name in self._refusals for name in names)

    def refusal(self) -> str:
        """Why the case in sight could not be solved at all; empty when it could."""
        return self._refusals.get(self.case, "")

    def ask(self) -> None:
        """Solve what is not solved yet, the case in sight first."""
        plant, revision = self._document.plant, self._document.revision
        first = self._chosen()
        cases = sorted(self._cases(), key=lambda case: case.name != first)
        todo = [case for case in cases if case.name not in self._fresh or revision != self._revision]
        self._background.ask(LANE, lambda job: self._work(job, plant, revision, todo))

    def _work(self, job: Job, plant: Plant, revision: int, cases: list[Case]) -> None:
        self._rest_until(self._drawn, job)  # the first import of the solver is long and would slow it
        from core.solve import Dropped, solve_case

        for case in cases:
            if job.stale():
                return
            try:
                answer: Solution | str = (
                    self._solve(plant, case)
                    if self._solve
                    else solve_case(plant, case, keep_on=lambda: not job.stale())
                )
            except Dropped:
                return
            except WetsideError as refusal:
                answer = str(refusal)
            self._shown.clear()
            job.report((revision, case.name, answer))
            if not isinstance(answer, str) and any(each.name == case.name for each in plant.solve_cases):
                self._mark(job, plant, revision, answer)
            if case is cases[0] and len(cases) > 1:
                self._rest_until(self._shown, job)  # the other cases would slow the drawing of this one

    def _mark(self, job: Job, plant: Plant, revision: int, answer: Solution) -> None:
        """Tell again what figures of a case rest on a guess, where some do."""
        from core.questions.resting import marked
        from core.solve import Dropped

        try:
            (again,) = marked(plant, [answer], lambda: not job.stale())
        except Dropped:
            return
        if again.guessed:
            job.report((revision, again.case, again))

    def _rest_until(self, stands: threading.Event, job: Job) -> None:
        """Let the window draw first."""
        end = time.perf_counter() + PATIENCE
        while not job.stale() and time.perf_counter() < end and not stands.wait(0.01):
            pass

    def _follow(self, changes: object) -> None:
        if changes is None:
            self._last, self._case, self._trial = {}, "", None
            self._drawn.clear()
            QTimer.singleShot(0, self, self._drawn.set)
        self._moment = None  # its figures are those of the plant before
        self._last = {**self._last, **self._fresh}
        self._fresh, self._refusals = {}, {}
        self._revision = self._document.revision
        self.ask()
        self.changed.emit()

    def _take(self, lane: str, _ticket: int, result: object) -> None:
        if lane != LANE:
            return
        revision, case, answer = cast("tuple[int, str, Solution | str]", result)
        if revision != self._document.revision:
            return
        self._revision = revision
        if isinstance(answer, str):
            self._refusals[case] = answer
        else:
            self._fresh[case] = answer
        self.changed.emit()
        QTimer.singleShot(0, self, self._shown.set)  # after what the signal led to, painting too

    def _fail(self, lane: str, _ticket: int, error: object) -> None:
        if lane == LANE:
            said = " ".join(f"{type(error).__name__}: {error}".split())
            self._refusals[self._chosen()] = f"The solver failed in a way it did not foresee ({said})."
            self.changed.emit()


def warm_up(job: Job) -> None:
    """Import what the first edit will need, while the window is already there."""
    del job
    import core.solve  # noqa: F401
