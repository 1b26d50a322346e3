"""The open plant: the only writer. Holds the plant, the undo stack, what is selected and where it was saved.

Every change comes as a list of primitive changes from `core.plant`, made by a pure function of `edits`; views
read `document.plant` and follow `changed`.

The selection may hold "text 0": a text has no tag, its place in the list names it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from core.errors import PlainRefusal
from core.plant import texts
from core.plant.changes import Change, apply, fitted, inverses
from core.plant.edits import DEFAULT_LENGTH
from core.plant.model import Plant, System


class _Edit(QUndoCommand):
    """One user action: its changes and their inverse. Redo cannot fail: `Document.do` has tried it before."""

    def __init__(
        self, document: Document, words: str, forward: list[Change], backward: list[Change], run: str
    ) -> None:
        super().__init__(words)
        self._document = document
        self.forward = forward
        self.backward = backward
        self._run = run

    def id(self) -> int:
        return 1 if self._run else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, _Edit) or other._run != self._run:
            return False
        self.forward = [*self.forward, *other.forward]
        self.backward = [*other.backward, *self.backward]
        return True

    def redo(self) -> None:
        self._document._take(self.forward)

    def undo(self) -> None:
        self._document._take(self.backward)


class Document(QObject):
    """A plant under edit.

    `do` raises `Refusal` before anything has changed when the changes do not fit the plant, or when the plant
    was opened to read only; the undo stack then is as if the call had never come.
    """

    changed = Signal(object)
    """The list of changes just applied, empty for other units; None when the whole plant was replaced."""
    selection_changed = Signal()
    clean_changed = Signal(bool)
    file_changed = Signal()

    def __init__(self, plant: Plant | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plant = plant if plant is not None else empty_plant()
        self._file: Path | None = None
        self._selection: frozenset[str] = frozenset()
        self._revision = 0
        self._sealed = ""
        self.new_length: str = DEFAULT_LENGTH
        """Of a pipe that is drawn."""
        self.stack = QUndoStack(self)
        self.stack.cleanChanged.connect(self.clean_changed)

    @property
    def plant(self) -> Plant:
        return self._plant

    @property
    def revision(self) -> int:
        """Grows with every change, undo and redo: says which plant an answer belongs to."""
        return self._revision

    @property
    def file(self) -> Path | None:
        return self._file

    @property
    def clean(self) -> bool:
        return self.stack.isClean()

    @property
    def sealed(self) -> str:
        """Why the plant may only be read; empty where it may be changed."""
        return self._sealed

    @property
    def selection(self) -> frozenset[str]:
        return self._selection

    def replace(self, plant: Plant, file: Path | None, *, unsaved: bool = False, sealed: str = "") -> None:
        """Take another plant: opened, or a new one. The history of the old one ends.

        `unsaved`: it is not what the file holds, as after a recovery; `sealed`: why it may only be read.
        """
        self._plant = plant
        self._file = file
        self._sealed = sealed
        self._revision += 1
        self._selection = frozenset()
        self.stack.clear()
        if unsaved:
            self.stack.resetClean()
        self.changed.emit(None)
        self.selection_changed.emit()
        self.file_changed.emit()

    def saved(self, file: Path) -> None:
        self._file = file
        self._sealed = ""
        self.stack.setClean()
        self.file_changed.emit()

    def do(self, words: str, changes: Sequence[Change], run: str = "") -> None:
        """Apply changes as one step of undo.

        Steps in a row with one `run` name become one step (nudges, typing).
        """
        if not changes:
            return
        if self._sealed:
            raise PlainRefusal(self._sealed)
        plant = fitted(self._plant, changes)
        if plant != self._plant:
            self.stack.push(_Edit(self, words, list(changes), inverses(self._plant, changes), run))

    @property
    def steps(self) -> list[str]:
        """What was done since the plant was taken, in words, the oldest first; undone steps too."""
        return [self.stack.text(number) for number in range(self.stack.count())]

    def plant_after(self, step: int) -> Plant:
        """The plant as it stood after so many of `steps`; nothing is undone for it."""
        plant = self._plant
        for number in range(self.stack.index() - 1, step - 1, -1):
            plant = apply(plant, self._edit(number).backward)
        for number in range(self.stack.index(), step):
            plant = apply(plant, self._edit(number).forward)
        return plant

    def _edit(self, number: int) -> _Edit:
        edit = self.stack.command(number)
        assert isinstance(edit, _Edit)
        return edit

    def show_units(self, units: str) -> None:
        """Show US or SI units.

        That is a way of looking, not a change: nothing to undo, nothing to save. A file that is saved anyway
        keeps what was shown last, and paper shows it.
        """
        if units != self._plant.units:
            self._plant = replace(self._plant, units=units)
            self._revision += 1
            self.changed.emit([])

    def select(self, ids: Iterable[str]) -> None:
        known = frozenset(name for name in ids if self.knows(name))
        if known != self._selection:
            self._selection = known
            self.selection_changed.emit()

    def knows(self, name: str) -> bool:
        """Whether there is an item, a pipe or a text so called."""
        plant = self._plant
        return name in plant.items or name in plant.pipes or bool(texts.numbers(plant, (name,)))

    def _take(self, changes: list[Change]) -> None:
        self._plant = apply(self._plant, changes)
        self._revision += 1
        # What is gone cannot stay selected, not even while the views hear of the change.
        kept = frozenset(name for name in self._selection if self.knows(name))
        lost, self._selection = kept != self._selection, kept
        self.changed.emit(changes)
        if lost:
            self.selection_changed.emit()


def empty_plant() -> Plant:
    """What File > New gives: nothing drawn, one system to heat and one to drink from."""
    systems = (System("heating"), System("potable", "potable"))
    return Plant(systems={system.name: system for system in systems})
