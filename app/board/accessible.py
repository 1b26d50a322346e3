"""The board for whoever hears it: items and pipes are its children, each with a name, a place and a state.

A name is what the drawing says: `boiler B-1, 140 °F`; `pipe L-2, 3/4 in L copper, 4.1 gpm, 130 °F`.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QRect
from PySide6.QtGui import QAccessible, QAccessibleEvent, QAccessibleInterface, QColor, QWindow
from PySide6.QtWidgets import QAccessibleWidget

from app.board.board_widget import BoardWidget
from app.board.graphics import rect_of
from app.board.view import BoardView
from core.diagram import annotations as words_of
from core.vocabulary import KINDS, Trait

Face = QAccessibleInterface


def name_of(board: BoardWidget, name: str) -> str:
    """An item or pipe as the drawing tells it; empty where it is not there."""
    plant, solution = board.document.plant, board.scene.solution
    units: words_of.Display = "si" if plant.units == "si" else "us"
    if name in plant.items:
        _, second = words_of.item_text(plant, plant.items[name], solution, units)
        return ", ".join(filter(None, (f"{KINDS[plant.items[name].kind].title} {name}", second)))
    if name not in plant.pipes:
        return ""
    said = words_of.pipe_text(name, solution, words_of.PAPER_QUANTITIES, units, plant)
    return ", ".join([f"pipe {name}", *said])


class BoardFace(QAccessibleWidget):
    """The board; its children are the widgets over it, then items and pipes in the order of the file."""

    def __init__(self, board: BoardWidget) -> None:
        super().__init__(board.view, QAccessible.Role.Canvas, board.view.accessibleName())
        self.board = board
        self._things: dict[str, ThingFace] = {}
        board.document.selection_changed.connect(self._tell_focus)
        board.view.destroyed.connect(self._forget)

    def names(self) -> list[str]:
        """Everything on the board but mere joints."""
        plant = self.board.document.plant
        return [*(item.id for item in plant.items.values() if not item.has(Trait.JOINS)), *plant.pipes]

    def thing(self, name: str) -> ThingFace:
        if name not in self._things:
            self._things[name] = ThingFace(self, name)
        return self._things[name]

    def childCount(self) -> int:
        return super().childCount() + len(self.names())

    def child(self, index: int) -> Face:
        over, names = super().childCount(), self.names()
        inside = over <= index < over + len(names)
        return self.thing(names[index - over]) if inside else super().child(index)

    def indexOfChild(self, child: Face) -> int:
        if not isinstance(child, ThingFace):
            return super().indexOfChild(child)
        names = self.names()
        return super().childCount() + names.index(child.name) if child.name in names else -1

    def childAt(self, x: int, y: int) -> Face:
        at = (self.thing(name) for name in self.names())
        return next((thing for thing in at if thing.rect().contains(x, y)), None) or super().childAt(x, y)

    def _tell_focus(self) -> None:
        """Who listens hears what was selected."""
        chosen = self.board.document.selection
        if QAccessible.isActive() and len(chosen) == 1 and self.board.view.hasFocus():
            event = QAccessibleEvent(self.board.view, QAccessible.Event.Focus)
            event.setChild(self.indexOfChild(self.thing(next(iter(chosen)))))
            QAccessible.updateAccessibility(event)

    def _forget(self) -> None:
        """Qt keeps what it was asked about by a number, and would go on asking things that are gone."""
        for thing in self._things.values():
            QAccessible.deleteAccessibleInterface(QAccessible.uniqueId(thing))
        self._things.clear()


class ThingFace(QAccessibleInterface):
    """An item or pipe on the board."""

    def __init__(self, face: BoardFace, name: str) -> None:
        super().__init__()
        self._face, self._board, self.name = face, face.board, name

    def isValid(self) -> bool:
        return bool(name_of(self._board, self.name))

    def text(self, which: QAccessible.Text) -> str:
        return name_of(self._board, self.name) if which == QAccessible.Text.Name else ""

    def rect(self) -> QRect:
        """Where it lies on the screen."""
        view, box = self._board.view, self._board.scene.box_round(self.name)
        if box is None:
            return QRect()
        seen = view.mapFromScene(rect_of(box)).boundingRect()
        return QRect(view.viewport().mapToGlobal(seen.topLeft()), seen.size())

    def role(self) -> QAccessible.Role:
        return QAccessible.Role.Graphic

    def state(self) -> QAccessible.State:
        state, chosen = QAccessible.State(), self._board.document.selection
        state.selectable = state.focusable = True
        state.selected = self.name in chosen
        state.focused = chosen == {self.name} and self._board.view.hasFocus()
        return state

    def parent(self) -> Face:
        return self._face

    def childCount(self) -> int:
        return 0

    def indexOfChild(self, child: Face) -> int:
        return -1

    def object(self) -> QObject | None:  # type: ignore[override]
        return None

    def window(self) -> QWindow | None:  # type: ignore[override]
        return self._board.window().windowHandle()

    def child(self, index: int) -> Face | None:  # type: ignore[override]
        return None

    def childAt(self, x: int, y: int) -> Face | None:  # type: ignore[override]
        return None

    def setText(self, which: QAccessible.Text, text: str) -> None:
        """A drawing is changed by commands alone."""

    def backgroundColor(self) -> QColor:
        return self._board.scene.look.palette.board

    def foregroundColor(self) -> QColor:
        return self._board.scene.look.palette.ink


def _made(_kind: str, thing: QObject) -> Face | None:
    """The face of a board, held by it; all others keep that of Qt."""
    board = thing.parent() if isinstance(thing, BoardView) else None
    if not isinstance(board, BoardWidget):
        return None
    board.face = BoardFace(board)
    return board.face


def install() -> None:
    """From now on whoever asks a board gets its things."""
    QAccessible.installFactory(_made)
