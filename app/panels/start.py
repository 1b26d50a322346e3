"""What an empty board says: how to begin, and a few plants to begin from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QIcon, QPixmap
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

EMPTY, GUIDED = "empty board", "guided first plant"
COLUMNS, MOST, MOST_LATELY, MOST_OWN = 3, 5, 3, 4
DRAWING, SMALL = QSize(170, 84), QSize(52, 34)
MARGIN = 8
TOLD_LINES = 2


class StartPage(QWidget):
    """Lies over the board while nothing is drawn. Lets clicks beside its buttons through to the board."""

    chosen = Signal(str)
    """Path of a plant, key of an assembly, `EMPTY` or `GUIDED`."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName("Start")
        self._buttons: dict[str, QToolButton] = {}
        self.lately: frozenset[str] = frozenset()
        """Those of the buttons that open a file of the user's own."""
        self._words = QLabel(
            "Nothing drawn yet. Pull a symbol from the shelf, press I and type its name, or start from:"
        )
        self._words.setWordWrap(True)
        self._words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._grid = QGridLayout()
        self._grid.setSpacing(8)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 8, 8, 8)
        column.setSpacing(10)
        column.addWidget(self._words)
        column.addLayout(self._grid)
        self._assemblies: dict[str, QPushButton] = {}
        self._columns = COLUMNS
        self._templates: dict[str, QPushButton] = {}
        self.guided = QPushButton("Guided, in eight steps", self)
        self.guided.setToolTip(
            "Your own numbers: heat source, rooms, drinking water, pipes, circulators, print"
        )
        self.guided.clicked.connect(lambda: self.chosen.emit(GUIDED))
        self._template_words = QLabel("Or in steps, or a template; lengths are guesses until typed:", self)
        self._template_words.setWordWrap(True)
        column.addWidget(self._template_words)
        self._template_grid = QGridLayout()
        self._template_grid.setSpacing(8)
        column.addLayout(self._template_grid)
        self._own = QHBoxLayout()
        self._own.setSpacing(8)
        column.addLayout(self._own)

    def offer_assemblies(self, own: Sequence[tuple[str, str]]) -> None:
        """The user's assemblies, by key and title, the first few of them."""
        self._assemblies.clear()
        while self._own.count():
            widget = self._own.takeAt(0).widget()  # type: ignore[union-attr]
            if widget is not None:
                widget.deleteLater()
        if own:
            self._own.addWidget(QLabel("Or from your assemblies:", self))
        for key, title in own[:MOST_OWN]:
            button = QPushButton(title, self)
            button.setAccessibleName(f"Start from your assembly {title}")
            button.setToolTip(f"Take {title} into the hand")
            button.clicked.connect(lambda _=False, key=key: self.chosen.emit(key))
            button.setIconSize(SMALL)
            self._own.addWidget(button)
            self._assemblies[key] = button
        if own:
            self._own.addStretch(1)

    def show_assembly(self, key: str, drawing: QIcon) -> None:
        """How one of the user's assemblies looks."""
        if key in self._assemblies:
            self._assemblies[key].setIcon(drawing)

    def offer_templates(self, files: Sequence[Path]) -> None:
        """Plants that are there to be changed; each opens as a new one, without a file of its own."""
        for button in self._templates.values():
            self._template_grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._templates = {}
        for file in files:
            button = QPushButton(title_of(file), self)
            button.setAccessibleName(f"Start from the template {title_of(file)}")
            button.setToolTip(f"{title_of(file)}: opens as a new plant without a file")
            button.clicked.connect(lambda _=False, value=str(file): self.chosen.emit(value))
            self._templates[str(file)] = button
        self._arrange(self._columns)

    def templates(self) -> dict[str, QPushButton]:
        return dict(self._templates)

    def offer(self, files: Sequence[Path], lately: Sequence[Path] = ()) -> None:
        """The empty board, the files opened last, and some samples."""
        for button in self._buttons.values():
            self._grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = {}
        self.lately = frozenset(str(file) for file in lately[:MOST_LATELY])
        own = [(str(file), f"Recent: {title_of(file)}") for file in lately[:MOST_LATELY]]
        rest = [(str(file), title_of(file)) for file in files[:MOST] if str(file) not in self.lately]
        for value, words in [(EMPTY, "Empty board"), *own, *rest]:
            button = QToolButton(self)
            button.setObjectName("startingPoint")
            button.setText(words)
            doing = "Open" if value in self.lately else "Start from"
            button.setAccessibleName(f"{doing}: {words}")
            button.setToolTip(f"{doing}: {value if value in self.lately else words}")
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            button.setIconSize(DRAWING)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
            button.clicked.connect(lambda _=False, value=value: self.chosen.emit(value))
            self._buttons[value] = button
        self._arrange(self._columns)
        blank = QPixmap(DRAWING)
        blank.fill(Qt.GlobalColor.transparent)
        for value in self._buttons:
            self.show_drawing(value, blank)

    def files(self) -> list[Path]:
        """What the buttons start from, beside the empty board."""
        return [Path(value) for value in self._buttons if value != EMPTY]

    def tell(self, value: str, words: str) -> None:
        """A sentence about a plant, under its name and in its tool tip."""
        if value in self._buttons and words:
            button = self._buttons[value]
            name = button.text().partition("\n")[0]
            lines = _wrapped(words, button.fontMetrics(), DRAWING.width() + 6, TOLD_LINES)
            button.setText("\n".join([name, *lines, *[""] * (TOLD_LINES - len(lines))]))
            button.setToolTip(f"{button.toolTip().partition(chr(10))[0]}\n{words}")
            button.setAccessibleDescription(words)

    def show_drawing(self, value: str, picture: QPixmap) -> None:
        if value in self._buttons:
            self._buttons[value].setIcon(picture)

    def buttons(self) -> dict[str, QToolButton]:
        return dict(self._buttons)

    def place_over(self, width: int, height: int) -> None:
        """In the middle; as many columns as there is room for, up to three, then as many rows."""
        buttons = list(self._buttons.values())
        for button in buttons:
            button.show()
        shapes = [(columns, below) for columns in range(COLUMNS, 0, -1) for below in range(columns, 0, -1)]
        for columns, below in shapes:
            self._arrange(columns, below)
            if self._wanted().width() <= width:
                break
        first = len(buttons)
        while first > self._columns and self._wanted().height() > height - 2 * MARGIN:
            first = (first - 1) // self._columns * self._columns
            for button in buttons[first:]:
                button.hide()
        size = self._wanted()
        self.setGeometry(
            (width - size.width()) // 2,
            max(MARGIN, (height - size.height()) // 2),
            size.width(),
            size.height(),
        )

    def _arrange(self, columns: int, below: int = COLUMNS) -> None:
        """Pictures in so many columns, the buttons below them in fewer where their words are long."""
        self._columns = columns
        words = [self.guided, *self._templates.values()]
        pictures = list(self._buttons.values())
        for grid, buttons, wide in ((self._grid, pictures, columns), (self._template_grid, words, below)):
            for place, button in enumerate(buttons):
                grid.addWidget(button, place // wide, place % wide)

    def _wanted(self) -> QSize:
        layout = self.layout()
        self._grid.invalidate()
        self._template_grid.invalidate()
        if layout is not None:
            layout.invalidate()
        return self.sizeHint()


def _wrapped(words: str, metrics: QFontMetrics, wide: int, most: int) -> list[str]:
    """Words in so many lines at most, cut at the end of the last."""
    lines: list[str] = []
    rest = words.split()
    while rest and len(lines) < most - 1:
        taken = len(rest)
        while taken > 1 and metrics.horizontalAdvance(" ".join(rest[:taken])) > wide:
            taken -= 1
        lines.append(" ".join(rest[:taken]))
        rest = rest[taken:]
    if rest:
        lines.append(metrics.elidedText(" ".join(rest), Qt.TextElideMode.ElideRight, wide))
    return lines


def title_of(file: Path) -> str:
    """`kennel_clinic.plant.json` -> `Kennel clinic`."""
    words = file.name.removesuffix(".plant.json").replace("_", " ")
    return words[:1].upper() + words[1:]
