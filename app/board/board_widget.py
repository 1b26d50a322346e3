"""The board as one widget: view, scene and document tied together.

Its `BoardPort` face is all that gestures see.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QRect, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMenu, QVBoxLayout, QWidget

from app.board.beside import BesideLayer
from app.board.card import HoverCard
from app.board.graphics import rect_of
from app.board.overlay import Overlay
from app.board.pointer import Hit, Place
from app.board.scene import BoardScene
from app.board.sheet import STRIP, whole
from app.board.view import BoardView
from app.document import Document
from app.pens import Palette
from core.diagram.geometry import Box, Polyline, Segment, hull
from core.diagram.states import SolvedCase
from core.errors import Refusal
from core.plant.changes import Change, apply

if TYPE_CHECKING:
    from app.widgets.ask import AskBox
    from core.sizing.table import Bar

NO_IDS: frozenset[str] = frozenset()
RELABEL_AFTER = 120
"""Milliseconds of rest after a zoom before words are chosen anew."""

Card = tuple[str, str, list[tuple[str, str]]]
Describe = Callable[[str], Card]
"""Id -> title, remark and rows of the hover card."""


class BoardWidget(QWidget):
    """Shows a document and lets gestures try and do changes."""

    said = Signal(str)
    refused = Signal(str)
    gesture_began = Signal()
    gesture_ended = Signal()
    why_asked = Signal(str)
    """The reason behind a size is wanted; the answer comes by `explain`."""

    def __init__(
        self,
        document: Document,
        describe: Describe,
        figures_come: Callable[[], bool],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._document, self.describe = document, describe
        self.scene = BoardScene(figures_come, self)
        self.overlay = Overlay(self.scene)
        self.beside = BesideLayer(self.scene)
        self.view = BoardView(self.scene, self)
        self.card = HoverCard(self.view.viewport())
        self._reasons = ""
        self.face: object = None  # of whoever listens instead of looking, once somebody asks
        self.setFocusProxy(self.view)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.view)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(RELABEL_AFTER)
        self._rest.timeout.connect(self.scene.relabel_aside)
        self._reach = QTimer(self)
        self._reach.setSingleShot(True)
        self._reach.setInterval(RELABEL_AFTER)
        self._reach.timeout.connect(self._fit_labels)
        self._trying = False
        self._fresh = True
        """Whether the plant in sight has not had its first figures yet."""
        self.committing = False
        self._detail: tuple[int, float] = (0, 1.0)
        document.changed.connect(self._follow)
        document.selection_changed.connect(self._follow_selection)
        self.view.zoomed.connect(self._zoomed)
        self.view.resized.connect(self._resized)
        self.view.moved.connect(self.card.hide)
        self.view.installEventFilter(self)
        self.scene.settle(document.plant, anew=True)

    @cached_property
    def asking(self) -> AskBox:
        """Asks for a few words on the board; made when first wanted."""
        from app.widgets.ask import AskBox

        box = AskBox(self)
        box.closed.connect(self.view.setFocus)
        return box

    # ---- what the window asks -------------------------------------------------------

    def show_palette(self, palette: Palette) -> None:
        self.scene.look.palette = palette
        self.scene.show_ground()
        self.view.viewport().update()

    def show_solution(self, solution: SolvedCase | None) -> None:
        if solution is self.scene.solution:
            return
        self.card.hide()
        if self._trying:
            self.scene.solution = solution
        else:
            self.scene.show_solution(solution)
            self._reach.start()

    def fit(self) -> None:
        """The sheet; in a small window the drawing alone, or the part of the sheet one draws on."""
        zones = self.scene.ground.zones
        area = whole(zones).grown(8)
        size = self.view.viewport().size()
        if min(size.width() / area.width, size.height() / area.height) < 0.8:
            drawn = self.scene.drawn().grown(24)
            area = drawn if drawn.width > 60 else zones.plan.reach.grown(3 * STRIP)
        self.view.fit(rect_of(area))

    def go_to(self, name: str) -> None:
        """Select a thing, bring it into sight, and take the keyboard."""
        box = self.scene.box_round(name)
        if box is None:
            return
        self._document.select([name])
        if self.view.zoom < 0.6:
            self.view.set_zoom(1.0)
        seen = self.view.mapToScene(self.view.viewport().rect()).boundingRect()
        if not seen.adjusted(30, 30, -30, -30).contains(rect_of(box)):
            self.view.centerOn(*box.centre)
            self.view.moved.emit()
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def frame(self, names: Sequence[str]) -> None:
        """Select things and bring all of them into sight, near enough to be read; the keyboard stays."""
        boxes = [box for box in map(self.scene.box_round, names) if box is not None]
        self._document.select(names)
        self.overlay.frame(frozenset(names))
        if not boxes:
            return
        area = rect_of(hull(boxes).grown(40))
        seen = self.view.viewport().size()
        if self.view.zoom < 0.6:
            self.view.set_zoom(1.0)
        least = min(seen.width() / area.width(), seen.height() / area.height())
        if least < self.view.zoom:
            self.view.set_zoom(max(least, 0.4))
        if not self.shown_box().contains(area):
            self.view.centerOn(area.center())
            self.view.moved.emit()

    def hover(self, hit: Hit | None) -> None:
        """Show the card of what the pointer rests on."""
        name = hit.id if hit is not None else ""
        self.scene.hover(name)
        if name and QGuiApplication.keyboardModifiers() & Qt.KeyboardModifier.ControlModifier:
            if name != self._reasons:
                self._reasons = name
                self.why_asked.emit(name)
            return
        self._reasons = ""
        if not name:
            self.card.hide()
            return
        title, remark, rows = self.describe(name)
        if not rows and not remark:
            self.card.hide()
            return
        box = self.scene.box_round(name)
        if hit is None or box is None:
            return
        if hit.what == "pipe":
            corner = self.view.mapFromScene(*hit.place)
            avoid = QRect(corner.x() - 8, corner.y() - 8, 16, 16)
        else:
            avoid = self.view.mapFromScene(rect_of(box)).boundingRect()
        self.card.show_card(title, remark, rows, avoid, self._covered)

    def explain(self, name: str, remark: str, words: str, bars: Sequence[Bar] = (), line: str = "") -> None:
        """A card beside a thing with why it is as it is: one line, bars of the limits, and prose."""
        box = self.scene.box_round(name)
        if box is not None:
            avoid = self.view.mapFromScene(rect_of(box)).boundingRect()
            self.card.show_card(name, remark, [("", line)] if line else (), avoid, self._covered, words, bars)

    def _covered(self, spot: QRect) -> int:
        """How much of the drawing a card would hide."""
        return len(self.scene.items(self.view.mapToScene(spot).boundingRect()))

    # ---- BoardPort ------------------------------------------------------------------

    @property
    def document(self) -> Document:
        return self._document

    def hit(self, place: Place, but: frozenset[str] = NO_IDS) -> Hit | None:
        return self.scene.hit(place, but)

    def labelled(self, place: Place) -> str:
        return self.scene.labelled(place)

    def line(self, pipe: str) -> Polyline:
        return self.scene.line(pipe)

    def on_pipe(self, pipe: str, place: Place) -> Hit | None:
        return self.scene.on_pipe(pipe, place)

    def within(self, first: Place, second: Place) -> frozenset[str]:
        return self.scene.within(first, second)

    def tentative(self, changes: Sequence[Change], fresh: frozenset[str] = NO_IDS) -> bool:
        try:
            plant = apply(self._document.plant, list(changes))
        except Refusal:
            return False
        self._trying = True
        self.card.hide()
        self.scene.hand.clear()
        self.scene.show_plant(plant, fresh)
        return True

    def show_line(self, points: Sequence[Place]) -> None:
        if self._trying:
            self._trying = False
            self.scene.show_plant(self._document.plant)
        self.scene.hand.show_line(tuple(points))

    def show_guides(self, guides: Sequence[Segment]) -> None:
        self.scene.hand.show_guides(tuple(guides))

    def show_target(self, hit: Hit | None) -> None:
        self.scene.aim(hit.id if hit is not None else "")

    def show_band(self, first: Place, second: Place) -> None:
        x0, x1 = sorted((first[0], second[0]))
        y0, y1 = sorted((first[1], second[1]))
        self.scene.hand.show_band(Box(x0, y0, x1, y1))

    def clear_shown(self) -> None:
        self.scene.aim("")
        self.scene.hand.clear()
        if self._trying:
            self._trying = False
            self.scene.settle(self._document.plant)

    def commit(self, words: str, changes: Sequence[Change], run: str = "") -> bool:
        self._trying = False
        self.committing = True
        self.scene.hand.clear()  # guides of what was in the hand would look like pipes
        self.scene.aim("")
        try:
            self._document.do(words, changes, run)
        except Refusal as refusal:
            self.refused.emit(str(refusal))
            self.scene.settle(self._document.plant)
            return False
        finally:
            self.committing = False
        return True

    def refuse(self, words: str) -> None:
        self.refused.emit(words)

    def point_with(self, shape: Qt.CursorShape | None) -> None:
        if shape is None:
            self.view.viewport().unsetCursor()
        else:
            self.view.viewport().setCursor(shape)

    def ask(self, title: str, text: str, take: Callable[[str], object], at: Place) -> None:
        self.asking.ask(title, text, take, self.view.mapFromScene(*at), several=True)

    def offer(self, choices: Sequence[str], take: Callable[[int], object], at: Place) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for number, words in enumerate(choices):
            menu.addAction(words).triggered.connect(lambda _on=False, number=number: take(number))
        menu.setActiveAction(menu.actions()[0])
        menu.popup(self.view.viewport().mapToGlobal(self.view.mapFromScene(*at)))

    def say(self, words: str) -> None:
        self.view.setAccessibleDescription(words)
        self.said.emit(words)

    def reveal(self, place: Place) -> None:
        self.view.reveal(place)

    def middle(self) -> Place:
        return self.view.middle()

    def finished(self) -> None:
        self.point_with(None)
        self.gesture_ended.emit()

    # ---- following ------------------------------------------------------------------

    def _follow(self, changes: object) -> None:
        self._trying = False
        self.card.hide()
        self.scene.settle(self._document.plant, anew=changes is None)
        if changes is None:
            self._fresh = True
            self.fit()

    def _follow_selection(self) -> None:
        self.scene.select(self._document.selection)

    def _zoomed(self, zoom: float) -> None:
        self.scene.look.zoom = zoom
        detail = (sum(zoom < step for step in (0.35, 0.5, 0.7)), self.scene.look.text_scale)
        if detail != self._detail:
            self._detail = detail
            self._rest.start()
        elif self._rest.isActive():
            self._rest.start()  # the view still moves

    def _resized(self) -> None:
        if self.view.window_as_seen:
            self.view.keep_place()  # a panel beside it came or went
        elif self.view.fitted:
            self.fit()

    def _fit_labels(self) -> None:
        """Labels that came with a fresh plant's first figures may reach past the edge of a fitted view.

        Later ones may too, and the place under the eye stays.
        """
        if not self._fresh:
            return
        self._fresh = self.scene.solution is None
        if self.view.fitted and not self.shown_box().contains(rect_of(self.scene.drawn())):
            self.fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
            self.scene.look.focused = event.type() == QEvent.Type.FocusIn
            for name in self._document.selection:
                graphic = self.scene.graphic(name)
                if graphic is not None:
                    graphic.update()
        return False

    def shown_box(self) -> QRectF:
        """The part of the board in sight."""
        return self.view.mapToScene(self.view.viewport().rect()).boundingRect()
