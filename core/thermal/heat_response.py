"""How temperatures answer to small changes of flows and heats, near a balance of heat already found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.thermal.flowing import ThermalState
from core.thermal.heat_balance import HeatBalance, conductance, running_arrangement
from core.thermal.limits import governing_source
from core.thermal.roles import Plates, Side
from core.thermal.steps import Steps, passed_on

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

NUDGE = 1e-5  # share by which a flow is changed to see how an exchanger answers


@dataclass
class Response:
    """How temperatures answer to changes, by element or node, one column a change, [K].

    Attributes
    ----------
    t_in, t_out : ndarray, shape (n elements, n changes)
        Where the water enters and leaves
    nodes : sequence of int
        Those that water passes
    node : ndarray, shape (n nodes, n changes)
        There
    """

    t_in: Array
    t_out: Array
    nodes: Sequence[int]
    node: Array


def respond(
    balance: HeatBalance,
    state: ThermalState,
    flows: Array,
    heats: Mapping[int, Sequence[tuple[int, float]]],
) -> Response:
    """How temperatures answer.

    Parameters
    ----------
    balance, state : HeatBalance, ThermalState
        As last found
    flows : ndarray, shape (n branches, n changes)
        Change of each branch's mass flow, [kg/s]
    heats : mapping
        By change that makes sources heat more: their elements, and by how much each outlet warms, [K]

    Returns
    -------
    Response
    """
    flowing, steps = balance.flowing, balance.steps
    runs = flows[flowing.branches] * flowing.sense[:, None]
    right = -_unbalanced(balance, runs, state)
    extra_in, extra_out = _heated(balance, heats, state, right)
    values = balance.solve_laid(*balance.last_laid, right, 0.0)
    share = np.where((balance.run_share >= 0)[:, None], values[balance.run_share], 0.0)
    f, by_flow = share[steps.run], runs[steps.run]
    n, before = steps.n, steps.before
    step_out = _along(steps, slice(n), values[steps.row], f, by_flow) + extra_out
    step_in = _along(steps, before, values[steps.inlet_row], f, by_flow) + extra_in
    t_in = np.zeros((len(balance.t_in), flows.shape[1]))
    t_out = np.zeros_like(t_in)
    t_in[steps.elements], t_out[steps.elements] = step_in, step_out
    known = np.concatenate([step_out, values[flowing.starts]])
    t_in[steps.passing] = t_out[steps.passing] = known[steps.passing_from]
    return Response(t_in, t_out, [*flowing.row], values[: len(flowing.row)])


def _unbalanced(balance: HeatBalance, runs: Array, state: ThermalState) -> Array:
    """What changes of flow, [kg/s], by run and change, add to each row while no temperature moves."""
    flowing, steps, roles = balance.flowing, balance.steps, balance.roles
    rows = np.zeros((balance.n, runs.shape[1]))
    more = balance.arriving_heat - balance.here[flowing.ends] + balance.carried * steps.d[steps.end]
    np.add.at(rows, flowing.ends, more[:, None] * runs)
    for node in flowing.brought:
        row = flowing.row[node]
        brought = runs[flowing.starts == row].sum(axis=0) - runs[flowing.ends == row].sum(axis=0)
        table = flowing.ways.tables[flowing.ways.net.body_of[node]]
        rows[row] += (table.content(roles.main_temperature[node]) - balance.here[row]) * brought
    before = steps.before[balance.side_at]
    rows[balance.sides] -= steps.d[before][:, None] * runs[steps.run[balance.side_at]]
    for key, plates in roles.exchangers.items():
        _exchanger_unbalanced(balance, key, plates, runs, rows)
    for coil, run in flowing.coils:
        i = next(i for i, role in run.steps if role is coil)
        row, by = flowing.side_row[(coil.item, coil.side)], runs[steps.run[steps.place[i]]]
        rate, t_in, t_out = flowing.rate(i), flowing.t_in[i], flowing.t_out[i]
        kept = math.exp(-coil.ua / rate)
        bent = kept * coil.ua / rate / run.w  # of `kept` by flow
        off = (t_in - t_out) / (1.0 - kept) if coil.ua > 0.0 else 0.0
        rows[row + 1] -= bent * off * by
        if coil.given is None:
            rows[flowing.row[coil.node]] += rate * ((1.0 - kept) / run.w - bent) * off * by
    for i, at in balance.emitters:
        role, run = flowing.loads[i]
        a, _, _, d = passed_on(flowing, i, role, run, state)
        by = runs[steps.run[at]]
        reached = float(steps.d[steps.before[at]])
        out, room = balance.rooms.out[i], balance.rooms.row[role.home]
        rows[out] -= (d + a * reached) * by
        rate = flowing.rate(i)
        if 0.0 < a < 1.0:
            fall = flowing.t_in[i] - flowing.t_out[i]
            rows[room] -= role.share * (fall * rate / run.w + rate * ((1.0 - a) * reached - d)) * by
        elif a == 0.0:
            rows[room] -= role.share * rate * ((flowing.t_in[i] - flowing.t_out[i]) / run.w + reached) * by
    for group, row in balance.share_row.items():
        governing = governing_source(flowing, group, state)
        if governing is not None and state.cut[governing] > 0.0:
            at = steps.place[governing]
            rows[row] += steps.d[at] * runs[steps.run[at]]
    return rows


def _exchanger_unbalanced(balance: HeatBalance, key: str, plates: Plates, runs: Array, rows: Array) -> None:
    flowing, steps = balance.flowing, balance.steps
    sides = [flowing.side_row.get((key, side)) for side in ("a", "b")]
    if sides[0] is None or sides[1] is None:
        return
    ends = [e.index for e in (plates.a, plates.b)]
    rates = [flowing.rate(i) for i in ends]
    running = running_arrangement(flowing, plates)
    span = flowing.t_in[ends[0]] - flowing.t_in[ends[1]]
    heat = conductance(plates.ua, rates[0], rates[1], running)
    for k, i in enumerate(ends):
        more = list(rates)
        more[k] *= 1.0 + NUDGE
        changed = conductance(plates.ua, more[0], more[1], running)
        by = runs[steps.run[steps.place[i]]] / (abs(flowing.w[i]) * NUDGE)
        for row, sign, before, after in zip(sides, (1.0, -1.0), rates, more, strict=True):
            assert row is not None
            rows[row + 1] += sign * span * (changed / after - heat / before) * by


def _heated(
    balance: HeatBalance,
    heats: Mapping[int, Sequence[tuple[int, float]]],
    state: ThermalState,
    right: Array,
) -> tuple[Array, Array]:
    """What sources that heat more add to the rows, and to each step up to the next unknown.

    One whose outlet decides what plain loads get gives no more: they get less.
    """
    steps, flowing, rooms = balance.steps, balance.flowing, balance.rooms
    extra_in, extra_out = np.zeros((2, steps.n, right.shape[1]))
    for change, i, rise in ((k, i, rise) for k, warmed in heats.items() for i, rise in warmed):
        at = steps.place.get(i)
        if at is None:
            continue
        if state.cut.get(i, 0.0) > 0.0:
            right[balance.share_row[flowing.group[flowing.sources[i][1].start]], change] += rise
            continue
        number = int(steps.run[at])
        extra_out[at, change] += rise
        following = at
        while following + 1 < steps.n and int(steps.run[following + 1]) == number:
            following += 1
            extra_in[following, change] += rise
            element = int(steps.elements[following])
            role = flowing.ways.roles.of[element]
            if isinstance(role, Side):
                right[flowing.side_row[(role.item, role.side)], change] += rise
                rise = 0.0
            elif element in rooms.out:
                kept = balance.room_slopes[element]
                giving = flowing.loads[element][0]
                right[rooms.out[element], change] += kept * rise
                if kept < 1.0:
                    heat = flowing.rate(element) * (1.0 - kept) * giving.share
                    right[rooms.row[giving.home], change] += heat * rise
                rise = 0.0
            else:
                rise *= float(steps.alone[following])
                extra_out[following, change] += rise
        right[flowing.ends[number], change] -= balance.carried[number] * rise
    return extra_in, extra_out


def _along(steps: Steps, at: Indices | slice, values: Array, f: Array, by_flow: Array) -> Array:
    """How temperatures behind steps `at` answer, [K]."""
    a, c, d = steps.a[at], steps.c[at], steps.d[at]
    return np.asarray(a[:, None] * values + c[:, None] * f + d[:, None] * by_flow)
