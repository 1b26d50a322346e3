"""A case of a plant, settled: flows, then temperatures, then controls, until none moves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from core.controls.signals import SignalStates, runs, signal_states
from core.hydraulics.balance import Balance, Balancer
from core.hydraulics.circulators import Drive, G, rest_loss
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element, cv_square
from core.hydraulics.laws import Settings, fresh_settings
from core.hydraulics.network import Network, build
from core.plant.model import Case, Plant
from core.solve.devices import DeltaT, Device, Joint, Look, MixingValve, Outlet, Proportional
from core.solve.report import Solution, report
from core.solve.sensing import circuit_difference, sensed_difference
from core.thermal.heat import heat_table
from core.thermal.roles import Giving, Roles, Side, Source, find_roles
from core.thermal.still import StillWater
from core.thermal.tanks import tank_columns
from core.thermal.temperatures import SETTLED, STILL, TemperatureSolver, ThermalState

Array = npt.NDArray[np.float64]

MOST_PASSES = 120
TEMPERATURE_STEP = 1e-4  # [K]
DEVICE_STEP = 1e-5
KICK = 500.0  # [Pa] push that starts a gravity flow in the first pass
MOST_TURNS = 5.0
LEAST_CONTRAST = 0.05  # [K] water of less contrast drives nothing worth a second start
GRAVITY_RELAX = 0.5  # share of each temperature change taken where only gravity drives
DEFAULT_MIX = 313.7  # [K] 105 degF, where a fixture has no set temperature (common practice, no source)
SITTING_OUT = 1.02  # a heater that fell below its least flow starts again only this much above it


@dataclass
class Settled:
    """All that is known of a case once it is at rest (or given up)."""

    net: Network
    case: Case
    signals: SignalStates
    settings: Settings
    roles: Roles
    devices: list[Device]
    balance: Balance
    thermal: ThermalState
    node: dict[int, float]
    rho: Array
    mu: Array
    column: Array
    passes: int = 0
    converged: bool = False
    stuck: str = ""
    running: dict[str, bool] = field(default_factory=dict)
    idle_sources: dict[str, str] = field(default_factory=dict)
    balancer: Balancer | None = None


class Solver:
    """Solves the cases of one plant, keeping its network and the last answer to start from."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.net = build(plant)
        self.balancer = Balancer(self.net)
        self.last: Settled | None = None
        self.counts: dict[str, int] = {}  # units of each linked group that ran last

    def solve(self, case: Case) -> Solution:
        """The settled case as figures and notes."""
        return report(self.settle(case))

    def settle(self, case: Case) -> Settled:
        """The settled case, with the fewest units of each linked group that hold its set point."""
        signals = signal_states(self.plant, case)
        groups = _linked_groups(self.plant, signals)
        counts = {name: min(self.counts.get(name, 1), len(m)) for name, m in groups.items()}
        tried: dict[tuple[int, ...], tuple[Settled, bool]] = {}
        while True:
            key = tuple(counts.values())
            idle = {u: "linked" for name, units in groups.items() for u in units[counts[name] :]}
            answer = self._with_starts(case, signals, idle)
            self.last = answer
            fits = {
                name: answer.converged and _holds_set_point(answer, units) for name, units in groups.items()
            }
            tried[key] = (answer, all(fits.values()))
            wanted = {
                name: _next_count(answer, units, counts[name], fits[name]) for name, units in groups.items()
            }
            if tuple(wanted.values()) in tried:
                break
            counts = wanted
        held = {key: a for key, (a, fit) in tried.items() if fit}
        best = min(held) if held else max(tried, key=lambda k: _all_duty(tried[k][0], groups))
        self.counts.update(zip(groups, best, strict=True))
        self.last = tried[best][0]
        return self.last

    def _with_starts(self, case: Case, signals: SignalStates, idle: dict[str, str]) -> Settled:
        """Settle from a quiet start; where only gravity could drive, from a push each way."""
        run = _CaseRun(self, case, signals, idle)
        if not run.gravity_bodies:
            return run.settle(0.0)
        answer = run.settle(1.0)
        if not run.stands_still(answer) or not run.could_be_driven(answer):
            return answer
        self.last = answer  # controls go on from where they stood
        again = _CaseRun(self, case, signals, idle)
        second = again.settle(-1.0)
        return answer if again.stands_still(second) else second


