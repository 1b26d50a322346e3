"""Sizes of paper, landscape, and the places every sheet has: frame, title block, zones."""

from __future__ import annotations

from dataclasses import dataclass

from core.diagram.geometry import Box, Point

BINDING, EDGE = 20.0, 10.0  # [mm]
ZONE = 50.0  # zones are counted from the sheet's middle [mm]
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
        column = int((at[0] - self.zone_lines(True)[0]) // ZONE) + 1
        row = int((at[1] - self.zone_lines(False)[0]) // ZONE)
        return f"{letters(max(0, row))}{max(1, column)}"

    def zone_lines(self, across: bool) -> list[float]:
        """Where zones begin, the first one before or at the frame."""
        low, high, whole = (
            (self.frame.x0, self.frame.x1, self.width)
            if across
            else (self.frame.y0, self.frame.y1, self.height)
        )
        start = whole / 2
        while start - 1e-6 > low:
            start -= ZONE
        lines = [start]
        while lines[-1] + ZONE < high:
            lines.append(lines[-1] + ZONE)
        return lines


ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # ISO 5457 leaves out I and O, from memory


def letters(row: int) -> str:
    """A to Z without I and O, then AA."""
    many = len(ALPHABET)
    return (letters(row // many - 1) if row >= many else "") + ALPHABET[row % many]


def sheet_named(name: str) -> Sheet | None:
    """The sheet of that name, or None."""
    size = SIZES.get(name.lower())
    return None if size is None else Sheet(name.lower(), *size)
