"""Many isothermal cases of one network balanced together: one assembly, their small matrices stacked.

Each case takes the passes of `newton.solve` and comes to the flows it comes to by itself; one that needs more
than full steps, and networks with pressure reducers or too large for dense matrices, are solved one by one.
For sweeps of speeds, valve positions or tube lengths at one temperature.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.hydraulics.balance import Balance, Balancer, first_flows
from core.hydraulics.circulators import Drive, G
from core.hydraulics.curves import CurveTable
from core.hydraulics.friction import friction_number
from core.hydraulics.laws import BARRIER, FLOOR, Settings
from core.hydraulics.newton import (
    CRUMB,
    LEAST_LOSS,
    LEAST_STEP,
    MOST_CRUMBS,
    MOST_LEAK,
    MOST_PASSES,
    RELATIVE_LOSS,
    RELATIVE_STEP,
    SEARCH_FROM,
)
from core.hydraulics.topology import DENSE_UP_TO

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_CELLS = 4_000_000  # of stacked matrices at once: 32 MB
FEWEST = 3  # cases below which one by one is as quick


def balance_together(
    balancer: Balancer,
    settings: Sequence[Settings],
    rho: Array,
    mu: Array,
    column: Array,
    friction: Array | None = None,
    start: Array | None = None,
) -> list[Balance]:
    """Balance flows and heads of many cases that differ in their settings alone.

    Parameters
    ----------
    balancer : Balancer
        Of the network
    settings : sequence of Settings
        One for each case
    rho, mu, column : ndarray, shape (n elements,)
        As of `Balancer.balance`, the same for all cases
    friction : ndarray, shape (n cases, n elements) or None
        By how much each tube's friction is scaled, as by another length; 1 where None
    start : ndarray, shape (n branches,) or None
        Flows to start all from, [kg/s]

    Returns
    -------
    list of Balance
        In the order of the cases; equal to what `Balancer.balance` says of each, but for the last digits

    Notes
    -----
    On one core 60 links take an eighth to a tenth of the time of one by one, 200 links four tenths
    (`python -m tests.benchmarks sweep`).
    """
    groups: dict[tuple[bytes, tuple[tuple[int, int], ...]], list[int]] = {}
    for number, one in enumerate(settings):
        drives = tuple((i, id(drive.curve)) for i, drive in sorted(one.drives.items()))
        groups.setdefault((one.closed.tobytes(), drives), []).append(number)
    found: dict[int, Balance] = {}
    for members in groups.values():
        first = settings[members[0]]
        scaled = None if friction is None else friction[members[0]]
        found[members[0]] = balancer.balance(first, rho, mu, column, start, scaled)
        laws, topology = balancer.last
        small = laws.m > 0 and 0 < topology.n <= DENSE_UP_TO
        small &= all(drive.curve.x[0] == 0.0 for drive in first.drives.values())
        stacks = len(members) >= FEWEST and small and not len(topology.valves)
        many = max(1, MOST_CELLS // max(1, topology.n * topology.n))
        for begin in range(1, len(members), many):
            chosen = members[begin : begin + many]
            answers: list[Balance | None] = [None] * len(chosen)
            if stacks:
                factors = None if friction is None else friction[chosen]
                answers = _Stack(balancer, first, [settings[k] for k in chosen], factors).solve(start)
            for k, answer in zip(chosen, answers, strict=True):
                scaled = None if friction is None else friction[k]
                found[k] = answer or balancer.balance(settings[k], rho, mu, column, start, scaled)
    return [found[k] for k in range(len(settings))]


class _Rows(NamedTuple):
    """What differs from case to case, a row a case: the case's number, its laws, its circulators."""

    number: npt.NDArray[np.intp]
    quad: Array
    driving: Array
    low: Array
    high: Array
    bounded: Flags
    rub: Array  # scale of the friction of each tube
    speed: Array
    least_speed: Array
    target: Array  # head to be kept, [m]; inf where none

    def only(self, these: Flags) -> _Rows:
        """Some of the cases."""
        return _Rows(
            self.number[these],
            self.quad[these],
            self.driving[these],
            self.low[these],
            self.high[these],
            self.bounded[these],
            self.rub[these],
            self.speed[these],
            self.least_speed[these],
            self.target[these],
        )