def solve_case(plant: Plant, case: Case, start: Solver | None = None) -> Solution:
    """Solve one case.

    Parameters
    ----------
    plant : Plant
    case : Case
    start : Solver or None
        A solver of the same plant, to reuse its network and last answer

    Returns
    -------
    Solution
    """
    solver = start if start is not None and start.plant is plant else Solver(plant)
    return solver.solve(case)


def solve_plant(plant: Plant, names: Iterable[str] | None = None) -> list[Solution]:
    """Solve the named cases, or all, in the plant's order."""
    solver = Solver(plant)
    wanted = None if names is None else set(names)
    return [solver.solve(c) for c in plant.solve_cases if wanted is None or c.name in wanted]


def _linked_groups(plant: Plant, signals: SignalStates) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for item in plant.items.values():
        if item.kind == "heater" and item.si.get("linked") and item.stage != "to_remove":
            if runs(item.si, signals.on):
                groups.setdefault(str(item.si["linked"]), []).append(item.id)
    return {k: v for k, v in groups.items() if len(v) > 1}


def _unit_duties(settled: Settled, members: list[str]) -> list[float]:
    duties = []
    for key in members:
        e = settled.net.of_item[key][0]
        table = heat_table(settled.net.bodies[settled.net.body_of[e.start]].fluid)
        t = settled.thermal
        rise = table.content(float(t.t_out[e.index])) - table.content(float(t.t_in[e.index]))
        duties.append(abs(float(settled.balance.w[e.index])) * max(0.0, rise))
    return duties


def _all_duty(settled: Settled, groups: dict[str, list[str]]) -> float:
    return sum(sum(_unit_duties(settled, units)) for units in groups.values())


def _next_count(settled: Settled, units: list[str], count: int, fits: bool) -> int:
    """One more unit where these do not hold the set point; one less where fewer could carry the heat."""
    if not fits:
        return min(count + 1, len(units))
    capacity = [float(settled.net.plant.items[u].si.get("capacity") or 0.0) for u in units[: count - 1]]
    enough = count > 1 and sum(capacity) * (1.0 + 1e-6) >= sum(_unit_duties(settled, units))
    return count - 1 if enough else count


def _holds_set_point(settled: Settled, members: list[str]) -> bool:
    for key in members:
        e = settled.net.of_item[key][0]
        if settled.thermal.given_share.get(settled.net.body_of[e.start], 1.0) < 1.0 - 1e-9:
            return False
        if abs(float(settled.balance.w[e.index])) <= STILL:
            continue
        set_at = settled.net.plant.items[key].si.get("set_temperature")
        if set_at is not None and float(settled.thermal.t_out[e.index]) < float(set_at) - 1e-3:
            return False
    return True


