"""What a pane under the board sees and may ask; the window implements it.

A pane is a widget that is told of every change while it is in sight. It changes nothing but through `commit`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Protocol

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from app.background import Background
    from app.board.beside import Beside
    from app.board.overlay import Section
    from app.document import Document
    from app.panels.form_parts import Waiting
    from app.pens import Palette
    from app.settings import Settings
    from core.plant.changes import Change
    from core.plant.model import Case, Plant
    from core.review import Finding
    from core.solve import Solution


class Reviewed(NamedTuple):
    """The punch list as it stands.

    `checking`: findings that read solved cases are those of the plant before; `rules` is how many were asked,
    0 before any was; `trouble` says why the review could not be made.
    """

    findings: tuple[Finding, ...] = ()
    checking: bool = False
    rules: int = 0
    trouble: str = ""


class Sight(NamedTuple):
    """The plant and its answers as they are now.

    `solution` is that of the case in sight, None while it waits or could not be solved; `revision` grows with
    every change of the plant.
    """

    plant: Plant
    revision: int
    case: str
    solution: Solution | None
    solutions: Mapping[str, Solution]
    waiting: bool
    selection: frozenset[str]
    display: Literal["us", "si"]
    palette: Palette
    review: Reviewed


class PanePort(Protocol):
    """What a pane may ask of the window."""

    document: Document
    background: Background
    settings: Settings

    def commit(self, words: str, changes: Sequence[Change]) -> bool:
        """One step of undo; False where the plant refused it (the message bar says why)."""

    def go_to(self, name: str) -> None:
        """Select an item or pipe and bring it into view."""

    def leave(self) -> None:
        """Give the keyboard to the board."""

    def frame(self, names: Sequence[str]) -> None:
        """Bring items and pipes into view, framed and selected; the keyboard stays where it is."""

    def shut_off(self, name: str) -> None:
        """Show on the board how an item or pipe is taken out of service."""

    def print_card(self, name: str) -> None:
        """Ask for a file, and print the shut-off of an item or pipe to it."""

    def show_section(self, section: Section) -> None:
        """Hatch a section on the board that is shut off, and light the valves that close it."""

    def show_still(self, labels: Mapping[str, str]) -> None:
        """Label pipes on the board in which water stands; none: take the labels away."""

    def show_beside(self, beside: Beside) -> None:
        """Light a path on the board, mark what is otherwise, put figures beside things; `NOTHING` ends it."""

    def preview(self, changes: Sequence[Change], take: Callable[[], object]) -> bool:
        """Show changes on the board as proposed until `leave_preview`, Escape there, or Return, which takes
        them; False where they do not fit."""

    def leave_preview(self) -> None:
        """Show the plant as it is again, and nothing beside it."""

    def to_read(self, take: Callable[[Path], object]) -> None:
        """Ask for a plant file to be read, beside the one that is open."""

    def choose_case(self, name: str) -> None: ...

    def show_case(self, case: Case | None) -> None:
        """Solve and show a case the plant does not have (a combination of calls); None takes it away."""

    def show_moment(self, solution: Solution | None, words: str = "") -> None:
        """Show figures of a moment in time as those of a case of their own; None takes them away."""

    def to_read_table(self, words: str, take: Callable[[Path], object]) -> None:
        """Ask for a CSV file to be read, such as a price list."""

    def to_export(self, write: Callable[[Path], None], start: str, endings: tuple[str, ...]) -> None:
        """Ask for a file that ends in one of these, and write it; what goes wrong is told."""

    def say(self, text: str) -> None:
        """Words for the status line."""

    def warn(self, text: str) -> None:
        """Words for the message bar."""

    def open_pane(self, key: str, topic: Any = None) -> Pane:
        """Show another pane; `topic` is what it shall be about."""


class Pane(QWidget):
    """A page under the board.

    `TITLE` stands on its tab; `titled` changes that (a count), `remarked` is soft text beside the tabs.
    `HIGH` is the height it likes, in pixels: that of ten rows of its table.
    """

    TITLE = ""
    HIGH = 320

    titled = Signal(str)
    remarked = Signal(str)

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.port = port
        self.setAccessibleName(self.TITLE)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)  # an empty page holds the keyboard too

    def follow(self, sight: Sight) -> None:
        """Show what is so now: called on every change while in sight, and when it comes in sight."""

    def about(self, topic: Any) -> None:
        """Turn to a topic, such as (id, key) of a figure."""

    def focus_first(self) -> None:
        """Take the keyboard."""
        self.setFocus()


class TypedForm(Protocol):
    """The form in which values are typed, as saving, closing and recovering see it."""

    waiting: Waiting

    def finish_typing(self) -> None:
        """Take what is still being typed into the plant."""

    def words_not_taken(self) -> str:
        """What was typed and refused, in a sentence; empty where there is none."""

    def go_to_not_taken(self) -> None:
        """Put the keyboard in the first of these fields."""
