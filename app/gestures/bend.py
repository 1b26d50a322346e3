"""A run of a pipe's line dragged aside, or one of its corners moved, by mouse or keys: both become pinned."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt

from app.board.pointer import GRID, Hit, Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.base import RETURNS, Gesture, Reason, stepped
from app.gestures.in_hand import Bending
from core.diagram.geometry import Polyline, Segment, box_of, length, level, segments
from core.diagram.symbols import outward
from core.plant.changes import Change, ReplacePipe
from core.plant.model import Plant, PortRef

STUB = 10.0
"""Board units that a line keeps straight before a port."""


class MoveRun(Bending):
    """The run that was taken hold of follows the pointer; the rest of the line finds its way to it."""

    def __init__(self, board: BoardPort, hit: Hit, first: Pointer) -> None:
        super().__init__(board)
        self._pipe = hit.id
        self._line = board.line(hit.id)
        self._run = _run_at(self._line, hit.place)
        self._upright = not level(segments(self._line)[self._run])
        self._first = first
        self._by = 0.0
        self.hint = f"Moving a run of {hit.id}: let go to pin it there, Esc to leave it where it was"

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.document.select([self._pipe])
        across = Qt.CursorShape.SplitHCursor if self._upright else Qt.CursorShape.SplitVCursor
        self.board.point_with(across)

    def move(self, pointer: Pointer) -> None:
        axis = 0 if self._upright else 1
        by = round((pointer.place[axis] - self._first.place[axis]) / GRID) * GRID
        if by != self._by:
            self._by = by
            self.board.tentative(self._changes())

    @property
    def _unmoved(self) -> bool:
        return not self._by

    def _changes(self) -> list[Change]:
        plant = self.board.document.plant
        pipe = plant.pipes[self._pipe]
        via = bends_with(plant, pipe.start, pipe.end, self._line, pipe.via, self._run, self._by)
        return [ReplacePipe(replace(pipe, via=via))]


class MoveBend(Bending):
    """A corner of a selected pipe's line follows the pointer and is pinned where it is let go."""

    def __init__(self, board: BoardPort, pipe: str, corner: Place) -> None:
        super().__init__(board)
        self._pipe, self._corner, self._to = pipe, corner, corner
        self._line = board.line(pipe)
        self.hint = f"Moving a bend of {pipe}: let go to pin it there, Esc to leave it where it was"

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.point_with(Qt.CursorShape.SizeAllCursor)

    def move(self, pointer: Pointer) -> None:
        to = snapped(pointer.place)
        if to != self._to:
            self._to = to
            self.board.tentative(self._changes())

    @property
    def _unmoved(self) -> bool:
        return self._to == self._corner

    def _changes(self) -> list[Change]:
        pipe = self.board.document.plant.pipes[self._pipe]
        via = bends_through(self._line, pipe.via, self._corner, self._to)
        return [ReplacePipe(replace(pipe, via=via))]


