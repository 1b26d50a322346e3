"""The journal of the open plant: every change goes to the disk at once, off the window's thread.

What a journal holds and how it is read again is in `core.files.journal`; where it is offered, in the window.

"Leave" keeps left work for the next start. `Settings(state=None)`, as in tests, writes none.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background import Background, Job
from app.document import Document
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.files.journal import Found, Refused, Writer
    from core.files.places import Stamp

LANE = "journal"


class Journal(QObject):
    """Follows a document. Without a state folder nothing is written, as the tests want it."""

    failed = Signal(str)
    """Why changes cannot be written down; told once for each plant."""

    def __init__(self, document: Document, state: Path | None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document, self._state = document, state
        self._background = Background(self)
        self._writer: Writer | None = None
        self._told = False
        self._refused: tuple[Refused, ...] = ()
        document.changed.connect(self._follow)
        document.clean_changed.connect(self._clean)
        self._background.failed.connect(self._fail)

    @property
    def place(self) -> Path | None:
        """Where the journal lies, if there is one."""
        return self._writer.place if self._writer is not None else None

    @property
    def busy(self) -> bool:
        return self._background.busy

    def begin(self, stamp: Stamp | None, recovered: Found | None = None) -> None:
        """Start with the document's plant, of a file that had this stamp; a recovered one is kept at once."""
        self._told = False
        old, self._writer = self._writer, None
        plant, file = self._document.plant, self._document.file
        revision = self._document.revision
        writer: Writer | None = None
        if self._state is not None and not self._document.sealed:
            from core.files.journal import Writer

            start = plant if recovered is None or not recovered.changes else Plant()
            begun = revision - (recovered.changes if recovered is not None else 0)
            writer = self._writer = Writer(file, stamp, start, self._state, begun)
        refused = recovered.refused if recovered is not None else self._refused
        if old is None and recovered is None and not refused:
            return

        def work(job: Job) -> None:
            if old is not None:
                old.discard()
            if writer is not None and recovered is not None:
                writer.note(plant, "Recover", revision)
                recovered.remove()
            if writer is not None:
                writer.keep(refused)

        self._background.ask(f"{LANE} begins", work)

    def stop(self, keep: bool = False) -> None:
        """End the writing; the journal goes too unless its work is still wanted."""
        self._background.stop()
        if self._writer is not None:
            if keep:
                self._writer.note(self._document.plant)
                self._writer.keep(self._refused)
                self._writer.close()
            else:
                self._writer.discard()
            self._writer = None

    def keep(self, refused: tuple[Refused, ...]) -> None:
        """Write down what was typed and not taken."""
        writer, self._refused = self._writer, refused
        if writer is not None:
            self._background.ask(f"{LANE} refused", lambda job: writer.keep(refused))

    def _follow(self, changes: object) -> None:
        if not changes:
            return  # another plant, for which `begin` follows, or only other units
        writer, plant, words = self._writer, self._document.plant, self._document.stack.undoText()
        revision = self._document.revision
        if writer is not None:
            self._background.ask(LANE, lambda job: writer.note(plant, words, revision))

    def _clean(self, clean: bool) -> None:
        writer, plant = self._writer, self._document.plant
        revision = self._document.revision
        if clean and writer is not None:
            refused = self._refused

            def work(job: Job) -> None:
                writer.discard(revision, plant)
                writer.keep(refused)

            self._background.ask(LANE, work)

    def _fail(self, _lane: str, _ticket: int, error: object) -> None:
        if not self._told:
            self._told = True
            said = getattr(error, "strerror", None) or str(error)
            self.failed.emit(f"Changes cannot be written down as you go ({str(said).lower()}). Save often.")


def left_words(found: Found, at: str) -> str:
    """What a journal holds that was last written at this time of the clock."""
    what = found.file.name if found.file is not None else "A plant that was never saved"
    texts = len(found.refused)
    refused = f"{texts} typed text{'' if texts == 1 else 's'} not taken" if texts else ""
    if not found.changes:
        return f"{what}: {refused}, up to {at}, left when the program ended."
    one = found.changes == 1
    more = f" It holds {refused} too." if refused else ""
    count = f"{found.changes} change{'' if one else 's'}"
    return f"{what}: {count} up to {at} {'was' if one else 'were'} not saved when the program ended.{more}"
