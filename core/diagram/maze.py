"""Finds right-angled lines between two places round symbols and other lines; knows boxes, not plants."""

from __future__ import annotations

from itertools import pairwise
from math import fsum
from typing import TYPE_CHECKING, NamedTuple

from core.diagram.geometry import Box, Field, Point, Polyline, box_of, segments, tidy

if TYPE_CHECKING:
    from core.diagram.lattice import Lattice

STUB = 10.0  # a pipe leaves a port straight by at least this [u]
APART = 20.0  # parallel runs keep this distance [u]
CLEAR, DOT_CLEAR = 4.9, 2.0  # lines keep this distance from symbols, and from dots [u]
EFFORT = 5_000_000  # steps of search for all lines together; then simple lines must do
SIMPLE = 10  # simple lines tried before a search, or instead of one
LARGEST = 300_000  # nodes of a net; a board strewn wider is not searched
NEAR, WIDE = 120.0, 500.0  # how far round its two ends a line is sought [u]
BEND, CROSSING, CLOSE, TOUCH, OVERLAP, FOLD, SYMBOL = 30.0, 15.0, 2.0, 400.0, 600.0, 3000.0, 2000.0
TOLL = (BEND, CROSSING, TOUCH, OVERLAP, CLOSE, APART, SYMBOL)


class End(NamedTuple):
    """One end of a line: its place, the way it leaves (0, 0: any), and the item it belongs to."""

    at: Point
    way: Point
    item: str

    @property
    def stub(self) -> tuple[Point, Point]:
        """The first piece that a line takes from here in any case; of no length where any way is good."""
        (x, y), (dx, dy) = self.at, self.way
        return self.at, (x + STUB * dx, y + STUB * dy)


class Meeting(NamedTuple):
    """A place where a line meets another one: what it costs to cross it, or to run over or beside it."""

    other: str
    crossing: float
    fault: float


