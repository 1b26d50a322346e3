"""The list of keys, from the table of actions. A window of its own that blocks nothing."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QHeaderView, QTableWidget, QTableWidgetItem, QVBoxLayout, QWidget

from app import actions


def key_rows() -> list[tuple[str, str]]:
    """Keys and what they do, by menu, then the board's own."""
    rows: list[tuple[str, str]] = []
    for spec in actions.TABLE:
        if spec.keys:
            native = QKeySequence.SequenceFormat.NativeText
            keys = ", ".join(QKeySequence(key).toString(native) for key in spec.keys)
            words = spec.words.replace("&", "").rstrip("…")
            said = spec.hint.lower().startswith(words.partition(" ")[0].lower())
            rows.append((keys, spec.hint if said else f"{words}: {spec.hint[:1].lower()}{spec.hint[1:]}"))
    return [*rows, *actions.BOARD_KEYS]


class KeysPage(QDialog):
    """Every key of the window."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys")
        self.setAccessibleName("Keys")
        rows = key_rows()
        table = QTableWidget(len(rows), 2, self)
        table.setAccessibleName("Keys of the window")
        table.setHorizontalHeaderLabels(["Key", "What it does"])
        table.verticalHeader().hide()
        table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        table.setShowGrid(False)
        table.setTabKeyNavigation(False)
        table.setWordWrap(True)
        for place, (keys, words) in enumerate(rows):
            for column, text in enumerate((keys, words)):
                cell = QTableWidgetItem(text)
                cell.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
                table.setItem(place, column, cell)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        table.setColumnWidth(0, 170)
        table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(table)
        self.resize(620, 560)