class _Stack:
    """Cases of one set of open ways, with the same circulators running.

    Parameters
    ----------
    balancer : Balancer
        Having just balanced the case `first`
    first : Settings
    settings : list of Settings
    friction : ndarray, shape (n cases, n elements) or None
    """

    def __init__(
        self, balancer: Balancer, first: Settings, settings: list[Settings], friction: Array | None
    ) -> None:
        self.balancer = balancer
        self.laws, self.topology = laws, topology = balancer.last
        take, many = laws.elements, len(settings)
        self.m, self.n = laws.m, topology.n
        numbers = np.arange(many)[:, None]
        parts = {"all": laws.at, "rubbing": laws.at[laws.rubbing], "curved": laws.at[laws.curved]}
        self.cells = {name: (numbers * laws.m + at).ravel() for name, at in parts.items()}
        self.matrix_cells = (numbers * topology.n**2 + topology.flat).ravel()
        self.incidence = np.zeros((laws.m, len(topology.order)))
        np.add.at(self.incidence, (np.arange(laws.m), topology.i), 1.0)
        np.subtract.at(self.incidence, (np.arange(laws.m), topology.j), 1.0)
        square = np.array([one.square[take] for one in settings])
        push = np.array([one.push[take] for one in settings])
        upper = np.array([one.upper[take] for one in settings])
        low, high = self._bounds(upper)
        self.drives = [drive for *_, drive in laws.drives]
        self.curves = CurveTable([drive.curve for drive in self.drives])
        self.driven = [k for _, k, *_ in laws.drives]
        self.along = np.array([sign for _, _, sign, _, _ in laws.drives])
        self.dense = np.array([rho for _, _, _, rho, _ in laws.drives])  # of their water, [kg/m^3]
        driven = [int(take[row]) for row, *_ in laws.drives]
        states = np.array(
            [
                (d.speed, d.least_speed, np.inf if d.target is None else d.target)
                for case in settings
                for d in map(case.drives.__getitem__, driven)
            ]
        ).reshape(many, len(driven), 3)
        tubes = take[laws.rubbing]
        self.bridge = (laws.bridge[0][:, :, None, :], *laws.bridge[1:])
        self.rows = _Rows(
            np.arange(many),
            self._sum("all", (laws.minor + square) / laws.rho),
            laws.driving + self._sum("all", laws.sign * (push - first.push[take])),
            low,
            high,
            np.asarray((np.isfinite(low) | np.isfinite(high)).any(axis=1)),
            np.ones((many, len(tubes))) if friction is None else friction[:, tubes],
            *states.transpose(2, 0, 1),
        )

    def _bounds(self, upper: Array) -> tuple[Array, Array]:
        """Least and most flow of each branch, [kg/s], as `Laws` finds them of one case."""
        laws = self.laws
        low = np.full((len(upper), self.m), -np.inf)
        high = -low
        for e in np.flatnonzero(laws.one_way | (upper < np.inf).any(axis=0)).tolist():
            k, most = laws.at[e], upper[:, e]
            least = np.zeros(len(most)) if laws.one_way[e] else -most
            if laws.sign[e] < 0.0:
                least, most = -most, -least
            low[:, k], high[:, k] = np.maximum(low[:, k], least), np.minimum(high[:, k], most)
        return np.minimum(low, high), high

    def _sum(self, name: str, each: Array) -> Array:
        """Sum a quantity of elements into their branches, case by case."""
        cells = self.cells[name][: each.size]
        sums = np.bincount(cells, each.ravel(), len(each) * self.m)
        return np.asarray(sums, float).reshape(len(each), self.m)

    # the laws ---------------------------------------------------------------------------------------------

    def loss(self, rows: _Rows, w: Array) -> tuple[Array, Array]:
        """As `Laws.loss`, shape (n cases, m)."""
        laws = self.laws
        inside = np.minimum(np.maximum(w, rows.low), rows.high)
        size = np.abs(inside)
        slope = rows.quad * size
        loss = (slope + FLOOR) * size
        slope += slope
        slope += FLOOR
        if len(laws.re_per_flow):
            flow = size[:, laws.at[laws.rubbing]]
            g, per = friction_number(laws.re_per_flow * flow, laws.rr, self.bridge)
            loss += self._sum("rubbing", laws.rub * rows.rub * g)
            slope += self._sum("rubbing", laws.rub_slope * rows.rub * per)
        if len(laws.curve_slope):
            y, per = laws.table.at(size[:, laws.at[laws.curved]] * laws.curve_volume)
            loss += self._sum("curved", y * laws.curve_scale)
            slope += self._sum("curved", per * laws.curve_slope)
        loss = np.copysign(loss, inside)
        loss += laws.offset
        if self.drives:
            head, dh = _heads(
                self.drives, self.curves, rows, self.along * inside[:, self.driven] / self.dense
            )
            for number, k in enumerate(self.driven):  # one by one, for a branch may have two
                loss[:, k] -= self.along[number] * head[:, number] * self.dense[number] * G
                slope[:, k] -= dh[:, number] * G
        beyond = w - inside
        loss += BARRIER * beyond
        slope[beyond != 0.0] = BARRIER
        return np.asarray(loss), slope

    # the passes -------------------------------------------------------------------------------------------

    def solve(self, start: Array | None) -> list[Balance | None]:
        """The balance of each case; None of those that full steps do not settle."""
        first = first_flows(self.laws) if start is None else start[self.laws.active]
        found: list[Balance | None] = [None] * len(self.rows.number)
        rows, n, topology = self.rows, self.n, self.topology
        w = np.minimum(np.maximum(first, rows.low), rows.high)
        p = np.concatenate([np.zeros(n), topology.held]) + np.zeros((len(w), 1))
        force = rows.driving + p @ self.incidence.T
        loss, slope = self.loss(rows, w)
        was = (w <= rows.low) | (w >= rows.high)
        slope[was] = BARRIER
        last = np.zeros(len(w))
        for passes in range(1, MOST_PASSES):
            y = 1.0 / slope
            step = y * (force - loss)
            shift = np.zeros_like(p)
            shift[:, :n] = self._corrections(y, -((w + step) @ self.incidence)[:, :n])
            push = shift @ self.incidence.T
            step += y * push
            p += shift
            force += push
            after = self.loss(rows, w + step) if passes >= SEARCH_FROM else None
            whole = np.ones(len(w), bool) if after is None else _whole(step, force, loss, after[0])
            w = w + step
            now = (w < rows.low) | (w > rows.high)
            rests, last = _at_rest(rows, w, step, shift, loss, slope, last, (now == was).all(axis=1))
            was = now
            rests &= whole
            if rests.any():
                for k, answer in self._settled(rows.only(rests), w[rests], p[rests], slope[rests], passes):
                    found[k] = answer
            moves = whole & ~rests
            if not moves.any():
                break
            if not moves.all():
                rows, w, p, force = rows.only(moves), w[moves], p[moves], force[moves]
                was, last = was[moves], last[moves]
            if after is None:
                loss, slope = self.loss(rows, w)
            else:
                loss, slope = (each[moves] for each in after)
        return found

    def _corrections(self, y: Array, surplus: Array) -> Array:
        """As `Topology.correction`, for a stack of cases."""
        topology, n, many = self.topology, self.n, len(y)
        weights = y[:, topology.source] * topology.factor
        cells = self.matrix_cells[: weights.size]
        for _ in range(2):
            matrices = np.bincount(cells, weights.ravel(), many * n * n).reshape(many, n, n)
            try:
                return np.asarray(np.linalg.solve(matrices, surplus[:, :, None])[:, :, 0])
            except np.linalg.LinAlgError:
                weights = np.where(topology.factor > 0.0, weights * (1.0 + 1e-12), weights)
        return np.full_like(surplus, np.nan)

    def _settled(
        self, rows: _Rows, w: Array, p: Array, slope: Array, passes: int
    ) -> Iterator[tuple[int, Balance]]:
        """The answers, with flows exactly on their bounds and crumbs of imbalance spread as `newton` does."""
        n = self.n
        leaking, w = w, np.minimum(np.maximum(w, rows.low), rows.high)
        leak = np.abs(leaking - w).sum(axis=1)
        bound = (w <= rows.low) | (w >= rows.high)
        for last in (False, False, True):
            crumbs = (w @ self.incidence)[:, :n]
            residual = np.abs(crumbs).max(axis=1)
            if last or (residual <= CRUMB).all():
                break
            few = residual > CRUMB
            part, y = rows.only(few), slope[few]
            opened = ((y >= BARRIER) & ~bound[few]).any(axis=1)
            if opened.any():
                y = np.where(opened[:, None], self.loss(part, w[few])[1], y)
            slope[few] = y = np.where(bound[few], BARRIER, y)
            dp = np.zeros((len(y), p.shape[1]))
            dp[:, :n] = self._corrections(1.0 / y, crumbs[few])
            new = np.minimum(np.maximum(w[few] - (dp @ self.incidence.T) / y, part.low), part.high)
            w[few] = np.where(bound[few], w[few], new)
        steepest = np.where(slope < BARRIER, slope, 0.0).max(axis=1)
        levelled = leak * steepest <= LEAST_LOSS  # others have their pressures put right one by one
        converged = residual <= MOST_CRUMBS * (1.0 + np.abs(w).max(axis=1))
        net, topology = self.balancer.net, self.topology
        flow = np.zeros((len(w), len(net.branches) + 1))
        flow[:, self.laws.active] = w
        each = np.where(net.branch_of >= 0, net.sign_of * flow[:, net.branch_of], 0.0)
        for k in np.flatnonzero(levelled).tolist():
            pressure = dict(zip(topology.order, p[k].tolist(), strict=True))
            yield (
                int(rows.number[k]),
                Balance(
                    each[k],
                    pressure,
                    passes,
                    bool(converged[k]),
                    float(residual[k]),
                    flow[k, :-1],
                    topology.part,
                ),
            )