class Maze:
    """The symbols and lines that a new line has to mind."""

    def __init__(self, quick: bool = False, effort: int = EFFORT) -> None:
        self._quick = quick
        self.effort = effort
        self._symbols = Field()
        self._boxes: dict[str, Box] = {}
        self._dots: dict[str, Box] = {}
        self._lines = Field()
        self._drawn: dict[str, Polyline] = {}
        self._awaited: dict[str, tuple[End, End]] = {}
        self._places: list[Point] = []
        self._net: Lattice | None = None

    def add_symbol(self, name: str, whole: Box, dot: bool = False) -> None:
        """A dot may be reached from every side; nothing else is run through by its own lines."""
        area = whole.grown(DOT_CLEAR if dot else CLEAR)
        self._symbols.add(area, name)
        (self._dots if dot else self._boxes)[name] = area

    def await_line(self, name: str, start: End, via: list[Point], end: End) -> None:
        """A line that is still to be laid: other lines keep off the first piece before each of its ports."""
        self._awaited[name] = (start, end)
        self._places += [*start.stub, *via, *end.stub]
        for stub in (start.stub, end.stub):
            if stub[0] != stub[1]:
                self._lines.add(box_of(stub), name)

    def add_line(self, name: str, line: Polyline) -> None:
        """A laid line; it takes the place of its awaited ends."""
        for stub in (end.stub for end in self._awaited.get(name, ())):
            if stub[0] != stub[1]:
                self._lines.remove(box_of(stub), name)
                if self._net is not None:
                    self._net.stub(stub, -1)
        self._awaited.pop(name, None)
        self._drawn[name] = line
        for a, b in segments(line):
            self._lines.add(box_of((a, b)), name)
        if self._net is not None:
            self._net.line(line)

    def hits_symbol(self, line: Polyline, start: End, end: End, most: float = float("inf")) -> int:
        """How many symbols the line runs through, its own two counted in; past `most` it stops counting."""
        own = {end.item for end in (start, end) if end.item in self._dots}
        count = 0
        for a, b in segments(_shortened(line, start, end)):
            run = box_of((a, b)).grown(0.01)
            if not self._symbols.free_but(run, own):
                count += sum(1 for _, name in self._symbols.hits(run) if name not in own)
            if count > most:
                break
        return count

    def through(self, start: End, via: list[Point], end: End, name: str = "") -> Polyline:
        """The cheapest line found from start to end that bends at the pinned places."""
        if start.at == end.at and not via:
            return (start.at, end.at)
        done: list[Point] = [start.at]
        way = start.way
        for stop in [*(End(place, (0.0, 0.0), "") for place in via), end]:
            leg = self._leg(End(done[-1], way, start.item), stop, name, tuple(done))
            done += leg[1:]
            way = (0.0, 0.0)
        line = tidy(done)
        return line if len(line) > 1 else (start.at, end.at)

    def _leg(self, start: End, end: End, name: str, before: tuple[Point, ...] = ()) -> Polyline:
        """One leg; `before` are the points the line came over, so that it does not run back over itself."""
        best: Polyline = (start.at, end.at)
        if start.at == end.at:
            return best
        came = before[-2:-1]
        forward = _straight(start, end) and not _folds((*came, *best))
        if forward and not self.hits_symbol(best, start, end) and not self.meetings(best, name):
            return best
        best_cost = trouble = float("inf")
        shapes = [(_shape_cost(line, start, end, came), line) for line in _candidates(start, end)]
        for shape, line in sorted(shapes, key=lambda entry: entry[0])[:SIMPLE]:
            if shape >= best_cost:
                break  # no longer line can be cheaper than this one already is with all it runs into
            wrong = SYMBOL * self.hits_symbol(line, start, end, best_cost / SYMBOL)
            if shape + wrong < best_cost:
                crossed, faults = self.mind_lines(line, name)
                if shape + wrong + crossed + faults < best_cost:
                    best, best_cost, trouble = line, shape + wrong + crossed + faults, wrong + faults
        if trouble < 1 or self._quick:
            return best
        for reach in (NEAR, WIDE):
            found = self._search(start, end, name, before, reach)
            if found is None:
                break
            cost, wrong = self._cost(found, start, end, name, came)
            if cost < best_cost:
                best, best_cost, trouble = found, cost, wrong
            if trouble < TOUCH:
                break
        return best

    def _cost(
        self, line: Polyline, start: End, end: End, name: str, came: tuple[Point, ...]
    ) -> tuple[float, float]:
        """What a line costs in all, and how much of that is for running into things."""
        crossed, faults = self.mind_lines(line, name)
        faults += SYMBOL * self.hits_symbol(line, start, end)
        return _shape_cost(line, start, end, came) + crossed + faults, faults

    def mind_lines(self, line: Polyline, name: str = "") -> tuple[float, float]:
        """What running across other lines costs, and what running over or beside them costs."""
        meetings = self.meetings(line, name)
        return fsum(m.crossing for m in meetings), fsum(m.fault for m in meetings)

    def meetings(self, line: Polyline, name: str = "") -> list[Meeting]:
        """Where a line meets others but at its ends, each with its cost."""
        ends = (line[0], line[-1])
        out: list[Meeting] = []
        for a, b in segments(line):
            run = box_of((a, b))
            for other, whose in self._lines.hits(run.grown(APART - 1)):
                if whose != name and (cost := _meeting_cost(run, other, ends)):
                    crossing = cost == CROSSING and (run.y0 == run.y1) != (other.y0 == other.y1)
                    out.append(Meeting(whose, cost * crossing, cost * (not crossing)))
        return out

    def _search(
        self, start: End, end: End, name: str, before: tuple[Point, ...], reach: float
    ) -> Polyline | None:
        """The cheapest line over the net within reach of its ends."""
        first, last = start.stub[1], end.stub[1]
        area = box_of((first, last)).grown(reach)
        net = self._net = self._net or self._woven([*start.stub, *end.stub])
        if net is None or self.effort <= 0:
            return None
        stubs = [end.stub for end in self._awaited.get(name, ()) if end.stub[0] != end.stub[1]]
        dots = {self._dots[end.item] for end in (start, end) if end.item in self._dots}
        back = tidy(before)
        for stub in stubs:
            net.stub(stub, -1)
        for dot in dots:
            net.wall(dot, -1)
        net.line(back)
        found, work = net.way(first, start.way, last, end.way, area)
        net.line(back, -1)
        for dot in dots:
            net.wall(dot)
        for stub in stubs:
            net.stub(stub)
        self.effort -= work
        if found is None:
            return None
        line = tidy([start.at, *found, end.at])
        return line if len(line) > 1 else None

    def _woven(self, more: list[Point]) -> Lattice | None:
        """The net for this board with all that is on it so far."""
        boxes = [*self._boxes.values(), *self._dots.values()]
        places = [*self._places, *more]
        xs = _threads([(b.x0, b.x1) for b in boxes], [p[0] for p in places])
        ys = _threads([(b.y0, b.y1) for b in boxes], [p[1] for p in places])
        if len(xs) * len(ys) > LARGEST:
            return None
        # Only here: it wants numpy, and a window must show before anything slow is loaded.
        from core.diagram.lattice import Lattice, Toll

        net = Lattice(xs, ys, Toll(*TOLL))
        for box in boxes:
            net.wall(box)
        for line in self._drawn.values():
            net.line(line)
        for ends in self._awaited.values():
            for end in ends:
                if end.stub[0] != end.stub[1]:
                    net.stub(end.stub)
        return net


