"""What was solved of the thing selected: rows of words and figures; a click asks how one came about."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QToolButton, QWidget

from app.panels import figures
from app.panels.form_parts import rule


class FigureList(QWidget):
    """Hidden while there is nothing to show."""

    asked = Signal(str)
    """Key of a figure whose working is wanted."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 4, 4, 8)
        self._grid.setVerticalSpacing(3)
        self.hide()

    def show_rows(self, case: str, rows: figures.Keyed, rests: str = "") -> None:
        """Rows under the name of the case; `rests` tells on what they rest that was not taken."""
        while self._grid.count():
            widget = self._grid.takeAt(0).widget()  # type: ignore[union-attr]
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.setVisible(bool(rows))
        if not rows:
            return
        heading = QLabel(case, self)
        heading.setObjectName("heading")
        self._grid.addWidget(heading, 0, 0, 1, 2)
        for place, (word, figure, key) in enumerate(rows, start=1):
            left = QLabel(word, self)
            left.setObjectName("soft")
            self._grid.addWidget(left, place, 0)
            self._grid.addWidget(self._figure(word, figure, key), place, 1, Qt.AlignmentFlag.AlignRight)
        if rests:
            told = QLabel(rests, self)
            told.setTextFormat(Qt.TextFormat.PlainText)
            told.setWordWrap(True)
            self._grid.addWidget(told, len(rows) + 1, 0, 1, 2)
        self._grid.addWidget(rule(self), len(rows) + 2, 0, 1, 2)

    def _figure(self, word: str, figure: str, key: str) -> QWidget:
        """A figure; one with a key is a button that asks how it came about."""
        if not key:
            return QLabel(figure, self)
        button = QToolButton(self)
        button.setObjectName("figure")
        button.setText(figure)
        button.setAccessibleName(f"{word} {figure}, how it came about")
        button.setToolTip("How this number came about")
        button.clicked.connect(lambda: self.asked.emit(key))
        return button