class BendByKeys(Gesture):
    """The runs and corners of a pipe's line, one after the other under the keyboard: moved and pinned."""

    def __init__(self, board: BoardPort, pipe: str) -> None:
        super().__init__(board)
        self._pipe = pipe
        self._line = board.line(pipe)
        runs = segments(self._line)
        self._at = 2 * max(range(len(runs)), key=lambda number: length(runs[number]))
        """Even: a run by its number; odd: the corner after it."""
        self._by: Place = (0.0, 0.0)

    def start(self, pointer: Pointer | None) -> None:
        self._show()

    def press(self, pointer: Pointer) -> None:
        self.cancel(Reason.BUTTON)

    def key(self, key: Qt.Key, shift: bool) -> bool:
        step = stepped((0.0, 0.0), key, shift)
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
        elif key in RETURNS:
            self._pin()
            self.end()
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._unpin()
        elif step is not None:
            self._by = (self._by[0] + step[0], self._by[1] + step[1])
            self.board.tentative(self._changes())
            self._show()
        else:
            return False
        return True

    def tab(self, forward: bool) -> bool:
        """On to the next run or corner; what was moved is pinned."""
        self._pin()
        self._at = (self._at + (1 if forward else -1)) % (2 * len(segments(self._line)) - 1)
        self._show()
        return True

    def _place(self) -> tuple[Place, Place]:
        """The ends of the run, or the corner twice, where it lay before it was moved."""
        number, corner = divmod(self._at, 2)
        a, b = segments(self._line)[number]
        return (b, b) if corner else (a, b)

    def _changes(self) -> list[Change]:
        plant, (a, b) = self.board.document.plant, self._place()
        pipe = plant.pipes[self._pipe]
        dx, dy = self._by
        if a == b:
            via = bends_through(self._line, pipe.via, a, (a[0] + dx, a[1] + dy))
        else:
            aside = dy if level((a, b)) else dx
            via = bends_with(plant, pipe.start, pipe.end, self._line, pipe.via, self._at // 2, aside)
        return [ReplacePipe(replace(pipe, via=via))] if any(self._by) else []

    def _pin(self) -> None:
        changes = self._changes()
        self._by = (0.0, 0.0)
        if changes:
            self.board.commit(f"Bend {self._pipe}", changes)
            self._follow()

    def _unpin(self) -> None:
        pipe = self.board.document.plant.pipes[self._pipe]
        here = box_of(self._place())
        kept = tuple(bend for bend in pipe.via if not here.has(bend))
        if kept != pipe.via:
            self._by = (0.0, 0.0)
            self.board.commit(f"Let go a bend of {self._pipe}", [ReplacePipe(replace(pipe, via=kept))])
            self._follow()
            self._show()

    def _follow(self) -> None:
        """The line has other runs now: stay at the one nearest to where the keyboard was."""
        (ax, ay), (bx, by) = self._place()
        self._line = self.board.line(self._pipe)
        self._at = 2 * _run_at(self._line, ((ax + bx) / 2, (ay + by) / 2))

    def _show(self) -> None:
        (ax, ay), (bx, by) = self._place()
        dx, dy = self._by
        if (ax, ay) == (bx, by):
            x, y, arm = ax + dx, ay + dy, 12.0
            cross: list[Segment] = [((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))]
            what, keys = "a corner", "Arrow keys move it"
        else:
            flat = level(((ax, ay), (bx, by)))
            dx, dy = (0.0, dy) if flat else (dx, 0.0)
            cross = [((ax + dx, ay + dy), (bx + dx, by + dy))]
            what, keys = "a run", f"{'Up and down' if flat else 'Left and right'} move it"
        if not any(self._by):
            self.board.clear_shown()
        self.board.show_guides(cross)
        self.board.reveal(((ax + bx) / 2 + dx, (ay + by) / 2 + dy))
        self.board.say(
            f"{self._pipe}, {what}. {keys}, Tab to the next, Return pins, Delete lets go, Esc leaves"
        )


def bends_through(line: Polyline, via: tuple[Place, ...], corner: Place, to: Place) -> tuple[Place, ...]:
    """Pinned bends of a line after one of its corners has been moved."""
    here = _along(line, corner)
    others = [bend for bend in via if bend != corner]
    before = [bend for bend in others if _along(line, bend) < here]
    after = [bend for bend in others if _along(line, bend) >= here]
    return (*before, to, *after)


def corner_at(line: Polyline, place: Place, reach: float) -> Place | None:
    """The corner of a line within reach of a place, its two ends left out."""
    near = [at for at in line[1:-1] if max(abs(at[0] - place[0]), abs(at[1] - place[1])) <= reach]
    return min(near, key=lambda at: abs(at[0] - place[0]) + abs(at[1] - place[1]), default=None)


def _along(line: Polyline, place: Place) -> float:
    """How far along a line the place nearest to it lies."""
    run = _run_at(line, place)
    runs = segments(line)
    (ax, ay), _ = runs[run]
    return sum(length(one) for one in runs[:run]) + abs(place[0] - ax) + abs(place[1] - ay)


def bends_with(
    plant: Plant, start: PortRef, end: PortRef, line: Polyline, via: tuple[Place, ...], run: int, by: float
) -> tuple[Place, ...]:
    """Pinned bends of a line after its run of that number has been moved aside by so much.

    Bends pinned before and after that run stay; those on it give way to its two new corners.
    """
    runs = segments(line)
    a, b = runs[run]
    ends = [a, b]
    if run == 0:
        ends[0] = _stub(plant, start, a)
    if run == len(runs) - 1:
        ends[1] = _stub(plant, end, b)
    moved = tuple((x, y + by) if level(runs[run]) else (x + by, y) for x, y in ends)
    before = [bend for bend in via if _run_at(line, bend) < run and bend not in (a, b)]
    after = [bend for bend in via if _run_at(line, bend) > run and bend not in (a, b)]
    return (*before, *moved, *after)


def _stub(plant: Plant, port: PortRef, at: Place) -> Place:
    """Where a line may first bend after a port; at a joint it may at once."""
    dx, dy = outward(plant.items[port.item], port.port)
    return at[0] + STUB * dx, at[1] + STUB * dy


def _run_at(line: Polyline, place: Place) -> int:
    """Number of the run that a place lies on or nearest to."""

    def away(run: Segment) -> float:
        (ax, ay), (bx, by) = run
        x, y = min(max(place[0], min(ax, bx)), max(ax, bx)), min(max(place[1], min(ay, by)), max(ay, by))
        return abs(x - place[0]) + abs(y - place[1])

    runs = segments(line)
    return min(range(len(runs)), key=lambda i: away(runs[i]))
