"""What lies under the drawing: sheet, zones and lines of control, painted where they are in sight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.board import sheet
from app.board.graphics import rect_of
from app.board.look import Look
from app.pens import paint_wire
from core.diagram.control_lines import Wire
from core.diagram.geometry import Polyline, box_of, hull
from core.diagram.zones import Zones, zones
from core.plant.model import Plant


class Ground:
    """Sheet and lines of control of one scene.

    Attributes
    ----------
    zones : Zones
    sheet_due : bool
        Whether the sheet is to be laid anew by whatever lines
    """

    def __init__(self, plant: Plant) -> None:
        self.zones = zones(plant, {})
        self.sheet_due = True
        self._laid_by: Mapping[str, Polyline] = {}
        self._wires: list[tuple[Wire, QRectF]] = []

    def lay(self, plant: Plant, lines: Mapping[str, Polyline]) -> bool:
        """Lay the sheet by the plant's lines, unless it lies by them; whether it is another one."""
        if lines is self._laid_by and not self.sheet_due:
            return False
        self._laid_by, self.sheet_due = lines, False
        return self.take(zones(plant, lines))

    def take(self, fresh: Zones) -> bool:
        """Lie in zones that were made elsewhere; whether they are others."""
        changed, self.zones = fresh != self.zones, fresh
        return changed

    def show_wires(self, wires: Sequence[Wire]) -> None:
        """Lines of control; nothing is painted yet."""
        boxes = [hull([box_of(line) for line in wire.lines]).grown(4) for wire in wires]
        self._wires = [(wire, rect_of(box)) for wire, box in zip(wires, boxes, strict=True)]

    def paint(self, painter: QPainter, rect: QRectF, look: Look, wires: bool = True) -> None:
        """All of it that is in sight."""
        painter.fillRect(rect, look.palette.board)
        sheet.paint(painter, self.zones, rect, look)
        for wire, area in self._wires if wires else ():
            if rect.intersects(area):
                paint_wire(painter, wire, look.palette)
