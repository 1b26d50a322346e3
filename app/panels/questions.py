"""Questions that only solving the plant again can answer: who robs whom, what would cure it, and so on.

Asked in the background, given up for whatever is wanted sooner, and asked again by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.port import Pane, PanePort, Sight
from core.errors import WetsideError, escaped

if TYPE_CHECKING:
    from core.cures.tried import Cures
    from core.plant.model import Plant

LANE = "questions"
IDS, NUMBER = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1
EMPTY = "Select a circuit, tap, pump or pipe, choose a question, and ask."
CHANGED = "The plant changed: ask again."
WORKING = "Solving the plant again…"


class Entry(NamedTuple):
    """One line of an answer and the ids it concerns; `number` counts a cure that can be inserted."""

    text: str
    ids: tuple[str, ...]
    number: int = 0


class Answer(NamedTuple):
    """What came of a question: lines to go to, the whole in words, and the cures to insert."""

    entries: tuple[Entry, ...]
    words: str
    cures: Cures | None = None


Ask = Callable[["Plant", str, Callable[[], bool]], Answer]


def _words(lines: Iterable[str]) -> str:
    return "\n".join(lines)


def _why(plant: Plant, at: str, keep_on: Callable[[], bool]) -> Answer:
    from core.commands.why import text
    from core.questions.intake import takers
    from core.questions.why import why

    found = why(plant, at if at in takers(plant) else "", keep_on=keep_on)
    told = sorted((row for row in found.rows if row.causes), key=lambda row: -abs(row.lost_w))
    entries = (Entry(row.text, (row.at, *(key for c in row.causes for key in c.at))) for row in told)
    return Answer(tuple(entries), _words(text(plant, found)))


def _cures(plant: Plant, at: str, keep_on: Callable[[], bool]) -> Answer:
    from core.commands.cures import text
    from core.cures.tried import can_cure, seek

    if not can_cure(plant, at):
        return Answer((), "Select a circuit or a tap first: a cure is sought for one of them.")
    found = seek(plant, at, keep_on)
    entries = (
        Entry(f"{k}. {cure.candidate.text}", (at, cure.candidate.at), k)
        for k, cure in enumerate(found.cures, 1)
    )
    return Answer(tuple(entries), _words(text(plant, found)), found)


def _matters(plant: Plant, _at: str, keep_on: Callable[[], bool]) -> Answer:
    from core.commands.matters import text
    from core.questions.matters import matters, ranking

    found = matters(plant, keep_on=keep_on)
    ranked = ranking(found)
    entries = (
        Entry(f"{one.at} {one.property.replace('_', ' ')}: {one.share:.0%}", (one.at,)) for one in ranked[:20]
    )
    return Answer(tuple(entries), _words(text(plant, found)))


def _spare(plant: Plant, at: str, keep_on: Callable[[], bool]) -> Answer:
    from core.commands.spare import text
    from core.questions.spare import can_answer, spare

    asked = at if can_answer(plant, at) else ""
    found = spare(plant, asked, keep_on)
    entries = (Entry(one.text, (one.at, one.first_limit)) for one in found)
    return Answer(tuple(entries), _words(text(plant, found, asked)))


def _failures(plant: Plant, _at: str, keep_on: Callable[[], bool]) -> Answer:
    from core.commands.failures import text
    from core.questions.failures import failures, worst_first

    found = failures(plant, keep_on)
    entries = (
        Entry(f"{one.at}: {', '.join(room.room for room in one.cold)}", (one.at, *(r.room for r in one.cold)))
        for one in worst_first(found)
        if one.cold
    )
    return Answer(tuple(entries), _words(text(plant, found)))


QUESTIONS: tuple[tuple[str, Ask], ...] = (
    ("Who robs whom?", _why),
    ("What would cure it?", _cures),
    ("Which guess matters?", _matters),
    ("What is left for one more?", _spare),
    ("What if it fails?", _failures),
)


class QuestionsPane(Pane):
    """A question, the thing it concerns, and the answer: lines that frame their places, and the words."""

    TITLE = "Questions"
    HIGH = 300

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: tuple[Plant, Ask, str] | None = None
        self._answer: Answer | None = None
        self._ticket = 0
        self.question = QComboBox(self)
        self.question.setAccessibleName("Question")
        self.question.addItems([words for words, _ in QUESTIONS])
        self.at = QLabel("", self)
        self.at.setTextFormat(Qt.TextFormat.PlainText)
        self.ask = QPushButton("Ask", self)
        self.stop = QPushButton("Stop", self)
        self.insert = QPushButton("Insert", self)
        self.insert.setToolTip("Put the chosen cure into the plant: one step of undo")
        self.list = QListWidget(self)
        self.list.setAccessibleName("Answer, line by line")
        self.list.setWordWrap(True)
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.words = QPlainTextEdit(EMPTY, self)
        self.words.setAccessibleName("Answer in words")
        self.words.setReadOnly(True)
        self.words.setFrameShape(QFrame.Shape.NoFrame)
        self._lay_out()
        self.ask.clicked.connect(self.ask_now)
        self.stop.clicked.connect(self.stop_now)
        self.insert.clicked.connect(self.insert_chosen)
        self.list.itemClicked.connect(self._frame)
        self.list.currentRowChanged.connect(lambda _row: self._enable())
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)
        self._enable()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        for widget in (self.question, self.at, self.ask, self.stop, self.insert):
            head.addWidget(widget)
        head.addStretch(1)
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(self.list)
        split.addWidget(self.words)
        split.setSizes([420, 560])
        split.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addLayout(head)
        column.addWidget(split, 1)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        if len(sight.selection) == 1:
            self.at.setText(next(iter(sight.selection)))
        elif self.at.text() not in (*sight.plant.items, *sight.plant.pipes):
            self.at.setText("")
        if self._asked is not None and self._asked[0] is not sight.plant:
            self._forget(CHANGED)

    def about(self, topic: Any) -> None:
        """Turn to an item or pipe: who robs it."""
        if isinstance(topic, str):
            self.at.setText(topic)
            self.question.setCurrentIndex(0)

    def focus_first(self) -> None:
        self.question.setFocus(Qt.FocusReason.TabFocusReason)

    def _forget(self, words: str) -> None:
        self._asked, self._answer, self._ticket = None, None, 0
        self.list.clear()
        self.words.setPlainText(words)
        self._enable()

    def _enable(self) -> None:
        self.stop.setEnabled(self._ticket > 0 and self._answer is None)
        row = self.list.currentItem()
        self.insert.setEnabled(row is not None and bool(row.data(NUMBER)))

    # ---- asking ---------------------------------------------------------------------

    def ask_now(self) -> None:
        """Ask the chosen question of the plant as it is."""
        if self._sight is None:
            return
        self._forget(WORKING)
        plant = self._sight.plant
        shown = plant if plant.units == self._sight.display else replace(plant, units=self._sight.display)
        self._asked = plant, QUESTIONS[self.question.currentIndex()][1], self.at.text()
        _, ask, at = self._asked

        def work(job: Job) -> None:
            from core.solve import Dropped

            try:
                job.report(ask(shown, at, lambda: not (job.stale() or job.others_wait())))
            except Dropped:
                if not job.stale():
                    job.report(None)  # something is wanted sooner: asked again after it

        self._work = work
        self._ticket = self.port.background.ask(LANE, work)
        self._enable()

    def stop_now(self) -> None:
        """Give the question up."""
        if self._ticket:
            self.port.background.ask(LANE, lambda _job: None)
            self._forget(EMPTY)

    def _came(self, lane: str, ticket: int, result: Answer | None) -> None:
        if lane != LANE or ticket != self._ticket or self._asked is None:
            return
        if result is None:
            self._ticket = self.port.background.ask(LANE, self._work)
            return
        self._answer = result
        for entry in result.entries:
            row = QListWidgetItem(escaped(entry.text))
            row.setData(IDS, list(entry.ids))
            row.setData(NUMBER, entry.number)
            self.list.addItem(row)
        self.words.setPlainText(result.words)
        self._enable()

    def _failed(self, lane: str, ticket: int, error: Exception) -> None:
        if lane == LANE and ticket == self._ticket:
            said = escaped(str(error)) if isinstance(error, WetsideError) else "This failed."
            self._forget(said)

    # ---- the answer -----------------------------------------------------------------

    def _frame(self, row: QListWidgetItem) -> None:
        if self._sight is not None:
            self.port.frame(list(self._known(row.data(IDS) or ())))

    def _known(self, ids: Iterable[str]) -> Iterator[str]:
        if self._sight is not None:
            plant = self._sight.plant
            yield from (key for key in dict.fromkeys(ids) if key in plant.items or key in plant.pipes)

    def insert_chosen(self) -> None:
        """Put the chosen cure into the plant, with its entry in the logbook: one step of undo."""
        row = self.list.currentItem()
        number = int(row.data(NUMBER) or 0) if row is not None else 0
        if not number or self._sight is None or self._answer is None or self._answer.cures is None:
            return
        from core.logbook.write import write_down

        plant, cure = self._sight.plant, self._answer.cures.cures[number - 1]
        at = self._answer.cures.at
        try:
            changes = cure.candidate.make(plant)
        except (WetsideError, KeyError, StopIteration) as error:
            self.port.warn(f"Not inserted: {error}")
            return
        effect = cure.effect
        because = (
            f"{at}: {effect.what} from {effect.before:.0f} to {effect.after:.0f} {effect.unit}, {cure.case}"
        )
        entry = write_down(plant, [at], cure.candidate.text, because)
        self.port.commit(f"Cure {at}", [*changes, entry])
