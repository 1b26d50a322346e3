"""The zones of a plant's drawing: D2 is the same place on the board, in the schedules and on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from core.diagram import stages, symbols
from core.diagram.control_lines import Wire, wire_boxes
from core.diagram.geometry import Box, Point, Polyline, box_of, hull, length, segments
from core.diagram.plans import Plan, Tile, planned
from core.diagram.sheets import SIZES, Sheet
from core.vocabulary import KINDS, Trait

if TYPE_CHECKING:
    from core.plant.model import Plant

A3 = Sheet("a3", *SIZES["a3"])  # what the board shows
_SHOW_STATES = (Trait.DRIVES, Trait.OPENS_BY_SIGNAL, Trait.BALANCES, Trait.HAND_VALVE)
_KEY_LINES = 10  # of the key of lines, one more for each system


@dataclass(frozen=True)
class Zones:
    """A drawing on its sheets: how it lies there, and the number of the sheet each tile lies on."""

    sheet: Sheet
    plan: Plan
    numbers: Mapping[tuple[int, int], int]

    def tiles(self) -> list[tuple[int, Tile]]:
        """Number of the sheet, from 0, and the tile on it."""
        return self._tiles

    @cached_property
    def _tiles(self) -> list[tuple[int, Tile]]:
        return [(number, self.plan.tile(i, j)) for (i, j), number in self.numbers.items()]

    def at(self, place: Point) -> str:
        """The zone of a place of the board; the sheet's number comes first where there are several."""
        for number, tile in self.tiles():
            if self.plan.single or tile.source.has(place):
                spot = tile.on_sheet(Box(*place, *place))
                if not self.sheet.frame.has((spot.x0, spot.y0)):
                    return ""
                zone = self.sheet.zone((spot.x0, spot.y0))
                return zone if len(self.numbers) == 1 else f"{number + 1}-{zone}"
        return ""

    def of(self, plant: Plant, lines: Mapping[str, Polyline], name: str) -> str:
        """Zone of an item, or of the middle of a pipe's longest run."""
        if name in plant.items:
            return self.at(plant.items[name].at)
        runs = segments(lines[name])
        if not runs:
            return self.at(lines[name][0])
        (ax, ay), (bx, by) = max(runs, key=length)
        return self.at(((ax + bx) / 2, (ay + by) / 2))

    def frame(self) -> Box:
        """The sheet's frame in units of the board; of several sheets, all that is drawn [u]."""
        if not self.plan.single:
            return Box(self.plan.columns[0], self.plan.rows[0], self.plan.columns[-1], self.plan.rows[-1])
        frame = self.sheet.frame
        return Box(*self._unit(frame.x0, frame.y0), *self._unit(frame.x1, frame.y1))

    def board(self, area: Box) -> Box:
        """A box of the one sheet [mm] as it lies on the board [u]."""
        return Box(*self._unit(area.x0, area.y0), *self._unit(area.x1, area.y1))

    def lines(self, across: bool) -> list[float]:
        """Edges of the zones on the board, from frame to frame; none on several sheets [u]."""
        if not self.plan.single:
            return []
        return [self._unit(mm, mm)[0 if across else 1] for mm in self.sheet.zone_edges(across)]

    def _unit(self, x: float, y: float) -> Point:
        (cx, cy), room, scale = self.plan.corner, self.plan.room, self.plan.scale
        return cx + (x - room.x0) / scale, cy + (y - room.y0) / scale


def zones(
    plant: Plant,
    lines: Mapping[str, Polyline],
    sheet: Sheet = A3,
    scales: Sequence[float] | None = None,
    wires: Sequence[Wire] = (),
) -> Zones:
    """How the plant's drawing lies on sheets of that size; its lines are `lines`, of control `wires`."""
    boxes = [symbols.box(item) for item in plant.items.values()]
    drawn = hull([*boxes, *(box_of(line) for line in lines.values())])
    key_lines = _KEY_LINES + len(plant.systems) + (len(stages.used(plant)) + 1) // 2
    control = [box.grown(2.0) for wire in wires for box in wire_boxes(wire)]
    plan = planned(drawn, boxes, sheet, _legend_entries(plant), key_lines, scales, control)
    runs = [box_of(run).grown(0.1) for line in lines.values() for run in segments(line)]
    return Zones(sheet, plan, plan.numbers([*boxes, *runs, *control]))


def _legend_entries(plant: Plant) -> int:
    """Most signs that the legend can have: one a kind, two where the fill tells a state of several items."""
    kinds = [item.kind for item in plant.items.values()]
    return sum(1 + (KINDS[kind].has(*_SHOW_STATES) and kinds.count(kind) > 1) for kind in set(kinds))
