"""What acts along all flowing runs, evaluated together: each step passes on T_out = a T_in + b + c f.

Here f is the share that the plain loads of its group get, where that is unknown.

A stretch is a part of a run from one unknown temperature on: from the run's start, or from what has an outlet
that is an unknown of its own (a side of an exchanger, a coil, an emitter in a room that is solved).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import chain

import numpy as np
import numpy.typing as npt

from core.thermal.flowing import Flowing, Run, ThermalState
from core.thermal.heat import HeatTables
from core.thermal.roles import Giving, Losing, Role, Side, Source, Standing, Tap

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


class Steps:
    """Steps of one layout of flows, in the order of its runs.

    Parameters
    ----------
    flowing : Flowing
    outlets : mapping
        Unknown that an element's outlet is, where it is one

    Attributes
    ----------
    a, b, c, d : ndarray, shape (n steps + 1,)
        From the beginning of its stretch to behind each step: slope, offset [K], what a share f of 1 adds
        [K], and by how much more flow warms it [K/(kg/s)]; last 1 and 0, what was passed where nothing was
    row : ndarray, shape (n steps,)
        Unknown from which its stretch begins
    before : ndarray, shape (n steps,)
        The step before in the same run, n steps for none
    inlet_row : ndarray, shape (n steps,)
        Unknown from which the stretch before it begins
    end, end_row : ndarray, shape (n runs,)
        Last step of each run, n steps for none, and the unknown from which its stretch begins
    """

    def __init__(self, flowing: Flowing, outlets: Mapping[int, int]) -> None:
        self.flowing = flowing
        self.place: dict[int, int] = {}  # of each element that is a step
        self.given: list[tuple[int, int, Role, Run]] = []  # steps evaluated one by one: place, element
        losing: list[tuple[int, Losing, int]] = []
        row: list[int] = []
        before: list[int] = []
        inlet: list[int] = []
        depth: list[int] = []
        end: list[int] = []
        end_row: list[int] = []
        n = sum(len(run.steps) for run in flowing.runs)
        for number, run in enumerate(flowing.runs):
            last, source, deep = n, flowing.row[run.start], -1
            for i, role in run.steps:
                here = self.place[i] = len(row)
                before.append(last)
                inlet.append(source)
                deep += 1
                if isinstance(role, Side):
                    source, deep = flowing.side_row[(role.item, role.side)] + 1, 0
                elif i in outlets:
                    source, deep = outlets[i], 0
                elif isinstance(role, Losing):
                    losing.append((here, role, number))
                else:
                    self.given.append((here, i, role, run))
                row.append(source)
                depth.append(deep)
                last = here
            end.append(last)
            end_row.append(source)
        self.n = n
        self.row, self.before, self.inlet_row = _indices(row), _indices(before), _indices(inlet)
        self.end, self.end_row = _indices(end), _indices(end_row)
        self.elements = _indices(list(self.place))
        self.given_at = _indices([here for here, *_ in self.given])
        self._losing(losing)
        self._doublings(np.array(depth, np.intp))
        self._between()
        self.a, self.bcd = np.ones(n + 1), np.zeros((3, n + 1))
        self.b, self.c, self.d = self.bcd
        self.run = _indices([k for k, run in enumerate(flowing.runs) for _ in run.steps])

    def _losing(self, losing: list[tuple[int, Losing, int]]) -> None:
        self.losing_at = _indices([here for here, _, _ in losing])
        self.losing = self.elements[self.losing_at]
        self.losing_run = _indices([number for _, _, number in losing])
        self.ua = np.array([role.ua for _, role, _ in losing])
        self.around = np.array([role.around for _, role, _ in losing])
        runs = self.flowing.runs
        self.losing_heat = HeatTables([runs[number].table for _, _, number in losing])

    def _doublings(self, depth: Indices) -> None:
        """Steps that lie at least 1, 2, 4, ... steps deep in their stretch."""
        self.doublings: list[tuple[Indices, int]] = []
        reach = 1
        while len(deep := np.flatnonzero(depth >= reach)):
            self.doublings.append((deep, reach))
            reach *= 2

    def _between(self) -> None:
        """Elements that pass water on unchanged: each with the step before it, or n + its run's number."""
        passing, source = [], []
        for number, run in enumerate(self.flowing.runs):
            at = self.n + number
            for k, group in enumerate(run.between):
                if k:
                    at = self.place[run.steps[k - 1][0]]
                passing += group
                source += [at] * len(group)
        self.passing, self.passing_from = _indices(passing), _indices(source)

    def compose(self, t_in: Array, t_out: Array, state: ThermalState) -> None:
        """Find `a` to `d` for the inlet and outlet temperatures of the last round, [K], by element."""
        n, a, bcd = self.n, self.a, self.bcd
        a[:n], bcd[:, :n] = 1.0, 0.0
        if len(self.losing):
            flow, t = self.flowing.flow[self.losing_run], t_in[self.losing]
            units = self.ua / (flow * self.losing_heat.capacity(0.5 * (t + t_out[self.losing])))
            kept = np.exp(-units)
            a[self.losing_at] = kept
            bcd[0, self.losing_at] = (1.0 - kept) * self.around
            bcd[2, self.losing_at] = kept * units / flow * (t - self.around)
        if self.given:
            passed = chain.from_iterable(
                passed_on(self.flowing, i, role, run, state) for _, i, role, run in self.given
            )
            rows = np.fromiter(passed, float, 4 * len(self.given)).reshape(-1, 4).T
            a[self.given_at], bcd[:, self.given_at] = rows[0], rows[1:]
        self.alone = a.copy()  # slope of each step by itself
        for deep, reach in self.doublings:
            first = deep - reach
            bcd[:, deep] += a[deep] * bcd[:, first]
            a[deep] *= a[first]

    def walk(self, values: Array, share: Array) -> tuple[Array, Array]:
        """Temperature before and behind each step, [K], from the unknowns and the share of each run."""
        f = share[self.run]
        t_out = self.a[: self.n] * values[self.row] + self.b[: self.n] + self.c[: self.n] * f
        before = self.before
        return self.a[before] * values[self.inlet_row] + self.b[before] + self.c[before] * f, t_out

    def arriving(self, values: Array, share: Array) -> Array:
        """Temperature at the end of each run, [K]."""
        return self.a[self.end] * values[self.end_row] + self.b[self.end] + self.c[self.end] * share