def _whole(step: Array, force: Array, loss: Array, after: Array) -> Flags:
    """Of which cases `newton` would take the whole step; the others are left to it."""
    enough = 0.5 * np.abs((step * (loss - force)).sum(axis=1))
    return np.asarray((step * (after - force)).sum(axis=1) <= enough)


def _at_rest(
    rows: _Rows,
    w: Array,
    step: Array,
    shift: Array,
    loss: Array,
    slope: Array,
    last: Array,
    held: Flags,
) -> tuple[Flags, Array]:
    """Which cases have come to rest, as `newton` tells it of one, and their furthest moves, [kg/s].

    `held` says whether no branch has crossed its bound in this pass.
    """
    moved, flow = np.abs(step), np.abs(w)
    most, top = moved.max(axis=1), flow.max(axis=1)
    least = RELATIVE_STEP * top + LEAST_STEP
    small = (most <= least) | (most * most <= np.minimum(least, 0.1 * most) * last)
    many = (most <= RELATIVE_STEP * top * w.shape[1]) & (
        moved.sum(axis=1) <= RELATIVE_STEP * flow.sum(axis=1)
    )
    bearable = RELATIVE_LOSS * np.abs(loss).max(axis=1) + LEAST_LOSS
    small = (small | many) & (np.where(slope < BARRIER, moved * slope, 0.0).max(axis=1) <= bearable)
    beyond = np.maximum(rows.low - w, w - rows.high).max(axis=1)
    within = held & (beyond <= MOST_LEAK) & (np.abs(shift).max(axis=1) <= bearable)
    return small & (within | ~rows.bounded), most


def _heads(drives: list[Drive], table: CurveTable, rows: _Rows, flow: Array) -> tuple[Array, Array]:
    """As `Drive.head` of every circulator in every case: head added, [m], and slope, [s/m^2]."""
    forward = np.maximum(flow, 0.0)
    head, slope = _at_speed(table, rows.speed, forward)
    kept = head > rows.target
    if kept.any():
        least, least_slope = _at_speed(table, rows.least_speed, forward)
        head = np.where(kept, np.maximum(rows.target, least), head)
        slope = np.where(kept, np.where(least >= rows.target, least_slope, 0.0), slope)
    back = np.array([drive.back for drive in drives]) * np.minimum(flow, 0.0)
    return head + back * np.minimum(flow, 0.0), np.where(flow < 0.0, 2.0 * back, slope)


def _at_speed(table: CurveTable, speed: Array, flow: Array) -> tuple[Array, Array]:
    """Heads, [m], and slopes, [s/m^2], of full-speed curves run at shares of their speed, at flows >= 0."""
    turning = speed > 0.0
    share = np.where(turning, speed, 1.0)
    value, slope = table.at(flow / share)
    return np.where(turning, share * share * value, 0.0), np.where(turning, share * slope, 0.0)
