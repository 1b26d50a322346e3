"""Candidate places for a text at an item or along a pipe, likeliest first. Pure geometry."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from core.diagram.geometry import Box, Point, Polyline, Segment, box_of, length, level, segments
from core.diagram.marks import along

Measure = Callable[[str, float, bool], float]
"""Width in units of a text at a size [u], bold or not."""
TAG_SIZE, TEXT_SIZE, LEAD = 12.0, 10.0, 12.5
ASCENT, DESCENT = 0.78, 0.22  # of the size: what a line of figures and capitals takes up
GAP = 5.0  # tag to symbol
BESIDE_LINE = 7.0
LEADER = 60.0
NEARER = (14.0, 22.0, 34.0, 46.0, LEADER)
BESIDE_RUN = (14.0, 26.0, 42.0, LEADER)
FURTHER = (*NEARER, 90.0, 130.0, 180.0, 250.0, 340.0, 450.0, 600.0, 800.0)
OVER_ARROW = 2.5


class Row(NamedTuple):
    """One line of a placed text: left end and baseline."""

    text: str
    x: float
    y: float
    size: float
    bold: bool = False


class Block:
    """Lines of text as one block, before it has a place."""

    def __init__(self, lines: list[tuple[str, float, bool]], measure: Measure, lead: float = LEAD) -> None:
        self.lines = lines
        self.lead = lead
        self.widths = [measure(text, size, bold) for text, size, bold in lines]
        self.width = max(self.widths, default=0.0)
        self.height = lines[0][1] * (ASCENT + DESCENT) + lead * (len(lines) - 1) if lines else 0.0

    def rows(self, x: float, y: float, side: str) -> tuple[Row, ...]:
        """The rows of the block whose upper left corner is (x, y), set to the left, middle or right."""
        out: list[Row] = []
        base = y + self.lines[0][1] * ASCENT
        for (text, size, bold), width in zip(self.lines, self.widths, strict=True):
            shift = {"left": 0.0, "middle": (self.width - width) / 2, "right": self.width - width}[side]
            out.append(Row(text, x + shift, base, size, bold))
            base += self.lead
        return tuple(out)


class Try(NamedTuple):
    x: float
    y: float
    side: str
    spot: tuple[str | float, ...]
    leader_to: Point | None = None


def round_box(box: Box, block: Block) -> Iterator[Try]:
    """Above, left, right, below; then the corners."""
    cx, cy = box.centre
    w, h = block.width, block.height
    above, below = box.y0 - GAP - h + 2, box.y1 + GAP
    yield Try(cx - w / 2, above, "middle", ("above",))
    yield Try(box.x0 - GAP - w, cy - h / 2, "right", ("left",))
    yield Try(box.x1 + GAP, cy - h / 2, "left", ("right",))
    yield Try(cx - w / 2, below, "middle", ("below",))
    for y, name in ((above, "above"), (below, "below")):
        for shift in (10.0, -10.0, 20.0, -20.0):
            yield Try(cx - w / 2 + shift, y, "middle", (name, shift))
    for y, name in ((above, "above"), (below, "below"), (box.y0, "top"), (box.y1 - h, "foot")):
        yield Try(box.x0 - GAP - w, y, "right", (name, "left"))
        yield Try(box.x1 + GAP, y, "left", (name, "right"))


def off_box(box: Box, block: Block, rings: tuple[float, ...] = NEARER) -> Iterator[Try]:
    """Further off, with a leader."""
    cx, cy = box.centre
    w, h = block.width, block.height
    above, below = box.y0 - GAP - h + 2, box.y1 + GAP
    for away in rings:
        steps = max(3, int(away // 20))
        for i in range(-steps, steps + 1):
            x = cx - w / 2 + i * (away + w / 2) / steps
            for y in (above - away, below + away):
                yield Try(x, y, "middle", ("off", x - cx, y - cy), edge(box, x + w / 2, y + h / 2))
            y = cy - h / 2 + i * (away + h / 2) / steps
            for x in (box.x1 + GAP + away, box.x0 - GAP - away - w):
                side = "left" if x > cx else "right"
                yield Try(x, y, side, ("off", x - cx, y - cy), edge(box, x + w / 2, y + h / 2))


def edge(box: Box, x: float, y: float) -> Point:
    """The point of a box nearest to a place."""
    return min(max(x, box.x0), box.x1), min(max(y, box.y0), box.y1)


def on_runs(line: Polyline, block: Block, single: bool, off: float) -> Iterator[Try]:
    """Beside the runs, longest first: one line on level runs, stacked beside upright ones."""
    runs = sorted(enumerate(segments(line)), key=lambda entry: (-length(entry[1]), entry[0]))
    for number, run in runs:
        if single and not level(run):
            continue
        yield from _beside(number, run, block, off)
    if not single:
        return
    for number, run in runs:  # a short single word may also stand beside an upright run
        if not level(run) and block.width < 60:
            yield from _beside(number, run, block, off)


def clearance(weight: float) -> float:
    """Text to the middle of its line: just clear of the line's arrows."""
    return max(5.0, 5.5 + 0.7 * weight)


