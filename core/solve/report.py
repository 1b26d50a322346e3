"""The settled case as figures by pipe and item, in the units of the plant file's contract.

A room's heat_w is that of the on-state; loss_w = duty_share heat_w + gain. `coil_duty_w` is positive into
the tank and part of `duty_w`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from core.figures import (
    BypassFigures,
    CoilTankFigures,
    EmitterFigures,
    ExchangerFigures,
    Figures,
    HeatPumpFigures,
    MainFigures,
    MixingFigures,
    OutletFigures,
    PipeFigures,
    PointFigures,
    PumpFigures,
    ResetFigures,
    RoomFigures,
    SharingFigures,
    SourceFigures,
    StatFigures,
    TankFigures,
    ThroughFigures,
    TwoEndsFigures,
    UseFigures,
)
from core.hydraulics.circulators import G
from core.hydraulics.elements import Element
from core.hydraulics.pressures import Pressures
from core.plant.model import Item
from core.thermal.heat import ZERO, HeatTable, heat_table
from core.thermal.roles import Giving, Source, Standing, Tap
from core.thermal.temperatures import STILL
from core.vocabulary.traits import Report

if TYPE_CHECKING:
    from core.solve.settle import Settled


ROOM_REACHED = 1e-3  # [K] within which a room counts as at what it wants


def figures_of(s: Settled, pressures: Pressures) -> tuple[dict[str, PipeFigures], dict[str, Figures]]:
    """Figures of the pipes and of the items of a settled case, by id.

    Parameters
    ----------
    s : Settled
    pressures : Pressures
        Of the same case

    Returns
    -------
    pipes, items : dict
    """
    reader = _Reader(s, pressures)
    pipes = {e.key: reader.pipe(e) for e in s.net.elements if e.is_pipe}
    items = {}
    for key, item in s.net.plant.items.items():
        if item.stage != "to_remove" and (found := reader.item(item)):
            items[key] = found
    return pipes, items


class _Reader:
    def __init__(self, s: Settled, pressures: Pressures) -> None:
        self.s = s
        self.net = s.net
        self.p = pressures
        t = s.thermal
        mean = 0.5 * (t.t_in + t.t_out)
        rho, mu = s.rho.copy(), s.mu.copy()
        for fluid, indices in s.net.fluid_groups:
            rho[indices], mu[indices], _ = fluid.properties(mean[indices])
        # By element; lists, as single figures are quicker taken from them than from arrays.
        self.w: list[float] = s.balance.w.tolist()
        self.rho: list[float] = rho.tolist()
        self.mu: list[float] = mu.tolist()
        self.t_in: list[float] = t.t_in.tolist()
        self.t_out: list[float] = t.t_out.tolist()
        self.loss: list[float] = pressures.loss.tolist()

    def ends(self, e: Element) -> tuple[float, float]:
        """Temperatures at the start and the end of an element, [K]."""
        t_in, t_out = self.t_in[e.index], self.t_out[e.index]
        return (t_in, t_out) if self.w[e.index] >= 0.0 else (t_out, t_in)

    def flow(self, e: Element) -> float:
        """Volume flow from start to end, [m^3/s]."""
        return _plain(self.w[e.index] / self.rho[e.index])

    def table(self, e: Element) -> HeatTable:
        """Heat table of the water in an element."""
        return heat_table(self.net.bodies[self.net.body_of[e.start]].fluid)

    def duty(self, e: Element) -> float:
        """Heat the water takes up on its way through an element, [W]."""
        w, table = abs(self.w[e.index]), self.table(e)
        if w <= STILL:
            return 0.0
        return w * (table.content(self.t_out[e.index]) - table.content(self.t_in[e.index]))

    def pipe(self, e: Element) -> PipeFigures:
        start, end = self.ends(e)
        flow, i, bore = self.flow(e), e.index, e.bore
        area = math.pi * bore * bore / 4.0
        return PipeFigures(
            flow,
            flow / area if area else 0.0,
            4.0 * abs(self.w[i]) / (math.pi * bore * self.mu[i]) if bore else 0.0,
            _plain(self.loss[i]),
            start - ZERO,
            end - ZERO,
            self.p.at[e.start],
            self.p.at[e.end],
        )

    def item(self, item: Item) -> Figures | None:
        elements = self.net.of_item.get(item.id, [])
        of = item.kind_info
        if of.report is None or not of.solved:
            return None
        return _MAKERS[of.report](self, item, elements)

    def through(self, item: Item, elements: list[Element]) -> ThroughFigures:
        return ThroughFigures(self.flow(elements[0]))

    def point(self, item: Item, elements: list[Element]) -> PointFigures:
        node = self.net.node(item.id, "at")
        return PointFigures(self.p.at[node], self.s.node.get(node, ZERO) - ZERO)

    def main(self, item: Item, elements: list[Element]) -> MainFigures:
        point = self.point(item, elements)
        supplied = self._supplied(self.net.node(item.id, "at"))
        return MainFigures(point.pressure_pa, point.temperature_c, supplied)

    def _supplied(self, node: int) -> float:
        """Flow that a main brings into the plant, [m^3/s]."""
        total = 0.0
        for e in self.net.elements:
            if node in (e.start, e.end):
                total += (1.0 if e.start == node else -1.0) * self.flow(e)
        return total

    def circulator(self, item: Item, elements: list[Element]) -> PumpFigures:
        e = elements[0]
        drive = self.s.settings.drives.get(e.index)
        flow = self.flow(e)
        speed = 0.0
        if drive is not None:
            speed = drive.speed_at(flow)
        head = _plain(-self.loss[e.index] / (self.rho[e.index] * G))
        return PumpFigures(flow, head, drive is not None, float(speed))

    def source(self, item: Item, elements: list[Element]) -> SourceFigures:
        e = elements[0]
        role = self.s.roles.of[e.index]
        if isinstance(role, Standing):
            t = self.ends(e)[1 if self.w[e.index] >= 0.0 else 0] - ZERO
            return SourceFigures(self.flow(e), role.heating, 0.0, role.heating > 0.0, t)
        assert isinstance(role, Source)
        mode = self.s.thermal.source.get(e.index, "off")
        cycles = any(item.id in c.sources for c in self.s.setup.regime.cycles.values())
        running = mode in ("set", "limit") and abs(self.w[e.index]) > STILL
        duty = self.duty(e) if running else 0.0
        short = 0.0
        if running and role.set_at is not None:
            table = self.table(e)
            t_in = self.t_in[e.index]
            need = abs(self.w[e.index]) * (table.content(role.set_at) - table.content(t_in))
            short = max(0.0, need - duty)
        return SourceFigures(
            self.flow(e),
            duty,
            short if short > 1e-6 * max(duty, 1.0) and not cycles else 0.0,
            running,
            self.ends(e)[1 if self.w[e.index] >= 0.0 else 0] - ZERO,
            role.share if cycles else None,
        )

    def emitter(self, item: Item, elements: list[Element]) -> EmitterFigures:
        e = next(x for x in elements if x.part == "")
        role = self.s.roles.of.get(e.index)
        given = -self.duty(e)
        delivered = given if abs(given) > 1e-9 else 0.0
        wanted, reached = delivered, False
        if isinstance(role, Giving):
            if role.need is not None:
                room = self.s.roles.rooms[role.home]
                wanted = role.need
                reached = self.s.thermal.room.get(role.home, 0.0) >= room.wanted - ROOM_REACHED
            elif role.emitter.wanted is not None:
                wanted = role.emitter.wanted
        short = max(0.0, wanted - delivered) if wanted > 0.0 and not reached else 0.0
        if short > 0.0 and abs(self.w[e.index]) <= STILL and not self.s.setup.called(e.index):
            short = 0.0
        short = short if short > 1e-6 * max(wanted, 1.0) else 0.0
        return EmitterFigures(self.flow(e), wanted, delivered, short)

    def exchanger(self, item: Item, elements: list[Element]) -> ExchangerFigures:
        a, b = elements
        duty = abs(self.duty(a))
        rates = []
        for e in (a, b):
            table = self.table(e)
            mean_cp = table.mean_capacity(self.t_in[e.index], self.t_out[e.index])
            rates.append(abs(self.w[e.index]) * mean_cp)
        span = abs(self.t_in[a.index] - self.t_in[b.index])
        both = min(abs(self.w[e.index]) for e in (a, b)) > STILL
        effect = duty / (min(rates) * span) if both and span > 1e-6 else 0.0
        return ExchangerFigures(duty if both else 0.0, effect, self.flow(a), self.flow(b))

    def heat_pump(self, item: Item, elements: list[Element]) -> HeatPumpFigures:
        """As a source; at part load it takes power in proportion to the heat it gives."""
        found = self.source(item, elements)
        role = self.s.roles.of[elements[0].index]
        assert isinstance(role, Source)
        power = cop = None
        if role.output is not None:
            power = role.output.power_for(found.duty_w, found.temperature_c + ZERO)
            cop = found.duty_w / power if power > 0.0 else 0.0
        return HeatPumpFigures(
            found.flow_m3_s,
            found.duty_w,
            found.short_w,
            found.running,
            found.temperature_c,
            found.duty_share,
            power,
            cop,
        )

    def coil_tank(self, item: Item, elements: list[Element]) -> CoilTankFigures:
        coil = elements[-1]
        tank = self.tank(item, elements[:-1])
        given = -self.duty(coil)
        return CoilTankFigures(
            tank.temperature_c,
            tank.duty_w + given,
            tank.duty_share,
            coil_duty_w=given,
            coil_flow_m3_s=self.flow(coil),
        )

    def humidifier(self, item: Item, elements: list[Element]) -> UseFigures:
        through, use = elements
        used, t = self.flow(use), self.s.node[use.start]
        return UseFigures(self.flow(through) + used, used, t - ZERO)

    def bypass(self, item: Item, elements: list[Element]) -> BypassFigures:
        e = elements[0]
        return BypassFigures(self.flow(e), _plain(self.p.at[e.start] - self.p.at[e.end]))

    def three_way(self, item: Item, elements: list[Element]) -> SharingFigures:
        """Flows toward ab; `a_share` is of what flows at ab, 1 where all of it passes a."""
        a, b = (self.w[e.index] for e in elements)
        total, node = a + b, self.net.node(item.id, "ab")
        fluid = self.net.bodies[self.net.body_of[node]].fluid
        position = item.si.get("position")
        seeking = next((d.value for d in self.s.devices if d.key == item.id), None)
        return SharingFigures(
            _plain(total / float(fluid.density(self.s.node[node]))),
            self.flow(elements[0]),
            self.flow(elements[1]),
            min(1.0, max(0.0, a / total)) if abs(total) > STILL else 0.0,
            float(seeking if seeking is not None else 0.5 if position is None else position),
            self.s.node[node] - ZERO,
        )

    def tank(self, item: Item, elements: list[Element]) -> TankFigures:
        star = self.net.node(item.id, "*")
        table = heat_table(self.net.bodies[self.net.body_of[star]].fluid)
        heat = 0.0
        for e in elements:
            w = self.w[e.index]
            if abs(w) > STILL:
                t = self.t_in[e.index] if w > 0.0 else self.t_out[e.index]
                heat += w * table.content(t)
        given = {r.given for e in elements if isinstance(r := self.s.roles.of.get(e.index), Tap)}
        t = sum(given) / len(given) if given else self.s.node[star]
        duty = heat + float(item.si.get("element") or 0.0)
        return TankFigures(t - ZERO, duty, self.s.thermostats.share.get(item.id))

    def room(self, item: Item, elements: list[Element]) -> RoomFigures:
        """Heat of all its emitters in their on-state; what is lost is duty_share of that, and the gain."""
        si, state = item.si, self.s.roles.rooms.get(item.id)
        held = self.s.thermostats.holdings.get(item.id)
        wanted = si.get("wanted")
        if wanted is None:
            wanted = held.set_at if held is not None and not held.pinned else self.net.plant.site_si.indoor
        heat = sum(
            -self.duty(self.net.elements[i])
            for i, role in self.s.roles.of.items()
            if isinstance(role, Giving) and role.home == item.id
        )
        share = self.s.thermostats.share.get(item.id, 1.0)
        turn = self.s.thermostats.turns.get(item.id)
        heat = heat if turn is None else turn.heat
        if state is None:
            t, lost = float(wanted), heat * share + float(si.get("gain") or 0.0)
        else:
            t = self.s.thermal.room[item.id]
            lost = state.loss * (t - state.outdoor)
        return RoomFigures(t - ZERO, float(wanted) - ZERO, _plain(heat), _plain(lost), share)

    def stat(self, item: Item, elements: list[Element]) -> StatFigures:
        """What a stat senses; the share of its time on where it holds a place, and what it senses off."""
        thermostats = self.s.thermostats
        t = thermostats.felt.get(item.id, math.nan)
        off = thermostats.hunts[item.id][1] if item.id in thermostats.hunts else math.nan
        share = thermostats.cycles.get(item.id)
        for place, held in thermostats.holdings.items():
            if held.by == item.id:
                share = thermostats.share.get(place, share)
        on = bool(self.s.signals.on.get(item.id, False))
        return StatFigures(on, _celsius(t), _celsius(off), share)

    def reset(self, item: Item, elements: list[Element]) -> ResetFigures | None:
        supply = self.s.resets.supply.get(item.id)
        return None if supply is None else ResetFigures(supply - ZERO)

    def ends_of_separator(self, item: Item, elements: list[Element]) -> TwoEndsFigures:
        cross = next(e for e in elements if e.part == "cross")
        upper, lower = (self.s.node[self.net.node(item.id, end)] for end in ("upper", "lower"))
        given = next((r.given for e in elements if isinstance(r := self.s.roles.of.get(e.index), Tap)), None)
        if given is not None:  # what enters it mixes at once
            upper = lower = given
        return TwoEndsFigures(
            self.flow(cross),
            upper - ZERO,
            lower - ZERO,
            self.s.thermostats.share.get(item.id),
        )

    def mixing(self, item: Item, elements: list[Element]) -> MixingFigures:
        hot, cold = (self.w[e.index] for e in elements)
        total = hot + cold
        node = self.net.node(item.id, "mixed")
        e = elements[0]
        fluid = self.net.bodies[self.net.body_of[e.start]].fluid
        t = self.s.node[node]
        share = hot / total if total > STILL else 0.0
        return MixingFigures(_plain(total / float(fluid.density(t))), share, t - ZERO)

    def fixture(self, item: Item, elements: list[Element]) -> OutletFigures:
        elements = [e for e in elements if (item.id, e.part) in self.net.piped] or elements
        fluid = self.net.bodies[self.net.body_of[elements[0].start]].fluid
        table = heat_table(fluid)
        w = [max(0.0, self.w[e.index]) for e in elements]
        total = sum(w)
        if total > STILL:
            h = sum(f * table.content(self.s.node[e.start]) for f, e in zip(w, elements, strict=True)) / total
            t = table.temperature(h)
        else:
            t = max(self.s.node[e.start] for e in elements)
        return OutletFigures(_plain(total / float(fluid.density(t))), t - ZERO)

    def manifold(self, item: Item, elements: list[Element]) -> ThroughFigures:
        return ThroughFigures(self.flow(next(e for e in elements if e.part == "trunk")))


def _celsius(kelvin: float) -> float | None:
    return kelvin - ZERO if math.isfinite(kelvin) else None


def _plain(value: float) -> float:
    return 0.0 if value == 0.0 or not math.isfinite(value) else value


_MAKERS: dict[Report, Callable[[_Reader, Item, list[Element]], Figures | None]] = {
    Report.THROUGH: _Reader.through,
    Report.POINT: _Reader.point,
    Report.MAIN: _Reader.main,
    Report.PUMP: _Reader.circulator,
    Report.SOURCE: _Reader.source,
    Report.HEAT_PUMP: _Reader.heat_pump,
    Report.EMITTER: _Reader.emitter,
    Report.EXCHANGER: _Reader.exchanger,
    Report.TANK: _Reader.tank,
    Report.COIL_TANK: _Reader.coil_tank,
    Report.TWO_ENDS: _Reader.ends_of_separator,
    Report.MIXING: _Reader.mixing,
    Report.SHARING: _Reader.three_way,
    Report.BYPASS: _Reader.bypass,
    Report.MANIFOLD: _Reader.manifold,
    Report.OUTLET: _Reader.fixture,
    Report.USES: _Reader.humidifier,
    Report.ROOM: _Reader.room,
    Report.STAT: _Reader.stat,
    Report.RESET: _Reader.reset,
}