def _threads(spans: list[tuple[float, float]], places: list[float]) -> list[float]:
    """Columns (or rows) of a net: each ten units where things are, each hundred units elsewhere."""
    out = set(places)
    low = min([*places, *(a for a, _ in spans)])
    high = max([*places, *(b for _, b in spans)])
    around = [(a - 60, b + 60) for a, b in spans] + [(p - 60, p + 60) for p in places]
    around += [(low - 200, low), (high, high + 200)]
    reached = float("-inf")
    for a, b in sorted(around):
        if b > reached:
            begin, end = int(max(a, reached) // 10), int(-(-b // 10))
            if end - begin > LARGEST:
                return [0.0] * (LARGEST + 1)
            out.update(10.0 * i for i in range(begin, end + 1))
            reached = b
    return sorted(out)


def _shortened(line: Polyline, start: End, end: End) -> Polyline:
    """The line without its first units before its two ports, where it comes out of its own symbols."""
    (ax, ay), (bx, by) = line[0], line[-1]
    off = CLEAR + 0.1
    first = (ax + off * start.way[0], ay + off * start.way[1])
    last = (bx + off * end.way[0], by + off * end.way[1])
    if len(line) == 2 and abs(ax - bx) + abs(ay - by) <= 2 * off:
        return (first, first)
    return (first, *line[1:-1], last)


def _straight(start: End, end: End) -> bool:
    """Whether the two ends look at each other along one line."""
    dx, dy = end.at[0] - start.at[0], end.at[1] - start.at[1]
    if dx and dy:
        return False
    ahead = start.way == (0.0, 0.0) or start.way[0] * dx + start.way[1] * dy > 0
    back = end.way == (0.0, 0.0) or end.way[0] * dx + end.way[1] * dy < 0
    return ahead and back


def _candidates(start: End, end: End) -> list[Polyline]:
    """Lines of up to four bends between the stubs of two ends."""
    (sx, sy), (ex, ey) = (
        (point.at[0] + STUB * point.way[0], point.at[1] + STUB * point.way[1]) for point in (start, end)
    )
    inner: list[list[Point]] = [[(ex, sy)], [(sx, ey)]]
    inner += [[(x, sy), (x, ey)] for x in _middles(sx, ex)]
    inner += [[(sx, y), (ex, y)] for y in _middles(sy, ey)]
    lines = [tidy([start.at, (sx, sy), *middle, (ex, ey), end.at]) for middle in inner]
    return [line for line in lines if len(line) > 1]


def _middles(a: float, b: float) -> list[float]:
    """Where the middle run of a line with two bends may lie: between first, then outside."""
    low, high = min(a, b), max(a, b)
    centre = _round((a + b) / 2)
    out = [centre, low, high]
    out += [centre + k for d in (20.0, 40.0, 60.0, 100.0) for k in (d, -d) if low < centre + k < high]
    out += [edge for d in (20.0, 40.0, 60.0, 80.0) for edge in (low - d, high + d)]
    return out


def _shape_cost(line: Polyline, start: End, end: End, before: tuple[Point, ...]) -> float:
    """Length, bends, and what leaving a port the wrong way or running back costs."""
    runs = segments(line)
    cost = BEND * (len(runs) - 1)
    for (ax, ay), (bx, by) in runs:
        cost += abs(bx - ax) + abs(by - ay)
    cost += FOLD * _folds((*before, *line))
    if start.way != (0.0, 0.0) and _dot(_direction(runs[0]), start.way) <= 0:
        cost += FOLD
    if end.way != (0.0, 0.0) and _dot(_direction(runs[-1]), end.way) >= 0:
        cost += FOLD
    return cost


def _folds(line: Polyline) -> int:
    """How often a line runs back over itself."""
    ways = [_direction(run) for run in segments(line)]
    return sum(1 for a, b in pairwise(ways) if _dot(a, b) < 0)


def _meeting_cost(run: Box, other: Box, ends: tuple[Point, Point]) -> float:
    run_level, other_level = run.y0 == run.y1, other.y0 == other.y1
    if run_level != other_level:
        level_run, upright = (run, other) if run_level else (other, run)
        x, y = upright.x0, level_run.y0
        if not (level_run.x0 <= x <= level_run.x1 and upright.y0 <= y <= upright.y1):
            return 0.0
        if level_run.x0 < x < level_run.x1 and upright.y0 < y < upright.y1:
            return CROSSING
        return 0.0 if (x, y) in ends else TOUCH
    if run_level:
        distance, shared = abs(run.y0 - other.y0), min(run.x1, other.x1) - max(run.x0, other.x0)
    else:
        distance, shared = abs(run.x0 - other.x0), min(run.y1, other.y1) - max(run.y0, other.y0)
    if shared <= 0:
        return 0.0
    if distance == 0:
        return OVERLAP + 2 * shared
    return CLOSE * shared if distance < APART else 0.0


def _direction(run: tuple[Point, Point]) -> Point:
    (ax, ay), (bx, by) = run
    return float((bx > ax) - (bx < ax)), float((by > ay) - (by < ay))


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _round(value: float) -> float:
    return round(value / 10) * 10.0
