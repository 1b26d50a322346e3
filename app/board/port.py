"""What a gesture may ask of the board or do to it: the whole of the door between the two."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from PySide6.QtCore import Qt

from app.board.pointer import Hit, Place
from app.document import Document
from core.diagram.geometry import Polyline, Segment
from core.plant.changes import Change


class BoardPort(Protocol):
    """The board as a gesture sees it."""

    @property
    def document(self) -> Document: ...

    def hit(self, place: Place, but: frozenset[str] = frozenset()) -> Hit | None:
        """The topmost thing of the plant at a place, things named in `but` left out."""

    def labelled(self, place: Place) -> str:
        """The item or pipe whose written words are at a place; empty where there are none."""

    def line(self, pipe: str) -> Polyline:
        """The line of a pipe of the document."""

    def on_pipe(self, pipe: str, place: Place) -> Hit | None:
        """The point of a pipe's line nearest to a place."""

    def within(self, first: Place, second: Place) -> frozenset[str]:
        """Ids of everything that lies wholly in a rectangle."""

    def tentative(self, changes: Sequence[Change], fresh: frozenset[str] = frozenset()) -> bool:
        """Show the plant with these changes, `fresh` ids as proposed; False: they do not fit."""

    def show_line(self, points: Sequence[Place]) -> None:
        """A line in the hand that meets nothing yet."""

    def show_guides(self, guides: Sequence[Segment]) -> None:
        """Thin lines from port to port, over what is being tried."""

    def show_target(self, hit: Hit | None) -> None:
        """Mark what a drop would land on."""

    def show_band(self, first: Place, second: Place) -> None: ...

    def clear_shown(self) -> None:
        """Forget every preview; show the document again."""

    def commit(self, words: str, changes: Sequence[Change], run: str = "") -> bool:
        """Do it; a refusal goes to the message bar and gives False."""

    def refuse(self, words: str) -> None:
        """Say in the message bar why something cannot be done."""

    def point_with(self, shape: Qt.CursorShape | None) -> None: ...

    def ask(self, title: str, text: str, take: Callable[[str], object], at: Place) -> None:
        """Let the user write a text, in a small box at a place of the board."""

    def offer(self, choices: Sequence[str], take: Callable[[int], object], at: Place) -> None:
        """Let the user choose one of several, in a menu at a place of the board."""

    def say(self, words: str) -> None:
        """The status line."""

    def reveal(self, place: Place) -> None: ...

    def middle(self) -> Place:
        """The place in the middle of the window."""

    def finished(self) -> None:
        """The gesture in hand has ended."""
