"""The rail above the board: one button a case, each with its state in a word. Chooses; changes nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenu,
    QScrollArea,
    QToolButton,
    QWidget,
)

from core import units

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.solve import Solution

STILL = 1e-8  # [m3/s]
LATE = 400
"""Milliseconds from which on a state that is being found anew is shown fainter."""
SHORT_SHARE = 0.005  # of what was wanted: below this a circuit counts as met


def case_word(plant: Plant, solution: Solution | None) -> str:
    """A case's state in a word or two."""
    if solution is None:
        return "…"
    if not plant.pipes:
        return "no pipes"
    if not solution.converged:
        return "not solved"
    if all(abs(figures.flow_m3_s) < STILL for figures in solution.pipes.values()):
        return "no flow"
    from core.figures import EmitterFigures  # 12 ms of start-up, and asked for only once a case is solved

    wanted = {key: found for key, found in solution.of(EmitterFigures).items() if found.wanted_w}
    still = [key for key, found in wanted.items() if abs(found.flow_m3_s) < STILL]
    short = {
        key: found.short_w
        for key, found in wanted.items()
        if key not in still and found.short_w > SHORT_SHARE * found.wanted_w
    }
    if short:
        worst = max(short, key=lambda key: short[key])
        shown = units.show(short[worst], "power", "si" if plant.units == "si" else "us")
        more = f" and {len(short) - 1} more" if len(short) > 1 else ""
        return f"{worst} short {shown}{more}"
    if len(still) < len(wanted):
        # A circuit that nothing calls is off, not short; it is named so that nobody takes it for met.
        off = f", {still[0]} off" if len(still) == 1 else f", {len(still)} off" if still else ""
        return f"all met{off}"
    if wanted:
        return "circuits off"
    # A trickle that a main makes by itself is nothing that runs.
    return "runs" if any(solution.running(key) for key in solution.items) else "all off"


