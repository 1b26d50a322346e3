"""Who runs what, to be edited: equipment down, signals across; a click puts a signal in or takes it out.

A click puts a signal into any-of.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from app.panels.call_sheet_table import Cell, FigureTable, Head
from app.panels.port import PanePort
from core.controls.words import plain, said
from core.errors import Refusal
from core.forms import typed
from core.plant.changes import ReplaceItem
from core.plant.wiring import toggled
from core.vocabulary import signal_names
from core.vocabulary.properties import RUN_WHEN

if TYPE_CHECKING:
    from core.plant.model import Plant


SAID = {"disc": "runs", "dash": "does not run", "ring": "is one of several that decide on"}


class RunsPage(QWidget):
    """The matrix, and below it the expression of the row in words, editable as text."""

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._port = port
        self._plant: Plant | None = None
        self.table = FigureTable("Who runs what", self, whole_rows=False)
        self.words = QLineEdit(self)
        self.words.setAccessibleName("Turns on when, in words")
        self.words.setToolTip("Such as AQ-1 or TH-1; SW-1 and not AQ-1; always; never. Return takes it.")
        self.words.setPlaceholderText("A row shows here in words when it runs.")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.table, 1)
        column.addWidget(self.words)
        self.table.picked.connect(self._toggle)
        self.table.moved.connect(lambda _row: self._show_words())
        self.words.returnPressed.connect(self._take_words)

    def show_plant(self, plant: Plant) -> None:
        self._plant = plant
        signals = [key for key in plant.signal_ids if plant.items[key].stage != "to_remove"]
        heads = [
            Head("runs"),
            *(Head(key, plant.items[key].label) for key in signals),
            Head("when"),
        ]
        rows = []
        for key in equipment(plant):
            item = plant.items[key]
            raw = item.props.get("run_when")
            simple = plain(raw)
            named = set(signal_names(raw))
            cells = [Cell(key, heavy=True, tip=item.label or item.kind_info.title, key=("go", key))]
            for signal in signals:
                mark = "disc" if signal in (simple or ()) else "ring" if signal in named else "dash"
                spoken = f"{signal} {SAID[mark]} {key}"
                cells.append(Cell(mark=mark, spoken=spoken, tip=spoken, key=("toggle", key, signal)))
            cells.append(Cell(said(raw), soft=simple is not None, tip=said(raw), key=("words", key)))
            rows.append(cells)
        self.table.show_rows(heads, rows)
        self._show_words()

    def row_item(self) -> str:
        """Id of the equipment in the row the cursor stands in; empty without."""
        row = self.table.currentIndex().row()
        return self.table.cell_at(row, 0).text if row >= 0 else ""

    def _show_words(self) -> None:
        key = self.row_item()
        item = self._plant.items.get(key) if self._plant is not None else None
        if item is not None and not (self.words.hasFocus() and self.words.isModified()):
            self.words.setText(said(item.props.get("run_when")))
        self.words.setEnabled(item is not None)

    def _toggle(self, key: Any) -> None:
        if key[0] == "go":
            self._port.go_to(key[1])
            return
        if key[0] == "words":
            self.words.setFocus(Qt.FocusReason.OtherFocusReason)
            self.words.selectAll()
            return
        _, name, signal = key
        assert self._plant is not None
        raw = self._plant.items[name].props.get("run_when")
        found, value = toggled(raw, signal)
        if not found:
            self._port.say(f"{name} runs on more than any-of: change it in words")
            self.words.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self._commit(name, value, f"Let {signal} {'run' if signal in str(value) else 'not run'} {name}")

    def _take_words(self) -> None:
        name = self.row_item()
        if not name:
            return
        try:
            value = typed.from_text(RUN_WHEN, self.words.text())
        except Refusal as refusal:
            self._port.warn(str(refusal))
            return
        self.words.setModified(False)
        value = None if value is True else value
        self._commit(name, value, f"Change when {name} runs")
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _commit(self, name: str, value: Any, words: str) -> None:
        assert self._plant is not None
        item = self._plant.items[name]
        props = {key: raw for key, raw in item.props.items() if key != "run_when"}
        if value is not None:
            props["run_when"] = value
        self._port.commit(words, [ReplaceItem(replace(item, props=props))])


def equipment(plant: Plant) -> list[str]:
    """What signals can run, in the order of the file."""
    return [
        i.id for i in plant.items.values() if "run_when" in i.kind_info.properties and i.stage != "to_remove"
    ]
