"""Widths that follow the system font: what is given in pixels holds for a font of the usual height.

And the ground that a scrolling area scrolls on.
"""

from __future__ import annotations

from PySide6.QtWidgets import QAbstractScrollArea, QWidget

USUAL_HEIGHT = 15
"""Pixels of a line at 9 points and 96 dots an inch."""


def scaled(widget: QWidget, pixels: int) -> int:
    """So many pixels, more where the widget's font is larger; never fewer."""
    return round(pixels * max(1.0, widget.fontMetrics().height() / USUAL_HEIGHT))


def own_viewport(area: QAbstractScrollArea) -> None:
    """Give a scrolling area a viewport made here.

    The first one that Qt made, handed out to Python, has Python look through every kind of widget there is,
    used or not, for what it might be.
    """
    area.setViewport(QWidget(area))
