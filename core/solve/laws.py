"""Whether a settled case keeps the laws of flow and heat, by arithmetic of its own, apart from the solver's.

What is not kept names the law and the place; the case then does not count as solved. Sources of the laws:
conservation of mass and energy, the second law, and what the plant file's contract says of each kind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import G
from core.hydraulics.elements import Element
from core.solve.mixing_controls import Fixture, MixingValve, ThreeWay
from core.solve.pump_controls import DeltaT
from core.solve.settle import Settled
from core.solve.solution import Broken
from core.thermal.exchanger import effectiveness
from core.thermal.heat import HeatTable, HeatTables, heat_table
from core.thermal.roles import Coil, Giving, Losing, Source, Tap
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

STILL = 2e-6  # [kg/s] flows below carry nothing
LEAK = 1e-6  # [kg/s] imbalance and backward flow within the arithmetic, as a share of the largest flow too
WATT, SHARE = 0.5, 2e-4  # heat within which a law counts as kept, and share of the heat it is about
KELVIN = 0.02  # [K]
PASCAL, PART = 5.0, 2e-3  # loss of pressure, and share of the largest in its run
LAMINAR, TURBULENT = 2000.0, 4000.0
COLDEST = 0.1  # [K] below freezing that still counts as arithmetic


def broken_laws(s: Settled) -> tuple[Broken, ...]:
    """The laws that a settled case does not keep, the worst place of each.

    Parameters
    ----------
    s : Settled

    Returns
    -------
    tuple of Broken
        Empty where all are kept
    """
    found: dict[str, Broken] = {}
    for broken in _Check(s).all():
        found.setdefault(broken.law, broken)
    return tuple(found.values())


class _Check:
    def __init__(self, s: Settled) -> None:
        self.s, self.net = s, s.net
        self.w = s.balance.w
        self.size = np.abs(self.w)
        self.moves = self.size > STILL
        self.t_in, self.t_out = s.thermal.t_in, s.thermal.t_out
        self.tables = [heat_table(b.fluid) for b in s.net.bodies]

    def all(self) -> Iterator[Broken]:
        yield from self.mass()
        yield from self.ways()
        yield from self.pressures()
        yield from self.temperatures()
        yield from self.mixing()
        yield from self.elements()
        yield from self.groups()
        yield from self.rooms()
        yield from self.controls()

    # flow -------------------------------------------------------------------------------------------------

    @cached_property
    def ends(self) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """Start and end node of each element."""
        starts = np.array([e.start for e in self.net.elements], np.intp)
        return starts, np.array([e.end for e in self.net.elements], np.intp)

    def mass(self) -> Iterator[Broken]:
        """What comes into a node leaves it."""
        starts, ends = self.ends
        n = len(self.net.drawing.heights)
        left = np.bincount(ends, self.w, n) - np.bincount(starts, self.w, n)
        left[[*self.net.mains, *self.net.airs]] = 0.0
        node = int(np.abs(left).argmax()) if n else 0
        if n and abs(left[node]) > LEAK * (1.0 + float(self.size.max(initial=0.0))):
            yield Broken("mass", self.place(node), f"{left[node]:.3g} kg/s more comes than leaves")

    def ways(self) -> Iterator[Broken]:
        """Nothing passes what is shut, nor a one-way way backward."""
        least = LEAK * (1.0 + float(self.size.max(initial=0.0)))
        shut = self.s.settings.closed & (self.size > least)
        back = self.net.columns.one_way & (self.w < -least)
        for law, wrong in (("shut", shut), ("one way", back)):
            for i in np.flatnonzero(wrong)[:1]:
                yield Broken(law, self.net.elements[i].key, f"{abs(self.w[i]):.3g} kg/s passes it")

    def pressures(self) -> Iterator[Broken]:
        """Along every run the pressures at its ends differ by what it loses, less what drives it."""
        s, net, c = self.s, self.net, self.net.columns
        loss = self._friction() + (c.minor + s.settings.square) / s.rho * self.w * self.size
        for i in np.flatnonzero(c.curved).tolist():
            e = net.elements[i]
            drop = e.curve.at(self.size[i] / s.rho[i]) if e.curve is not None else 0.0
            loss[i] += math.copysign(drop * (s.rho[i] * G if e.is_head else 1.0), self.w[i])
        opens = np.where(c.opens_by_head, c.opens_at * s.rho * G, c.opens_at)
        loss += np.where(self.w > 0.0, opens, 0.0)
        for i, drive in s.settings.drives.items():
            loss[i] -= drive.head(float(self.w[i] / s.rho[i]))[0] * s.rho[i] * G
        reference = np.array([s.column[b.elements[0]] if b.elements else 0.0 for b in net.bodies])
        body = np.array([net.body_of[e.start] for e in net.elements], np.intp)
        loss -= (s.column - reference[body]) * G * c.fall
        held = s.settings.upper <= self.size * (1.0 + 1e-9)
        holds = held | s.settings.closed | ~self.moves | self._unsure
        p = s.balance.pressure
        for b in net.branches:
            es = b.elements
            if b.start not in p or b.end not in p or holds[es].any() or s.balance.parts.get(b.start) is None:
                continue
            each = np.array(b.signs) * loss[es]
            off = p[b.start] - p[b.end] - float(each.sum())
            if abs(off) > PASCAL + PART * float(np.abs(each).max()):
                yield Broken("pressure", net.elements[es[0]].key, f"{off:.0f} Pa are lost nowhere")
                return

    def _friction(self) -> Array:
        """Darcy-Weisbach with 64/Re or Colebrook-White; between these the loss is not judged."""
        c, mu, rho = self.net.columns, self.s.mu, self.s.rho
        bore = np.where(c.rubs, c.bore, 1.0)
        area = math.pi / 4.0 * bore * bore * c.count
        re = self.size * bore / (area * mu)
        self._unsure = c.rubs & (re > LAMINAR * 0.99) & (re < TURBULENT * 1.01)
        rough = c.roughness / bore / 3.7
        x = -2.0 * np.log10(rough + 5.74 / np.maximum(re, TURBULENT) ** 0.9)
        for _ in range(3):
            x = -2.0 * np.log10(rough + 2.51 * x / np.maximum(re, TURBULENT))
        factor = np.where(re < LAMINAR, 64.0 / np.maximum(re, 1e-12), 1.0 / (x * x))
        loss = factor * c.length / bore * self.w * self.size / (2.0 * rho * area * area)
        # Reducers hold what no loss explains.
        self._unsure |= np.array([e.has(Trait.HOLDS_OUTLET_PRESSURE) for e in self.net.elements], bool)
        return np.where(c.rubs & self.moves, loss, 0.0)

    # heat -------------------------------------------------------------------------------------------------

    def temperatures(self) -> Iterator[Broken]:
        """Plain water is above freezing; no fluid leaves what sources, mains, rooms and weather allow."""
        for body in self.net.bodies:
            es = np.array(body.elements, np.intp)
            if not len(es):
                continue
            low = np.minimum(self.t_in[es], self.t_out[es])
            k = int(low.argmin())
            if body.fluid.kind != "custom" and low[k] < body.fluid.low - COLDEST:
                text = f"{body.fluid.name} at {low[k] - 273.15:.1f} degC is below its freezing point"
                yield Broken("freezing", self.net.elements[es[k]].key, text)

    def mixing(self) -> Iterator[Broken]:
        """Where waters meet, the heat that comes leaves again."""
        s, net = self.s, self.net
        starts, ends = self.ends
        n = len(net.drawing.heights)
        i = np.flatnonzero(self.moves)
        forward = self.w[i] > 0.0
        into, out_of = np.where(forward, ends[i], starts[i]), np.where(forward, starts[i], ends[i])
        tables = HeatTables([self.tables[net.body_of[node]] for node in starts[i]])
        arriving = tables.content_and_capacity(self.t_out[i])[0] * self.size[i]
        leaving = tables.content_and_capacity(self.t_in[i])[0] * self.size[i]
        come, left = np.bincount(into, arriving, n), np.bincount(out_of, leaving, n)
        more = come - left
        flow = np.bincount(into, self.size[i], n)
        for node, t in s.roles.main_temperature.items():
            brought = float(self.size[i][out_of == node].sum() - self.size[i][into == node].sum())
            if brought > 0.0:
                more[node] += brought * self.tables[net.body_of[node]].content(t)
            elif flow[node] > 0.0:  # a main that takes water takes it as it comes together
                more[node] += brought * come[node] / flow[node]
        skip = {*net.airs, *s.roles.stores, *s.roles.fixed}
        skip |= {node for hold in s.roles.holds.values() for node in hold.nodes}
        skip |= {coil.node for coil in s.roles.coils.values()}
        more[list(skip)] = 0.0
        more[flow == 0.0] = 0.0
        worst = int(np.abs(more).argmax()) if n else 0
        if n and abs(more[worst]) > WATT + KELVIN * 4200.0 * float(flow[worst]):
            yield Broken("mixing", self.place(worst), f"{more[worst]:.3g} W more come than leave")

    def elements(self) -> Iterator[Broken]:
        """What each item does to the heat of its water."""
        of, net = self.s.roles.of, self.net
        idle = ~np.isin(np.arange(len(net.elements)), list(of)) & self.moves
        change = np.where(idle, np.abs(self.t_in - self.t_out), 0.0)
        for i in np.flatnonzero(change > KELVIN)[:1]:
            yield Broken("energy", net.elements[i].key, "its water changes temperature without cause")
        for i, role in of.items():
            if not self.moves[i]:
                continue
            e = net.elements[i]
            if isinstance(role, Losing):
                rate = self.rate(e)
                want = role.around + (self.t_in[i] - role.around) * math.exp(-role.ua / rate)
                if abs(self.t_out[i] - want) > KELVIN:
                    yield Broken("pipe loss", e.key, f"{self.t_out[i] - want:.3g} K off")
            elif isinstance(role, Source):
                yield from self.source(e, role)
            elif isinstance(role, Giving):
                yield from self.emitter(e, role)
            elif isinstance(role, Coil):
                yield from self.coil(e, role)
            elif isinstance(role, Tap) and self.w[i] < 0.0 and abs(self.t_out[i] - role.given) > KELVIN:
                yield Broken("given temperature", e.key, "its outflow is not at the temperature given")
        for key, plates in self.s.roles.exchangers.items():
            if self.moves[plates.a.index] and self.moves[plates.b.index]:
                yield from self.exchanger(key, plates.a, plates.b, plates.ua, plates.arrangement)

    def source(self, e: Element, role: Source) -> Iterator[Broken]:
        """Within capacity, never above the higher of set point and inlet; at the set point.

        Else at capacity.
        """
        i, heat = e.index, -self.given(e)
        near = WATT + SHARE * abs(heat)
        t_in, t_out = float(self.t_in[i]), float(self.t_out[i])
        if not role.on or role.set_at is None:
            if abs(heat) > near:
                yield Broken("source off", e.key, f"it is off and gives {heat:.0f} W")
            return
        capacity = role.stated if role.output is None else role.output.heat(t_out)
        capacity = math.inf if capacity is None else capacity * role.share
        if heat < -near:
            yield Broken("second law", e.key, f"it takes {-heat:.0f} W out of its water")
        if heat > capacity + near:
            yield Broken("capacity", e.key, f"it gives {heat:.0f} W of the {capacity:.0f} W it can")
        if t_out > max(role.set_at, t_in) + KELVIN:
            yield Broken("set point", e.key, f"its water leaves {t_out - role.set_at:.2f} K above it")
        short = role.set_at - t_out
        if not role.cycles and short > KELVIN and heat < capacity - near:
            yield Broken("set point", e.key, f"its water leaves {short:.2f} K too cold, below its capacity")

    def emitter(self, e: Element, role: Giving) -> Iterator[Broken]:
        """By its surface, by what is wanted of it, or by the least temperature of its water."""
        i, heat, rate = e.index, self.given(e), self.rate(e)
        t_in, t_out = float(self.t_in[i]), float(self.t_out[i])
        near = WATT + SHARE * abs(heat)
        if role.emitter.ua is None:
            wanted = role.wanted or 0.0
            if heat > wanted + near:
                yield Broken("load", e.key, f"it takes {heat:.0f} W, {wanted:.0f} W are wanted")
            if heat < -near:
                yield Broken("second law", e.key, f"it gives {-heat:.0f} W to its water")
            if heat > near and t_out < role.least_at - KELVIN:
                yield Broken("least temperature", e.key, "it cools its water below what it can use")
            return
        units = role.emitter.conductance(t_in, t_out, role.room) / rate
        possible = rate * -math.expm1(-units) * (t_in - role.room)
        want = min(role.wanted or 0.0, possible) if role.capped else possible
        if abs(heat - want) > near + KELVIN * rate:
            yield Broken("emitter", e.key, f"it gives {heat:.0f} W, by its law {want:.0f} W")

    def coil(self, e: Element, role: Coil) -> Iterator[Broken]:
        """Its heat by its conductance to the tank's water."""
        t_tank = role.given if role.given is not None else self.s.node.get(role.node)
        if t_tank is None:
            return
        rate = self.rate(e)
        want = rate * -math.expm1(-role.ua / rate) * (float(self.t_in[e.index]) - t_tank)
        if abs(self.given(e) - want) > WATT + SHARE * abs(want) + KELVIN * rate:
            yield Broken("coil", e.key, f"it gives {self.given(e):.0f} W, by its law {want:.0f} W")

    def exchanger(self, key: str, a: Element, b: Element, ua: float, arrangement: str) -> Iterator[Broken]:
        """What one side gives the other takes, by effectiveness and transfer units, from warm to cold."""
        given, taken = self.given(a), -self.given(b)
        rates = self.rate(a), self.rate(b)
        span = float(self.t_in[a.index] - self.t_in[b.index])
        if (self.w[a.index] > 0.0) != (self.w[b.index] > 0.0):
            arrangement = "parallel" if arrangement == "counter" else "counter"
        low = min(rates)
        want = low * effectiveness(ua / low, low / max(rates), arrangement) * span
        near = WATT + 5.0 * SHARE * abs(want) + KELVIN * low
        if abs(given - taken) > near or abs(given - want) > near:
            yield Broken("exchanger", key, f"{given:.0f} W given, {taken:.0f} taken, by its law {want:.0f}")
        if given * span < -near * abs(span):
            yield Broken("second law", key, "heat goes from cold to warm")

    def groups(self) -> Iterator[Broken]:
        """Plain loads are cut alike, and only while no source of their water could give more."""
        shares = self.s.thermal.given_share
        for i, role in self.s.roles.of.items():
            if not isinstance(role, Giving) or role.emitter.ua is not None or not role.wanted:
                continue
            if not self.moves[i]:
                continue
            e, heat = self.net.elements[i], self.given(self.net.elements[i])
            rate = self.rate(e)
            room = max(0.0, rate * (float(self.t_in[i]) - role.least_at))
            want = max(0.0, min(shares.get(i, 1.0) * role.wanted, room))
            if abs(heat - want) > WATT + SHARE * role.wanted + KELVIN * rate:
                yield Broken("cut", e.key, f"it takes {heat:.0f} W, its share is {want:.0f} W")

    def rooms(self) -> Iterator[Broken]:
        """A room loses what it gets; one that a stat holds is at its temperature while it gets enough."""
        heats = dict.fromkeys(self.s.roles.rooms, 0.0)
        for i, role in self.s.roles.of.items():
            if isinstance(role, Giving) and role.home in heats and self.moves[i]:
                heats[role.home] += role.share * self.given(self.net.elements[i])
        for key, room in self.s.roles.rooms.items():
            t = self.s.thermal.room.get(key)
            if t is None:
                continue
            more = heats[key] + room.gain - room.loss * (t - room.outdoor)
            held = room.held is not None and abs(t - room.held.set_at) <= KELVIN
            surplus = room.held is not None and (room.held.pinned or room.held.sense * more >= -WATT)
            if abs(more) > WATT + SHARE * abs(heats[key]) + KELVIN * room.loss and not (held and surplus):
                yield Broken("room", key, f"{more:.0f} W are neither lost nor stored")

    def controls(self) -> Iterator[Broken]:
        """Valves mix to their set points or stand at an end; speeds stay within their limits."""
        for d in self.s.devices:
            if isinstance(d, DeltaT):
                if not d.least_speed - 1e-9 <= d.speed <= max(d.most_speed, d.least_speed) + 1e-9:
                    yield Broken("speed", d.key, f"{d.speed:.3f} is beyond its limits")
            elif isinstance(d, (MixingValve, Fixture)) and not isinstance(d, ThreeWay):
                legs = [leg for leg in (d.hot, d.cold) if leg is not None]
                if len(legs) < 2 or not all(self.moves[leg.index] for leg in legs):
                    continue
                flows = [float(self.size[leg.index]) for leg in legs]
                table = self.table(legs[0])
                contents = [table.content(float(self.t_out[leg.index])) for leg in legs]
                mix = sum(f * h for f, h in zip(flows, contents, strict=True)) / sum(flows)
                off = table.temperature(mix) - d.set_at
                at_end = isinstance(d, Fixture) and (d.value >= 1.0 or sum(flows) < d.mass * (1.0 - LEAK))
                if abs(off) > KELVIN and not at_end:
                    yield Broken(
                        "mixed temperature", d.key, f"{off:.2f} K off its set point, both sides open"
                    )

    # helpers ----------------------------------------------------------------------------------------------

    def table(self, e: Element) -> HeatTable:
        return self.tables[self.net.body_of[e.start]]

    def given(self, e: Element) -> float:
        """Heat its water gives off, [W]."""
        content = self.table(e).content
        fall = content(float(self.t_in[e.index])) - content(float(self.t_out[e.index]))
        return float(self.size[e.index]) * fall

    def rate(self, e: Element) -> float:
        """Capacity rate, [W/K]."""
        cp = self.table(e).mean_capacity(float(self.t_in[e.index]), float(self.t_out[e.index]))
        return float(self.size[e.index]) * cp

    def place(self, node: int) -> str:
        """An id at a node."""
        touching = self.net.touching[node]
        return next((e.key for e in touching if not e.is_pipe), touching[0].key if touching else "")
