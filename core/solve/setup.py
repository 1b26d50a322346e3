"""What a case sets on a network before anything is solved: valves, circulators, sources, controls.

A humidifier's `uses` (or what the case's `draws` say of it) leaves at its inlet where a main feeds its
body. Elsewhere nothing is drawn, and a note says what it would lose in a day.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from core.controls.expressions import share as share_of
from core.controls.resets import find_resets
from core.controls.signals import SignalStates
from core.hydraulics.circulators import Drive, G, rest_loss
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element, cv_square
from core.hydraulics.laws import fresh_settings
from core.hydraulics.network import Network
from core.plant.model import Case, Item
from core.solve.devices import NARROWEST, Device
from core.solve.heater_controls import Cycling, Follower, Levelled, Throttle
from core.solve.mixing_controls import Fixture, MixingValve, ThreeWay
from core.solve.out_of_service import shut_out_of_service
from core.solve.pump_controls import DeltaT, Proportional
from core.solve.sensing import circuit_difference, place_at, sensed_difference
from core.thermal.heat import heat_table
from core.thermal.holding import hold_store
from core.thermal.roles import Regime, Source, find_roles
from core.thermal.rooms import furnish, rooms_of
from core.vocabulary import Trait
from core.vocabulary.waterways import OpenToAir, Pump, Straight, UsesUp
from core.water.numbers import on_rounds

Array = npt.NDArray[np.float64]

DEFAULT_MIX = 313.7  # [K] 105 degF, where a fixture has no set temperature (common practice, no source)

PROBE = 0.25  # share of the time by which it is found what a stat alone runs


class CaseSetup:
    """Settings, roles and controls of one case, ready to be passed over.

    Parameters
    ----------
    net : Network
    case : Case
    signals : SignalStates
    idle : dict
        Sources that are to rest, and why
    losses : mapping
        Heat that rooms lose per degree, by id, [W/K]
    regime : Regime
        What stats hold, and when
    """

    def __init__(
        self,
        net: Network,
        case: Case,
        signals: SignalStates,
        idle: dict[str, str],
        losses: Mapping[str, float] | None = None,
        regime: Regime | None = None,
    ) -> None:
        self.net = net
        self.case = case
        self.signals = signals
        self.idle = dict(idle)
        self.roles = find_roles(net, dict(case.si.tanks), case.si.outdoor)
        outdoor = net.plant.site_si.outdoor_design if case.si.outdoor is None else case.si.outdoor
        self.resets = find_resets(net.plant, outdoor)
        self.regime = regime = regime or Regime()
        furnish(self.roles, rooms_of(net.plant, losses or {}, outdoor), regime)
        for key, held in regime.holdings.items():
            if key in net.standing:
                self.roles.holds[key] = hold_store(net, key, held)
        self.settings = fresh_settings(net)
        self.running: dict[str, bool] = {}
        self.devices: list[Device] = []
        self.limits: dict[int, float] = {}  # most volume flow of limiters, [m^3/s]
        self.by_pressure: dict[int, Curve] = {}  # curves typed in pascals
        self.rest_pressure: dict[int, float] = {}  # loss of stopped circulators so typed, [Pa/(m^3/s)^2]
        self.held_pressure: dict[int, float] = {}  # targets typed in pascals, [Pa]
        for key, elements in net.of_item.items():
            item = net.plant.items.get(key)
            if item is not None:
                self._set(item, key, self.resets.applied(item), elements)
        for e in net.parted.values():
            self.settings.closed[e.index] = True
        shut_out_of_service(self.net, self.settings.closed)
        self._cycles(regime)

    def called(self, i: int) -> bool:
        """Whether what signals run lets water be driven through an element (gravity counts as called)."""
        branch = int(self.net.branch_of[i])
        return branch >= 0 and branch in self._called

    @cached_property
    def _called(self) -> set[int]:
        """Branches on a way round with something that drives it, nothing on it off by its signal."""
        off = frozenset(key for key, on in self.running.items() if not on)
        kept, key = self.net.called, (off, frozenset(self.settings.drives))
        if key not in kept:
            kept[key] = self._find_called(off)
        return kept[key]

    def _find_called(self, off: frozenset[str]) -> set[int]:
        net = self.net
        open_ = [
            k for k, b in enumerate(net.branches) if off.isdisjoint(net.elements[i].key for i in b.elements)
        ]
        ways = [(net.branches[k].start, net.branches[k].end) for k in open_]
        drives = [
            n for n, k in enumerate(open_) if any(i in self.settings.drives for i in net.branches[k].elements)
        ]
        driven = {open_[n] for n in on_rounds(ways, drives, (*net.mains, *net.airs))}
        pumped = {net.body_of[e.start] for e in net.elements if e.has(Trait.DRIVES)}
        return driven | {k for k, b in enumerate(net.branches) if net.body_of[b.start] not in pumped}

    def stand(self) -> None:
        """Tell the roles which valves are shut to the warm side with no heat leaving their water."""
        valves = [d for d in self.devices if isinstance(d, MixingValve)]
        self.roles.stands = {d.hot.end: d.set_at for d in valves if d.stands}

    def _cycles(self, regime: Regime) -> None:
        """Controls of the stats over flowing water that cycle."""
        shares: dict[str, float] = {}
        for stat, cycle in regime.cycles.items():
            sources = []
            for key in cycle.sources:
                e = self.net.of_item[key][0]
                role = self.roles.of[e.index]
                assert isinstance(role, Source)
                sources.append((e, role, self._time_on(key)))
            place = place_at(self.net, cycle.place)
            elsewhere = {key for other, c in regime.cycles.items() if other != stat for key in c.sources}
            alone = elsewhere.isdisjoint(cycle.sources)
            probed = {on(dict.fromkeys(cycle.stats, PROBE)) for _, _, on in sources} if alone else set()
            if probed == {PROBE} or probed == {1.0 - PROBE}:
                (e, role, _), *others = sources
                table = heat_table(self._fluid_at(e))
                leader = Levelled(stat, e, role, table, place, cycle.middle, probed != {PROBE})
                self.devices.append(leader)
                self.devices += [Follower(f"{stat} {role.item}", e, role, leader) for e, role, _ in others]
            else:
                self.devices.append(
                    Cycling(stat, sources, cycle.stats, shares, place, cycle.middle, cycle.sense)
                )

    def _time_on(self, key: str) -> Callable[[Mapping[str, float]], float]:
        """Share of the time a device is on, by the shares of the stats that cycle."""
        si, on = self.net.plant.items[key].si, self.signals.on
        return lambda shares: min(share_of(si.get(name), on, shares) for name in ("run_when", "powered_by"))

    def follow_density(self, rho: Array) -> None:
        """Limits and curves that are typed by volume or pressure, for the water as it is now.

        Parameters
        ----------
        rho : ndarray, shape (n elements,)
            Density, [kg/m^3]
        """
        for i, most in self.limits.items():
            self.settings.upper[i] = most * rho[i]
        for i, loss in self.rest_pressure.items():
            if i not in self.settings.drives:
                self.settings.square[i] = loss / rho[i]
        for i, drive in self.settings.drives.items():
            if i in self.by_pressure:
                drive.curve = _in_metres(self.by_pressure[i], float(rho[i]))
            if i in self.rest_pressure:
                drive.back = self.rest_pressure[i] / (float(rho[i]) * G)
            if i in self.held_pressure and drive.target is not None:
                drive.target = self.held_pressure[i] / (float(rho[i]) * G)
        for device in self.devices:
            if isinstance(device, Proportional):
                i = device.element.index
                if i in self.held_pressure:
                    device.target = self.held_pressure[i] / (float(rho[i]) * G)
                if i in self.by_pressure:
                    device.curve = self.settings.drives[i].curve

    def _set(self, item: Item, key: str, si: Any, elements: list[Element]) -> None:
        closed = self.settings.closed
        first = elements[0].index
        way, has = item.kind_info.waterway, item.has
        if has(Trait.HAND_VALVE, Trait.HOLDS_OUTLET_PRESSURE):
            closed[first] = not si.get("open", True)
            if isinstance(way, Straight) and way.side:
                closed[elements[1].index] = not (way.side_open and si.get(way.side_open))
        elif has(Trait.SPACER):
            closed[first] = bool(si.get("blind"))
        elif has(Trait.OPENS_BY_SIGNAL):
            self.running[key] = self.signals.lets_run(key, si)
            closed[first] = not self.running[key]
        elif has(Trait.BALANCES):
            closed[first] = si.get("setting") == 0.0 or si.get("set_flow") == 0.0
            if si.get("set_flow"):
                self.limits[first] = float(si["set_flow"])
        elif has(Trait.TEMPERS):
            self._mixing(key, si, elements)
        elif has(Trait.SHARES):
            self._three_way(key, si, elements)
        elif isinstance(way, UsesUp):
            use = elements[-1]
            self.limits[use.index] = float(self.case.si.draws.get(key, si.get("uses") or 0.0))
            closed[use.index] = use.end not in self.net.airs or self.limits[use.index] <= 0.0
        elif isinstance(way, OpenToAir):
            self._outlet(key, si, elements)
        elif isinstance(way, Pump):
            self._circulator(key, si, elements[0])
        elif has(Trait.MAKES_HEAT):
            self._source(key, si, elements[0])

    def _dead(self, key: str) -> bool:
        return self.net.plant.items[key].out_of_service

    def _fluid_at(self, e: Element) -> Any:
        return self.net.bodies[self.net.body_of[e.start]].fluid

    def _source(self, key: str, si: Any, e: Element) -> None:
        role = self.roles.of[e.index]
        assert isinstance(role, Source)
        role.set_at = si.get("set_temperature")
        on = self.signals.lets_run(key, si) and not self._dead(key)
        self.running[key] = on
        if not on:
            self.idle.setdefault(key, "off")
        role.on = key not in self.idle
        role.throttles = bool(si.get("throttles") and role.on and role.set_at is not None and role.capacity)
        if role.throttles:
            self.devices.append(Throttle(key, e, role, heat_table(self._fluid_at(e))))
        self.settings.closed[e.index] = bool(si.get("shut_when_idle")) and not role.on

    def _mixing(self, key: str, si: Any, elements: list[Element]) -> None:
        hot, cold = elements
        set_at = si.get("set_temperature")
        if set_at is None:
            return
        self.roles.mixed[hot.end] = float(set_at)
        valve = MixingValve(key, hot, cold, float(set_at), heat_table(self._fluid_at(hot)))
        self.devices.append(valve)

    def _three_way(self, key: str, si: Any, elements: list[Element]) -> None:
        """Held at its position (halfway where nothing is typed), or seeking its target."""
        a, b = elements
        if si.get("target") is not None:
            valve = ThreeWay(key, a, b, float(si["target"]), heat_table(self._fluid_at(a)))
            self.devices.append(valve)
            return
        position = 0.5 if si.get("position") is None else float(si["position"])
        for leg, share in ((a, position), (b, 1.0 - position)):
            self.settings.closed[leg.index] = share < NARROWEST
            if share >= NARROWEST:
                self.settings.square[leg.index] = leg.square / (share * share)

    def _outlet(self, key: str, si: Any, elements: list[Element]) -> None:
        draw = float(self.case.si.draws.get(key, 0.0))
        ways = {e.part: e if (key, e.part) in self.net.piped else None for e in elements}
        for e in elements:
            self.settings.closed[e.index] = draw <= 0.0 or ways[e.part] is None
        if draw > 0.0 and (one := ways["hot"] or ways["cold"]) is not None:
            set_at = si.get("set_temperature")
            fluid = self._fluid_at(one)
            set_at = DEFAULT_MIX if set_at is None else float(set_at)
            self.devices.append(
                Fixture(key, ways["hot"], ways["cold"], draw, set_at, fluid, heat_table(fluid))
            )

    def _circulator(self, key: str, si: Any, e: Element) -> None:
        running = (
            self.signals.lets_run(key, si)
            and not self._dead(key)
            and e.curve is not None
            and float(si.get("speed", 1.0)) > 0.0
        )
        self.running[key] = running
        rest = si.get("stopped_cv")
        curve = e.curve
        if curve is not None and not e.is_head:
            self.by_pressure[e.index] = curve
            curve = _in_metres(curve, float(self._fluid_at(e).density(self.net.plant.site_si.indoor)))
        back = cv_square(rest) / G if rest else (rest_loss(curve) if curve is not None else 0.0)
        if not rest and e.index in self.by_pressure:
            self.rest_pressure[e.index] = rest_loss(self.by_pressure[e.index])
        if not running or curve is None:
            self.settings.square[e.index] = back * G
            return
        drive = Drive(
            curve, float(si.get("speed", 1.0)), float(si.get("min_speed", 0.2)), curve.at(0.0), back
        )
        self.settings.drives[e.index] = drive
        self._control(key, si, e, curve, drive)

    def _control(self, key: str, si: Any, e: Element, curve: Curve, drive: Drive) -> None:
        control, target = si.get("control"), si.get("target")
        if control in (None, "fixed") or target is None:
            return
        if control == "delta_t":
            senses = si.get("senses")
            look = sensed_difference(self.net, senses) if senses else circuit_difference(self.net, e)
            most = min(1.0, drive.speed) if si.get("speed") else 1.0
            device = DeltaT(
                key, e, float(target), drive.least_speed, most, bool(si.get("stops_at_min")), look
            )
            self.devices.append(device)
            return
        rho = float(self._fluid_at(e).density(self.net.plant.site_si.indoor))
        head = target.metres(rho)
        if not target.is_head:
            self.held_pressure[e.index] = target.value
        if control == "delta_p_constant":
            drive.target = head
            return
        proportional = Proportional(key, e, head, curve)
        self.devices.append(proportional)


def _in_metres(curve: Curve, rho: float) -> Curve:
    """A curve typed in pressure as a head of the fluid at room temperature."""
    scale = 1.0 / (rho * G)
    return Curve(
        curve.x, tuple(y * scale for y in curve.y), tuple(s * scale for s in curve.slopes), curve.tail
    )
