"""Widths that follow the system font: what is given in pixels holds for a font of the usual height."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

USUAL_HEIGHT = 15
"""Pixels of a line at 9 points and 96 dots an inch."""


def scaled(widget: QWidget, pixels: int) -> int:
    """So many pixels, more where the widget's font is larger; never fewer."""
    return round(pixels * max(1.0, widget.fontMetrics().height() / USUAL_HEIGHT))