def _beside(number: int, run: Segment, block: Block, off: float) -> Iterator[Try]:
    w, h = block.width, block.height
    size = w if level(run) else h
    slack = max(0.0, (length(run) - size) / 2)
    shifts = [0.0]
    for i in range(1, min(int(slack // 10), 30) + 1):
        shifts += [10.0 * i, -10.0 * i]
    if not slack and size - length(run) < 40:
        shifts += [10.0, -10.0]
    mx, my = along(run, 0.5)
    # Close to the line where there is room, then just far enough to stand over an arrow.
    for lift, shift in [(lift, shift) for lift in (0.0, OVER_ARROW) for shift in shifts]:
        if level(run):
            x = mx - w / 2 + shift
            yield Try(x, my - off - lift - h + 1, "left", (number, shift, "above", lift))
            yield Try(x, my + off + lift, "left", (number, shift, "below", lift))
        elif not lift:
            y = my - h / 2 + shift
            yield Try(mx + BESIDE_LINE, y, "left", (number, shift, "right"))
            yield Try(mx - BESIDE_LINE - w, y, "right", (number, shift, "left"))


def near_runs(
    line: Polyline, block: Block, single: bool, off: float, rings: tuple[float, ...] = BESIDE_RUN
) -> Iterator[Try]:
    """Up to 60 units away, or further, with a leader to the line; to its place where two ports touch."""
    del single, off
    w, h = block.width, block.height
    pieces = segments(line) or [(line[0], line[0])]
    runs = sorted(enumerate(pieces), key=lambda entry: (-length(entry[1]), entry[0]))
    for away in rings:
        for number, run in runs:
            for share in (0.5, 0.25, 0.75) if length(run) >= 40 else (0.5,):
                tx, ty = along(run, share)
                for x, y in _about(tx, ty, w, h, away, level(run)):
                    side = "right" if x + w < tx else "left"
                    yield Try(x, y, side, (number, share, away, x - tx, y - ty), (tx, ty))


def anywhere(line: Polyline, block: Block, single: bool, off: float) -> Iterator[Try]:
    """As far away as must be, with a leader to the line."""
    yield from near_runs(line, block, single, off, FURTHER)
    yield from off_box(box_of(max(segments(line), key=length, default=(line[0], line[0]))), block, FURTHER)


def _about(x: float, y: float, w: float, h: float, away: float, across: bool) -> Iterator[Point]:
    """Corners of a text as far off a point: straight off the line first, then aslant, then along it."""
    for slide in (0.0, 25.0, -25.0):
        if across:
            yield x + slide - w / 2, y - away - h
            yield x + slide - w / 2, y + away
        else:
            yield x + away, y + slide - h / 2
            yield x - away - w, y + slide - h / 2
    for left in (x + away * 0.7, x - away * 0.7 - w):
        yield left, y - away * 0.7 - h
        yield left, y + away * 0.7
    if across:
        yield x + away, y - h / 2
        yield x - away - w, y - h / 2
    else:
        yield x - w / 2, y - away - h
        yield x - w / 2, y + away


def nearest(area: Box, target: Point) -> Point:
    """The end of a leader at the text: its near side."""
    tx, ty = target
    if area.x0 <= tx <= area.x1:
        return tx, area.y1 + 2.0 if ty > area.y1 else area.y0 - 3.0
    x = area.x0 - 1.5 if tx < area.x0 else area.x1 + 1.5
    return x, min(max(ty, area.y0), area.y1)


def beads(leader: tuple[Point, Point]) -> list[Box]:
    """A slanted line as a row of small boxes."""
    (ax, ay), (bx, by) = leader
    count = max(1, int(max(abs(bx - ax), abs(by - ay)) // 4))
    return [
        Box(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
        for x, y in ((ax + (bx - ax) * i / count, ay + (by - ay) * i / count) for i in range(count + 1))
    ]
