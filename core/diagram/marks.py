"""Where arrows, system letters and open ends stand on the lines. No flows' sizes, no painting."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from core.diagram.geometry import Box, Point, Polyline, Segment, length, segments

ARROW_EVERY = 240.0
MOST_ARROWS = 40  # on one run, however long
CLEAR_OF_ARROW = 15.0
TIGHT = 7.0  # where there is no more room: a hop and a dot are clear of the arrow still
LETTER_RUN = 100.0  # a run shorter than this carries no system letter where its loop has one
STROKE_EVERY = 3.6  # between the strokes beside a letter


class Arrow(NamedTuple):
    """A filled triangle at `at` that looks along `way`."""

    at: Point
    way: Point
    half_length: float
    half_width: float

    @property
    def box(self) -> Box:
        x, y = self.at
        reach = self.half_length if self.way[0] else self.half_width
        rise = self.half_width if self.way[0] else self.half_length
        return Box(x - reach, y - rise, x + reach, y + rise)


class Letter(NamedTuple):
    """A system's letters in a gap of the line, upright on level and on upright runs.

    So many strokes cross the line on either side of the gap: they tell systems apart where a letter is
    hard to read.
    """

    at: Point
    text: str
    strokes: int = 0
    level: bool = True

    @property
    def gap(self) -> Box:
        """Where the line is left open."""
        x, y = self.at
        wide = 4.0 + 3.5 * len(self.text)
        return Box(x - wide, y - 6.5, x + wide, y + 6.5)

    @property
    def box(self) -> Box:
        """All of it, the strokes too."""
        gap = self.gap
        more = STROKE_EVERY * self.strokes + 1.0 if self.strokes else 0.0
        if self.level:
            return Box(gap.x0 - more, gap.y0, gap.x1 + more, gap.y1)
        return Box(gap.x0, gap.y0 - more, gap.x1, gap.y1 + more)

    @property
    def crossing(self) -> tuple[Segment, ...]:
        """The strokes, aslant over the line."""
        (x, y), gap = self.at, self.gap
        half = (gap.width if self.level else gap.height) / 2
        out: list[Segment] = []
        for number in range(self.strokes):
            for side in (-1.0, 1.0):
                away = side * (half + STROKE_EVERY * (number + 0.7))
                cx, cy = (x + away, y) if self.level else (x, y + away)
                dx, dy = (1.5, 4.0) if self.level else (4.0, 1.5)
                out.append(((cx - dx, cy + dy), (cx + dx, cy - dy)))
        return tuple(out)


@lru_cache(maxsize=4000)
def letter_on(
    line: Polyline,
    text: str,
    hops: tuple[Point, ...],
    strokes: int = 0,
    least: float = LETTER_RUN,
    clear: tuple[Box, ...] = (),
) -> Letter | None:
    """One letter near the start of the longest run, if that is at least so long [u]; `clear` stays free."""
    runs = segments(line)
    if not runs or not text:
        return None
    run = max(runs, key=length)
    if length(run) < least:
        return None
    flat = run[0][1] == run[1][1]
    for share in (0.2, 0.3, 0.75, 0.4, 0.62) if length(run) >= LETTER_RUN else (0.27, 0.73, 0.5):
        at = along(run, share)
        letter = Letter(at, text, strokes, flat)
        if all(_apart(at, hop) > 20 for hop in hops) and not any(map(letter.box.overlaps, clear)):
            return letter
    return None


@lru_cache(maxsize=4000)
def arrows_on(
    line: Polyline, forward: bool, weight: float, hops: tuple[Point, ...], letters: tuple[Letter, ...]
) -> tuple[Arrow, ...]:
    """One arrow on the longest run that has room, then one every 240 units of each further long run."""
    half_length, half_width = 5 + 0.8 * weight, 3.2 + 0.7 * weight
    runs = sorted(segments(line), key=lambda run: -length(run))
    busy = [*hops, *(letter.at for letter in letters), *(end for one in letters for end in _ends(one))]
    out: list[Arrow] = []
    for number, run in enumerate(runs):
        room = length(run) - 2 * half_length
        if room < 4 or (number and length(run) < ARROW_EVERY):
            break
        count = min(max(1, int(length(run) // ARROW_EVERY)), MOST_ARROWS)
        for i in range(count):
            at = _free_place(run, (i + 0.5) / count, half_length, busy)
            if at is not None:
                way = _way(run) if forward else (-_way(run)[0], -_way(run)[1])
                out.append(Arrow(at, way, half_length, half_width))
    return tuple(out)


def _free_place(run: Segment, share: float, half: float, busy: list[Point]) -> Point | None:
    """The place nearest to `share` of a run that keeps clear of hops, letters and the run's ends."""
    far = length(run)
    for clear, steps in ((CLEAR_OF_ARROW, range(0, 49, 12)), (TIGHT, range(0, 61, 4))):
        margin = min(half + clear, far / 2) / far
        for step in (sign * step for step in steps for sign in (1, -1)):
            place = share + step / far
            if not margin - 1e-9 <= place <= 1 - margin + 1e-9:
                continue
            at = along(run, place)
            if all(_apart(at, other) >= half + min(clear, CLEAR_OF_ARROW - 5) for other in busy):
                return at
    return None


def _ends(letter: Letter) -> tuple[Point, ...]:
    """The outermost strokes beside a letter."""
    return tuple(along(stroke, 0.5) for stroke in letter.crossing[-2:])


def along(run: Segment, share: float) -> Point:
    """The point at a share of a run's length."""
    (ax, ay), (bx, by) = run
    return ax + (bx - ax) * share, ay + (by - ay) * share


def _apart(a: Point, b: Point) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _way(run: Segment) -> Point:
    (ax, ay), (bx, by) = run
    return float((bx > ax) - (bx < ax)), float((by > ay) - (by < ay))
