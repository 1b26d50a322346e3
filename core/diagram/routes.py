"""Right-angled routes of pipes round the symbols, and the hops where two pipes cross."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, length, level, segments, tidy
from core.diagram.maze import End, Maze

if TYPE_CHECKING:
    from core.plant.model import Pipe, Plant

HOP = 6.0  # half width of a hop [u]
AGAIN = 3  # times that lines lying on one another are laid anew

_Run = tuple[float, float, str]  # from, to, pipe


def route(
    plant: Plant, keep: Mapping[str, Polyline] | None = None, quick: bool = False
) -> dict[str, Polyline]:
    """Every pipe's line from port to port through its pinned bends.

    `keep` holds lines of the drawing before: a line that still fits its ends and pinned bends and runs
    through no symbol stays as it was, so that moving one item does not stir the rest. `quick` skips the
    search round obstacles: for lines that follow a hand.
    """
    lines = _lay(plant, keep, quick)
    # A line that was laid early, or kept, may have got another one on top of it: it is laid again, last.
    for _ in range(0 if quick else AGAIN):
        loose = _under_others(plant, lines)
        if not loose:
            break
        again = _lay(plant, {name: line for name, line in lines.items() if name not in loose}, quick)
        if _shared(again) >= _shared(lines):
            break
        lines = again
    return lines


def _lay(plant: Plant, keep: Mapping[str, Polyline] | None, quick: bool) -> dict[str, Polyline]:
    """All lines once: those that can be kept, then the simple ones, then the rest."""
    maze = Maze(quick)
    for item in plant.items.values():
        maze.add_symbol(item.id, symbols.box(item), symbols.body_box(item), dot=item.kind == "joint")
    lines: dict[str, Polyline] = {}
    waiting: list[tuple[float, str, End, End]] = []
    for pipe in plant.pipes.values():
        start, end = _end(plant, pipe.start.item, pipe.start.port), _end(plant, pipe.end.item, pipe.end.port)
        old = keep.get(pipe.id) if keep else None
        if old is not None and _still_fits(maze, old, start, end, pipe):
            lines[pipe.id] = old
            maze.add_line(pipe.id, old)
        else:
            far = abs(start.at[0] - end.at[0]) + abs(start.at[1] - end.at[1])
            crooked = start.at[0] != end.at[0] and start.at[1] != end.at[1]
            waiting.append((far + 1e6 * crooked - 1e7 * bool(pipe.via), pipe.id, start, end))
    for _, name, start, end in sorted(waiting, key=lambda w: w[:2]):
        line = maze.through(start, [_point(v) for v in plant.pipes[name].via], end)
        lines[name] = line
        maze.add_line(name, line)
    return {name: lines[name] for name in plant.pipes}


def _under_others(plant: Plant, lines: Mapping[str, Polyline]) -> set[str]:
    """Of each two lines that run on one another the one that is easier to lay elsewhere."""
    loose: set[str] = set()
    for one, other, _ in _pairs_on_one_line(lines):
        if not {one, other} & loose:
            loose.add(max((one, other), key=lambda name: _ease(plant.pipes[name], lines[name])))
    return loose


def _ease(pipe: Pipe, line: Polyline) -> tuple[bool, bool, float]:
    """Free lines before pinned ones, those with bends before straight ones, long ones before short ones."""
    return not pipe.via, len(line) > 2, sum(map(length, segments(line)))


def _shared(lines: Mapping[str, Polyline]) -> float:
    """Length that lines share with others: two pipes on one line read as one."""
    return sum(shared for _, _, shared in _pairs_on_one_line(lines))


def _pairs_on_one_line(lines: Mapping[str, Polyline]) -> list[tuple[str, str, float]]:
    """Pipes that run along the same stretch, and how long it is."""
    rows: dict[tuple[bool, float], list[_Run]] = {}
    for name, line in lines.items():
        for run in segments(line):
            (ax, ay), (bx, by) = run
            flat = level(run)
            low, high = sorted((ax, bx) if flat else (ay, by))
            rows.setdefault((flat, ay if flat else ax), []).append((low, high, name))
    found: list[tuple[str, str, float]] = []
    for runs in rows.values():
        runs.sort()
        for i, (_, end, name) in enumerate(runs):
            for low, high, other in runs[i + 1 :]:
                if low >= end:
                    break
                if other != name:
                    found.append((name, other, min(end, high) - low))
    return found


def preview(
    plant: Plant, start: Point, start_outward: Point, end: Point, end_outward: Point | None = None
) -> Polyline:
    """The line a pipe being pulled would take; the free end may come in from any side."""
    maze = Maze()
    for item in plant.items.values():
        maze.add_symbol(item.id, symbols.box(item), symbols.body_box(item), dot=item.kind == "joint")
    return maze.through(End(start, start_outward, ""), [], End(end, end_outward or (0.0, 0.0), ""))


def hops(lines: Mapping[str, Polyline]) -> dict[str, list[Point]]:
    """Where upright pipes jump level ones they cross without joining; in the order along the pipe."""
    return crossings(lines)[0]


def crossings(lines: Mapping[str, Polyline]) -> tuple[dict[str, list[Point]], dict[str, list[Point]]]:
    """The hops of the upright pipes, and for each level pipe the places where it is jumped."""
    rows: dict[int, list[tuple[float, float, float, str]]] = {}
    for name, line in lines.items():
        for (ax, ay), (bx, by) in segments(line):
            if ay == by:
                rows.setdefault(int(ay // 40), []).append((ay, min(ax, bx), max(ax, bx), name))
    out: dict[str, list[Point]] = {}
    jumped: dict[str, list[Point]] = {}
    for name, line in lines.items():
        for (ax, ay), (bx, by) in segments(line):
            if ax != bx:
                continue
            top, bottom = min(ay, by), max(ay, by)
            found = [
                ((ax, y), other)
                for row in _rows_between(rows, top, bottom)
                for y, left, right, other in rows.get(row, ())
                if other != name and top < y < bottom and left < ax < right
            ]
            for place, other in found:
                jumped.setdefault(other, []).append(place)
            if found:
                places = sorted({place for place, _ in found}, reverse=by < ay, key=lambda p: p[1])
                out.setdefault(name, []).extend(places)
    return out, jumped


def _rows_between(rows: Mapping[int, object], top: float, bottom: float) -> Iterable[int]:
    """Rows of the grid that an upright run passes; only those that hold anything where it is very long."""
    first, last = int(top // 40), int(bottom // 40)
    return range(first, last + 1) if last - first < 2000 else [r for r in rows if first <= r <= last]


def _end(plant: Plant, item: str, port: str) -> End:
    thing = plant.items.get(item)
    if thing is None:
        return End((0.0, 0.0), (0.0, 0.0), item)
    return End(symbols.port_place(thing, port), symbols.outward(thing, port), item)


def _point(raw: Iterable[float]) -> Point:
    x, y = raw
    return float(x), float(y)


def _still_fits(maze: Maze, line: Polyline, start: End, end: End, pipe: Pipe) -> bool:
    if len(line) < 2 or line[0] != start.at or line[-1] != end.at or line != tidy(line):
        return False
    for (a, b), way in ((line[:2], start.way), (line[:-3:-1], end.way)):
        if way != (0.0, 0.0) and (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1] <= 0:
            return False
    runs = segments(line)
    for via in pipe.via:
        if not any(_on(segment, _point(via)) for segment in runs):
            return False
    return not maze.hits_symbol(line, {start.item, end.item})


def _on(segment: tuple[Point, Point], point: Point) -> bool:
    (ax, ay), (bx, by) = segment
    inside = min(ax, bx) <= point[0] <= max(ax, bx) and min(ay, by) <= point[1] <= max(ay, by)
    return inside and (point[1] == ay if level(segment) else point[0] == ax)


def clear_of(line: Polyline, area: Box) -> bool:
    """Whether no part of the line runs through the area."""
    return not any(
        Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])).grown(0.01).overlaps(area)
        for a, b in segments(line)
    )
