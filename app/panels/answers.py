"""The questions that only solving the plant again can answer, and their answers as a page shows them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from core.cures.tried import Cures
    from core.plant.model import Plant
    from core.questions.why import Row

WIDTH = 110  # characters of a line of the commands
KeepOn = Callable[[], bool]
OnProgress = Callable[[int, int], None]


class Entry(NamedTuple):
    """What a line or a cell of an answer is about: a sentence, and the ids it concerns.

    `number` counts a cure that can be inserted, `lit` are the ids of a path, `words` what stands beside
    things while it is read.
    """

    text: str
    ids: tuple[str, ...]
    number: int = 0
    lit: tuple[str, ...] = ()
    words: Mapping[str, str] = {}


class Line(NamedTuple):
    """A row of an answer's table: its cells, the group it stands in, and what each cell is about; a cell
    without an entry of its own is about what the first is."""

    cells: tuple[str, ...]
    entries: Mapping[int, Entry]
    group: str = ""


class Answer(NamedTuple):
    """What came of a question: a table, the rest in words, and the cures to insert."""

    head: tuple[str, ...]
    lines: tuple[Line, ...]
    words: str
    cures: Cures | None = None


Ask = Callable[["Plant", str, KeepOn, OnProgress], Answer]


class Question(NamedTuple):
    """A question: its key, its words, and who answers it."""

    key: str
    words: str
    ask: Ask


def _words(lines: Iterable[str]) -> str:
    """Sentences that a command broke into lines, whole again."""
    whole: list[str] = []
    last = ""
    for line in lines:
        first = line.split()[0] if line.strip() else ""
        broken = bool(first) and bool(last.strip()) and len(last) + 1 + len(first) > WIDTH
        if broken and _indent(line) > _indent(whole[-1]):
            whole[-1] += f" {line.strip()}"
        else:
            whole.append(line)
        last = line
    return "\n".join(whole)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _why(plant: Plant, at: str, keep_on: KeepOn, on_progress: OnProgress) -> Answer:
    from core.commands.why import text
    from core.questions.intake import takers
    from core.questions.why import why

    found = why(plant, at if at in takers(plant) else "", keep_on=keep_on, on_progress=on_progress)
    calls = list(dict.fromkeys(row.call for row in found.rows))
    order = [key for key in plant.items if key in calls]
    places: dict[tuple[str, str], dict[str, Row]] = {}
    for row in found.rows:
        places.setdefault((row.case, row.at), {})[row.call] = row
    lines = []
    for (case, name), rows in places.items():
        cells = (name, *(_lost(plant, rows[call]) if call in rows else "" for call in order))
        robbed = {k: _robbed(plant, rows[call]) for k, call in enumerate(order, 1) if call in rows}
        lines.append(Line(cells, {0: Entry("", (name,)), **robbed}, case))
    head = ("gets more or less", *(f"with {call}" for call in order)) if order else ()
    return Answer(head, tuple(lines), _words(text(plant, found, tables=False)))


def _robbed(plant: Plant, row: Row) -> Entry:
    from core.questions.headlines import pair

    causes = tuple(dict.fromkeys(key for cause in row.causes for key in cause.at))
    words = {row.at: row.mark + pair(row.got_w + row.lost_w, row.got_w, "power", plant.units)}
    return Entry(row.text, (row.at, *causes), lit=(row.at, *causes), words=words)


def _lost(plant: Plant, row: Row) -> str:
    from core import units

    shown = units.show(abs(row.lost_w), "power", plant.units)
    if not any(digit in shown for digit in "123456789"):
        return "0"
    return row.mark + ("\N{MINUS SIGN}" if row.lost_w > 0.0 else "+") + shown


def _cures(plant: Plant, at: str, keep_on: KeepOn, on_progress: OnProgress) -> Answer:
    from core.commands.cures import HEAD, row, text
    from core.cures.judged import can_cure
    from core.cures.tried import seek

    if not can_cure(plant, at):
        return Answer((), (), "Select a circuit or tap first; or a pipe, source or stat.")
    found = seek(plant, at, keep_on, on_progress)
    lines = (
        Line(row(plant, k, cure), {0: Entry(cure.candidate.text, (at, cure.candidate.at), k)})
        for k, cure in enumerate(found.cures, 1)
    )
    return Answer(HEAD, tuple(lines), _words(text(plant, found, tables=False)), found)


def _matters(plant: Plant, at: str, keep_on: KeepOn, on_progress: OnProgress) -> Answer:
    from core.commands.matters import HEAD, row, text
    from core.questions.matters import matters

    found = matters(plant, keep_on=keep_on, on_progress=on_progress)
    told = [one for one in found.answers if one.guesses]
    told.sort(key=lambda one: -max((g.share for g in one.guesses if g.at == at), default=0.0))
    lines = (
        Line(row(plant, one)[1:], {0: Entry("", (one.at, *(g.at for g in one.guesses[:2])))}, one.case)
        for one in told
    )
    return Answer(HEAD[1:], tuple(lines), _words(text(plant, found, tables=False)))


def _spare(plant: Plant, at: str, keep_on: KeepOn, on_progress: OnProgress) -> Answer:
    from core import units
    from core.commands.spare import text
    from core.questions.spare import UNIT, Spare, can_answer, spare
    from core.solve.solution import GUESSED

    asked = at if can_answer(plant, at) else ""
    found = spare(plant, asked, keep_on, on_progress)

    def left(one: Spare) -> str:
        return (GUESSED in one.text) * GUESSED + units.show(one.spare, UNIT[one.unit][0], plant.units)

    lines = (
        Line(
            (one.at, left(one), one.first_limit or "–", one.case),
            {0: Entry(one.text, (one.at, one.first_limit))},
        )
        for one in found
    )
    return Answer(
        ("part", "has left", "gives out first", "in"), tuple(lines), _words(text(plant, found, asked))
    )


def _failures(plant: Plant, at: str, keep_on: KeepOn, on_progress: OnProgress) -> Answer:
    from core.commands.failures import HEAD, lesser_rows, row, text
    from core.questions.failures import failures, worst_first

    found = failures(plant, keep_on, on_progress)
    lines: list[Line] = []
    for one in sorted(worst_first(found), key=lambda one: one.at != at):
        rows = [row(plant, one, room) for room in one.cold] + lesser_rows(plant, one)
        lines += (Line(cells, {0: Entry("", (one.at, cells[1]))}) for cells in rows)
    head = HEAD[0], "who", *HEAD[2:]
    return Answer(head, tuple(lines), _words(text(plant, found, tables=False)))


QUESTIONS = (
    Question("why", "Who robs whom?", _why),
    Question("cures", "What would cure it?", _cures),
    Question("matters", "Which guess matters?", _matters),
    Question("spare", "What is left for one more?", _spare),
    Question("failures", "What if it fails?", _failures),
)
