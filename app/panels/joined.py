"""What each port of an item with several is joined to: the pipe, and where its run leads."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QToolButton, QWidget

from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_place, spoken_port

FEWEST = 3
"""Ports from which on an item tells what each is joined to: in and out need no words."""

Joined = list[tuple[str, str, str]]
"""Port in words, what it is joined to, and the pipe's id ("" where there is none)."""


def joined_rows(plant: Plant, item: Item) -> Joined:
    """A row a pipe: `hot`, `L-12 to T-1 top`; a port without a pipe says so."""
    if len(item.ports) < FEWEST:
        return []
    rows: Joined = []
    for port in item.ports:
        here = PortRef(item.id, port)
        word = spoken_port(port)
        pipes = plant.pipes_at.get(here, ())
        rows += [(word, f"{name} to {_led_to(plant, here, name)}", name) for name in pipes]
        if not pipes:
            rows.append((word, "capped" if port in item.kind_info.capped else "open", ""))
    return rows


def _led_to(plant: Plant, here: PortRef, name: str) -> str:
    """The first thing beyond meetings of pipes that only pass the water on."""
    seen = {name}
    while True:
        pipe = plant.pipes[name]
        there = pipe.end if pipe.start == here else pipe.start
        beyond = [one for one in plant.pipes_at.get(there, ()) if one not in seen]
        if len(beyond) != 1 or not plant.items[there.item].has(Trait.JOINS):
            return spoken_place(*there)
        here, name = there, beyond[0]
        seen.add(name)


class JoinedList(QWidget):
    """Hidden where an item has no more than a way in and a way out."""

    asked = Signal(str)
    """Id of a pipe to go to."""

    def __init__(self, rows: Joined, parent: QWidget) -> None:
        super().__init__(parent)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 4, 4, 8)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(1, 1)
        heading = QLabel("Joined to", self)
        heading.setObjectName("heading")
        grid.addWidget(heading, 0, 0, 1, 2)
        for place, (port, words, pipe) in enumerate(rows, start=1):
            left = QLabel(port, self)
            left.setObjectName("soft")
            grid.addWidget(left, place, 0)
            grid.addWidget(self._led(port, words, pipe), place, 1, Qt.AlignmentFlag.AlignRight)
        self.setVisible(bool(rows))

    def _led(self, port: str, words: str, pipe: str) -> QWidget:
        if not pipe:
            label = QLabel(words, self)
            label.setObjectName("soft")
            return label
        button = QToolButton(self)
        button.setObjectName("figure")
        button.setText(words)
        button.setAccessibleName(f"{port}: {words}, go to {pipe}")
        button.setToolTip(f"Go to {pipe}")
        button.clicked.connect(lambda: self.asked.emit(pipe))
        return button
