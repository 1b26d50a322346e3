"""Opening and saving: reads off the window's thread, writes atomically, asks before changes are lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from app.background import Background, Job
from app.document import Document, empty_plant
from app.settings import Settings
from app.widgets.message_bar import MessageBar
from core.errors import WetsideError

if TYPE_CHECKING:
    from core.plant.model import Plant

LANE = "open"
SUFFIX = ".plant.json"
FILTER = f"Plant files (*{SUFFIX});;All files (*)"
RECENT = 8

Stamp = tuple[int, int]
"""When a file was last written [ns], and its size."""


class Files(QObject):
    """What the Plant menu does with files."""

    began = Signal(str)
    opened = Signal()
    saved = Signal(Path)

    def __init__(
        self, document: Document, background: Background, bar: MessageBar, settings: Settings, window: QWidget
    ) -> None:
        super().__init__(window)
        self._document, self._background = document, background
        self._bar, self._settings, self._window = bar, settings, window
        self._coming: Path | None = None
        self._as_new = False
        self._known: Stamp | None = None
        self.finish_typing: Callable[[], None] = lambda: None
        """Takes what is still being typed in a field into the plant."""
        background.done.connect(self._take)
        background.failed.connect(self._fail)

    @property
    def opening(self) -> bool:
        return self._coming is not None

    def new(self) -> None:
        self.guarded(lambda: self._document.replace(empty_plant(), None))

    def ask_open(self) -> None:
        def go() -> None:
            name, _ = QFileDialog.getOpenFileName(self._window, "Open a plant", self._folder(), FILTER)
            if name:
                self.read(Path(name))

        self.guarded(go)

    def open(self, file: Path) -> None:
        self.guarded(lambda: self.read(file))

    def read(self, file: Path, as_new: bool = False) -> None:
        """Read in the background; what is open stays until the new plant is there.

        `as_new`: a starting point.
        """
        self._coming, self._as_new = file, as_new
        self.began.emit(f"Opening {file.name}…")
        self._background.ask(LANE, lambda job: _read(job, file))

    def save(self) -> bool:
        self.finish_typing()
        file = self._document.file
        return self.save_to(file) if file is not None else self.save_as()

    def save_as(self) -> bool:
        self.finish_typing()
        title = self._document.plant.title.strip().lower().replace(" ", "_") or "plant"
        start = self._document.file or Path(self._folder()) / f"{title}{SUFFIX}"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the plant", str(start), FILTER)
        if not name:
            return False
        if name.endswith(".json"):
            return self.save_to(Path(name), over=_stamp(Path(name)))  # the dialog has asked
        return self.save_to(Path(name + SUFFIX))

    def save_to(self, file: Path, over: Stamp | None = None) -> bool:
        """Whether the plant is on disk now. A failure says so and loses nothing.

        What is there already is written over only when it is what was read, or is the `over` that was asked
        about.
        """
        from core.files.save import save

        there = _stamp(file)
        known = self._known if file == self._document.file else None
        if there not in (None, known, over):
            self._ask_before_writing_over(file, there)
            return False
        try:
            save(self._document.plant, file)
        except (WetsideError, OSError) as trouble:
            self._bar.show_message(f"Not saved. {_plain(trouble, file)}")
            return False
        self._known = _stamp(file)
        self._document.saved(file)
        self._remember(file)
        self.saved.emit(file)
        return True

    def _ask_before_writing_over(self, file: Path, there: Stamp | None) -> None:
        when = time.strftime("%H:%M", time.localtime((there or (0, 0))[0] / 1e9))
        said = (
            "was written by another program or window" if file == self._document.file else "is there already"
        )
        self._bar.show_message(
            f"Not saved. {file.name} {said}, last at {when}. Writing over it loses what it holds.",
            [("Save as…", self.save_as), ("Write over it", lambda: self.save_to(file, over=there))],
        )

    def guarded(self, act: Callable[[], None]) -> None:
        """Do something that would lose unsaved changes, after asking in the window."""
        self.finish_typing()
        if self._document.clean:
            self._bar.dismiss()
            act()
            return

        def save_first() -> None:
            if self.save():
                act()

        file = self._document.file
        name = self._document.plant.title or (file.name if file else "This plant")
        self._bar.show_message(
            f"{name} has changes that are not saved.", [("Save", save_first), ("Discard changes", act)]
        )

    def _take(self, lane: str, _ticket: int, result: object) -> None:
        if lane != LANE or self._coming is None:
            return
        file, self._coming = self._coming, None
        plant, self._known = cast("tuple[Plant, Stamp | None]", result)
        self._document.replace(plant, None if self._as_new else file)
        if not self._as_new:
            self._remember(file)
        self.opened.emit()

    def _fail(self, lane: str, _ticket: int, error: object) -> None:
        if lane != LANE or self._coming is None:
            return
        file, self._coming = self._coming, None
        self._bar.show_message(f"Not opened. {_plain(error, file)}")
        self.began.emit("")

    def _remember(self, file: Path) -> None:
        self._settings.put_first("recent", str(file.resolve()), RECENT)

    def _folder(self) -> str:
        if self._document.file is not None:
            return str(self._document.file.parent)
        recent = self._settings.get("recent")
        return str(Path(recent[0]).parent) if recent else ""


def _read(job: Job, file: Path) -> None:
    from core.files.read import load

    stamp = _stamp(file)  # first: what is written meanwhile must be noticed
    plant = load(file)
    _make_ready(plant)
    job.report((plant, stamp))


def _stamp(file: Path) -> Stamp | None:
    """When a file was last written, and its size; None where there is none."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def _make_ready(plant: Plant) -> None:
    """Work out what the board will ask for, here where nobody waits for it."""
    for item in plant.items.values():
        _ = item.si, item.ports
    _ = plant.pipes_at, plant.solve_cases


def _plain(trouble: object, file: Path) -> str:
    """One plain line, whatever went wrong."""
    if isinstance(trouble, WetsideError):
        return str(trouble)
    if isinstance(trouble, OSError):
        return f"{file.name}: {(trouble.strerror or 'the disk refuses').lower()}."
    said = " ".join(f"{type(trouble).__name__}: {trouble}".split())
    return f"{file.name}: the program failed in a way it did not foresee ({said})."
