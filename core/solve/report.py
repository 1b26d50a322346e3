"""The settled case as figures by pipe and item, in the words and units of the plant file's contract."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from core.hydraulics.circulators import G
from core.hydraulics.elements import Element
from core.hydraulics.pressures import Pressures
from core.plant.model import Item
from core.solve.solution import Figures
from core.thermal.heat import ZERO, HeatTable, heat_table
from core.thermal.roles import Giving, Source, Tap
from core.thermal.temperatures import STILL
from core.vocabulary.traits import Report

if TYPE_CHECKING:
    from core.solve.settle import Settled


ROOM_REACHED = 1e-3  # [K] within which a room counts as at what it wants


def figures_of(s: Settled, pressures: Pressures) -> tuple[dict[str, Figures], dict[str, Figures]]:
    """Figures of the pipes and of the items of a settled case, by id.

    Parameters
    ----------
    s : Settled
    pressures : Pressures
        Of the same case

    Returns
    -------
    pipes, items : dict
        The inner dictionaries carry the unit in each key
    """
    figures = _Figures(s, pressures)
    pipes = {e.key: figures.pipe(e) for e in s.net.elements if e.is_pipe}
    items = {}
    for key, item in s.net.plant.items.items():
        if item.stage != "to_remove" and (found := figures.item(item)):
            items[key] = found
    return pipes, items


class _Figures:
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

    def pipe(self, e: Element) -> Figures:
        start, end = self.ends(e)
        flow, i, bore = self.flow(e), e.index, e.bore
        area = math.pi * bore * bore / 4.0
        return {
            "flow_m3_s": flow,
            "velocity_m_s": flow / area if area else 0.0,
            "reynolds": 4.0 * abs(self.w[i]) / (math.pi * bore * self.mu[i]) if bore else 0.0,
            "drop_pa": _plain(self.loss[i]),
            "temperature_in_c": start - ZERO,
            "temperature_out_c": end - ZERO,
            "pressure_in_pa": self.p.at[e.start],
            "pressure_out_pa": self.p.at[e.end],
        }

    def item(self, item: Item) -> Figures:
        elements = self.net.of_item.get(item.id, [])
        of = item.kind_info
        if of.report is None or not of.solved:
            return {}
        return _MAKERS[of.report](self, item, elements)

    def through(self, item: Item, elements: list[Element]) -> Figures:
        return {"flow_m3_s": self.flow(elements[0])}

    def point(self, item: Item, elements: list[Element]) -> Figures:
        node = self.net.node(item.id, "at")
        return {"pressure_pa": self.p.at[node], "temperature_c": self.s.node.get(node, ZERO) - ZERO}

    def main(self, item: Item, elements: list[Element]) -> Figures:
        supplied = self._supplied(self.net.node(item.id, "at"))
        return {**self.point(item, elements), "flow_m3_s": supplied}

    def _supplied(self, node: int) -> float:
        """Flow that a main brings into the plant, [m^3/s]."""
        total = 0.0
        for e in self.net.elements:
            if node in (e.start, e.end):
                total += (1.0 if e.start == node else -1.0) * self.flow(e)
        return total

    def circulator(self, item: Item, elements: list[Element]) -> Figures:
        e = elements[0]
        drive = self.s.settings.drives.get(e.index)
        flow = self.flow(e)
        speed = 0.0
        if drive is not None:
            speed = drive.speed_at(flow)
        return {
            "flow_m3_s": flow,
            "head_m": _plain(-self.loss[e.index] / (self.rho[e.index] * G)),
            "running": drive is not None,
            "speed": float(speed),
        }

    def source(self, item: Item, elements: list[Element]) -> Figures:
        e = elements[0]
        role = self.s.roles.of[e.index]
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
        return {
            "flow_m3_s": self.flow(e),
            "duty_w": duty,
            "short_w": short if short > 1e-6 * max(duty, 1.0) and not cycles else 0.0,
            "running": running,
            "temperature_c": self.ends(e)[1 if self.w[e.index] >= 0.0 else 0] - ZERO,
            **({"duty_share": role.scale} if cycles else {}),
        }

    def emitter(self, item: Item, elements: list[Element]) -> Figures:
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
        return {
            "flow_m3_s": self.flow(e),
            "wanted_w": wanted,
            "delivered_w": delivered,
            "short_w": short if short > 1e-6 * max(wanted, 1.0) else 0.0,
        }

    def exchanger(self, item: Item, elements: list[Element]) -> Figures:
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
        return {
            "duty_w": duty if both else 0.0,
            "effectiveness": effect,
            "a_flow_m3_s": self.flow(a),
            "b_flow_m3_s": self.flow(b),
        }

    def heat_pump(self, item: Item, elements: list[Element]) -> Figures:
        """As a source; at part load it takes power in proportion to the heat it gives."""
        found = self.source(item, elements)
        role = self.s.roles.of[elements[0].index]
        assert isinstance(role, Source)
        if role.output is not None:
            supply = found["temperature_c"] + ZERO
            most = role.output.heat(supply)
            power = role.output.power(supply) * found["duty_w"] / most if most > 0.0 else 0.0
            found["power_w"] = power
            found["cop"] = found["duty_w"] / power if power > 0.0 else 0.0
        return found

    def coil_tank(self, item: Item, elements: list[Element]) -> Figures:
        coil = elements[-1]
        found = self.tank(item, elements[:-1])
        given = -self.duty(coil)
        found["duty_w"] += given
        return {**found, "coil_duty_w": given, "coil_flow_m3_s": self.flow(coil)}

    def humidifier(self, item: Item, elements: list[Element]) -> Figures:
        through, use = elements
        used, t = self.flow(use), self.s.node[use.start]
        return {"flow_m3_s": self.flow(through) + used, "uses_m3_s": used, "temperature_c": t - ZERO}

    def bypass(self, item: Item, elements: list[Element]) -> Figures:
        e = elements[0]
        return {"flow_m3_s": self.flow(e), "across_pa": _plain(self.p.at[e.start] - self.p.at[e.end])}

    def three_way(self, item: Item, elements: list[Element]) -> Figures:
        """Flows toward ab; `a_share` is of what flows at ab, 1 where all of it passes a."""
        a, b = (self.w[e.index] for e in elements)
        total, node = a + b, self.net.node(item.id, "ab")
        fluid = self.net.bodies[self.net.body_of[node]].fluid
        position = item.si.get("position")
        seeking = next((d.value for d in self.s.devices if d.key == item.id), None)
        return {
            "flow_m3_s": _plain(total / float(fluid.density(self.s.node[node]))),
            "a_flow_m3_s": self.flow(elements[0]),
            "b_flow_m3_s": self.flow(elements[1]),
            "a_share": min(1.0, max(0.0, a / total)) if abs(total) > STILL else 0.0,
            "position": float(seeking if seeking is not None else 0.5 if position is None else position),
            "temperature_c": self.s.node[node] - ZERO,
        }

    def tank(self, item: Item, elements: list[Element]) -> Figures:
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
        return {"temperature_c": t - ZERO, "duty_w": duty, **self._share(item.id)}

    def _share(self, key: str) -> Figures:
        """Where a stat holds it, the share of the time that one is on."""
        share = self.s.followed.share.get(key)
        return {} if share is None else {"duty_share": share}

    def room(self, item: Item, elements: list[Element]) -> Figures:
        """Heat of all its emitters in their on-state; what is lost is duty_share of that, and the gain."""
        si, state = item.si, self.s.roles.rooms.get(item.id)
        held = self.s.followed.holdings.get(item.id)
        wanted = si.get("wanted")
        if wanted is None:
            wanted = held.set_at if held is not None and not held.pinned else self.net.plant.site_si.indoor
        heat = sum(
            -self.duty(self.net.elements[i])
            for i, role in self.s.roles.of.items()
            if isinstance(role, Giving) and role.home == item.id
        )
        share = self.s.followed.share.get(item.id, 1.0)
        turn = self.s.followed.turns.get(item.id)
        heat = heat if turn is None else turn.heat
        if state is None:
            t, lost = float(wanted), heat * share + float(si.get("gain") or 0.0)
        else:
            t = self.s.thermal.room[item.id]
            lost = state.loss * (t - state.outdoor)
        return {
            "temperature_c": t - ZERO,
            "wanted_c": float(wanted) - ZERO,
            "heat_w": _plain(heat),
            "loss_w": _plain(lost),
            "duty_share": share,
        }

    def stat(self, item: Item, elements: list[Element]) -> Figures:
        """What a stat feels; the share of its time on where it holds a place, and what it feels off."""
        t = self.s.followed.felt.get(item.id, math.nan)
        found: Figures = {"on": bool(self.s.signals.on.get(item.id, False))}
        if math.isfinite(t):
            found["temperature_c"] = t - ZERO
        if item.id in self.s.followed.hunts:
            off = self.s.followed.hunts[item.id][1]
            if math.isfinite(off):
                found["off_temperature_c"] = off - ZERO
        if item.id in self.s.followed.cycles:
            found["duty_share"] = self.s.followed.cycles[item.id]
        for place, held in self.s.followed.holdings.items():
            if held.by == item.id:
                found |= self._share(place)
        return found

    def reset(self, item: Item, elements: list[Element]) -> Figures:
        supply = self.s.resets.supply.get(item.id)
        return {} if supply is None else {"supply_c": supply - ZERO}

    def ends_of_separator(self, item: Item, elements: list[Element]) -> Figures:
        cross = next(e for e in elements if e.part == "cross")
        upper, lower = self.net.node(item.id, "upper"), self.net.node(item.id, "lower")
        return {
            **self._share(item.id),
            "cross_flow_m3_s": self.flow(cross),
            "upper_temperature_c": self.s.node[upper] - ZERO,
            "lower_temperature_c": self.s.node[lower] - ZERO,
        }

    def mixing(self, item: Item, elements: list[Element]) -> Figures:
        hot, cold = (self.w[e.index] for e in elements)
        total = hot + cold
        node = self.net.node(item.id, "mixed")
        e = elements[0]
        fluid = self.net.bodies[self.net.body_of[e.start]].fluid
        t = self.s.node[node]
        return {
            "flow_m3_s": _plain(total / float(fluid.density(t))),
            "hot_share": hot / total if total > STILL else 0.0,
            "temperature_c": t - ZERO,
        }

    def fixture(self, item: Item, elements: list[Element]) -> Figures:
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
        return {"flow_m3_s": _plain(total / float(fluid.density(t))), "temperature_c": t - ZERO}

    def manifold(self, item: Item, elements: list[Element]) -> Figures:
        trunk = next(e for e in elements if e.part == "trunk")
        return {"flow_m3_s": self.flow(trunk)}


def _plain(value: float) -> float:
    return 0.0 if value == 0.0 or not math.isfinite(value) else value


_MAKERS: dict[Report, Callable[[_Figures, Item, list[Element]], Figures]] = {
    Report.THROUGH: _Figures.through,
    Report.POINT: _Figures.point,
    Report.MAIN: _Figures.main,
    Report.PUMP: _Figures.circulator,
    Report.SOURCE: _Figures.source,
    Report.HEAT_PUMP: _Figures.heat_pump,
    Report.EMITTER: _Figures.emitter,
    Report.EXCHANGER: _Figures.exchanger,
    Report.TANK: _Figures.tank,
    Report.COIL_TANK: _Figures.coil_tank,
    Report.TWO_ENDS: _Figures.ends_of_separator,
    Report.MIXING: _Figures.mixing,
    Report.SHARING: _Figures.three_way,
    Report.BYPASS: _Figures.bypass,
    Report.MANIFOLD: _Figures.manifold,
    Report.OUTLET: _Figures.fixture,
    Report.USES: _Figures.humidifier,
    Report.ROOM: _Figures.room,
    Report.STAT: _Figures.stat,
    Report.RESET: _Figures.reset,
}
