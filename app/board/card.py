"""The card beside what the pointer rests on: all its figures.

A picture only; it never takes the mouse or the keyboard.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from core.sizing.table import Bar

PAD = 9
GAP = 18
WIDEST = 340
"""Pixels of a card that holds a paragraph."""
LIMIT_AT = 0.62
"""Where on a bar the limit stands, as a share of its width; what is far beyond is drawn at its end."""
DOT = 7  # [px] of a mark on a bar


class HoverCard(QWidget):
    """Title, a soft remark beside it, rows of a soft word and a figure, and a paragraph."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._room = parent
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName("Figures")
        self.title, self.remark = "", ""
        self.rows: tuple[tuple[str, str], ...] = ()
        self.words = ""
        self.bars: tuple[Bar, ...] = ()
        self.hide()

    def show_card(
        self,
        title: str,
        remark: str,
        rows: Sequence[tuple[str, str]],
        avoid: QRect,
        covers: Callable[[QRect], int] = lambda _spot: 0,
        words: str = "",
        bars: Sequence[Bar] = (),
    ) -> None:
        """Beside a place of the parent that the card must not cover, where it `covers` the least."""
        self.title, self.remark, self.rows, self.words = title, remark, tuple(rows), words
        self.bars = tuple(bars)
        size = self._size()
        self.resize(size)
        room = self._room.rect().adjusted(4, 4, -4, -4)
        spots = [spot for spot in _spots(avoid, size) if room.contains(spot)]
        if spots:
            spot = min(spots, key=covers)
        else:
            spot = _spots(avoid, size)[0]
            spot.moveLeft(max(room.left(), min(spot.left(), room.right() - size.width())))
            spot.moveTop(max(room.top(), min(spot.top(), room.bottom() - size.height())))
        self.setGeometry(spot)
        self.show()
        self.raise_()
        self.update()

    def text(self) -> str:
        """All of it as plain text, for whoever cannot see it."""
        rows = "; ".join(f"{word} {figure}".strip() for word, figure in self.rows)
        said = "; ".join(part for part in (rows, self.words) if part)
        return f"{self.title} {self.remark}: {said}".removesuffix(": ")

    def _fonts(self) -> tuple[QFont, QFont, QFont]:
        title, plain, small = QFont(self.font()), QFont(self.font()), QFont(self.font())
        title.setBold(True)
        plain.setPointSizeF(self.font().pointSizeF() * 0.92)
        small.setPointSizeF(self.font().pointSizeF() * 0.85)
        return title, plain, small

    def _size(self) -> QSize:
        title, plain, small = (QFontMetricsF(font) for font in self._fonts())
        head = title.horizontalAdvance(self.title) + 12 + small.horizontalAdvance(self.remark)
        body = max(
            (small.horizontalAdvance(a) + 16 + plain.horizontalAdvance(b) for a, b in self.rows), default=0
        )
        height = title.height() + 4 + len(self.rows) * (plain.height() + 1)
        height += len(self.bars) * _bar_height(plain, small)
        wide = max(head, body, 120, WIDEST if self.bars else 0)
        if self.words:
            wide = max(wide, min(WIDEST, plain.horizontalAdvance(self.words)))
            height += self._paragraph(plain, wide) + 2
        return QSize(round(wide) + 2 * PAD, round(height) + 2 * PAD - 2)

    def _paragraph(self, metrics: QFontMetricsF, wide: float) -> float:
        room = QRectF(0, 0, wide, 10_000)
        return metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, self.words).height()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        colours = self.palette()
        painter.setPen(QPen(colours.windowText().color(), 1))
        painter.setBrush(colours.base())
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        title, plain, small = self._fonts()
        left, right, y = PAD, self.width() - PAD, float(PAD)
        ink, soft = colours.windowText().color(), colours.placeholderText().color()
        high = QFontMetricsF(title).height()
        line = QRectF(left, y, right - left, high)
        ends = Qt.AlignmentFlag.AlignVCenter
        for font, colour, side, text in (
            (title, ink, Qt.AlignmentFlag.AlignLeft, self.title),
            (small, soft, Qt.AlignmentFlag.AlignRight, self.remark),
        ):
            painter.setFont(font)
            painter.setPen(colour)
            painter.drawText(line, side | ends, text)
        y += high + 1
        painter.setPen(QPen(colours.mid().color(), 1))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        y += 3
        step = QFontMetricsF(plain).height() + 1
        for word, figure in self.rows:
            line = QRectF(left, y, right - left, step)
            painter.setFont(small)
            painter.setPen(soft)
            painter.drawText(line, Qt.AlignmentFlag.AlignLeft | ends, word)
            painter.setFont(plain)
            painter.setPen(ink)
            side = Qt.AlignmentFlag.AlignRight if word else Qt.AlignmentFlag.AlignLeft
            painter.drawText(line, side | ends, figure)
            y += step
        for bar in self.bars:
            self._paint_bar(painter, bar, QRectF(left, y, right - left, 0.0))
            y += _bar_height(QFontMetricsF(plain), QFontMetricsF(small))
        if self.words:
            painter.setFont(plain)
            painter.setPen(ink)
            room = QRectF(left, y + 2, right - left, self.height() - y)
            painter.drawText(room, Qt.TextFlag.TextWordWrap, self.words)
        painter.end()

    def _paint_bar(self, painter: QPainter, bar: Bar, area: QRectF) -> None:
        """Title and figure; a line with the limit across it; the proposed filled, its neighbours hollow."""
        _, plain, small = self._fonts()
        colours = self.palette()
        ink, soft = colours.windowText().color(), colours.placeholderText().color()
        step, under = QFontMetricsF(plain).height(), QFontMetricsF(small).height()
        head = QRectF(area.left(), area.top() + 2, area.width(), step)
        for font, colour, side, text in (
            (small, soft, Qt.AlignmentFlag.AlignLeft, bar.title),
            (plain, ink, Qt.AlignmentFlag.AlignRight, bar.words),
        ):
            painter.setFont(font)
            painter.setPen(colour)
            painter.drawText(head, side | Qt.AlignmentFlag.AlignVCenter, text)
        y = head.bottom() + DOT
        limit = area.left() + LIMIT_AT * area.width()
        painter.setPen(QPen(soft, 1))
        painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))
        painter.setPen(QPen(ink, 2))
        painter.drawLine(QPointF(limit, y - DOT), QPointF(limit, y + DOT))
        painter.setFont(small)
        free = area.left()
        for mark in sorted(bar.marks, key=lambda one: one.share):
            x = area.left() + min(mark.share * LIMIT_AT * area.width(), area.width() - DOT)
            painter.setPen(QPen(ink, 1.4))
            painter.setBrush(ink if mark.chosen else colours.base())
            painter.drawRect(QRectF(x - DOT / 2, y - DOT / 2, DOT, DOT))
            wide = painter.fontMetrics().horizontalAdvance(_size_of(mark.name)) + 2
            start = max(free, min(x - wide / 2, area.right() - wide))
            painter.setPen(ink if mark.chosen else soft)
            spot = QRectF(start, y + DOT, wide, under)
            painter.drawText(spot, Qt.AlignmentFlag.AlignLeft, _size_of(mark.name))
            free = start + wide + 6


def _size_of(name: str) -> str:
    """The size without its material: all marks of one bar are of one."""
    head, inch, _ = name.partition(" in ")
    return f"{head}{inch}".strip() if inch else name


def _bar_height(plain: QFontMetricsF, small: QFontMetricsF) -> float:
    return plain.height() + small.height() + 2 * DOT + 8


def _spots(avoid: QRect, size: QSize) -> list[QRect]:
    """Right, left, below, above of a place; then the same further off."""
    wide, high = size.width(), size.height()
    out: list[QRect] = []
    for gap in (GAP, 4 * GAP, 9 * GAP):
        for left in (avoid.right() + gap, avoid.left() - gap - wide):
            out += [QRect(left, top, wide, high) for top in (avoid.top(), avoid.bottom() - high)]
        for top in (avoid.bottom() + gap, avoid.top() - gap - high):
            out.append(QRect(avoid.center().x() - wide // 2, top, wide, high))
    return out
