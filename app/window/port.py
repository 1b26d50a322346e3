"""What the window gives to the panes under its board."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtCore import Qt

from app.background import Background
from app.board.beside import NOTHING, Beside
from app.board.board_widget import BoardWidget
from app.board.overlay import Section
from app.document import Document
from app.gestures.hand import DrawingHand
from app.gestures.preview import Preview
from app.panels.port import Pane, Sight
from app.pens import Palette
from app.settings import Settings
from app.widgets.message_bar import MessageBar
from app.window.files import Files
from app.window.live import LiveSolve
from app.window.live_review import LiveReview
from core.errors import WetsideError
from core.plant.changes import Change, fitted
from core.plant.model import Case

if TYPE_CHECKING:
    from core.solve import Solution


class PanedWindow(Protocol):
    """What a window must have for panes to stand under its board."""

    document: Document
    background: Background
    settings: Settings
    board: BoardWidget
    hand: DrawingHand
    live: LiveSolve
    review: LiveReview
    bar: MessageBar
    files: Files
    look: Palette

    def say(self, text: str) -> None: ...
    def open_pane(self, key: str, topic: Any = None) -> Pane: ...


class WindowPort:
    """One window, as its panes see it."""

    def __init__(self, window: PanedWindow) -> None:
        self._window = window
        self.document = window.document
        self.background = window.background
        self.settings = window.settings

    def commit(self, words: str, changes: Sequence[Change]) -> bool:
        return self._window.board.commit(words, list(changes))

    def go_to(self, name: str) -> None:
        self._window.board.go_to(name)

    def leave(self) -> None:
        self._window.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def frame(self, names: Sequence[str]) -> None:
        self._window.board.frame(names)

    def shut_off(self, name: str) -> None:
        self._window.open_pane("shut_off", name)

    def print_card(self, name: str) -> None:
        def write(file: Path) -> None:
            from app.paper.card import print_card

            try:
                print_card(self.document.plant, name, file)
            except (WetsideError, OSError) as trouble:
                self.warn(f"Not printed. {trouble}")
            else:
                self.say(f"Printed {file.name}")

        self._window.files.asks.to_print(write, f"shut-off-{name}")

    def show_section(self, section: Section) -> None:
        self._window.board.overlay.show_section(section)

    def show_still(self, labels: Mapping[str, str]) -> None:
        self._window.board.overlay.show_still(labels)

    def show_beside(self, beside: Beside) -> None:
        if beside.lit:
            self._window.board.overlay.frame(frozenset())
        self._window.board.beside.show(beside)

    def preview(self, changes: Sequence[Change], take: Callable[[], object]) -> bool:
        plant = self.document.plant
        try:
            after = fitted(plant, list(changes))
        except WetsideError as trouble:
            self.warn(f"Not shown: {trouble}")
            return False
        new = frozenset({*after.items, *after.pipes} - {*plant.items, *plant.pipes})
        self._window.hand.preview(changes, new, take, lambda: self.show_beside(NOTHING))
        return True

    def leave_preview(self) -> None:
        if isinstance(self._window.hand.gesture, Preview):
            self._window.hand.cancel()
        self.show_beside(NOTHING)

    def to_read(self, take: Callable[[Path], object]) -> None:
        self._window.files.asks.to_open(take)

    def to_read_table(self, words: str, take: Callable[[Path], object]) -> None:
        self._window.files.asks.to_read(words, take, ".csv")

    def choose_case(self, name: str) -> None:
        self._window.live.choose(name)

    def show_case(self, case: Case | None) -> None:
        self._window.live.try_case(case)

    def show_moment(self, solution: Solution | None, words: str = "") -> None:
        self._window.live.show_moment(solution, words)

    def to_export(self, write: Callable[[Path], None], start: str, endings: tuple[str, ...]) -> None:
        def take(file: Path) -> None:
            try:
                write(file)
            except OSError as trouble:
                self.warn(f"Not written. {trouble.strerror or trouble}")
            else:
                self.say(f"Wrote {file.name}")

        self._window.files.asks.to_export(take, start, endings)

    def say(self, text: str) -> None:
        self._window.say(text)

    def warn(self, text: str) -> None:
        self._window.bar.show_message(text)

    def open_pane(self, key: str, topic: Any = None) -> Pane:
        return self._window.open_pane(key, topic)

    def sight(self) -> Sight:
        """The plant and its answers as they are now."""
        document, live = self._window.document, self._window.live
        plant = document.plant
        return Sight(
            plant,
            document.revision,
            live.case,
            self._window.review.without_findings(live.solution),
            live.solutions(),
            live.waiting,
            document.selection,
            "si" if plant.units == "si" else "us",
            self._window.look,
            self._window.review.now,
        )
