"""A line of text with ticks below it: each tick puts a name into the text, a second one its `not`.

What the text says is for others to know: they read it into ticks, and write ticks as text.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from app.widgets.field import Compound
from app.widgets.picks import Choice

Parts = tuple[tuple[str, bool], ...]
"""Names, and whether each stands with a `not`."""
Read = Callable[[str], tuple[str, Parts] | None]
Write = Callable[[str, Parts], str]
WORDS = ("any", "all")
COLUMNS = 2
STATES = (Qt.CheckState.Unchecked, Qt.CheckState.Checked, Qt.CheckState.PartiallyChecked)


class Ticks(Compound):
    """Emits `committed` when a tick changed or the text was left. Ticks that cannot say the text rest."""

    def __init__(
        self,
        names: Sequence[str],
        read: Read,
        write: Write,
        parent: QWidget | None = None,
        only_names: bool = False,
    ) -> None:
        super().__init__(parent)
        self._read, self._write = read, write
        self.line.committed.connect(self._typed)
        self.word = Choice([f"{word} of" for word in WORDS], list(WORDS), self)
        self.word.setAccessibleName("How they are joined")
        self.word.setToolTip("Any of the ticked signals, or all of them")
        self.word.committed.connect(self._ticked)
        self.boxes: dict[str, QCheckBox] = {}
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(1)
        if not only_names:
            grid.addWidget(self.word, 0, 0)
        for number, name in enumerate(names, 0 if only_names else 1):
            box = QCheckBox(name, self) if only_names else _Tick(name, self)
            box.setAccessibleName(name)
            box.setToolTip(name if only_names else f"{name}: on, not, or left out")
            box.clicked.connect(lambda _on=False: self._ticked())
            self.boxes[name] = box
            grid.addWidget(box, number // COLUMNS, number % COLUMNS)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.line)
        if names:
            column.addLayout(grid)
        self.word.setVisible(bool(names) and not only_names)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def put(self, text: str) -> None:
        super().put(text)
        self._show(text)

    # ---- ticks and text -------------------------------------------------------------

    def _typed(self) -> None:
        self._show(self.line.text_now())
        self.committed.emit()

    def _show(self, text: str) -> None:
        found = self._read(text)
        possible = found is not None and all(name in self.boxes for name, _ in found[1])
        word, parts = found if found is not None and possible else ("any", ())
        said = dict(parts)
        self.word.put(word)
        self.word.setEnabled(possible)
        for name, box in self.boxes.items():
            box.setEnabled(possible)
            state = STATES[0] if name not in said else STATES[2] if said[name] else STATES[1]
            box.setCheckState(state)
            box.setText(f"not {name}" if state == STATES[2] else name)

    def _ticked(self) -> None:
        parts = tuple(
            (name, box.checkState() == STATES[2])
            for name, box in self.boxes.items()
            if box.checkState() != STATES[0]
        )
        text = self._write(self.word.text_now(), parts)
        self.line.setText(text)
        self._show(text)
        self.committed.emit()


class _Tick(QCheckBox):
    """Off, on, not: Qt's own order of three states has the middle one first."""

    def __init__(self, name: str, parent: QWidget) -> None:
        super().__init__(name, parent)
        self.setTristate(True)

    def nextCheckState(self) -> None:
        self.setCheckState(STATES[(STATES.index(self.checkState()) + 1) % len(STATES)])
