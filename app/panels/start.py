"""What an empty board says: how to begin, and a few plants to begin from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QToolButton, QVBoxLayout, QWidget

EMPTY = "empty board"
DRAWING = QSize(190, 110)


class StartPage(QWidget):
    """Lies over the board while nothing is drawn. Lets clicks beside its buttons through to the board."""

    chosen = Signal(str)
    """Path of a plant, or `EMPTY`."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName("Start")
        self._buttons: dict[str, QToolButton] = {}
        self._words = QLabel(
            "Nothing drawn yet. Pull a symbol from the shelf, press I and type its name, or start from:"
        )
        self._words.setWordWrap(True)
        self._words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._grid = QGridLayout()
        self._grid.setSpacing(14)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 16, 20, 16)
        column.setSpacing(14)
        column.addWidget(self._words)
        column.addLayout(self._grid)

    def offer(self, files: Sequence[Path]) -> None:
        """The empty board and up to three samples."""
        for button in self._buttons.values():
            button.deleteLater()
        self._buttons = {}
        for place, (value, words) in enumerate(
            [(EMPTY, "Empty board"), *((str(file), title_of(file)) for file in files[:3])]
        ):
            button = QToolButton(self)
            button.setObjectName("startingPoint")
            button.setText(words)
            button.setAccessibleName(f"Start from: {words}")
            button.setToolTip(f"Start from: {words}")
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            button.setIconSize(DRAWING)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
            button.clicked.connect(lambda _=False, value=value: self.chosen.emit(value))
            self._grid.addWidget(button, place // 2, place % 2)
            self._buttons[value] = button
        blank = QPixmap(DRAWING)
        blank.fill(Qt.GlobalColor.transparent)
        for value in self._buttons:
            self.show_drawing(value, blank)

    def show_drawing(self, value: str, picture: QPixmap) -> None:
        if value in self._buttons:
            self._buttons[value].setIcon(picture)

    def buttons(self) -> dict[str, QToolButton]:
        return dict(self._buttons)

    def place_over(self, width: int, height: int) -> None:
        size = self.sizeHint()
        self.setGeometry(
            (width - size.width()) // 2, max(8, (height - size.height()) // 2), size.width(), size.height()
        )


def title_of(file: Path) -> str:
    """`kennel_clinic.plant.json` -> `Kennel clinic`."""
    words = file.name.removesuffix(".plant.json").replace("_", " ")
    return words[:1].upper() + words[1:]
