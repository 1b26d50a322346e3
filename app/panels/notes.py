"""The solver's notes as a numbered list; the same numbers stand in square markers on the board."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QIcon, QPainter, QPen, QPixmap, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from core.forms.rows import plainly

if TYPE_CHECKING:
    from core.solve import Note

ROW = Qt.ItemDataRole.UserRole


class NotesPanel(Pane):
    """Emits `asked` with the id a note is about."""

    TITLE = "Notes"
    HIGH = 132

    asked = Signal(str)

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self.list = QListWidget(self)
        self.list.setAccessibleName("Notes of the solver")
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setWordWrap(True)
        self.list.setIconSize(QSize(18, 18))
        self.list.setSpacing(1)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.list.itemClicked.connect(self._go)
        self.list.itemActivated.connect(self._go)
        self._none = QLabel("", self)
        self._none.setObjectName("soft")
        self._none.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.setSpacing(4)
        column.addWidget(self._none)
        column.addWidget(self.list)
        column.addStretch(1)
        self._column = column
        self._followed: tuple[object, ...] = ()
        self.show_notes("", ())

    def follow(self, sight: Sight) -> None:
        drawn = bool(sight.plant.pipes)
        notes = sight.solution.notes if sight.solution is not None else ()
        waiting = sight.waiting and drawn and not notes  # notes of before stay to be read meanwhile
        state = (sight.case if drawn else "", notes, waiting)
        if state != self._followed:
            self._followed = state
            self.show_notes(*state)

    def focus_first(self) -> None:
        place = self.list if self.list.count() else self
        place.setFocus(Qt.FocusReason.TabFocusReason)

    def show_notes(self, case: str, notes: Sequence[Note], waiting: bool = False) -> None:
        self.titled.emit(f"Notes {len(notes)}" if notes else "Notes")
        self.remarked.emit(case if notes or waiting else "")
        self.list.clear()
        ink, paper = self.palette().text().color().name(), self.palette().base().color().name()
        places = list(dict.fromkeys(note.at for note in notes))
        for note in notes:
            number, said = places.index(note.at) + 1, plainly(note.text)
            row = QListWidgetItem(
                _square(number, ink, paper, self.devicePixelRatioF()), f"{note.at}   {said}"
            )
            row.setData(ROW, note.at)
            row.setToolTip(f"Go to {note.at}")
            row.setData(
                Qt.ItemDataRole.AccessibleTextRole, f"Note {number}, at {note.at}: {plainly(note.text)}"
            )
            self.list.addItem(row)
        self.list.setVisible(bool(notes))
        self.list.scrollToTop()
        QTimer.singleShot(0, self, self._fit_rows)
        self._none.setVisible(not notes)
        nothing = "Nothing to note about flow and heat." if case else ""
        self._none.setText("Solving…" if waiting else nothing)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_rows()

    def _fit_rows(self) -> None:
        """As high as whole rows have room for: none is cut through."""
        room = self.height() - self.list.y() - self._column.contentsMargins().bottom()
        ends = [self.list.visualItemRect(self.list.item(i)).bottom() for i in range(self.list.count())]
        first = self.list.visualItemRect(self.list.item(0)).top() if ends else 0
        whole = [end - first + 6 for end in ends if end - first + 6 <= room]
        self.list.setFixedHeight(max(whole[-1:] or [min(room, 40)]))

    def texts(self) -> list[tuple[str, str]]:
        """Id and text of each row, in order."""
        rows = (self.list.item(i) for i in range(self.list.count()))
        return [(row.data(ROW), row.text().split("   ", 1)[1]) for row in rows]

    def _go(self, row: QListWidgetItem) -> None:
        self.asked.emit(row.data(ROW))


@lru_cache(maxsize=400)
def _square(number: int, ink: str, paper: str, ratio: float) -> QIcon:
    picture = QPixmap(QSize(18, 18) * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(ink), 1.4))
    painter.setBrush(QColor(paper))
    painter.drawRect(QRectF(1.2, 1.2, 15.6, 15.6))
    font = painter.font()
    font.setPixelSize(11 if number < 10 else 9)
    font.setBold(True)
    painter.setFont(font)
    painter.drawText(QRectF(0, 0, 18, 18), Qt.AlignmentFlag.AlignCenter, str(number))
    painter.end()
    return QIcon(picture)
