"""Sizes of paper, landscape, and the places every sheet has: frame, title block, zones."""

from __future__ import annotations

from dataclasses import dataclass

from core.diagram.geometry import Box, Point

BINDING, EDGE = 20.0, 10.0  # [mm]
ZONE = 50.0  # zones are laid off from the sheet's middle (ISO 5457, from memory) [mm]
TITLE_WIDE, TITLE_HIGH = 180.0, 40.0  # [mm], the width as in ISO 7200 (from memory)

# ISO 216 and ANSI/ASME Y14.1 sizes, from memory; long side first [mm].
SIZES: dict[str, tuple[float, float]] = {
    "a4": (297.0, 210.0),
    "a3": (420.0, 297.0),
    "a2": (594.0, 420.0),
    "a1": (841.0, 594.0),
    "a0": (1189.0, 841.0),
    "letter": (279.4, 215.9),
    "legal": (355.6, 215.9),
    "tabloid": (431.8, 279.4),
    "ansi_c": (558.8, 431.8),
    "ansi_d": (863.6, 558.8),
    "arch_b": (457.2, 304.8),
    "arch_c": (609.6, 457.2),
    "arch_d": (914.4, 609.6),
}


@dataclass(frozen=True)
class Sheet:
    """One size of paper, lying on its long side; all lengths in mm."""

    name: str
    width: float
    height: float

    @property
    def frame(self) -> Box:
        return Box(BINDING, EDGE, self.width - EDGE, self.height - EDGE)

    @property
    def title_block(self) -> Box:
        frame = self.frame
        wide = min(TITLE_WIDE, frame.width * 0.58)
        return Box(frame.x1 - wide, frame.y1 - TITLE_HIGH, frame.x1, frame.y1)

    @property
    def field(self) -> Box:
        """Room for drawing and tables: inside the frame, above the foot with title block and caution."""
        frame = self.frame
        return Box(frame.x0 + 4, frame.y0 + 4, frame.x1 - 4, frame.y1 - TITLE_HIGH - 4)

    def zone(self, at: Point) -> str:
        """The zone of a place on the sheet, such as D2."""
        column, row = (
            sum(1 for edge in self.zone_edges(across)[1:-1] if place >= edge)
            for across, place in zip((True, False), at, strict=True)
        )
        return f"{letters(row)}{column + 1}"

    def zone_edges(self, across: bool) -> list[float]:
        """Edges of the zones, from frame to frame, one more than zones.

        As many whole zones as come nearest to half the sheet lie on each side of its middle; what is over
        or lacks is the corner zone's (ISO 5457, from memory: 8 by 6 on A3, 16 by 12 on A1).
        """
        low, high, half = (
            (self.frame.x0, self.frame.x1, self.width / 2)
            if across
            else (self.frame.y0, self.frame.y1, self.height / 2)
        )
        many = max(1, round(half / ZONE))
        return [low, *(half + ZONE * k for k in range(1 - many, many)), high]


ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # ISO 5457 leaves out I and O, from memory


def letters(row: int) -> str:
    """A to Z without I and O, then AA."""
    many = len(ALPHABET)
    return (letters(row // many - 1) if row >= many else "") + ALPHABET[row % many]


def sheet_named(name: str) -> Sheet | None:
    """The sheet of that name, or None."""
    size = SIZES.get(name.lower())
    return None if size is None else Sheet(name.lower(), *size)
