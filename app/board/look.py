"""What all graphics of the board share while painting: colours, zoom, whether the board has the keyboard."""

from __future__ import annotations

from dataclasses import dataclass, field

from PySide6.QtGui import QPen

from app.pens import LIGHT, Palette, pen
from core.diagram.annotations import TUBE
from core.diagram.geometry import Box, Field

LEAST_TEXT = 8.0
"""Pixels: texts of 10 units never get smaller than this."""


@dataclass
class Look:
    """One object, changed in place, so that thousands of items need no telling."""

    palette: Palette = LIGHT
    zoom: float = 1.0
    focused: bool = False
    texts: tuple[Box, ...] = ()
    """Boxes of all texts: marks of selection leave them free."""
    _places: tuple[tuple[Box, ...], Field] = field(default_factory=lambda: ((), Field()))

    def texts_in(self, area: Box) -> list[Box]:
        """Boxes of the texts in an area."""
        if self._places[0] is not self.texts:
            self._places = self.texts, Field()
            for box in self.texts:
                self._places[1].add(box)
        return sorted(box for box, _ in self._places[1].hits(area))

    @property
    def text_scale(self) -> float:
        """How much larger than drawn a text must be to be read; in steps, so that it seldom changes."""
        wanted = LEAST_TEXT / (10.0 * self.zoom)
        return max(1.0, min(round(wanted * 10) / 10, 2.3))

    def line(self, width: float) -> float:
        """A line weight that never falls below one pixel, and stops growing at twice its size."""
        return max(min(width, 2.0 * width / self.zoom), 1.0 / self.zoom)

    def accent_pen(self, width: float) -> QPen:
        return pen(self.palette.accent, max(width, 1.2 / self.zoom))

    def legible(self, quantities: tuple[str, ...]) -> tuple[str, ...]:
        """Those of the chosen quantities that there is room for at this zoom."""
        if self.zoom < 0.7:
            quantities = tuple(q for q in quantities if q != "temperature") or quantities
        figures = tuple(q for q in quantities if q != TUBE) or quantities
        return figures[:1] if self.zoom < 0.5 else quantities
