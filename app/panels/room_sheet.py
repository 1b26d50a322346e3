"""Rooms side by side in every case: what each really gets, how long its heat runs, and what would cure it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QLabel,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from app.widgets.table import Table, TableRow
from core import units
from core.figures import RoomFigures
from core.plant.model import Item
from core.solve import Solution
from core.solve.room_notes import OFF
from core.vocabulary import Trait

NAME = Qt.ItemDataRole.UserRole
ZERO = 273.15
NONE = "No room is drawn yet. Draw one (Insert, room) and let emitters serve it."


class RoomSheetPane(Pane):
    """One row a room, one column a case; what the solver says of the room chosen below."""

    TITLE = "Rooms"
    HIGH = 330

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self.table = Table("Rooms by case", ("Room", "Wanted"), (), self)
        self.table.currentItemChanged.connect(lambda *_: self._say())
        self.table.itemActivated.connect(self._go)
        self._words = QLabel(NONE, self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addWidget(self.table, 1)
        column.addWidget(self._words)

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        rooms = sight.plant.with_trait(Trait.ROOM)
        self.titled.emit(f"Rooms {len(rooms)}" if rooms else "Rooms")
        current = self.table.currentItem()
        kept = current.data(0, NAME) if current is not None else ""
        cases = [case.name for case in sight.plant.solve_cases]
        self.table.clear()
        self.table.setVisible(bool(rooms))
        self.table.setHeaderLabels(["Room", "Wanted", *cases])
        for room in rooms:
            cells = [cell(room, sight.solutions.get(case), sight.display) for case in cases]
            row = TableRow([_called(room), _wanted(room, sight), *(text for text, _ in cells)])
            row.setData(0, NAME, room.id)
            for place, (_, off) in enumerate(cells, start=2):
                if off:
                    font = row.font(place)
                    font.setBold(True)
                    row.setFont(place, font)
            self.table.addTopLevelItem(row)
            if room.id == kept:
                self.table.setCurrentItem(row)
        for place in range(len(cases) + 2):
            self.table.resizeColumnToContents(place)
        first = self.table.topLevelItem(0)
        if self.table.currentItem() is None and first is not None:
            self.table.setCurrentItem(first)
        self._say()

    def focus_first(self) -> None:
        self.table.setFocus(Qt.FocusReason.TabFocusReason)

    def _say(self) -> None:
        row, sight = self.table.currentItem(), self._sight
        if row is None or sight is None:
            self._words.setText(NONE)
            return
        name = row.data(0, NAME)
        said = [
            f"{case}: {note.text}"
            for case, solution in sight.solutions.items()
            for note in solution.notes
            if note.at == name
        ]
        self._words.setText("\n".join(said) or f"{name} gets what it wants in every case solved.")

    def _go(self, row: QTreeWidgetItem, column: int) -> None:
        """To the room; from a case's column also to that case."""
        if column >= 2 and self._sight is not None:
            self.port.choose_case(self._sight.plant.solve_cases[column - 2].name)
        self.port.go_to(row.data(0, NAME))


def cell(room: Item, solution: Solution | None, display: str) -> tuple[str, bool]:
    """Words of a room in a case, and whether it misses what is wanted."""
    if solution is None:
        return "…", False
    figures = solution.at(room.id, RoomFigures)
    if figures is None:
        return "–", False
    t, wanted = figures.temperature_c, figures.wanted_c
    words = f"{units.show(t + ZERO, 'temperature', display)}, runs {100 * figures.duty_share:.0f} %"
    if abs(t - wanted) <= OFF:
        return words, False
    return f"{words}, {'too warm' if t > wanted else 'too cool'}", True


def _called(room: Item) -> str:
    return f"{room.id}  {room.label}" if room.label else room.id


def _wanted(room: Item, sight: Sight) -> str:
    wanted = room.si.get("wanted")
    return "–" if wanted is None else units.show(float(wanted), "temperature", sight.display)
