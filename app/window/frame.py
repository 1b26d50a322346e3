"""Where the parts of the window stand: who gets how much room, who shows, and the order of F6 and Tab."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, cast

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QStatusBar, QVBoxLayout, QWidget

from app.board.board_widget import BoardWidget
from app.panels.cases import CaseRail
from app.panels.particulars import Particulars
from app.panels.port import Pane
from app.panels.shelf import Shelf
from app.widgets.measure import scaled
from app.widgets.message_bar import MessageBar
from app.widgets.path_bar import PathBar
from app.window.chrome import QuantityRow, TopRow, line_across
from app.window.files import Files
from app.window.panes import Under

MOST_BELOW = 0.65  # of the height, for pages under the board


class FramedWindow(Protocol):
    """The parts of a window that want a place in it."""

    board: BoardWidget
    bar: MessageBar
    files: Files
    shelf: Shelf
    rail: CaseRail
    particulars: Particulars
    under: Under
    top: TopRow
    quantities: QuantityRow


class LaidOver(QObject):
    """Bars over the top of a widget, one below the other: they come and go, and it stays where it is."""

    def __init__(self, below: QWidget, bars: Sequence[QWidget]) -> None:
        super().__init__(below)
        self._below, self._bars = below, tuple(bars)
        for bar in self._bars:
            bar.setParent(below.parentWidget())
            bar.setAutoFillBackground(True)
            bar.hide()
        for widget in (below, *self._bars):
            widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        kinds = (QEvent.Type.Show, QEvent.Type.Resize, QEvent.Type.Move, QEvent.Type.LayoutRequest)
        if event.type() in kinds or event.type() == QEvent.Type.Hide:
            self._place()
        return False

    def _place(self) -> None:
        area = self._below.geometry()
        top = area.top()
        for bar in self._bars:
            if not bar.isHidden():
                high = (
                    bar.heightForWidth(area.width()) if bar.hasHeightForWidth() else bar.sizeHint().height()
                )
                bar.setGeometry(area.left(), top, area.width(), high)
                bar.raise_()
                top += high


class Frame(QWidget):
    """Shelf, board and particulars side by side, under the row of menus; pages under shelf and board."""

    def __init__(self, window: FramedWindow) -> None:
        super().__init__()
        self._window = window
        middle = QWidget(self)
        column = _tight(QVBoxLayout(middle))
        rail_row = QHBoxLayout()
        rail_row.setSpacing(0)
        rail_row.addWidget(window.rail, 1)
        rail_row.addWidget(window.quantities)
        column.addLayout(rail_row)
        column.addWidget(line_across(middle))
        column.addWidget(window.board, 1)
        self._laid_over = LaidOver(window.board, (window.files.asks.bar, window.bar))
        self.upper = _split(Qt.Orientation.Horizontal, (window.shelf, middle), 1)
        self.down = _split(Qt.Orientation.Vertical, (self.upper, window.under), 0)
        self.across = _split(Qt.Orientation.Horizontal, (self.down, window.particulars), 0)
        window.shelf.setMinimumWidth(120)
        window.particulars.setMinimumWidth(scaled(self, 250))
        window.under.setMinimumHeight(80)
        rows = _tight(QVBoxLayout(self))
        rows.addWidget(window.top)
        rows.addWidget(line_across(self))
        rows.addWidget(self.across, 1)

    def panel(self, name: str) -> QWidget:
        """The panel that an action `NAME_shown` shows or hides."""
        return self._window.under if name == "notes" else cast("QWidget", getattr(self._window, name))

    def stand_beside(self, guide: QWidget) -> None:
        """Give the guide the shelf's place; where there is room for both, beside it."""
        if self.upper.indexOf(guide) < 0:
            self.upper.insertWidget(1, guide)
            guide.setMinimumWidth(scaled(self, 270))
        roomy = self.width() >= scaled(self, 1500)
        self._window.shelf.setVisible(roomy and self._window.shelf.isVisible())
        guide.show()
        shelf = self._window.shelf.width() if self._window.shelf.isVisible() else 0
        beside = scaled(self, 300)
        self.upper.setSizes([shelf, beside, self.upper.width() - shelf - beside])

    def share_out(self) -> None:
        """Shelf and particulars as wide as they need; the board gets the rest, at least half."""
        wide, high = self.window().width(), self.window().height()
        shelf, beside = scaled(self, 196 if wide >= 1300 else 172), scaled(self, 304)
        self.across.setSizes([wide - beside, beside])
        self.upper.setSizes([shelf, wide - beside - shelf])
        under = 132 if high >= 850 else 100
        self.down.setSizes([high - under, under])

    def make_room_below(self, wanted: int) -> None:
        """Let the strip under the board grow to a height [px]; the board keeps a usable part."""
        high, wanted = self.down.height(), scaled(self, wanted)
        if self.down.sizes()[1] < wanted and high:
            below = min(wanted, round(MOST_BELOW * high))
            self.down.setSizes([high - below, below])

    def _panes(self) -> list[QWidget]:
        window, rail = self._window, self._window.rail
        case = rail.button(rail.current) if rail.current in rail.words() else rail
        panes = [window.files.asks.bar, window.bar, window.shelf.search, case, window.board.view]
        return [pane for pane in [*panes, *window.under.in_sight(), window.particulars] if pane.isVisible()]

    def go_pane(self, step: int) -> None:
        """The keyboard to the pane after or before the one that has it."""
        panes = self._panes()
        focus = self.window().focusWidget()
        held = [i for i, pane in enumerate(panes) if focus is not None and _holds(pane, focus)]
        here = held[0] if held else 0
        pane = panes[(here + step) % len(panes)]
        if isinstance(pane, (Particulars, Pane, MessageBar, PathBar)):
            pane.focus_first()
        else:
            pane.setFocus(Qt.FocusReason.TabFocusReason)

    def in_order(self) -> list[QWidget]:
        """The parts as Tab goes through them."""
        window = self._window
        beside = [window.shelf, window.files.asks.bar, window.bar, window.rail, window.quantities]
        return [window.top, *beside, window.board, window.under, window.particulars]


def status_labels(status: QStatusBar) -> tuple[QLabel, QLabel, QLabel]:
    """What is solved, what was said last, and the zoom, put in the status line."""
    solved, hint, zoom = (QLabel(status) for _ in range(3))
    for label in (solved, hint, zoom):
        label.setObjectName("soft")
        label.setTextFormat(Qt.TextFormat.PlainText)
    status.setSizeGripEnabled(False)
    status.setContentsMargins(12, 0, 12, 0)
    status.addWidget(solved)
    status.addWidget(hint, 1)
    status.addPermanentWidget(zoom)
    hint.setAlignment(Qt.AlignmentFlag.AlignCenter)
    hint.setMinimumWidth(10)
    return solved, hint, zoom


def _split(turn: Qt.Orientation, parts: Sequence[QWidget], stretched: int) -> QSplitter:
    """Parts beside or under each other, one of which takes what room there is."""
    splitter = QSplitter(turn)
    splitter.setHandleWidth(1)
    splitter.setChildrenCollapsible(False)
    for part in parts:
        splitter.addWidget(part)
    splitter.setStretchFactor(stretched, 1)
    return splitter


def _tight(column: QVBoxLayout) -> QVBoxLayout:
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    return column


def _holds(pane: QWidget, focus: QWidget) -> bool:
    return pane is focus or pane.isAncestorOf(focus)
