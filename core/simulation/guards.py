"""What bounds a stretch between two moments: figures that may move so far before the water is found anew."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.simulation.rows import Rows
from core.solve.mixing_controls import Fixture, MixingValve
from core.solve.pump_controls import DeltaT
from core.solve.sensing import Look
from core.thermal.flowing import STILL

Array = npt.NDArray[np.float64]

STATE_BAND = 4.0  # [K] heat contents and outputs bend less than 0.4 % within
HELD_BAND = 0.4  # [K] by which a mixing valve or fixture may drift
SHARE_BAND = 0.03  # of the difference that a circulator holds
FOLLOWS = 5.0  # [s] by which a control may lag behind water that changes fast (common practice, no source)
MOST_LAG = 4.0  # [K]
BENT = 0.1  # share of an emitter's difference to its room within which its conductance is taken as one
OUTPUT_BAND = 3.0  # [K] of a heat pump's outlet
EDGE = 0.02  # [K] beyond which a limit counts as passed


@dataclass
class Guards:
    """Rows with the least and greatest value each may have, and how far beyond a step may end.

    `rates` is how fast each state changes, [K/s].
    """

    rates: Array
    rows: list[Array] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    slack: list[float] = field(default_factory=list)

    def about(self, rows: Rows, row: Array, band: float, lag: bool = False) -> None:
        """A figure may move by a band either way; with `lag` by more where it moves fast."""
        if lag:
            speed = abs(float(row[: rows.n] @ self.rates + row[rows.n + 1]))
            band = max(band, min(MOST_LAG, FOLLOWS * speed))
        at = rows.value(row)
        self.between(row, at - band, at + band, band)

    def between(self, row: Array, low: float, high: float, slack: float) -> None:
        """A figure stays between two values."""
        self.rows.append(row)
        self.low.append(low)
        self.high.append(high)
        self.slack.append(slack)


class Edges(NamedTuple):
    """A figure and what it stays between, [K]."""

    row: Array
    low: float
    high: float


def find_guards(rows: Rows, rates: Array, bending: Iterable[int], also: Iterable[Edges]) -> Guards:
    """All that bounds a stretch but stats: states that bend, controls, limits of sources and loads, more."""
    found = Guards(rates)
    for row, low, high in also:
        found.between(row, low - EDGE, high + EDGE, EDGE)
    for k in bending:
        found.about(rows, rows.state(k), STATE_BAND)
    _controls(rows, found)
    _sources(rows, found)
    _loads(rows, found)
    _emitters(rows, found)
    return found


def _controls(rows: Rows, found: Guards) -> None:
    s = rows.s
    for device in s.devices:
        if isinstance(device, MixingValve):
            found.about(rows, rows.node(device.hot.end), HELD_BAND, lag=True)
        elif isinstance(device, Fixture):
            found.about(rows, outlet_row(rows, device.key), HELD_BAND, lag=True)
        elif isinstance(device, DeltaT):
            look = Look(s.balance.w, s.thermal.t_in, s.thermal.t_out, s.rho, s.node)
            for row in _difference(rows, device, look):
                found.about(rows, row, max(0.1, SHARE_BAND * device.target), lag=True)


def _difference(rows: Rows, device: DeltaT, look: Look) -> list[Array]:
    """The difference a circulator senses, as rows."""
    sensed = device.difference
    warm, cold = getattr(sensed, "warm", None), getattr(sensed, "cold", None)
    if warm is not None and cold is not None:
        ends = [
            sum((rows.node(n) for n in place.nodes), rows.const(0.0)) / max(1, len(place.nodes))
            for place in (warm, cold)
        ]
        return [np.asarray(ends[0] - ends[1])]
    circuit = getattr(sensed, "circuit", None)
    moving = circuit(look.w) if circuit is not None else []
    if not len(moving):
        return []
    both = np.concatenate([look.t_in[moving], look.t_out[moving]])
    ends = []
    for at in (int(both.argmax()), int(both.argmin())):
        table = rows.t_in if at < len(moving) else rows.t_out
        ends.append(table[moving[at % len(moving)]])
    return [np.asarray(ends[0] - ends[1])]


def outlet_row(rows: Rows, key: str) -> Array:
    """Temperature of what a fixture draws, mixed, [K]."""
    elements = [e for e in rows.s.net.of_item[key] if rows.w[e.index] > STILL]
    total = sum(float(rows.w[e.index]) for e in elements)
    if total <= STILL:
        return rows.const(float("nan"))
    mixed = (float(rows.w[e.index]) / total * rows.t_in[e.index] for e in elements)
    return np.asarray(sum(mixed, rows.const(0.0)))


def _sources(rows: Rows, found: Guards) -> None:
    solver = rows.s.temperatures
    assert solver is not None
    if solver.flowing is None:
        return
    for i, (role, run) in solver.flowing.sources.items():
        mode = rows.s.thermal.source.get(i, "off")
        if mode == "off" or role.set_at is None or not rows.flows(i):
            continue
        rate = run.w * run.table.capacity(float(rows.s.thermal.t_in[i]))
        inlet, outlet, set_at = rows.t_in[i], rows.t_out[i], role.set_at
        if mode == "set":
            most = role.capacity
            least = set_at - (most / rate if most is not None else np.inf)
            found.between(inlet, least - EDGE, set_at + EDGE, EDGE)
        elif mode == "hot":
            found.between(inlet, set_at - EDGE, np.inf, EDGE)
        else:
            found.between(outlet, -np.inf, set_at + EDGE, EDGE)
        if role.output is not None and mode != "hot":
            found.about(rows, outlet, OUTPUT_BAND)


def _emitters(rows: Rows, found: Guards) -> None:
    """Emitters whose conductance bends, and those that a load limits."""
    solver = rows.s.temperatures
    assert solver is not None
    if solver.flowing is None:
        return
    for i, (role, _) in solver.flowing.loads.items():
        if role.emitter.ua is None or not rows.flows(i):
            continue
        t_in, t_out = float(rows.s.thermal.t_in[i]), float(rows.s.thermal.t_out[i])
        if role.emitter.exponent != 1.0:
            found.about(rows, rows.t_in[i], max(1.0, BENT * abs(t_in - role.room)))
        if role.capped and role.wanted:
            rate = solver.flowing.rate(i)
            kept = math.exp(-role.emitter.conductance(t_in, t_out, role.room) / rate)
            enough = role.room + role.wanted / (rate * (1.0 - kept))
            if rows.s.thermal.load.get(i, "full") == "full":
                found.between(rows.t_in[i], enough - EDGE, np.inf, EDGE)
            else:
                found.between(rows.t_in[i], -np.inf, enough + EDGE, EDGE)


def _loads(rows: Rows, found: Guards) -> None:
    solver = rows.s.temperatures
    assert solver is not None
    if solver.flowing is None:
        return
    for i, (role, _) in solver.flowing.plain.items():
        if not rows.flows(i) or not role.wanted:
            continue
        mode, least = rows.s.thermal.load.get(i, "full"), role.least_at
        fall = role.wanted / solver.flowing.rate(i)
        inlet = rows.t_in[i]
        if mode == "full":
            found.between(inlet, least + fall - EDGE, np.inf, EDGE)
        elif mode == "least":
            found.between(inlet, least - EDGE, least + fall + EDGE, EDGE)
        else:
            found.between(inlet, -np.inf, least + EDGE, EDGE)
