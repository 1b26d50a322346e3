"""Vessels that store heat: tanks in layers, buffers, separators, and boilers with their own water."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.simulation.parts import Heats, Part
from core.simulation.rows import Face, Rows
from core.solve.settle import Settled
from core.solve.setup import CaseSetup
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable
from core.thermal.roles import Coil, Source, Standing, Tap

Array = npt.NDArray[np.float64]

NEAR = 0.02  # [K] of its point at which a boiler's control counts as there
EDGE = 0.01  # share of an output by which a need passes it before the burner changes


@dataclass
class Vessel(Part):
    """Water in layers, lowest first, with ways that run inward, each to a layer.

    `weight` is the mass of a layer [kg], `cp` one heat capacity for all its water [J/kg/K]; `ua` what a layer
    loses to `around` per kelvin, [W/K].
    """

    ways: list[tuple[Element, int]] = field(default_factory=list)
    table: HeatTable | None = None
    cp: float = 0.0
    ua: float = 0.0
    around: float = 0.0
    element: float = 0.0
    coil: Element | None = None
    coiled: tuple[int, ...] = ()  # layers that its coil lies in
    stacked: bool = True  # colder above warmer mixes at once; else a separator, too small to bend anything
    inner: tuple[int, ...] = ()  # nodes inside

    @property
    def straight(self) -> bool:  # type: ignore[override]
        return not self.stacked

    def elements(self) -> list[Element]:
        return [*(e for e, _ in self.ways), *(() if self.coil is None else (self.coil,))]

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        roles = setup.roles
        for e, layer in self.ways:
            given, role = float(x[self.first + layer]), roles.of.get(e.index)
            if isinstance(role, Tap):
                role.given = given
            else:
                roles.of[e.index] = Tap(self.key, given)
            roles.fixed[e.start] = given
            roles.uncut |= {e.start, e.end}
        mean = self.mean(x)
        for node in self.inner:
            roles.fixed[node] = mean
        if self.coil is not None:
            coil = roles.of[self.coil.index]
            assert isinstance(coil, Coil)
            coil.given = float(np.mean([x[self.first + k] for k in self.coiled]))
            roles.uncut |= {self.coil.start, self.coil.end}

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        for e, layer in self.ways:
            if s.balance.w[e.index] < -STILL:
                yield Face({self.first + layer: 1.0}, ((e.index, 1.0),))
        solver = s.temperatures
        assert solver is not None
        if self.coil is None or abs(s.balance.w[self.coil.index]) <= STILL or solver.flowing is None:
            return
        coil, i = s.roles.of[self.coil.index], self.coil.index
        assert isinstance(coil, Coil)
        share = -math.expm1(-coil.ua / solver.flowing.rate(i))
        yield Face({self.first + k: 1.0 / len(self.coiled) for k in self.coiled}, ((i, share),))

    def heat(self, heats: Heats) -> None:
        rows = heats.rows
        self._flows(heats)
        for layer in range(len(self.start)):
            lost = self.ua * (rows.state(self.first + layer) - rows.const(self.around))
            heats.add(self.first + layer, -lost)
            heats.meter("loss", self.key, lost)
        if self.element:
            heats.add(self.first, rows.const(self.element))
            heats.meter("heat", self.key, rows.const(self.element))
        if self.coil is not None:
            for layer in self.coiled:
                heats.add(self.first + layer, rows.given(self.coil.index) / len(self.coiled))

    def _flows(self, heats: Heats) -> None:
        """What comes in and goes out, and what passes between layers, about one heat content."""
        rows = heats.rows
        assert self.table is not None
        at = self.mean(rows.x)
        content = rows.const(self.table.content(at))
        net = [0.0] * len(self.start)
        for e, layer in self.ways:
            w = float(rows.w[e.index])
            if abs(w) <= STILL:
                continue
            t = rows.t_in[e.index] if w > 0.0 else rows.state(self.first + layer)
            heats.add(self.first + layer, w * (rows.content(e.index, t) - content))
            net[layer] += w
        upward = 0.0
        for layer in range(len(self.start) - 1):
            upward += net[layer]
            donor = layer if upward > 0.0 else layer + 1
            moved = upward * self.cp * (rows.state(self.first + donor) - rows.const(at))
            heats.add(self.first + layer, -moved)
            heats.add(self.first + layer + 1, moved)

    def after(self, x: Array, seconds: float) -> float:
        """Mix layers that lie above warmer ones: neighbors are pooled until all rise in temperature."""
        if not self.stacked or len(self.start) == 1:
            return 0.0
        layers = x[self.at]
        if bool(np.all(layers[1:] >= layers[:-1])):
            return 0.0
        pools: list[list[float]] = []  # weight, temperature, count
        for t, weight in zip(layers.tolist(), self.capacity, strict=True):
            pools.append([weight, t, 1.0])
            while len(pools) > 1 and pools[-2][1] > pools[-1][1]:
                top = pools.pop()
                low = pools[-1]
                whole = low[0] + top[0]
                low[1] = (low[0] * low[1] + top[0] * top[1]) / whole
                low[0], low[2] = whole, low[2] + top[2]
        mixed = np.array([t for _, t, count in pools for _ in range(int(count))])
        change = float(np.abs(mixed - layers).max())
        x[self.at] = mixed
        return change

    def layer_at(self, height: float, bottom: float, tall: float) -> int:
        """The layer at a height above the datum, [m]."""
        many = len(self.start)
        return min(many - 1, max(0, int((height - bottom) / tall * many))) if tall > 0.0 else 0


@dataclass
class BoilerPart(Part):
    """A boiler with a differential: its own water, and a burner that goes on and off, or throttles.

    Its control goes off where its outlet reaches `set_at`, on at `set_at` less `band`. `holding` it throttles
    so that the outlet stands at its set temperature, as in `solve`. Else it gives `power`, [W]: its least
    where its circuit takes less than that and its outlet stands within the band, its most where the circuit
    takes more, or its water is colder yet. What the circuit takes is what leaves its water at `takers`:
    emitters, exchangers, coils and tanks, not what warms water on its way.
    """

    element: Element | None = None
    set_at: float = 0.0
    band: float = 0.0
    least: float = 0.0
    most: float = math.inf
    burning: bool = False
    holding: bool = False
    power: float = 0.0
    fires: bool = True  # what its own control says
    takers: tuple[int, ...] = ()
    straight: ClassVar[bool] = True

    @property
    def way(self) -> int:
        """Its element."""
        assert self.element is not None
        return self.element.index

    def elements(self) -> list[Element]:
        return [] if self.element is None else [self.element]

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        roles, i = setup.roles, self.way
        role = roles.of[i]
        reset = setup.resets.set.get(self.key)
        if reset is not None:
            self.set_at = reset[1]
        assert self.element is not None
        roles.uncut |= {self.element.start, self.element.end}
        if self.holding and isinstance(role, Source):
            role.set_at = self.set_at
            return
        t, fire = float(x[self.first]), self.power if self.burning else 0.0
        if self.holding and isinstance(role, Standing):
            fire = role.heating  # the stretch that is read was before it throttled
        if isinstance(role, Standing):
            role.given, role.heating = t, fire
        else:
            roles.of[i] = Standing(self.key, t, fire)
        roles.stored[i] = t
        for node in (self.element.start, self.element.end):
            roles.fixed[node] = t

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        if not self.holding and abs(s.balance.w[self.way]) > STILL:
            yield Face({self.first: 1.0}, ((self.way, 1.0),))

    def outlet(self, rows: Rows) -> Array:
        """Temperature it gives, [K]."""
        return rows.t_out[self.way] if self.holding and rows.flows(self.way) else rows.state(self.first)

    def need(self, rows: Rows) -> Array:
        """Heat that would keep its outlet at its set temperature, [W]."""
        if not rows.flows(self.way):
            return rows.const(0.0)
        back = rows.t_in[self.way].copy()
        if not self.holding:  # the water that comes back is as much warmer as the boiler would be
            back[rows.n] += back[self.first] * self.set_at
            back[self.first] = 0.0
        w = abs(float(rows.w[self.way]))
        return np.asarray(
            w * (rows.content(self.way, rows.const(self.set_at)) - rows.content(self.way, back))
        )

    def taken(self, rows: Rows) -> Array:
        """Heat that its circuit takes, [W]."""
        total = rows.const(0.0)
        for i in self.takers:
            if not rows.flows(i):
                continue
            if isinstance(rows.s.roles.of.get(i), Tap):  # ways run inward: what comes in less what goes out
                w, inward = float(rows.w[i]), rows.w[i] > 0.0
                total = total + w * rows.content(i, rows.t_in[i] if inward else rows.t_out[i])
            else:
                total = total + rows.given(i)
        return np.asarray(total)

    def heat(self, heats: Heats) -> None:
        rows = heats.rows
        if self.holding:
            heats.meter("heat", self.key, -rows.given(self.way))
            return
        fire = rows.const(self.power if self.burning else 0.0)
        heats.add(self.first, fire + rows.given(self.way))
        heats.meter("heat", self.key, fire)

    def choose(self, on: bool, rows: Rows) -> bool:
        """How it burns from now on, its device being on or not; whether that is otherwise than before."""
        figures = (self.need(rows), self.taken(rows), self.outlet(rows))
        need, taken, outlet = (rows.value(row) for row in figures)
        before = (self.fires, self.holding, self.power)
        able = need > 0.0 and self.least <= need <= self.most
        hot = outlet >= self.set_at - NEAR
        if self.holding and not (on and able):
            self.holding = False
            self.fires = not on or need > self.most
        elif self.fires and hot and not self.holding:
            self.holding = on and able
            self.fires = self.holding or need > self.most
        elif not self.fires and outlet <= self.set_at - self.band + NEAR:
            self.fires = True
        if not self.holding:
            cold = outlet < self.set_at - self.band - NEAR
            self.power = self.most if cold or taken >= self.least else self.least
        return before != (self.fires, self.holding, self.power)

    def stops(self, rows: Rows) -> list[tuple[Array, float, float]]:
        """Points at which it changes: row, point, and way as of a stat."""
        if self.holding:
            need = self.need(rows)
            return [(need, self.least * (1.0 - EDGE), -1.0), (need, self.most * (1.0 + EDGE), 1.0)]
        outlet, on_at = rows.state(self.first), self.set_at - self.band
        if not self.fires:
            return [(outlet, on_at, -1.0)]
        if rows.value(outlet) < on_at - NEAR:
            return [(outlet, self.set_at, 1.0), (outlet, on_at, 1.0)]
        taken, full = self.taken(rows), self.power > self.least
        turn = (taken, self.least * (1.0 - EDGE), -1.0) if full else (taken, self.least * (1.0 + EDGE), 1.0)
        return [(outlet, self.set_at, 1.0), turn]
