"""A net of columns and rows with a price on every step, and the cheapest right-angled way over it.

Knows nothing of pipes or symbols. The way is found for all nodes at once by sweeping along rows and columns
in turn: one pair of sweeps for each bend of the line, and no line is cheaper than the one found.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.diagram.geometry import Box, Point, Polyline, tidy

Prices = npt.NDArray[np.float64]
Node = tuple[int, int]  # row, column
FAR = 1e12
MOST_BENDS = 40


class Toll(NamedTuple):
    """What a line costs where it meets another one; lengths in units count one each."""

    bend: float
    crossing: float
    touch: float  # to bend on another line, or to run through its bend
    overlap: float  # on one line with another; twice the length comes on top
    beside: float  # nearer than `apart` beside another line, for each unit of length
    apart: float
    wall: float  # each step through a symbol


class _Sense(NamedTuple):
    """The net seen along its rows, or turned by a right angle along its columns."""

    us: list[float]
    vs: list[float]
    along: Prices
    across: Prices
    bend: Prices
    upon: Prices  # surcharge of each step upon another line
    beside: Prices  # and beside one


def _surcharges(steps: Prices, toll: Toll) -> tuple[Prices, Prices]:
    return toll.overlap + 2 * steps, toll.beside * steps


class Lattice:
    """Prices of steps along rows (`level`) and columns (`upright`), and of bending at a node."""

    def __init__(self, xs: list[float], ys: list[float], toll: Toll) -> None:
        self.xs, self.ys, self.toll = xs, ys, toll
        wide, high = np.diff(np.array(xs)), np.diff(np.array(ys))
        self.level: Prices = np.tile(wide, (len(ys), 1))
        self.upright: Prices = np.tile(high[:, None], (1, len(xs)))
        self.bend: Prices = np.full((len(ys), len(xs)), toll.bend)
        turned = self.upright.T, self.level.T, self.bend.T
        self._by_row = _Sense(xs, ys, self.level, self.upright, self.bend, *_surcharges(wide, toll))
        self._by_column = _Sense(ys, xs, *turned, *_surcharges(high, toll))

    def wall(self, box: Box, sign: int = 1) -> None:
        """Raise the price of steps through a box (or with sign -1 lower it again)."""
        price = sign * self.toll.wall
        (c0, c1), (r0, r1) = _inside(self.xs, box.x0, box.x1), _inside(self.ys, box.y0, box.y1)
        self.level[r0:r1, max(c0 - 1, 0) : c1] += price
        self.upright[max(r0 - 1, 0) : r1, c0:c1] += price

    def line(self, points: Polyline, sign: int = 1) -> None:
        """Charge for going on, beside and across a line (or with sign -1 no more)."""
        for (ax, ay), (bx, by) in pairwise(points):
            if ay == by:
                self._run(self._by_row, min(ax, bx), max(ax, bx), ay, sign)
            else:
                self._run(self._by_column, min(ay, by), max(ay, by), ax, sign)
        for x, y in points[1:-1]:
            self._knot(x, y, sign * self.toll.touch)

    def stub(self, points: tuple[Point, Point], sign: int = 1) -> None:
        """Charge for the first piece of a line that is still to be laid: it may bend at its outer end."""
        self.line(points, sign)
        self._knot(*points[1], sign * self.toll.touch)

    def _run(self, sense: _Sense, low: float, high: float, at: float, sign: int) -> None:
        """Charge for one run from low to high along a row (or column) at a place across it."""
        us, vs, toll = sense.us, sense.vs, self.toll
        first, last = bisect_left(us, low), bisect_right(us, high)  # nodes on the run, its ends counted in
        steps = slice(first, max(last - 1, first))
        row = bisect_left(vs, at)
        if 0 < row < len(vs):
            sense.across[row - 1, bisect_right(us, low) : bisect_left(us, high)] += sign * toll.crossing
        near = slice(bisect_right(vs, at - toll.apart), bisect_left(vs, at + toll.apart))
        sense.along[near, steps] += sign * sense.beside[steps]
        if row < len(vs) and vs[row] == at:
            sense.along[row, steps] += sign * sense.upon[steps]
            sense.bend[row, first:last] += sign * toll.touch

    def _knot(self, x: float, y: float, price: float) -> None:
        """Charge for running through a node."""
        c, r = bisect_left(self.xs, x), bisect_left(self.ys, y)
        if c < len(self.xs) and r < len(self.ys) and self.xs[c] == x and self.ys[r] == y:
            if r > 0:
                self.upright[r - 1, c] += price
            if c > 0:
                self.level[r, c - 1] += price

    def nodes(self, area: Box) -> int:
        """How many nodes lie in an area."""
        (c0, c1), (r0, r1) = _within(self.xs, area.x0, area.x1), _within(self.ys, area.y0, area.y1)
        return max(0, c1 - c0) * max(0, r1 - r0)

    def way(
        self, start: Point, facing: Point, goal: Point, arriving: Point, area: Box
    ) -> tuple[Polyline | None, int]:
        """The cheapest line within an area, and how many steps of work it took.

        `facing` is the way the line comes to the start, `arriving` the way it must leave the goal; (0, 0):
        any. None where a place is not on the net.
        """
        (c0, c1), (r0, r1) = _within(self.xs, area.x0, area.x1), _within(self.ys, area.y0, area.y1)
        nodes = []
        for x, y in (start, goal):
            c, r = bisect_left(self.xs, x, c0, c1), bisect_left(self.ys, y, r0, r1)
            if c >= c1 or r >= r1 or self.xs[c] != x or self.ys[r] != y:
                return None, 0
            nodes.append((r - r0, c - c0))
        window = _Window(
            self.level[r0:r1, c0 : c1 - 1], self.upright[r0 : r1 - 1, c0:c1], self.bend[r0:r1, c0:c1]
        )
        rounds = window.flood(nodes[0], facing)
        back = window.unwind(nodes[0], nodes[1], arriving)
        line = tidy([(self.xs[c + c0], self.ys[r + r0]) for r, c in reversed(back)])
        return line, rounds * (r1 - r0) * (c1 - c0)


class _Window:
    """A part of the net with the least prices of reaching each node along its row and along its column."""

    def __init__(self, level: Prices, upright: Prices, bend: Prices) -> None:
        self.level, self.upright, self.bend = level, upright, bend
        self.by_row: Prices = np.full(bend.shape, FAR)
        self.by_column: Prices = np.full(bend.shape, FAR)

    def flood(self, start: Node, facing: Point) -> int:
        """Least prices from the start to everywhere; gives the number of rounds."""
        if not facing[1]:
            self.by_row[start] = 0.0
        if not facing[0]:
            self.by_column[start] = 0.0
        along_rows = np.zeros(self.bend.shape)
        np.cumsum(self.level, axis=1, out=along_rows[:, 1:])
        along_columns = np.zeros(self.bend.shape)
        np.cumsum(self.upright, axis=0, out=along_columns[1:, :])
        for number in range(MOST_BENDS):
            before = self.by_column.copy()
            self.by_row = _swept(np.minimum(self.by_row, self.by_column + self.bend), along_rows, 1)
            self.by_column = _swept(np.minimum(self.by_column, self.by_row + self.bend), along_columns, 0)
            if np.array_equal(before, self.by_column):
                return number + 1
        return MOST_BENDS

    def unwind(self, start: Node, goal: Node, arriving: Point) -> list[Node]:
        """The nodes of the cheapest line, backwards."""
        row_price, column_price = self.by_row[goal], self.by_column[goal]
        if arriving[0]:
            column_price += self.bend[goal]
        if arriving[1]:
            row_price += self.bend[goal]
        level = bool(row_price <= column_price)
        at, out = goal, [goal]
        for _ in range(4 * self.bend.size):
            price = self.by_row[at] if level else self.by_column[at]
            if at == start and price == 0.0:
                break
            step, before = self._before(at, level)
            if before <= price + 1e-6:
                at = step
                out.append(at)
            else:
                level = not level
        return out

    def _before(self, at: Node, level: bool) -> tuple[Node, float]:
        """The neighbour along the row or column over which the node is reached at least price."""
        r, c = at
        prices, steps = (self.by_row, self.level) if level else (self.by_column, self.upright)
        options: list[tuple[float, Node]] = []
        for k in (-1, 1):
            near = (r, c + k) if level else (r + k, c)
            if 0 <= near[0] < prices.shape[0] and 0 <= near[1] < prices.shape[1]:
                edge = (min(r, near[0]), min(c, near[1]))
                options.append((float(prices[near] + steps[edge]), near))
        best = min(options, default=(2 * FAR, at))
        return best[1], best[0]


def _swept(prices: Prices, far: Prices, axis: int) -> Prices:
    """Prices after going any distance both ways along an axis; `far` are the sums of the steps' prices."""
    ahead = far + np.minimum.accumulate(prices - far, axis=axis)
    back = np.flip(np.minimum.accumulate(np.flip(prices + far, axis), axis=axis), axis) - far
    return np.minimum(ahead, back)


def _inside(places: list[float], low: float, high: float) -> tuple[int, int]:
    """The places strictly between two values."""
    return bisect_right(places, low), bisect_left(places, high)


def _within(places: list[float], low: float, high: float) -> tuple[int, int]:
    """The places between two values, these counted in."""
    return bisect_left(places, low), bisect_right(places, high)
