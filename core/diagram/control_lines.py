"""Lines of control: from a stat to what it senses, from signals to what they run, from outlets to loads.

Right-angled like pipes, round the symbols, each kind in a pattern of its own. What several signals run
together hangs on one line with dots where it branches. Geometry alone; who is on belongs to a case.

Items that one expression runs hang on one line; dots sense, dash-dot runs, a third pattern feeds.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from math import ceil, floor
from typing import Any, Literal, NamedTuple

from core.diagram import symbols
from core.diagram.geometry import Box, Field, Point, Polyline, box_of, length, segments, tidy
from core.diagram.maze import CLEAR, End, Maze
from core.plant.model import Item, Plant
from core.vocabulary import Trait, signal_names

WireKind = Literal["senses", "runs", "feeds"]
PATTERNS: Mapping[WireKind, tuple[float, ...]] = {
    "senses": (2.0, 3.0),
    "runs": (9.0, 2.5, 1.5, 2.5),
    "feeds": (9.0, 2.0, 1.5, 2.0, 1.5, 2.0),
}
"""Strokes and gaps [u]; never those of still water (6-4)."""
WORDS: Mapping[WireKind, str] = {"senses": "senses", "runs": "runs", "feeds": "feeds"}
"""What a control does with what its line leads to."""
KINDS: tuple[WireKind, ...] = ("senses", "runs", "feeds")
FOLLOWS = ("senses", "run_when", "switched_by", "powered_by", "sets")
"""Properties that the lines follow from."""
GRID = 10.0
SIDES: tuple[Point, ...] = ((0.0, -1.0), (0.0, 1.0), (-1.0, 0.0), (1.0, 0.0))
PORT_NEAR = 12.0  # a side with a port this near its middle belongs to the pipe [u]
ANY: Point = (0.0, 0.0)
TRIES = 3  # pairs of sides tried for each leg
BESET = 400.0  # what it costs to leave by a side with another symbol before it [u]


class Net(NamedTuple):
    """What one line joins: controls to items (or pipes), all of them to all."""

    kind: WireKind
    sources: tuple[str, ...]
    targets: tuple[str, ...]

    @property
    def ends(self) -> tuple[str, ...]:
        """Everything it joins."""
        return tuple(dict.fromkeys((*self.sources, *self.targets)))


class Wire(NamedTuple):
    """A net as it lies on the board; `dots` where it branches."""

    net: Net
    lines: tuple[Polyline, ...]
    dots: tuple[Point, ...] = ()

    @property
    def kind(self) -> WireKind:
        """Which pattern it is painted in."""
        return self.net.kind


def nets(plant: Plant) -> tuple[Net, ...]:
    """All nets of a plant: each sensing place, and all that one expression runs or one outlet feeds."""
    here = {key: item for key, item in plant.items.items() if item.stage != "to_remove"}
    out: list[Net] = []
    for key, item in here.items():
        senses = item.props.get("senses")
        if item.has(Trait.STAT) and isinstance(senses, list) and senses:
            target = str(senses[0])
            if (target in here or target in plant.pipes) and target != key:
                out.append(Net("senses", (key,), (target,)))
    out += _by_expression(here, "runs", ("run_when", "switched_by"))
    out += _by_expression(here, "feeds", ("powered_by",))
    for key, item in here.items():
        sets = item.props.get("sets")
        named = [sets] if isinstance(sets, str) else list(sets or ())
        targets = tuple(name for name in named if name in here and name != key)
        if item.has(Trait.RESETS) and targets:
            out.append(Net("runs", (key,), targets))
    return tuple(out)


def _by_expression(here: Mapping[str, Item], kind: WireKind, properties: Sequence[str]) -> Iterator[Net]:
    """One net for all items whose property says the same."""
    groups: dict[str, tuple[tuple[str, ...], list[str]]] = {}
    for key, item in here.items():
        for name in properties:
            raw: Any = item.props.get(name)
            if raw is None:
                continue
            sources = tuple(s for s in dict.fromkeys(signal_names(raw)) if s in here and s != key)
            if sources:
                groups.setdefault(_canonical(raw), (sources, []))[1].append(key)
    for sources, targets in groups.values():
        yield Net(kind, sources, tuple(dict.fromkeys(targets)))


def _canonical(raw: Any) -> str:
    """The same text for expressions that mean the same by their form: "A" and {"any": ["A"]}."""
    if isinstance(raw, dict) and len(raw) == 1:
        (word, part), *_ = raw.items()
        if word in ("any", "all") and isinstance(part, list):
            if len(part) == 1:
                return _canonical(part[0])
            return json.dumps({word: sorted(_canonical(each) for each in part)})
    return json.dumps(raw)


# ---- where they lie ----------------------------------------------------------------------


def stamp(plant: Plant, pipes: Mapping[str, Polyline], kinds: Sequence[WireKind]) -> object:
    """What the wires of a drawing follow from: while it is the same they lie where they lay."""
    here = [(i.id, i.kind, i.at, i.turn, i.flip, i.ports) for i in plant.items.values()]
    return tuple(net for net in nets(plant) if net.kind in kinds), here, dict(pipes)


def wires(
    plant: Plant,
    pipes: Mapping[str, Polyline],
    kinds: Sequence[WireKind] = KINDS,
    keep: Sequence[Wire] = (),
    quick: bool = False,
) -> tuple[Wire, ...]:
    """All nets of some kinds as lines.

    Parameters
    ----------
    plant : Plant
    pipes : dict
        Routes of the pipes, which they cross but do not follow
    kinds : sequence of str
    keep : sequence of Wire
        Of the drawing before: one that still ends where it did and runs into nothing stays
    quick : bool
        Simple lines only, for what follows a hand
    """
    wanted = [net for net in nets(plant) if net.kind in kinds]
    if not wanted:
        return ()
    layer = _Layer(plant, pipes, quick)
    old = {wire.net: wire for wire in keep}
    done: dict[Net, Wire] = {}
    for net in wanted:
        if net in old and layer.fits(old[net]):
            done[net] = layer.add(old[net])
    order = sorted((net for net in wanted if net not in done), key=lambda n: (len(n.ends), n.kind))
    for net in order:
        done[net] = layer.add(layer.lay(net))
    return tuple(done[net] for net in wanted)


class _Exit(NamedTuple):
    """A way out of a symbol: where the line touches its box, and the grid place before it; what it costs."""

    touch: Point
    place: Point
    cost: float


class _Layer:
    """Lays nets one after another."""

    def __init__(self, plant: Plant, pipes: Mapping[str, Polyline], quick: bool) -> None:
        self.plant, self.pipes = plant, pipes
        self.maze = Maze(quick)
        self.boxes: dict[str, Box] = {}
        for item in plant.items.values():
            self.boxes[item.id] = symbols.box(item)
            self.maze.add_symbol(item.id, self.boxes[item.id], dot=item.has(Trait.JOINS))
        for name, line in ({} if quick else pipes).items():
            self.maze.add_line(name, line)
        self._symbols = Field()
        for name, box in self.boxes.items():
            self._symbols.add(box.grown(CLEAR), name)
        self._count = 0
        self._exits: dict[str, list[_Exit]] = {}

    def add(self, wire: Wire) -> Wire:
        """Let others keep clear of a wire."""
        for line in wire.lines:
            self._count += 1
            self.maze.add_line(f"wire {self._count}", line)
        return wire

    def fits(self, wire: Wire) -> bool:
        """Whether a wire of the drawing before still ends at all it joins and runs through no symbol."""
        touched = {end for line in wire.lines for end in (line[0], line[-1])}
        for end in wire.net.ends:
            if not any(exit_.touch in touched for exit_ in self.exits(end)):
                return False
        inner = [line[1:-1] for line in wire.lines if len(line) > 3]
        free = End(ANY, ANY, "")
        return not any(self.maze.hits_symbol(line, free, free) for line in inner if len(line) > 1)

    def exits(self, name: str) -> list[_Exit]:
        """Ways out of a symbol, or off a pipe; the sides where pipes come in are left out."""
        if name not in self._exits:
            item = self.plant.items.get(name)
            found = self._off_pipe(name) if item is None else self._out_of(item)
            self._exits[name] = found
        return self._exits[name]

    def _out_of(self, item: Item) -> list[_Exit]:
        box = self.boxes[item.id]
        ports = [symbols.port_place(item, port) for port in item.ports]
        found: list[_Exit] = []
        taken: list[_Exit] = []
        for dx, dy in SIDES:
            x, y = _grid(item.at[0]), _grid(item.at[1])
            touch = (
                x if not dx else box.x1 if dx > 0 else box.x0,
                y if not dy else box.y1 if dy > 0 else box.y0,
            )
            place = (_beyond(touch[0], dx), _beyond(touch[1], dy))
            clear = self._symbols.free_but(box_of((touch, place)).grown(0.1), (item.id,))
            exit_ = _Exit(touch, place, 0.0 if clear else BESET)
            near = any(abs(px - touch[0]) + abs(py - touch[1]) < PORT_NEAR for px, py in ports)
            (taken if near else found).append(exit_)
        return found or taken

    def _off_pipe(self, name: str) -> list[_Exit]:
        """The middle of the longest run; the place itself where two ports touch."""
        line = self.pipes.get(name)
        if not line:
            return []
        (ax, ay), (bx, by) = max(segments(line), key=length, default=(line[0], line[0]))
        at = (_grid((ax + bx) / 2), ay) if ay == by else (ax, _grid((ay + by) / 2))
        return [_Exit(at, at, 0.0)]

    def lay(self, net: Net) -> Wire:
        """Joins the ends one by one, always the one nearest to what is joined already."""
        left = [end for end in net.ends if self.exits(end)]
        if len(left) < 2:
            return Wire(net, ())
        lines: list[Polyline] = []
        dots: list[Point] = []
        first = left.pop(0)
        trunk: list[_Exit] = self.exits(first)
        while left:
            distance = {end: min(_far(a, b) for a in self.exits(end) for b in trunk) for end in left}
            end = min(left, key=lambda name: (distance[name], name))
            left.remove(end)
            line, start = self._leg(self.exits(end), trunk)
            if lines and start is not None and start.touch == start.place:
                dots.append(start.place)
            lines.append(line)
            trunk = [_Exit(at, at, 0.0) for each in lines for at in _places(each)] or trunk
        return Wire(net, tuple(lines), tuple(dict.fromkeys(dots)))

    def _leg(self, exits: Sequence[_Exit], trunk: Sequence[_Exit]) -> tuple[Polyline, _Exit | None]:
        """The cheapest line from any way out to any place of the trunk."""
        pairs = sorted(((_far(a, b), a, b) for a in exits for b in trunk), key=lambda pair: pair[0])
        best: tuple[float, Polyline, _Exit | None] | None = None
        sides: set[tuple[Point, Point]] = set()
        for far, a, b in pairs:
            if len(sides) == TRIES or (best is not None and far >= best[0]):
                break
            if (a.touch, b.touch) in sides:
                continue
            sides.add((a.touch, b.touch))
            inner = self.maze.through(End(a.place, ANY, ""), [], End(b.place, ANY, ""))
            line = tidy([a.touch, *inner, b.touch])
            cost, trouble = self.maze.mind_lines(inner)
            whole = sum(map(length, segments(line))) + 30.0 * len(line) + cost + trouble + a.cost + b.cost
            if best is None or whole < best[0]:
                best = (whole, line, b)
        assert best is not None
        return best[1], best[2]


def _far(a: _Exit, b: _Exit) -> float:
    return abs(a.place[0] - b.place[0]) + abs(a.place[1] - b.place[1]) + a.cost + b.cost


def _places(line: Polyline) -> Iterator[Point]:
    """Grid places along a line where another may branch off: its bends, and every second step between."""
    for (ax, ay), (bx, by) in segments(line):
        low, high = (min(ax, bx), max(ax, bx)) if ay == by else (min(ay, by), max(ay, by))
        at = ceil((low + 10) / GRID) * GRID
        while at <= high - 10:
            yield (at, ay) if ay == by else (ax, at)
            at += 2 * GRID
    yield from line[1:-1]


def _beyond(edge: float, way: float) -> float:
    """The grid place outside a box's edge that clears it; the coordinate itself across."""
    if not way:
        return edge
    return ceil((edge + CLEAR) / GRID) * GRID if way > 0 else floor((edge - CLEAR) / GRID) * GRID


def _grid(value: float) -> float:
    return round(value / GRID) * GRID


def wire_boxes(wire: Wire) -> Iterator[Box]:
    """Boxes of all runs of a wire, for what must keep clear of it."""
    for line in wire.lines:
        for run in segments(line):
            yield box_of(run)
