"""One box over the board: all commands with their keys, what is on the sheet and in Help, by letters."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence

from app import actions
from app.board.board_widget import BoardWidget
from app.document import Document
from app.widgets.quick import Entry, QuickBox
from app.window.chrome import Actions
from app.window.live import LiveSolve
from core.help.how_counted import SECTIONS, TITLE
from core.plant import texts
from core.vocabulary import KINDS

NOT_NOW: dict[str, str] = {
    "selected": "select something first",
    "several": "select several things first",
    "one_item": "select one thing first",
    "undoable": "nothing to undo",
    "redoable": "nothing to redo",
    "saved": "save the plant first",
    "drawn": "draw something first",
}
LONGEST = 60


class SearchedWindow(Protocol):
    """The window as this box sees it."""

    document: Document
    board: BoardWidget
    live: LiveSolve
    actions_: Actions


class Everything:
    """Asks, and does or goes to what was chosen."""

    def __init__(self, window: SearchedWindow, help_at: Callable[[str], object]) -> None:
        self._window, self._help_at = window, help_at

        def nothing(_text: str) -> str:
            return "No command, tag, note or heading of Help has these letters."

        self.box = QuickBox("Commands, tags, notes, help", window.board, nothing, most=300, wide=440)
        self.box.taken.connect(self.take)
        self.box.closed.connect(window.board.view.setFocus)

    def ask(self) -> None:
        self.box.ask(self.search)

    def search(self, text: str, sheet_first: bool = False) -> Sequence[Entry]:
        """Commands in the order of the menus; with letters all that has each of the words, best first.

        `sheet_first`: of equally good ones, what is on the sheet comes before commands.
        """
        wanted = text.lower().split()
        if not wanted:
            return list(self._commands())
        found = []
        sources = [self._commands(), self._things(), self._told()]
        if sheet_first:
            sources = [sources[1], sources[0], sources[2]]
        for order, (value, words, _) in enumerate(entry for source in sources for entry in source):
            said = words.lower()
            if all(word in said for word in wanted):
                begins = said.startswith(wanted[0]) or f" {wanted[0]}" in said
                parts = {part.strip() for part in re.split(r"  |:|,", said)}
                exact = " ".join(wanted) in parts
                found.append((not exact, not begins, order, value, words))
        return [(value, words, None) for _, _, _, value, words in sorted(found)]

    def _commands(self) -> Iterator[Entry]:
        for spec in actions.TABLE:
            if spec.id == "everything":
                continue
            words = spec.words.replace("&", "").rstrip("…")
            keys = ", ".join(QKeySequence(key).toString(_NATIVE) for key in spec.keys)
            wait = NOT_NOW.get(spec.when, "") if not self._window.actions_[spec.id].isEnabled() else ""
            rest = "  ·  ".join(part for part in (keys, wait) if part)
            yield f"do {spec.id}", f"{spec.menu}: {words}" + (f"  ·  {rest}" if rest else ""), None

    def _things(self) -> Iterator[Entry]:
        """Items and pipes by tag, label and note; texts by their words."""
        plant = self._window.document.plant
        for item in plant.items.values():
            title = KINDS[item.kind].title
            yield f"go {item.id}", _line(item.id, title, item.label, item.note), None
        for pipe in plant.pipes.values():
            yield f"go {pipe.id}", _line(pipe.id, "pipe", pipe.label, pipe.note), None
        for number, one in enumerate(plant.texts):
            yield f"go {texts.id_of(number)}", _line("Text", str(one["text"])), None

    def _told(self) -> Iterator[Entry]:
        """Notes of the solver, headings of Help."""
        solution = self._window.live.solution
        for note in solution.notes if solution is not None else ():
            if note.at:
                yield f"go {note.at}", _line(f"Note at {note.at}", note.text), None
        for section in SECTIONS:
            yield f"help {section.title}", f"Help: {TITLE}, {section.title}", None

    def take(self, value: str) -> None:
        """Do, or go to, one of the values found."""
        what, _, name = value.partition(" ")
        board = self._window.board
        board.view.setFocus(Qt.FocusReason.OtherFocusReason)
        if what == "go":
            board.go_to(name)
        elif what == "help":
            self._help_at(name)
        elif (action := self._window.actions_[name]).isEnabled():
            action.trigger()
        else:
            when = next(spec.when for spec in actions.TABLE if spec.id == name)
            board.say(f"Not now: {NOT_NOW.get(when, 'not possible here')}")


_NATIVE = QKeySequence.SequenceFormat.NativeText


def _line(tag: str, *words: str) -> str:
    said = ", ".join(" ".join(word.split()) for word in words if word)
    return f"{tag}  {said}" if len(said) <= LONGEST else f"{tag}  {said[: LONGEST - 1]}…"
