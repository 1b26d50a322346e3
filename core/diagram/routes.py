"""Right-angled routes of pipes round the symbols, and the hops where two pipes cross.

A line follows from the plant alone, not from the order of pipes nor from what was drawn before, and lies on
another only where a port leaves no room; the price list is in `core.diagram.maze`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING, NamedTuple

from core.diagram import symbols
from core.diagram.geometry import Point, Polyline, level, segments, tidy
from core.diagram.maze import EFFORT, SYMBOL, TOUCH, End, Maze
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.plant.model import Pipe, Plant

HOP = 6.0  # half width of a hop [u]
AGAIN = 3  # times that lines lying on one another are laid anew


def route(plant: Plant, keep: Mapping[str, Polyline] | None = None) -> dict[str, Polyline]:
    """Every pipe's line from port to port through its pinned bends; the order of the pipes is no matter.

    `keep` holds lines of the drawing before: a line that still fits its ends and pinned bends and runs
    into nothing stays as it was, so that moving one item does not stir the rest.
    """
    best = laid = _lay(plant, keep or {})
    urgent: Counter[str] = Counter()
    seen: list[dict[str, set[str]]] = []
    # A line that found no good way gets the first choice, and those in its way come after it.
    while any(best.met.values()) and laid.met not in seen and laid.effort > 0:
        seen.append(laid.met)
        urgent.update(laid.met.keys())
        changed = {*urgent, *(other for others in laid.met.values() for other in others)}
        kept = {name: line for name, line in laid.lines.items() if name not in changed}
        laid = _lay(plant, kept, urgent, laid.effort)
        if laid.wrong < best.wrong:
            best = laid
        if len(seen) == AGAIN:
            break
    return {name: best.lines[name] for name in plant.pipes}


@dataclass
class _Laid:
    """Lines; of those that found no good way whom they met; how much is wrong with all of them."""

    lines: dict[str, Polyline]
    met: dict[str, set[str]]
    wrong: float = 0.0
    effort: int = EFFORT  # left for further searching


class _Wanted(NamedTuple):
    """A line to lay, from the end that lies further left: which one the pipe calls its first is no matter."""

    rank: tuple[float, Point, Point, str]
    start: End
    via: list[Point]
    end: End
    turned: bool


def _lay(
    plant: Plant,
    keep: Mapping[str, Polyline],
    urgent: Mapping[str, int] | None = None,
    effort: int = EFFORT,
) -> _Laid:
    """All lines once: those that can be kept, then the simple ones, then the rest."""
    maze = _maze(plant, effort=effort)
    wanted = sorted(
        (_wanted(plant, pipe, (urgent or {}).get(pipe.id, 0)) for pipe in plant.pipes.values()), key=_rank
    )
    for want in wanted:
        maze.await_line(want.rank[-1], want.start, want.via, want.end)
    laid = _Laid({}, {})
    for want in wanted:
        name = want.rank[-1]
        old = keep.get(name)
        if old is not None and _still_fits(maze, old if not want.turned else old[::-1], want):
            laid.lines[name] = old
            maze.add_line(name, old)
    for want in wanted:
        name = want.rank[-1]
        if name in laid.lines:
            continue
        line = maze.through(want.start, want.via, want.end, name)
        meetings = [m for m in maze.meetings(line, name) if m.fault >= TOUCH]
        hits = maze.hits_symbol(line, want.start, want.end)
        laid.wrong += fsum(m.fault for m in meetings) + SYMBOL * hits
        if meetings and not hits:  # a port beset by symbols has no better way
            laid.met[name] = {m.other for m in meetings}
        laid.lines[name] = line[::-1] if want.turned else line
        maze.add_line(name, line)
    laid.effort = maze.effort
    return laid


def _maze(plant: Plant, quick: bool = False, effort: int = EFFORT) -> Maze:
    maze = Maze(quick, effort)
    for item in plant.items.values():
        maze.add_symbol(item.id, symbols.box(item), dot=item.has(Trait.JOINS))
    return maze


def _wanted(plant: Plant, pipe: Pipe, urgent: int) -> _Wanted:
    start, end = _end(plant, pipe.start.item, pipe.start.port), _end(plant, pipe.end.item, pipe.end.port)
    via = [_point(v) for v in pipe.via]
    turned = (end.at, end.way) < (start.at, start.way)
    if turned:
        start, end, via = end, start, via[::-1]
    far = abs(start.at[0] - end.at[0]) + abs(start.at[1] - end.at[1])
    crooked = start.at[0] != end.at[0] and start.at[1] != end.at[1]
    order = far + 1e6 * crooked - 1e7 * bool(via) - 1e8 * urgent
    return _Wanted((order, start.at, end.at, pipe.id), start, via, end, turned)


def _rank(want: _Wanted) -> tuple[float, Point, Point, str]:
    return want.rank


def follow(plant: Plant, pipes: Iterable[str], laid: Mapping[str, Polyline]) -> dict[str, Polyline]:
    """Simple lines of some pipes, as while a hand moves them; `laid` are the others and stay as they lie."""
    maze = _maze(plant, quick=True)
    wanted = sorted((_wanted(plant, plant.pipes[name], 0) for name in pipes), key=_rank)
    for want in wanted:
        maze.await_line(want.rank[-1], want.start, want.via, want.end)
    for name, line in laid.items():
        maze.add_line(name, line)
    out: dict[str, Polyline] = {}
    for want in wanted:
        name = want.rank[-1]
        line = maze.through(want.start, want.via, want.end, name)
        out[name] = line[::-1] if want.turned else line
        maze.add_line(name, line)
    return out


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


def _still_fits(maze: Maze, line: Polyline, want: _Wanted) -> bool:
    start, end = want.start, want.end
    if len(line) < 2 or line[0] != start.at or line[-1] != end.at or line != tidy(line):
        return False
    for (a, b), way in ((line[:2], start.way), (line[:-3:-1], end.way)):
        if way != (0.0, 0.0) and (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1] <= 0:
            return False
    runs = segments(line)
    if not all(any(_on(segment, via) for segment in runs) for via in want.via):
        return False
    return not maze.hits_symbol(line, start, end) and maze.mind_lines(line, want.rank[-1])[1] < TOUCH


def _on(segment: tuple[Point, Point], point: Point) -> bool:
    (ax, ay), (bx, by) = segment
    inside = min(ax, bx) <= point[0] <= max(ax, bx) and min(ay, by) <= point[1] <= max(ay, by)
    return inside and (point[1] == ay if level(segment) else point[0] == ax)