def _indices(values: list[int]) -> Indices:
    return np.array(values, np.intp)


Passed = tuple[float, float, float, float]


def passed_on(flowing: Flowing, i: int, role: Role, run: Run, state: ThermalState) -> Passed:
    """What an element makes of its inlet temperature: slope, offset [K], what a share of 1 adds to that [K],
    and by how much more flow warms the outlet [K/(kg/s)]."""
    if isinstance(role, Tap):
        leaves = flowing.w[i] < 0.0  # tap elements run from the tap inward
        return (0.0, role.given, 0.0, 0.0) if leaves else (1.0, 0.0, 0.0, 0.0)
    if isinstance(role, Standing):
        back = role.back is not None and flowing.w[i] < 0.0
        return 0.0, float(role.back or 0.0) if back else role.given, 0.0, 0.0
    t_in, t_out, table = flowing.t_in[i], flowing.t_out[i], run.table
    rate = run.w * table.mean_capacity(t_in, t_out)
    # Of water that a given heat warms or cools: by how much warmer it leaves for each kelvin it comes warmer.
    # Were it taken as 1, a round that heat neither leaves nor enters by temperature would seem to gain some.
    carried = table.capacity(t_in) / table.capacity(t_out)
    if isinstance(role, Source):
        return _from_source(role, state.source[i], t_in, t_out, rate, run.w, carried)
    assert isinstance(role, Giving)
    in_room = role.home in flowing.ways.roles.rooms  # whose rows read of the slope what becomes of the heat
    return _from_emitter(flowing, i, role, state, rate, run.w, 1.0 if in_room else carried)


def _from_source(
    role: Source, mode: str, t_in: float, t_out: float, rate: float, w: float, carried: float
) -> Passed:
    """Of a source; of one that cycles the mean over time."""
    if mode == "set":
        cold = 1.0 - role.scale
        return cold, role.scale * float(role.leaves_at or 0.0), 0.0, 0.0
    if mode != "limit":
        return 1.0, 0.0, 0.0, 0.0
    level = (1.0 - carried) * t_in
    if role.output is None:
        rise = role.scale * (role.capacity or 0.0) / rate
        return carried, level + rise, 0.0, -rise / w
    # The heat of a heat pump falls with its outlet's temperature: taken as straight about the last one, which
    # is Newton's step for T_out = T_in + heat(T_out) / rate.
    slope = role.scale * min(0.0, role.output.slope(t_out)) / rate
    alpha = 1.0 / (1.0 - slope)
    rise = role.scale * role.output.heat(t_out) / rate
    return alpha * carried, alpha * (level + rise - slope * t_out), 0.0, -alpha * rise / w


def _from_emitter(
    flowing: Flowing, i: int, role: Giving, state: ThermalState, rate: float, w: float, carried: float
) -> Passed:
    emitter, mode = role.emitter, state.load.get(i, "full")
    if emitter.ua is None or (mode == "full" and role.capped):
        if mode == "none" or flowing.loads[i][1].start in flowing.idle:
            return 1.0, 0.0, 0.0, 0.0
        if mode == "least":
            return 0.0, role.least_at, 0.0, 0.0
        fall, level = (role.wanted or 0.0) / rate, (1.0 - carried) * flowing.t_in[i]
        if emitter.ua is None and flowing.cut_group(i) is not None:
            return carried, level, -fall, fall * state.given_share.get(i, 1.0) / w
        return carried, level - fall, 0.0, fall / w
    units = emitter.conductance(flowing.t_in[i], flowing.t_out[i], role.room) / rate
    kept, room = math.exp(-units), role.met(units)
    by_flow = kept * (flowing.t_in[i] - room) - (1.0 - kept) * role.met_slope(units)
    return kept, (1.0 - kept) * room, 0.0, units / w * by_flow
