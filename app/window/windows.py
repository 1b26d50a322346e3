"""All windows of the process: each has its own plant and its own undo; they share the user's settings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject, QPoint, QTimer
from PySide6.QtWidgets import QApplication

from app.background import Job
from app.idle_gc import IdleCollector
from app.settings import Settings
from app.window import place
from app.window.live import Solve
from app.window.main_window import Window

if TYPE_CHECKING:
    from core.files.journal import Found

LANE = "left work"
MOST_OFFERED = 5
STEP = QPoint(36, 36)
"""How far a new window lies from the one before."""


class Windows(QObject):
    """Opens windows, finds the one that has a file, and closes them all."""

    def __init__(self, settings: Settings, solve: Solve | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings, self._solve = settings, solve
        self._windows: list[Window] = []
        self._quitting = False

    @property
    def all(self) -> list[Window]:
        return list(self._windows)

    @property
    def front(self) -> Window | None:
        """The window in front; the newest where none is."""
        active = QApplication.activeWindow()
        return next(
            (one for one in self._windows if one is active), self._windows[-1] if self._windows else None
        )

    def open(self, file: Path | None = None, then: Callable[[Window], None] | None = None) -> Window:
        """Show one more window, with a plant file if one is named; `then` once it stands."""
        before = self.front
        window = Window(self._settings, file, self._solve)
        self._windows.append(window)
        IdleCollector(window.document, window.background, window)
        window.closed.connect(lambda: self._closed(window))
        window.stayed.connect(self._stay)
        window.look_chosen.connect(lambda look: self._follow_look(look, window))
        window.window_asked.connect(self.open)
        window.quit_asked.connect(self.quit)
        window.files.elsewhere = lambda asked: self._show_that_has(asked, window)
        window.files.in_new_window = self._recover_in_new_window
        if then is not None:
            window.stands.connect(lambda: then(window))
        if before is None:
            place.put(window, self._settings)
        else:
            window.resize(before.size())
            window.move(before.pos() + STEP)
        window.show()
        return window

    def offer_left_work(self, window: Window) -> None:
        """Look for what a killed program left, where nobody waits for it, and offer it in a window."""
        state = self._settings.state
        if state is None:
            return
        recent = [Path(name) for name in self._settings.get("recent")]
        opened = window.file_asked
        window.background.done.connect(
            lambda lane, _ticket, found: (
                self._offer(window, cast("list[Found]", found)) if lane == LANE else None
            )
        )
        window.background.ask(LANE, lambda job: _look(job, state, recent, opened))

    def quit(self) -> None:
        """Close all; each window with unsaved changes asks first, and any may stay."""
        self._quitting = True
        for window in self.all:
            if not window.close():
                # Only after its answer the next: one question at a time.
                window.raise_()
                window.activateWindow()
                return

    def _offer(self, window: Window, found: list[Found]) -> None:
        for one in found[:MOST_OFFERED]:
            window.files.offer(one)

    def _recover_in_new_window(self, found: Found) -> None:
        self.open(then=lambda window: window.files.recover_here(found))

    def _show_that_has(self, file: Path, asking: Window) -> bool:
        wanted = file.resolve()
        for window in self._windows:
            has = window.document.file
            if (
                window is not asking
                and has is not None
                and has.resolve() == wanted
                and not window.document.sealed
            ):
                window.raise_()
                window.activateWindow()
                window.say(f"{file.name} is open here")
                return True
        return False

    def _follow_look(self, look: str, chosen_in: Window) -> None:
        for window in self._windows:
            if window is not chosen_in:
                window.follow_look(look)

    def _closed(self, window: Window) -> None:
        place.keep(window, self._settings)
        if window in self._windows:
            self._windows.remove(window)
            window.deleteLater()
        if self._quitting and self._windows:
            QTimer.singleShot(0, self, self.quit)

    def _stay(self) -> None:
        self._quitting = False


def _look(job: Job, state: Path, recent: list[Path], opened: Path | None) -> None:
    """Journals of plants never saved, of recent files and of files whose folder cannot be written."""
    from core.files.journal import all_of, look

    found = look(None, state)
    known = {opened.resolve()} if opened is not None else set()  # opening it offers its own
    for file in [*recent, *all_of(state)]:
        real = file.resolve()
        if real not in known:
            known.add(real)
            found += look(real, state)
    job.report(sorted(found, key=lambda one: -one.at))