class _CaseButton(QAbstractButton):
    """Name in bold when chosen, state beside it in soft letters; a frame round the chosen one."""

    def __init__(self, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.name = name
        self._word = ""
        self._shown = ""
        self._faint = False
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(LATE)
        self._late.timeout.connect(self._fade)
        self._widths: tuple[float, float] | None = None
        self.stacked = False
        self.widest = 1e6
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a click leaves the keyboard where it is
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.show_word("…")

    @property
    def word(self) -> str:
        return self._word

    def show_word(self, word: str) -> None:
        """Take a state; while the case is solved anew the last one stays, fainter after a while."""
        if word == self._word:
            return
        self._word = word
        said = "solving" if word == "…" else word
        self.setAccessibleName(f"Case {self.name}, {said}")
        self.setToolTip(f"{self.name}: {said}")
        if word == "…" and self._shown:
            self._late.start()
            return
        self._late.stop()
        if word != self._shown or self._faint:
            self._shown, self._widths, self._faint = word, None, False
            self.updateGeometry()
            self.update()

    def _fade(self) -> None:
        self._faint = True
        self.update()

    def _fonts(self) -> tuple[QFont, QFont]:
        name, word = QFont(self.font()), QFont(self.font())
        name.setBold(self.isChecked())
        word.setPointSizeF(self.font().pointSizeF() * 0.82)
        return name, word

    def lengths(self) -> tuple[float, float]:
        """Width of the name (bold, so that choosing does not shift the others) and of the word."""
        if self._widths is None:
            name, word = self._fonts()
            name.setBold(True)
            self._widths = (
                QFontMetricsF(name).horizontalAdvance(self.name),
                QFontMetricsF(word).horizontalAdvance(self._shown),
            )
        return self._widths

    def sizeHint(self) -> QSize:
        (name, word), high = self.lengths(), self.fontMetrics().height()
        if not self.stacked:
            return QSize(round(name + word) + 26, high + 10)
        return QSize(round(min(max(name, word) + 18, self.widest)), 2 * high + 4)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def lay(self, stacked: bool, widest: float) -> None:
        """Name above word or before it, and no wider than this where above [px]."""
        if (stacked, widest) != (self.stacked, self.widest):
            self.stacked, self.widest = stacked, widest
            self.updateGeometry()
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = self.palette()
        box = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        if self.isChecked():
            painter.setPen(QPen(colours.windowText().color(), 1.6))
            painter.setBrush(colours.base())
            painter.drawRect(box)
        if self.hasFocus():
            painter.setPen(QPen(colours.highlight().color(), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box.adjusted(2.5, 2.5, -2.5, -2.5) if self.isChecked() else box)
        self._paint_words(painter, box.adjusted(8, 1, -7, -1))
        painter.end()

    def _paint_words(self, painter: QPainter, box: QRectF) -> None:
        """Side by side, or one above the other where the rail is short of room."""
        colours = self.palette()
        soft = colours.placeholderText().color()
        if self._faint:
            soft.setAlphaF(0.5 * soft.alphaF())
        for font, colour, text, first in (
            (self._fonts()[0], colours.windowText().color(), self.name, True),
            (self._fonts()[1], soft, self._shown, False),
        ):
            metrics = QFontMetricsF(font)
            painter.setFont(font)
            painter.setPen(colour)
            if self.stacked:
                middle = box.top() + box.height() * (0.28 if first else 0.74)
                left, text = (
                    box.left(),
                    metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width() + 1),
                )
            else:
                middle = box.center().y()
                bold = QFontMetricsF(self._fonts()[0])
                left = box.left() if first else box.left() + bold.horizontalAdvance(self.name) + 7
            base = middle + QFontMetricsF(self._fonts()[0] if not self.stacked else font).capHeight() / 2
            painter.drawText(QPointF(left, base), text)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        self._widths = None
        self.update()


class CaseRail(QWidget):
    """Emits `chosen` with the case's name."""

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None, edit: Callable[[], None] | None = None) -> None:
        """`edit` opens the page of the case shown: a double-click on its button asks for it."""
        super().__init__(parent)
        self._edit = edit
        self.setAccessibleName("Cases")
        self._buttons: dict[str, _CaseButton] = {}
        self._current = ""
        self._row = QWidget(self)
        self._layout = QHBoxLayout(self._row)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(2)
        self._layout.addStretch(1)
        self._scroll = QScrollArea(self)
        self._scroll.setWidget(self._row)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        outer = QHBoxLayout(self)
        outer.setContentsMargins(14, 4, 8, 4)
        label = QLabel("Case", self)
        label.setObjectName("soft")
        self.add = QToolButton(self)
        self.add.setText("+")
        self.add.setAccessibleName("Add a case")
        self.add.setToolTip("Add a case: design night, summer, snowfall and others")
        self.add.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.add.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.add.hide()
        outer.addWidget(label)
        outer.addWidget(self._scroll, 1)
        outer.addWidget(self.add)

    def offer(self, menu: QMenu) -> None:
        """What the button at the end of the rail offers."""
        self.add.setMenu(menu)
        self.add.setVisible(bool(self._buttons))

    @property
    def current(self) -> str:
        return self._current

    def words(self) -> dict[str, str]:
        return {name: button.word for name, button in self._buttons.items()}

    def button(self, name: str) -> QAbstractButton:
        return self._buttons[name]

    def show_cases(self, names: Sequence[str], current: str) -> None:
        """Make the rail anew only when the names changed: focus must survive an edit."""
        if list(names) != list(self._buttons):
            held = next((name for name, button in self._buttons.items() if button.hasFocus()), None)
            for button in self._buttons.values():
                self._layout.removeWidget(button)
                button.hide()
                button.deleteLater()
            self._buttons = {name: _CaseButton(name, self._row) for name in names}
            for place, (name, button) in enumerate(self._buttons.items()):
                self._layout.insertWidget(place, button)
                button.clicked.connect(lambda _checked=False, name=name: self._choose(name))
                button.installEventFilter(self)
            if held in self._buttons:
                self._buttons[held].setFocus()
        self._current = current
        self.add.setVisible(bool(names) and self.add.menu() is not None)
        for name, button in self._buttons.items():
            button.setChecked(name == current)
        self._fit_words()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_words()

    def _fit_words(self) -> None:
        """Name and word side by side; one above the other where room is short, then the others cut."""
        room = self._scroll.contentsRect().width()
        buttons = list(self._buttons.values())
        both = sum(sum(button.lengths()) + 28 for button in buttons)
        upright = sum(max(button.lengths()) + 20 for button in buttons)
        chosen = next((max(b.lengths()) + 20 for b in buttons if b.isChecked()), 0.0)
        share = (room - chosen) / max(len(buttons) - 1, 1) - 2
        for button in buttons:
            button.lay(both > room, 1e6 if upright <= room or button.isChecked() else max(share, 56.0))
        # As high as two rows wherever they may be wanted: the board must not move when a word grows.
        one = self.fontMetrics().height()
        self._scroll.setFixedHeight(2 * one + 4 if len(buttons) > 1 else one + 10)

    def show_words(self, words: Mapping[str, str]) -> None:
        for name, button in self._buttons.items():
            button.show_word(words.get(name, "…"))
        self._fit_words()

    def step(self, by: int) -> None:
        """Choose the case before or after."""
        names = list(self._buttons)
        if len(names) > 1:
            self._choose(names[(names.index(self._current) + by) % len(names)])

    def _choose(self, name: str) -> None:
        self._current = name
        button = self._buttons[name]
        button.setChecked(True)
        self._fit_words()
        self._scroll.ensureWidgetVisible(button)
        self.chosen.emit(name)

    def eventFilter(self, watched: object, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonDblClick and isinstance(watched, _CaseButton):
            self._choose(watched.name)
            if self._edit is not None:
                self._edit()
            return True
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            by = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
            if by is not None:
                self.step(by)
                self._buttons[self._current].setFocus()
                return True
        return False
