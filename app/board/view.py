"""The window onto the board: pan, zoom, fit, and Qt's events turned into `Pointer`s for the hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsView, QWidget

from app.board.pointer import Button, Place, Pointer
from app.widgets.measure import own_viewport

if TYPE_CHECKING:
    from app.board.scene import BoardScene

LEAST_ZOOM, GREATEST_ZOOM = 0.05, 6.0
ZOOM_STEP = 1.2
OVERVIEW_BELOW = 0.35
CROWD, ZOOM_CROWD = 250, 100
"""Things in sight from which on only their outlines are drawn while the view moves, or is zoomed.

Moving, most of the picture is only shifted; zooming, all of it is painted, and every letter in a new size.
"""
STILL_AFTER = 120
"""Milliseconds after the last move until all is drawn again."""
_BUTTONS: dict[Qt.MouseButton, Button] = {
    Qt.MouseButton.LeftButton: "left",
    Qt.MouseButton.RightButton: "right",
}
KIND_MIME = "application/x-wetside-kind"
DRAGGED = (QEvent.Type.DragEnter, QEvent.Type.DragMove, QEvent.Type.DragLeave, QEvent.Type.Drop)


class Hand(Protocol):
    """What the view tells whoever draws. Every method that returns a bool says whether the event was used."""

    def press(self, pointer: Pointer) -> None: ...
    def move(self, pointer: Pointer) -> None: ...
    def release(self, pointer: Pointer) -> None: ...
    def double(self, pointer: Pointer) -> None: ...
    def key(self, key: Qt.Key, shift: bool, control: bool) -> bool: ...
    def tab(self, forward: bool) -> bool: ...
    def drag_in(self, kind: str, pointer: Pointer) -> bool: ...
    def drag_out(self) -> None: ...
    def left(self) -> None: ...


class BoardView(QGraphicsView):
    """Shows a `BoardScene`. Zoom is pixels per board unit."""

    zoomed = Signal(float)
    moved = Signal()
    resized = Signal()
    context_asked = Signal(QPoint)

    def __init__(self, scene: BoardScene, parent: QWidget | None = None) -> None:
        super().__init__(scene, parent)
        self._board_scene = scene  # the view does not own its scene
        self.hand: Hand | None = None
        self._panning: QPoint | None = None
        self._space = False
        self._fitted = True
        self._passing = False
        self._seen: tuple[QSize, QPoint, QPointF] | None = None
        """When last painted: the window's size, where the view lay in it, and what of the board was there."""
        self._still = QTimer(self)
        self._still.setSingleShot(True)
        self._still.setInterval(STILL_AFTER)
        self._still.timeout.connect(self._come_to_rest)
        self.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.setCacheMode(QGraphicsView.CacheModeFlag.CacheBackground)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setMouseTracking(True)
        self.setAcceptDrops(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Board")
        own_viewport(self)
        self.viewport().setAccessibleName("Board")
        self.viewport().setMouseTracking(True)

    # ---- zoom and pan ---------------------------------------------------------------

    @property
    def zoom(self) -> float:
        return self.transform().m11()

    def set_zoom(self, zoom: float, about: QPointF | None = None) -> None:
        """Zoom about a point of the viewport, its middle when not said."""
        zoom = min(max(zoom, LEAST_ZOOM), GREATEST_ZOOM)
        about = about if about is not None else QPointF(self.viewport().rect().center())
        before = self.mapToScene(about.toPoint())
        self.resetTransform()
        self.scale(zoom, zoom)
        offset = QPointF(self.mapFromScene(before)) - about
        self._scroll(round(offset.x()), round(offset.y()))
        self._fitted = False
        self._pass_by(ZOOM_CROWD)
        self.zoomed.emit(zoom)
        self.moved.emit()

    def fit(self, rect: QRectF) -> None:
        """The whole of a board rectangle in the window, never closer than 150 %."""
        if rect.isEmpty() or self.viewport().width() < 2:
            return
        size = self.viewport().size()
        zoom = min(size.width() / rect.width(), size.height() / rect.height(), 1.5)
        self.set_zoom(zoom)
        self.centerOn(rect.center())
        self._fitted = True
        self.moved.emit()

    @property
    def fitted(self) -> bool:
        """Whether the last move of the view was `fit`: then a resize fits again."""
        return self._fitted

    @property
    def window_as_seen(self) -> bool:
        """Whether the window still has the size that it was last painted in: then parts of it moved."""
        return self._seen is not None and self._seen[0] == self.window().size()

    def keep_place(self) -> None:
        """Scroll so that what was seen lies where it lay in the window, whatever moved beside it."""
        if self._seen is None:
            return
        _, corner, place = self._seen
        wanted = corner - self.viewport().mapTo(self.window(), QPoint(0, 0))
        now = self.mapFromScene(place)
        self._scroll(now.x() - wanted.x(), now.y() - wanted.y())
        self.moved.emit()

    def pan(self, dx: int, dy: int) -> None:
        """Move the paper by pixels."""
        self._scroll(-dx, -dy)
        self._fitted = False
        self._pass_by(CROWD)
        self.moved.emit()

    def reveal(self, place: Place, margin: int = 60) -> None:
        """Scroll just so far that a place is in sight."""
        self.ensureVisible(QRectF(place[0], place[1], 1, 1), margin, margin)
        self.moved.emit()

    def middle(self) -> Place:
        """The board place in the middle of the window."""
        point = self.mapToScene(self.viewport().rect().center())
        return point.x(), point.y()

    def _scroll(self, dx: int, dy: int) -> None:
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        across.setValue(across.value() + dx)
        down.setValue(down.value() + dy)

    def _pass_by(self, most: int) -> None:
        """While a crowd moves past, outlines will do: each frame comes in time."""
        if self._board_scene.crowd(self.mapToScene(self.viewport().rect()).boundingRect()) > most:
            self._passing = True
            self.viewport().update()
            self._still.start()

    def _come_to_rest(self) -> None:
        self._passing = False
        self.viewport().update()

    # ---- Qt's events ----------------------------------------------------------------

    def pointer(self, event: QMouseEvent | QDropEvent, clicks: int = 1) -> Pointer:
        point = self.mapToScene(event.position().toPoint())
        held = event.modifiers()
        button: Button = "left"
        if isinstance(event, QMouseEvent):
            button = _BUTTONS.get(event.button(), "none")
        return Pointer(
            (point.x(), point.y()),
            bool(held & Qt.KeyboardModifier.ShiftModifier),
            bool(held & Qt.KeyboardModifier.ControlModifier),
            bool(held & Qt.KeyboardModifier.AltModifier),
            button,
            clicks,
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        pans = event.button() == Qt.MouseButton.MiddleButton
        if pans or (self._space and event.button() == Qt.MouseButton.LeftButton):
            self._panning = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif self.hand is not None:
            self.hand.press(self.pointer(event))
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._panning is not None:
            here = event.position().toPoint()
            step = here - self._panning
            self._panning = here
            self.pan(step.x(), step.y())
        elif self.hand is not None:
            self.hand.move(self.pointer(event))
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._panning is not None:
            self._panning = None
            self.viewport().unsetCursor()
        elif self.hand is not None:
            self.hand.release(self.pointer(event))
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self.hand is not None:
            self.hand.double(self.pointer(event, clicks=2))
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        held = event.modifiers()
        fingers, notches = event.pixelDelta(), event.angleDelta()
        if held & Qt.KeyboardModifier.ShiftModifier:
            self.pan(notches.y() or notches.x(), 0)
        elif not fingers.isNull() and not held & Qt.KeyboardModifier.ControlModifier:
            self.pan(fingers.x(), fingers.y())
        else:
            self.set_zoom(self.zoom * ZOOM_STEP ** (notches.y() / 120), event.position())
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers()
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = True
            self.viewport().setCursor(Qt.CursorShape.OpenHandCursor)
            event.accept()
            return
        used = self.hand is not None and self.hand.key(
            Qt.Key(event.key()),
            bool(held & Qt.KeyboardModifier.ShiftModifier),
            bool(held & Qt.KeyboardModifier.ControlModifier),
        )
        event.setAccepted(used)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = False
            self.viewport().unsetCursor()

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab walks through the items first, and leaves the board after the last: never a trap."""
        if self.hand is not None and self.hand.tab(forward):
            return True
        return super().focusNextPrevChild(forward)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._space = False
        super().focusOutEvent(event)
        self.viewport().update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.viewport().update()

    def event(self, event: QEvent) -> bool:
        """What is dragged over a page that lies on the board is meant for the board."""
        if event.type() in DRAGGED:
            return self.viewportEvent(event)
        return super().event(event)

    def viewportEvent(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Leave and self.hand is not None:
            self.hand.left()
        return super().viewportEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.resized.emit()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        self.context_asked.emit(event.globalPos())
        event.accept()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        kind = bytes(event.mimeData().data(KIND_MIME).data()).decode("utf-8", "replace")
        if kind and self.hand is not None and self.hand.drag_in(kind, self.pointer(event)):
            event.acceptProposedAction()
        else:
            event.ignore()

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        if self.hand is not None:
            self.hand.move(self.pointer(event))
        event.acceptProposedAction()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        if self.hand is not None:
            self.hand.drag_out()
        event.accept()

    def dropEvent(self, event: QDropEvent) -> None:
        if self.hand is not None:
            self.hand.press(self.pointer(event))
            self.hand.release(self.pointer(event))
        event.acceptProposedAction()

    # ---- far out: one path instead of thousands of items ----------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        corner = self.viewport().mapTo(self.window(), QPoint(0, 0))
        self._seen = self.window().size(), corner, self.mapToScene(QPoint(0, 0))
        with self._board_scene.first():
            self._paint(event)

    def _paint(self, event: QPaintEvent) -> None:
        if self.zoom >= OVERVIEW_BELOW and not self._passing:
            super().paintEvent(event)
            return
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setClipRegion(event.region())
        painter.setTransform(self.viewportTransform())
        self._board_scene.paint_overview(painter, self.mapToScene(event.rect()).boundingRect(), self.zoom)
        painter.end()
