"""The water at a moment, found anew only where needed: hydraulics once for each state and band.

A moment in a state solved before takes over its flows and the positions of its controls and finds the
temperatures alone; where a control then misses what it holds by more than LOOSE, or a temperature left the
band, flows and positions are solved with it, from where they were.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.controls.signals import SignalStates
from core.plant.model import Case, Overrides
from core.simulation.layout import Layout
from core.simulation.stepping import SHORTEST
from core.solve.devices import KELVIN
from core.solve.joint_newton import rest_error
from core.solve.sensing import Look
from core.solve.settle import NEAR_REST, NEAR_SETTLED, Settled
from core.solve.solver import Solver
from core.thermal.rooms import share_needs
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

HYDRAULIC_BAND = 8.0  # [K] a state may move before flows are solved anew (viscosity, buoyancy)
WATER_BAND = 16.0  # [K] the same of water on its way round, whose mean moves less
WEATHER_BAND = 0.5  # [K] of outdoors for which resets and heat pumps are set once, at its middle
LOOSE = 0.2 / KELVIN  # a control is left where it is while it misses by less: 0.2 K
CLOSE = 2.0 * NEAR_REST  # the same where nothing happened for long
MOST_KEPT = 400
UNREAD = 293.15  # [K] of a vessel in a case: its layers say what it is


class _End(NamedTuple):
    """An end of its travel short of which a control looked in vain, and states and outdoors then, [K]."""

    value: float
    x: Array
    outdoor: float


@dataclass
class _Kept:
    settled: Settled
    x: Array
    proved: dict[int, Array]  # bodies that no push set going, and the states at which that was tried


class Water:
    """Answers of the solver by state.

    Parameters
    ----------
    solver : Solver
        Of the plant as its case sees it
    layout : Layout
    """

    def __init__(self, solver: Solver, layout: Layout) -> None:
        self.solver, self.layout = solver, layout
        self.kept: dict[Hashable, _Kept] = {}
        self.latest: dict[Hashable, _Kept] = {}  # by state alone, whatever the weather
        self.ends: dict[str, _End] = {}  # by control, whatever the state
        self.newest: Settled | None = None  # of whatever state
        items = solver.plant.with_trait(Trait.RESETS, Trait.LIFTS_HEAT, Trait.MELTS_SNOW)
        self.weathered = any(item.id not in layout.masses for item in items)
        self.touching = _touching(solver, layout)
        self.stiff = np.array(
            [HYDRAULIC_BAND / (WATER_BAND if part.straight else HYDRAULIC_BAND) for part in layout.parts
             for _ in part.start]
        )  # fmt: skip
        self.full = self.quick = self.unsettled = 0

    def weather_at(self, outdoor: float, rate: float) -> float:
        """The outdoor temperature that the water is found for, [K]: while it moves, the middle of its band.

        Parameters
        ----------
        outdoor : float
            [K]
        rate : float
            How fast it changes, [K/s]
        """
        if rate == 0.0 or not self.weathered:
            return outdoor
        return _band(outdoor, rate) * WEATHER_BAND

    def weather_lasts(self, outdoor: float, rate: float) -> float:
        """How long that temperature stands for it, [s]."""
        if rate == 0.0 or not self.weathered:
            return math.inf
        edge = (_band(outdoor, rate) + math.copysign(0.5, rate)) * WEATHER_BAND
        return max(SHORTEST, (edge - outdoor) / rate)

    def at(
        self, key: Hashable, x: Array, outdoor: float, case: Case, signals: SignalStates, calm: bool = False
    ) -> Settled:
        """The water of a state with temperatures x, [K].

        Parameters
        ----------
        key : hashable
            What decides flows but for temperatures: devices, draws, modes
        x : ndarray, shape (n states,)
        outdoor : float
            As `weather_at` says, [K]
        case : Case
            With draws, outdoors and every vessel in `tanks`
        signals : SignalStates
        calm : bool
            Whether nothing happened for long: then controls have to stand close
        """
        place = (key, outdoor if self.weathered else None)
        kept = self.kept.get(place)
        proved: dict[int, Array] = {}
        if kept is not None:
            loose = CLOSE if calm else LOOSE
            if self._moved(kept.x, x) <= HYDRAULIC_BAND and self._again(kept, x, outdoor, loose):
                self.quick += 1
                return kept.settled
            proved = {b: at for b, at in kept.proved.items() if self._near(b, at, x)}
        self.full += 1
        kept = self.latest.get(key)
        start = self.newest if kept is None or not kept.settled.converged else kept.settled
        ends = {name: end for name, end in self.ends.items() if self._holds(end, x, outdoor)}
        settled = self.solver.moment(
            case,
            signals,
            lambda setup: self.layout.prepare(setup, x),
            start,
            frozenset(proved),
            {name: end.value for name, end in ends.items()},
        )
        if not settled.converged:
            self.unsettled += 1
        if len(self.kept) >= MOST_KEPT:
            self.kept.pop(next(iter(self.kept)))
            self.latest.clear()
        proved |= {b: x.copy() for b in settled.undriven if b not in proved}
        here = x.copy()
        found = {d.key: _End(d.value, here, outdoor) for d in settled.devices if d.sought}
        found |= {k: end for k, end in ends.items() if k in found and end.value == found[k].value}
        moving = {d.key for d in settled.devices}
        self.ends = found | {k: end for k, end in ends.items() if k not in moving}
        self.kept[place] = self.latest[key] = _Kept(settled, here, proved)
        self.newest = settled if settled.converged else self.newest
        return settled

    def _moved(self, before: Array, x: Array) -> float:
        """The furthest any state moved, water on its way counting less, [K]."""
        return float((np.abs(before - x) * self.stiff).max(initial=0.0))

    def _holds(self, end: _End, x: Array, outdoor: float) -> bool:
        """Whether states and weather are about as they were where a control looked in vain."""
        return max(self._moved(end.x, x), abs(end.outdoor - outdoor)) <= HYDRAULIC_BAND

    def _near(self, body: int, at: Array, x: Array) -> bool:
        """Whether the states that touch a body are about where they were."""
        touching = self.touching[body]
        return float((np.abs(at - x) * self.stiff)[touching].max(initial=0.0)) <= HYDRAULIC_BAND

    def _again(self, kept: _Kept, x: Array, outdoor: float, loose: float) -> bool:
        """Find the temperatures alone; False where a control has to move."""
        s = kept.settled
        for room in s.roles.rooms.values():
            if room.outdoor != room.wanted or room.loss > 1e-3:
                room.outdoor = outdoor
        self.layout.prepare(s.setup, x)
        solver = s.temperatures
        assert solver is not None
        assert s.still is not None
        for _ in range(5):
            solver.solve(s.balance.w, s.balance.branch_flow, s.thermal, NEAR_SETTLED)
            if share_needs(s.roles, s.setup.called, solver.flowing) < 1.0:
                break
        s.node = s.still.fill(s.balance.w, s.settings.closed, s.thermal)
        look = Look(s.balance.w, s.thermal.t_in, s.thermal.t_out, s.rho, s.node)
        for device in s.devices:
            device.look(look)
        resting = rest_error(s.devices) < loose and all(device.jump is None for device in s.devices)
        return resting and s.thermal.settled and s.converged


def _band(outdoor: float, rate: float) -> int:
    """The number of the band that an outdoor temperature [K] stands in, or moves into from its edge."""
    return math.floor((outdoor + math.copysign(1e-7, rate)) / WEATHER_BAND + 0.5)


def _touching(solver: Solver, layout: Layout) -> dict[int, list[int]]:
    """States that each body's water meets: vessels and masses in it, and all rooms."""
    net = solver.net
    found: dict[int, list[int]] = {body.number: [] for body in net.bodies}
    for part in layout.parts:
        bodies = {net.body_of[e.start] for e in part.elements()}
        for number in bodies if bodies else found:
            found[number] += range(part.first, part.first + len(part.start))
    return found


def case_at(case: Case, layout: Layout, outdoor: float, draws: dict[str, float]) -> Case:
    """A case of one moment: its weather [K] and draws [m^3/s], with every vessel's temperature given."""
    tanks = dict.fromkeys(layout.vessels, UNREAD)
    return Case(case.name, over=Overrides(outdoor, draws, tanks))
