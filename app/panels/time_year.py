"""A year as twelve weighted weeks under the board: weeks, what ran, rooms, and what was taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPlainTextEdit, QSplitter, QVBoxLayout, QWidget

from app.panels.call_sheet_table import FigureTable
from app.panels.time_parts import table_rows
from app.panels.time_told import HURTS, version_words

if TYPE_CHECKING:
    from core.plant.model import Plant

NONE = (
    "A year needs a run whose weather file holds a year of rows; under One run, Set up makes one for the "
    "site. Then press Run."
)


class YearPart(QWidget):
    """The table at the left, what was taken at the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.energy = QLabel(NONE, self)
        self.energy.setWordWrap(True)
        self.energy.setTextFormat(Qt.TextFormat.PlainText)
        self.table = FigureTable("The year in weeks", self)
        self.table.horizontalHeader().hide()
        self.taken = QPlainTextEdit(self)
        self.taken.setReadOnly(True)
        self.taken.setTabChangesFocus(True)
        self.taken.setAccessibleName("What was taken for the year")
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(self.table)
        split.addWidget(self.taken)
        split.setChildrenCollapsible(False)
        split.setSizes([680, 320])
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        column.addWidget(self.energy)
        column.addWidget(split, 1)
        self.data: dict[str, Any] | None = None

    def show_year(self, data: dict[str, Any] | None, plant: Plant, system: str) -> None:
        """Show a year; None shows how to get one."""
        self.data = data
        if data is None:
            self.energy.setText(NONE)
            self.table.show_rows((), [])
            self.taken.setPlainText("")
            return
        from core.simulation.answers import energy_words, year_tables

        self.energy.setText(f"A year: {energy_words(data, system)}. {version_words(plant, data)}.")
        self.table.show_rows(*table_rows(year_tables(data, system)))
        self.taken.setPlainText("\n".join([*data["cautions"], "", HURTS]))
