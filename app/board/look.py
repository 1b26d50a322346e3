"""What all graphics of the board share while painting: colours, zoom, whether the board has the keyboard."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtGui import QPen

from app.inking import LIGHT, Palette, pen

TEXT_FROM = 0.35
"""Zoom below which the overview is painted instead of the items."""


@dataclass
class Look:
    """One object, changed in place, so that thousands of items need no telling."""

    palette: Palette = LIGHT
    zoom: float = 1.0
    focused: bool = False

    def line(self, width: float) -> float:
        """A line weight that never falls below one pixel, and stops growing at twice its size."""
        return max(min(width, 2.0 * width / self.zoom), 1.0 / self.zoom)

    def accent_pen(self, width: float) -> QPen:
        return pen(self.palette.accent, max(width, 1.2 / self.zoom))