class _CaseRun:
    """One attempt at a case: its settings, devices and the passes over them."""

    def __init__(self, solver: Solver, case: Case, signals: SignalStates, idle: dict[str, str]) -> None:
        self.net = solver.net
        self.balancer = solver.balancer
        self.plant = solver.plant
        self.case = case
        self.signals = signals
        self.idle: dict[str, str] = dict(idle)
        self.roles = find_roles(self.net, dict(case.si.tanks))
        self.thermal_solver = TemperatureSolver(self.net, self.roles)
        self.settings = fresh_settings(self.net)
        self.running: dict[str, bool] = {}
        self.devices: list[Device] = []
        self.joint = Joint()
        self.latched: dict[str, int] = {}
        self.throttled: dict[int, Source] = {}  # heaters that hold their outlet by letting less water through
        self.limits: dict[int, float] = {}  # most volume flow of limiters, [m^3/s]
        self.by_pressure: dict[int, Curve] = {}  # curves typed in pascals
        self.rest_pressure: dict[int, float] = {}  # loss of stopped circulators so typed, [Pa/(m^3/s)^2]
        self.held_pressure: dict[int, float] = {}  # targets typed in pascals, [Pa]
        self.last = solver.last
        for key, elements in self.net.of_item.items():
            item = self.plant.items.get(key)
            if item is not None:
                self._set(item.kind, key, item.si, elements)
        for e in self.net.parted.values():
            self.settings.closed[e.index] = True
        self.gravity_bodies = self._gravity_bodies()
        self.turns = {
            b: [0.0, 0.0] for b in self.gravity_bodies
        }  # last sense of flow, and how often it turned

    # what the case sets -----------------------------------------------------------------------------------

    def _set(self, kind: str, key: str, si: Any, elements: list[Element]) -> None:
        closed = self.settings.closed
        first = elements[0].index
        if kind in ("shutoff", "service_valve", "purge_set", "pressure_reducer"):
            closed[first] = not si.get("open", True)
            for e in elements[1:]:
                closed[e.index] = not (e.part == "drain" and si.get("drain_open"))
        elif kind == "spacer":
            closed[first] = bool(si.get("blind"))
        elif kind == "zone_valve":
            self.running[key] = runs(si, self.signals.on)
            closed[first] = not self.running[key]
        elif kind == "balance_valve":
            closed[first] = si.get("setting") == 0.0 or si.get("set_flow") == 0.0
            if si.get("set_flow"):
                self.limits[first] = float(si["set_flow"])
        elif kind == "mixing_valve":
            self._mixing(key, si, elements)
        elif kind == "fixture":
            self._outlet(key, si, elements)
        elif kind == "circulator":
            self._circulator(key, si, elements[0])
        elif kind in ("heater", "boiler"):
            self._source(key, si, elements[0])

    def _fluid_at(self, e: Element) -> Any:
        return self.net.bodies[self.net.body_of[e.start]].fluid

    def _source(self, key: str, si: Any, e: Element) -> None:
        role = self.roles.of[e.index]
        assert isinstance(role, Source)
        on = runs(si, self.signals.on)
        self.running[key] = on
        if not on:
            self.idle.setdefault(key, "off")
        role.on = key not in self.idle
        if si.get("throttles") and role.on and role.set_at is not None and role.capacity:
            self.throttled[e.index] = role
        self.settings.closed[e.index] = bool(si.get("shut_when_idle")) and not role.on

    def _mixing(self, key: str, si: Any, elements: list[Element]) -> None:
        hot, cold = elements
        set_at = si.get("set_temperature")
        if set_at is None:
            return
        valve = MixingValve(key, hot, cold, float(set_at), heat_table(self._fluid_at(hot)))
        self._recall(valve, "position")
        self.devices.append(valve)

    def _outlet(self, key: str, si: Any, elements: list[Element]) -> None:
        draw = float(self.case.si.draws.get(key, 0.0))
        ways = {e.part: e if (key, e.part) in self.net.piped else None for e in elements}
        for e in elements:
            self.settings.closed[e.index] = draw <= 0.0 or ways[e.part] is None
        if draw > 0.0 and (one := ways["hot"] or ways["cold"]) is not None:
            set_at = si.get("set_temperature")
            fluid = self._fluid_at(one)
            set_at = DEFAULT_MIX if set_at is None else float(set_at)
            outlet = Outlet(key, ways["hot"], ways["cold"], draw, set_at, fluid, heat_table(fluid))
            self._recall(outlet, "share", "mass")
            self.devices.append(outlet)

    def _circulator(self, key: str, si: Any, e: Element) -> None:
        running = runs(si, self.signals.on) and e.curve is not None and float(si.get("speed", 1.0)) > 0.0
        self.running[key] = running
        rest = si.get("stopped_cv")
        curve = e.curve
        if curve is not None and not e.is_head:
            self.by_pressure[e.index] = curve
            curve = _in_metres(curve, float(self._fluid_at(e).density(self.plant.site_si.indoor)))
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
            self._recall(device, "speed")
            self.devices.append(device)
            return
        rho = float(self._fluid_at(e).density(self.plant.site_si.indoor))
        head = target.metres(rho)
        if not target.is_head:
            self.held_pressure[e.index] = target.value
        if control == "delta_p_constant":
            drive.target = head
            return
        proportional = Proportional(key, e, head, curve)
        self._recall(proportional, "share")
        self.devices.append(proportional)

    def _recall(self, device: Any, *names: str) -> None:
        """Start a control where it stood in the last answer of this plant."""
        before = next((d for d in self.last.devices if d.key == device.key), None) if self.last else None
        if before is not None and type(before) is type(device):
            for name in names:
                setattr(device, name, getattr(before, name))

    # gravity ----------------------------------------------------------------------------------------------

    def _gravity_bodies(self) -> dict[int, list[int]]:
        """Bodies that nothing drives but heat might: the elements to push for a start, by body."""
        net = self.net
        driven = {net.body_of[net.elements[i].start] for i in self.settings.drives if net.branch_of[i] >= 0}
        driven |= {net.body_of[e.start] for e in net.airs.values() if not self.settings.closed[e.index]}
        driven |= {b for b, n in _mains_per_body(net).items() if n > 1}
        found: dict[int, list[int]] = {}
        for body in net.bodies:
            ways = [i for i in body.elements if net.branch_of[i] >= 0 and not self.settings.closed[i]]
            if body.number in driven or not ways:
                continue
            heights = {
                round(net.height(n), 6) for i in ways for n in (net.elements[i].start, net.elements[i].end)
            }
            acting = {i: self.roles.of[i] for i in ways if i in self.roles.of}
            makers = [i for i, r in acting.items() if isinstance(r, Source) and r.on]
            takers = [i for i, r in acting.items() if isinstance(r, (Giving, Side))]
            held = any(n in self.roles.fixed for n in body.nodes)
            warm = any(s.element > 0.0 for n, s in self.roles.stores.items() if n in set(body.nodes))
            if len(heights) > 1 and (makers or takers or held or warm):
                found[body.number] = makers or takers or ways[:1]
        return found

    def stands_still(self, settled: Settled) -> bool:
        """Whether any body that gravity might drive came to rest without flow."""
        w = np.abs(settled.balance.w)
        return any(
            w[self.net.bodies[b].elements].max(initial=0.0) <= 10.0 * STILL for b in self.gravity_bodies
        )

    def _rest_where_turning(self, w: Array) -> None:
        """A body whose flow, left to gravity, turns round pass after pass holds itself still: shut it."""
        for body, turns in self.turns.items():
            i = self.gravity_bodies[body][0]
            if abs(w[i]) <= STILL:
                continue
            sense = float(np.sign(w[i]))
            turns[1] += 1.0 if sense * turns[0] < 0.0 else 0.0
            turns[0] = sense
            if turns[1] == MOST_TURNS:
                self.settings.closed[self.net.bodies[body].elements] = True

    def could_be_driven(self, settled: Settled) -> bool:
        """Whether a body left to gravity holds, or borders on, water of differing temperature."""
        t = settled.thermal
        for b in self.gravity_bodies:
            indices = self.net.bodies[b].elements
            seen = [t.t_in[indices], t.t_out[indices]]
            for i in indices:
                role = self.roles.of.get(i)
                if isinstance(role, Side):
                    plates = self.roles.exchangers[role.item]
                    other = plates.b if role.side == "a" else plates.a
                    if abs(settled.balance.w[other.index]) > STILL:
                        seen.append(t.t_in[[other.index]])
                elif isinstance(role, Giving):
                    seen.append(np.array([role.room]))
                elif isinstance(role, Source) and role.on:
                    return True
            values = np.concatenate(seen)
            if float(values.max() - values.min()) > LEAST_CONTRAST:
                return True
        return False

    # passes -----------------------------------------------------------------------------------------------

    def settle(self, kick: float) -> Settled:
        net = self.net
        start, thermal = self._start()
        mean = 0.5 * (thermal.t_in + thermal.t_out)
        relax = np.ones(len(net.elements))
        for b in self.gravity_bodies:
            relax[net.bodies[b].elements] = GRAVITY_RELAX
            for i in self.gravity_bodies[b]:
                self.settings.push[i] = kick * KICK
        node: dict[int, float] = {}
        still = StillWater(net, self.roles)
        converged, stuck, shift = False, "", 10.0
        balance: Balance | None = None
        for passes in range(1, MOST_PASSES + 1):
            rho, mu = self._properties(mean)
            self._follow_density(rho)
            for device in self.devices:
                device.apply(self.settings)
            column = tank_columns(net, self.roles, rho, node)
            before = None if balance is None else balance.w
            balance = self.balancer.balance(self.settings, rho, mu, column, start)
            start = balance.branch_flow
            self.settings.push[:] = 0.0
            self._rest_where_turning(balance.w)
            precision = max(SETTLED, min(0.5, 0.02 * shift))
            thermal = self.thermal_solver.solve(balance.w, balance.branch_flow, thermal, precision)
            node = still.fill(balance.w, self.settings.closed, thermal)
            new = 0.5 * (thermal.t_in + thermal.t_out)
            shift = float(np.abs(new - mean).max(initial=0.0))
            moving = np.abs(balance.w) > STILL
            mean = mean + np.where(moving, relax, 1.0) * (new - mean)
            look = Look(balance.w, thermal.t_in, thermal.t_out, rho, node)
            worst, stuck = self._update(look, thermal, rho)
            at_rest = before is not None and _unmoved(balance.w, before)
            if shift < TEMPERATURE_STEP and worst < DEVICE_STEP and at_rest and thermal.settled:
                converged = balance.converged
                break
        assert balance is not None
        answer = Settled(
            net,
            self.case,
            self.signals,
            self.settings,
            self.roles,
            self.devices,
            balance,
            thermal,
            node,
            rho,
            mu,
            column,
        )
        answer.passes, answer.converged, answer.stuck = passes, converged, stuck
        answer.running, answer.idle_sources, answer.balancer = self.running, self.idle, self.balancer
        return answer

    def _start(self) -> tuple[Array | None, ThermalState]:
        """The last answer of this plant, gravity flows excepted: those start from their push."""
        if self.last is None:
            return None, self.thermal_solver.fresh()
        old = self.last.thermal
        state = ThermalState(old.t_in.copy(), old.t_out.copy(), dict(old.node), dict(old.source))
        flow = self.last.balance.branch_flow.copy()
        for k, b in enumerate(self.net.branches):
            if self.net.body_of[b.start] in self.gravity_bodies:
                flow[k] = 0.0
        return flow, state

    def _follow_density(self, rho: Array) -> None:
        """Limits and curves that are typed by volume or pressure, for the water as it is now."""
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

    def _properties(self, mean: Array) -> tuple[Array, Array]:
        rho = np.full(len(mean), 1000.0)
        mu = np.full(len(mean), 1e-3)
        for fluid, indices in self.net.fluid_groups:
            rho[indices], mu[indices], _ = fluid.properties(mean[indices])
        return rho, mu

    def _update(self, look: Look, thermal: ThermalState, rho: Array) -> tuple[float, str]:
        """Let every control answer; the furthest from rest, and its name."""
        worst, stuck = 0.0, ""
        for device in self.devices:
            off = device.look(look)
            if off > worst:
                worst, stuck = off, device.key
            if isinstance(device, DeltaT) and device.stops and device.note == "at least speed":
                self._stop(device)
                worst, stuck = 1.0, device.key
        if self._least_flows(look, rho):
            return 1.0, stuck
        worst = max(worst, self._throttle(look))
        if worst >= DEVICE_STEP:
            self.joint.move(self.devices)
        return worst, stuck

    def _stop(self, device: DeltaT) -> None:
        drive = self.settings.drives.pop(device.element.index, None)
        if drive is not None:
            self.settings.square[device.element.index] = drive.back * G
            device.stopped = True
            device.stops = False
            self.running[device.key] = False

    def _throttle(self, look: Look) -> float:
        """Most flow of heaters that throttle: what their capacity can bring to the set temperature."""
        moved = 0.0
        for i, role in self.throttled.items():
            if not role.on or role.set_at is None or role.capacity is None:
                continue
            table = heat_table(self._fluid_at(self.net.elements[i]))
            rise = table.content(role.set_at) - table.content(float(look.t_in[i]))
            most = role.capacity / rise if rise > 0.0 else np.inf
            before = float(self.settings.upper[i])
            if look.w[i] > most or before < np.inf:
                self.settings.upper[i] = most
                moved = max(moved, abs(most - before) / most if before < np.inf else 1.0)
        return moved

    def _least_flows(self, look: Look, rho: Array) -> bool:
        """Heaters whose flow does not suffice go out; True where one changed."""
        changed = False
        for i, role in self.roles.of.items():
            if (
                not isinstance(role, Source)
                or role.least_flow <= 0.0
                or self.idle.get(role.item, "") not in ("", "flow")
            ):
                continue
            flow = abs(look.w[i]) / rho[i]
            short = role.on and flow < role.least_flow * (1.0 - 1e-6)
            again = (
                not role.on and flow > role.least_flow * SITTING_OUT and self.latched.get(role.item, 0) < 3
            )
            if not (short or again):
                continue
            role.on = again
            changed = True
            if short:
                self.latched[role.item] = self.latched.get(role.item, 0) + 1
                self.idle[role.item] = "flow"
                if self.plant.items[role.item].si.get("shut_when_idle"):
                    self.settings.closed[i] = True
            else:
                del self.idle[role.item]
        return changed


def _in_metres(curve: Curve, rho: float) -> Curve:
    """A curve typed in pressure as a head of the fluid at room temperature."""
    scale = 1.0 / (rho * G)
    return Curve(
        curve.x, tuple(y * scale for y in curve.y), tuple(s * scale for s in curve.slopes), curve.tail
    )


def _mains_per_body(net: Network) -> dict[int, int]:
    count: dict[int, int] = {}
    for node in net.mains:
        count[net.body_of[node]] = count.get(net.body_of[node], 0) + 1
    return count


def _unmoved(w: Array, before: Array) -> bool:
    return bool(np.abs(w - before).max(initial=0.0) <= 1e-6 * np.abs(w).max(initial=0.0) + 1e-9)
