"""Finds right-angled lines between two places round symbols and other lines; knows boxes, not plants."""

from __future__ import annotations

import heapq
from itertools import pairwise
from typing import NamedTuple

from core.diagram.geometry import Box, Field, Point, Polyline, box_of, segments, tidy

STUB = 10.0  # a pipe leaves a port straight by at least this [u]
APART = 20.0  # parallel runs keep this distance [u]
EFFORT = 12_000  # steps of search for all lines together; then simple lines must do
EAGER = 1.4  # a search leans this much towards its goal: quicker, and hardly ever longer
CLEAR = 5.0  # lines keep this distance from symbols [u]
BEND, CROSSING, CLOSE, TOUCH, OVERLAP, FOLD, SYMBOL = 30.0, 15.0, 50.0, 400.0, 600.0, 3000.0, 2000.0


class End(NamedTuple):
    """One end of a line: its place, the way it leaves (0, 0: any), and the item it belongs to."""

    at: Point
    way: Point
    item: str


class Maze:
    """The symbols and lines that a new line has to mind."""

    def __init__(self, quick: bool = False) -> None:
        self._quick = quick
        self._symbols = Field()
        self._bodies: dict[str, Box] = {}
        self._lines = Field()
        self._effort = EFFORT

    def add_symbol(self, name: str, whole: Box, body: Box, dot: bool = False) -> None:
        self._symbols.add(whole.grown(2.0 if dot else CLEAR), name)
        if not dot:  # a dot may be reached from every side; nothing else is run through by its own pipes
            self._bodies[name] = body

    def add_line(self, name: str, line: Polyline) -> None:
        for a, b in segments(line):
            self._lines.add(box_of((a, b)), name)

    def hits_symbol(self, line: Polyline, own: set[str], most: float = float("inf")) -> int:
        """How many symbols the line runs through; its own two only count where it crosses their bodies.

        Past `most` it stops counting.
        """
        count = 0
        for a, b in segments(line):
            run = box_of((a, b)).grown(0.01)
            if not self._symbols.free_but(run, own):
                count += sum(1 for _, name in self._symbols.hits(run) if name not in own)
            count += self._crosses_own(run, own)
            if count > most:
                break
        return count

    def _crosses_own(self, run: Box, own: set[str]) -> bool:
        return any(name in self._bodies and self._bodies[name].overlaps(run) for name in own)

    def through(self, start: End, via: list[Point], end: End) -> Polyline:
        """The cheapest line found from start to end that bends at the pinned places."""
        if start.at == end.at and not via:
            return (start.at, end.at)
        own = {start.item, end.item}
        done: list[Point] = [start.at]
        way = start.way
        for stop in [*(End(place, (0.0, 0.0), "") for place in via), end]:
            leg = self._leg(End(done[-1], way, start.item), stop, own, tuple(done[-2:-1]))
            done += leg[1:]
            way = (0.0, 0.0)
        line = tidy(done)
        return line if len(line) > 1 else (start.at, end.at)

    def _leg(self, start: End, end: End, own: set[str], before: tuple[Point, ...] = ()) -> Polyline:
        """One leg; `before` is the point the line came from, so that it does not run back over itself."""
        best: Polyline = (start.at, end.at)
        if start.at == end.at:
            return best
        forward = not _folds((*before, *best))
        clear = forward and _straight(start, end) and not self.hits_symbol(best, own)
        if clear and self.mind_lines(best, (start.at, end.at)) < 1:
            return best
        best_cost = float("inf")
        shapes = [(_shape_cost(line, start, end, before), line) for line in _candidates(start, end)]
        for shape, line in sorted(shapes, key=lambda entry: entry[0]):
            if shape >= best_cost:
                break  # no longer line can be cheaper than this one already is with all it runs into
            cost = shape + SYMBOL * self.hits_symbol(line, own, best_cost / SYMBOL)
            if cost < best_cost:
                cost += self.mind_lines(line, (start.at, end.at))
            if cost < best_cost:
                best, best_cost = line, cost
        if best_cost >= SYMBOL and not self._quick:
            found = self._search(start, end, own, 160.0) or self._search(start, end, own, 500.0)
            if found is not None:
                cost = _shape_cost(found, start, end, before) + SYMBOL * self.hits_symbol(found, own)
                if cost + self.mind_lines(found, (start.at, end.at)) < best_cost:
                    best = found
        return best

    def mind_lines(self, line: Polyline, ends: tuple[Point, Point]) -> float:
        """What running over, beside and across other lines costs; lines may meet at the ends."""
        cost = 0.0
        for a, b in segments(line):
            run = box_of((a, b))
            for other, _ in self._lines.hits(run.grown(APART - 1)):
                cost += _meeting_cost(run, other, ends)
        return cost

    def _search(self, start: End, end: End, own: set[str], reach: float) -> Polyline | None:
        """A shortest line over the gaps beside the symbols within reach, bends counted in."""
        first = (start.at[0] + STUB * start.way[0], start.at[1] + STUB * start.way[1])
        last = (end.at[0] + STUB * end.way[0], end.at[1] + STUB * end.way[1])
        area = box_of((first, last)).grown(reach)
        xs, ys = {first[0], last[0]}, {first[1], last[1]}
        for near, _ in self._symbols.hits(area):
            xs |= {_down(near.x0), _up(near.x1)}
            ys |= {_down(near.y0), _up(near.y1)}
        columns, rows = sorted(xs), sorted(ys)
        if len(columns) * len(rows) > 10_000:
            return None
        goal = (columns.index(last[0]), rows.index(last[1]))
        begin = (columns.index(first[0]), rows.index(first[1]))
        heads = {(0, 1): 0, (1, 0): 1, (0, -1): 2, (-1, 0): 3}
        came: dict[tuple[int, int, int], tuple[int, int, int]] = {}
        facing = heads.get((int(start.way[0]), int(start.way[1])), -1)
        # Ordered by cost so far and least cost to come, so that the search runs towards its goal.
        queue: list[tuple[float, float, int, int, int]] = [(0.0, 0.0, *begin, facing)]
        best: dict[tuple[int, int, int], float] = {(begin[0], begin[1], facing): 0.0}
        blocked: dict[tuple[int, int, int, int], bool] = {}
        while queue and self._effort > 0:
            self._effort -= 1
            _, cost, i, j, head = heapq.heappop(queue)
            if cost > best.get((i, j, head), float("inf")):
                continue
            if (i, j) == goal:
                return self._unwind(came, (i, j, head), columns, rows, start, end)
            for (di, dj), turn in heads.items():
                if head >= 0 and (turn - head) % 4 == 2:
                    continue
                u, v = i + di, j + dj
                if not (0 <= u < len(columns) and 0 <= v < len(rows)):
                    continue
                here, there = (columns[i], rows[j]), (columns[u], rows[v])
                key = (min(i, u), min(j, v), abs(di), abs(dj))
                if key not in blocked:
                    run = box_of((here, there)).grown(0.01)
                    blocked[key] = not self._symbols.free_but(run, own) or self._crosses_own(run, own)
                if blocked[key]:
                    continue
                step = cost + abs(there[0] - here[0]) + abs(there[1] - here[1])
                step += BEND if head not in (-1, turn) else 0.0
                if step < best.get((u, v, turn), float("inf")):
                    best[(u, v, turn)] = step
                    came[(u, v, turn)] = (i, j, head)
                    ahead = abs(last[0] - there[0]) + abs(last[1] - there[1])
                    heapq.heappush(queue, (step + EAGER * ahead, step, u, v, turn))
        return None

    @staticmethod
    def _unwind(
        came: dict[tuple[int, int, int], tuple[int, int, int]],
        state: tuple[int, int, int],
        columns: list[float],
        rows: list[float],
        start: End,
        end: End,
    ) -> Polyline:
        back: list[Point] = [(columns[state[0]], rows[state[1]])]
        while state in came:
            state = came[state]
            back.append((columns[state[0]], rows[state[1]]))
        return tidy([start.at, *reversed(back), end.at])


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
    return CLOSE + 0.2 * shared if distance < APART else 0.0


def _direction(run: tuple[Point, Point]) -> Point:
    (ax, ay), (bx, by) = run
    return float((bx > ax) - (bx < ax)), float((by > ay) - (by < ay))


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _round(value: float) -> float:
    return round(value / 10) * 10.0


def _down(value: float) -> float:
    return (value - 5) // 10 * 10.0


def _up(value: float) -> float:
    return -(-(value + 5) // 10) * 10.0
