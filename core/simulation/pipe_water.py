"""Water standing in pipes to taps: it moves as plugs, cools while nobody draws, and makes people wait.

Only what leaves taps is judged by it. The balance of heat counts hot water where it leaves its tank, heater
or circulation (`circuit_water`): what a draw leaves behind in the pipes is counted as drawn, and cools there.
Plugs do not mix along their way. Pipes start at what is around them; a pipe without insulation cools as bare
tube (10 W/m²/K, as `solve` takes it outside of insulation), though `solve` counts no loss for it while it
flows. Valves and taps that mix hold their temperature as far as the waters that come to them allow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.media.fluids import Fluid
from core.plant.model import Pipe
from core.simulation.rows import Rows
from core.simulation.tally import GROWTH, Span
from core.solve.mixing_controls import Fixture, MixingValve
from core.thermal.pipes import pipe_conductance
from core.thermal.roles import Coil, Side, Source, Standing, Tap
from core.water.numbers import in_order_of_flow

Array = npt.NDArray[np.float64]

ALIKE = 0.02  # [K] plugs that differ by less are one
BARE = 10.0  # [W/m^2/K] from a bare tube to the room


@dataclass
class PipeContent:
    """The plugs in a pipe from its start to its end, each [kg, K]."""

    mass: float
    around: float
    lasting: float  # [s] in which it cools by 63 % while it stands
    plugs: list[list[float]] = field(default_factory=list)
    since: float = 0.0  # when it came to stand
    flows: bool = False
    span: Span = field(default_factory=Span)

    def __post_init__(self) -> None:
        self.plugs = [[self.mass, self.around]]

    @property
    def mean(self) -> float:
        """Mean temperature, [K]."""
        return sum(m * t for m, t in self.plugs) / self.mass

    def stand(self, t: float) -> None:
        """It stands from now on."""
        self.flows, self.since = False, t

    def move(self, t: float) -> None:
        """It flows from now on, cooled by the time it stood."""
        self._stood(t)
        self.flows = True

    def _stood(self, t: float) -> None:
        stood = t - self.since
        if self.flows or stood <= 0.0:
            return
        mean, kept = self.mean, math.exp(-stood / self.lasting)
        self.span.growth += _within(mean - self.around, self.around, self.lasting, stood)
        for plug in self.plugs:
            plug[1] = self.around + (plug[1] - self.around) * kept
        self.since = t

    def end(self, t: float) -> None:
        """The run is over."""
        self._stood(t)

    def push(self, mass: float, t_in: float, forward: bool, seconds: float) -> float:
        """Let water in at one end; the mean of what leaves at the other, [K]."""
        self.span.growth += seconds if GROWTH[0] <= self.mean <= GROWTH[1] else 0.0
        plugs = self.plugs if not forward else self.plugs[::-1]  # now from the outlet on
        if len(plugs) == 1 and abs(plugs[0][1] - t_in) < ALIKE:
            out = plugs[0][1]
            plugs[0][1] = t_in
            return out
        left, out = mass, 0.0
        while left > 0.0 and plugs:
            taken = min(left, plugs[0][0])
            out += taken * plugs[0][1]
            plugs[0][0] -= taken
            left -= taken
            if plugs[0][0] <= 1e-12:
                plugs = plugs[1:]
        out += left * t_in
        fresh = min(mass, self.mass)
        if plugs and abs(plugs[-1][1] - t_in) < ALIKE:
            plugs[-1][0] += fresh
        else:
            plugs.append([fresh, t_in])
        self.plugs = plugs[::-1] if forward else plugs
        return out / mass


def _within(over: float, around: float, lasting: float, seconds: float) -> float:
    """Time that water so much over its surroundings spends in the growth range while it cools, [s]."""
    low, high = GROWTH[0] - around, GROWTH[1] - around
    if abs(over) < 1e-9:
        return seconds if low <= 0.0 <= high else 0.0
    if over < 0.0:
        over, low, high = -over, -high, -low
    enters = 0.0 if over <= high else (lasting * math.log(over / high) if high > 0.0 else math.inf)
    leaves = 0.0 if over < low else (lasting * math.log(over / low) if low > 0.0 else math.inf)
    return max(0.0, min(seconds, leaves) - min(seconds, enters))


def content_of(pipe: Pipe, fluid: Fluid, indoor: float) -> PipeContent | None:
    """The water of a pipe; None where it holds none worth counting."""
    si = pipe.si
    volume = math.pi / 4.0 * si.bore * si.bore * si.length
    if volume < 1e-6:
        return None
    around = indoor if si.around is None else si.around
    ua = pipe_conductance(pipe) or BARE * math.pi * max(si.outside, si.bore) * si.length
    mass = volume * float(fluid.density(around))
    return PipeContent(mass, around, mass * float(fluid.heat_capacity(around)) / max(ua, 1e-9))


class _Way(NamedTuple):
    """A flowing element: where its water comes from and goes to, its flow [kg/s], its pipe if it is one."""

    element: Element
    start: int
    end: int
    w: float
    pipe: PipeContent | None
    given: int  # row of its outlet's temperature where heat is made there, -1 where water passes


class PipeWater:
    """Water in the pipes of the bodies that taps draw from.

    Parameters
    ----------
    net : Network
    """

    def __init__(self, net: Network) -> None:
        self.net = net
        bodies = {net.body_of[e.start] for e in net.airs.values()}
        self.elements = [e for e in net.elements if net.body_of[e.start] in bodies]
        self.pipes: dict[str, PipeContent] = {}
        indoor = net.plant.site_si.indoor
        for e in self.elements:
            if e.is_pipe:
                fluid = net.bodies[net.body_of[e.start]].fluid
                content = content_of(net.plant.pipes[e.key], fluid, indoor)
                if content is not None:
                    self.pipes[e.key] = content
        self.ways: list[_Way] = []
        self.rows = np.zeros((0, 2))
        self.held: dict[int, float] = {}  # nodes behind valves that mix to a temperature, [K]
        self.first: dict[int, int] = {}  # nodes whose temperature is the balance's, and its row
        self.ends: list[tuple[int, int]] = []  # of the ways ordered last
        self.order = list[int](), list[int]()

    def moment(self, rows: Rows, t: float) -> list[Array]:
        """Take over the flows of a moment; the rows of temperatures that `step` wants, [K]."""
        flowing: list[tuple[Element, int, int, float]] = []
        for e in self.elements:
            w = float(rows.w[e.index])
            content = self.pipes.get(e.key) if e.is_pipe else None
            if rows.flows(e.index):
                start, end = (e.start, e.end) if w > 0.0 else (e.end, e.start)
                flowing.append((e, start, end, abs(w)))
                if content is not None and not content.flows:
                    content.move(t)
            elif content is not None and content.flows:
                content.stand(t)
        self.held = {
            device.hot.end: device.set_at for device in rows.s.devices if isinstance(device, MixingValve)
        }
        wanted: list[Array] = []
        self._order(rows, flowing, wanted)
        return wanted

    def _order(self, rows: Rows, flowing: list[tuple[Element, int, int, float]], wanted: list[Array]) -> None:
        """Put ways in the order in which water passes them; rings are cut where the balance tells."""
        self.ways, self.first = [], {}
        passing: list[tuple[Element, int, int, float]] = []
        for way in flowing:
            if _makes_heat(rows, way[0]):
                wanted.append(rows.t_out[way[0].index])
                self.ways.append(_Way(*way, None, len(wanted) - 1))
            else:
                passing.append(way)
        ends = [(start, end) for _, start, end, _ in passing]
        if ends != self.ends:
            self.ends, self.order = ends, in_order_of_flow(ends)
        order, cut = self.order
        reached = {way.end for way in self.ways} | {end for _, _, end, _ in passing}
        starts = {start for _, start, _, _ in passing}
        for n in sorted({*cut, *(starts - reached), *(starts & self.net.mains.keys())}):
            self.first[n] = len(wanted)
            wanted.append(rows.node(n))
        for k in order:
            e = passing[k][0]
            self.ways.append(_Way(*passing[k], self.pipes.get(e.key) if e.is_pipe else None, -1))

    def step(self, told: list[float], seconds: float) -> dict[int, float]:
        """Let the water move on; temperature of each node that it passes, [K], mean over the step.

        Parameters
        ----------
        told : list of float
            What the rows of `moment` give now, [K]
        seconds : float
        """
        found: dict[int, float] = {n: told[row] for n, row in self.first.items()}
        mixing: dict[int, list[float]] = {}
        for way in self.ways:
            if way.given >= 0:
                out = told[way.given]
            else:
                if way.start not in found:
                    mass, heat, low, high = mixing[way.start]
                    set_at = self.held.get(way.start)
                    found[way.start] = heat / mass if set_at is None else min(max(set_at, low), high)
                t = found[way.start]
                forward = way.start == way.element.start
                out = t if way.pipe is None else way.pipe.push(way.w * seconds, t, forward, seconds)
            into = mixing.setdefault(way.end, [0.0, 0.0, math.inf, -math.inf])
            into[0] += way.w
            into[1] += way.w * out
            into[2], into[3] = min(into[2], out), max(into[3], out)
        return found

    def end(self, t: float) -> None:
        """The run is over."""
        for content in self.pipes.values():
            content.end(t)

    def tap(self, elements: Iterable[Element], rows: Rows, found: dict[int, float]) -> float:
        """What a tap gives, [K]: mixed to its temperature where it can be; nan where it draws nothing."""
        drawn = [e for e in elements if rows.flows(e.index) and e.start in found]
        if not drawn:
            return math.nan
        legs = [found[e.start] for e in drawn]
        mixer = next((d for d in rows.s.devices if isinstance(d, Fixture) and d.key == drawn[0].key), None)
        if len(legs) == 1 or mixer is None:
            return legs[0]
        return min(max(mixer.set_at, min(legs)), max(legs))


def _makes_heat(rows: Rows, e: Element) -> bool:
    """Whether the balance alone tells what leaves an element: a source, a vessel's outlet, an exchanger."""
    role = rows.s.roles.of.get(e.index)
    if isinstance(role, Tap):
        return float(rows.w[e.index]) < 0.0
    return isinstance(role, (Source, Standing, Coil, Side)) and not e.is_pipe
