"""One attempt at a case: flows, then temperatures, then controls, until none moves.

A body whose flow turns round pass after pass is called still.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.controls.resets import Resets
from core.controls.signals import SignalStates
from core.hydraulics.balance import Balance, Balancer
from core.hydraulics.circulators import G
from core.hydraulics.laws import Settings
from core.hydraulics.network import Network
from core.plant.model import Case
from core.solve.devices import REST, Device
from core.solve.foresight import Ahead, foresee
from core.solve.joint_newton import JointNewton, rest_error
from core.solve.pump_controls import DeltaT
from core.solve.sensing import Answers, Look
from core.solve.setup import CaseSetup
from core.solve.solution import Broken, Dropped
from core.solve.thermostat_results import ThermostatResults
from core.thermal.flowing import STILL, ThermalState
from core.thermal.heat_response import Response
from core.thermal.no_flow import StillWater
from core.thermal.roles import Coil, Giving, Roles, Side, Source
from core.thermal.rooms import share_needs
from core.thermal.tanks import TankColumns
from core.thermal.temperatures import SETTLED, TemperatureSolver

Array = npt.NDArray[np.float64]

MOST_PASSES = 300
SLOWER_FROM = (40, 90)  # passes from which temperatures follow by half, then by a quarter
TEMPERATURE_STEP = 1e-4  # [K]
# The same of a moment of a course in time: 10 mK, flows within 1e-3; and a change of temperatures at given
# flows after which the next one is below 0.1 mK (limits.CURVED).
NEAR_REST, NEAR_STEP, NEAR_SETTLED = 1e-3, 0.1, 0.03
NEED_STEP = 1e-3  # [W]
KICK = 500.0  # [Pa] push that starts a gravity flow in the first pass
MOST_TURNS = 5.0
LEAST_CONTRAST = 0.05  # [K] water of less contrast drives nothing worth a second start
GRAVITY_RELAX = 0.5  # share of each temperature change taken where only gravity drives
FREE_PASSES = 3  # in which temperatures still find their level: no step of a control is judged by them


@dataclass
class Settled:
    """All that is known of a case once it is at rest (or given up).

    `stuck` names a control that no position brings to rest, `swing` the errors between which it swings,
    `broken` the laws that the answer does not keep.
    """

    net: Network
    setup: CaseSetup
    settings: Settings
    balance: Balance
    thermal: ThermalState
    node: dict[int, float]
    rho: Array
    mu: Array
    column: Array
    passes: int = 0
    converged: bool = False
    stuck: str = ""
    swing: tuple[float, float] = (0.0, 0.0)
    broken: tuple[Broken, ...] = ()
    thermostats: ThermostatResults = field(default_factory=ThermostatResults)
    temperatures: TemperatureSolver | None = None
    undriven: frozenset[int] = frozenset()  # bodies that no push set going
    still: StillWater | None = None  # its stretches

    @property
    def case(self) -> Case:
        """The case, with the signals it was solved with fixed in it where a stat's were changed."""
        return self.setup.case

    @property
    def signals(self) -> SignalStates:
        """State of every signal."""
        return self.setup.signals

    @property
    def roles(self) -> Roles:
        """What acts on temperature."""
        return self.setup.roles

    @property
    def devices(self) -> list[Device]:
        """Controls, where they came to rest."""
        return self.setup.devices

    @property
    def running(self) -> dict[str, bool]:
        """Whether each device that signals run is on."""
        return self.setup.running

    @property
    def idle_sources(self) -> dict[str, str]:
        """Sources that do not heat, and why."""
        return self.setup.idle

    @property
    def resets(self) -> Resets:
        """Temperatures that the weather sets."""
        return self.setup.resets


class CaseRun:
    """The passes over one case, from a start to rest.

    Parameters
    ----------
    setup : CaseSetup
    balancer : Balancer
    last : Settled or None
        Last answer of the same network, to start from
    keep_on : callable or None
        Asked before every pass; where it says False the run ends by raising Dropped
    """

    def __init__(
        self,
        setup: CaseSetup,
        balancer: Balancer,
        last: Settled | None,
        keep_on: Callable[[], bool] | None = None,
    ) -> None:
        self.setup = setup
        self.net = setup.net
        self.roles = setup.roles
        self.settings = setup.settings
        self.devices = setup.devices
        self.idle = setup.idle
        self.balancer = balancer
        self.last = last
        self.keep_on = keep_on
        self.thermal_solver = TemperatureSolver(self.net, self.roles)
        self.ahead: Ahead | None = None  # what the last step of the controls will do
        self.near = False  # whether a moment of a course in time is looked for: rest by the wider measures
        self.average: set[str] = set()  # heaters that would lack their least flow once hot
        # Loops of tube cool along their way: their friction is that of the mean of their circuit.
        pairs = [
            (e.index, circuit[-1].index)
            for circuit in self.net.of_item.values()
            for e in circuit[:-1]
            if e.part.startswith("loop")
        ]
        self.loops = np.array([p[0] for p in pairs], np.intp)
        self.loop_circuits = np.array([p[1] for p in pairs], np.intp)
        self.gravity_bodies = self._gravity_bodies()
        self.quiet: list[int] = []  # of these, those known to stand still
        # last sense of flow, and how often it turned
        self.turns = {b: [0.0, 0.0] for b in self.gravity_bodies}

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
            takers = [i for i, r in acting.items() if isinstance(r, (Giving, Side))]  # a coil is a side too
            held = any(n in self.roles.fixed for n in body.nodes)
            coiled = {coil.node for coil in self.roles.coils.values() if coil.ua > 0.0}
            warm = any(
                s.element > 0.0 or n in coiled for n, s in self.roles.stores.items() if n in set(body.nodes)
            )
            if len(heights) > 1 and (makers or takers or held or warm):
                found[body.number] = makers or takers or ways[:1]
        return found

    def stands_still(self, settled: Settled) -> bool:
        """Whether any body that gravity might drive came to rest without flow."""
        return bool(self.standing(settled))

    def standing(self, settled: Settled) -> frozenset[int]:
        """Bodies left to gravity that came to rest without flow."""
        return self._still(settled.balance.w)

    def _still(self, w: Array) -> frozenset[int]:
        elements = {b: self.net.bodies[b].elements for b in self.gravity_bodies}
        return frozenset(b for b, es in elements.items() if np.abs(w[es]).max(initial=0.0) <= 10.0 * STILL)

    def skip_known_still(self, known: set[str], bodies: frozenset[int] = frozenset()) -> None:
        """Leave bodies alone that were found to stand still before, in the same state."""
        for number in list(self.gravity_bodies):
            if number in bodies or self.rest_key(number) in known:
                self.quiet.append(number)
                del self.gravity_bodies[number], self.turns[number]

    def skip_known_ends(self, ends: Mapping[str, float]) -> None:
        """Let no control look short of an end of its travel where it looked in vain before."""
        for device in self.devices:
            device.barren = ends.get(device.key, device.barren)

    def at_rest(self, settled: Settled) -> set[str]:
        """Keys of the bodies left to gravity that stand still and that no other water has a say in."""
        return {key for key in map(self.rest_key, self.standing(settled)) if key}

    def rest_key(self, number: int) -> str:
        """All that decides whether a body left to gravity stands still; empty where others have a say."""
        body, roles = self.net.bodies[number], self.roles
        states: list[object] = [
            number,
            self.setup.case.si.outdoor,
            self.settings.closed[body.elements].tobytes(),
        ]
        for i in body.elements:
            role = roles.of.get(i)
            if isinstance(role, Coil) or (isinstance(role, Giving) and role.home in roles.rooms):
                return ""
            if isinstance(role, Side):
                plates = roles.exchangers[role.item]
                branch = int(self.net.branch_of[(plates.b if role.side == "a" else plates.a).index])
                if branch >= 0 and not self.settings.closed[self.net.branches[branch].elements].any():
                    return ""
            elif isinstance(role, Source):
                states.append((role.on, role.set_at))
        if any(n in roles.fixed or n in roles.stores for n in body.nodes):
            return ""
        return repr(states)

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
                if isinstance(role, Coil):
                    seen.append(np.array([settled.node[role.node]]))
                elif isinstance(role, Side):
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

    def settle(self, kick: float, again: bool = False) -> Settled:
        """Pass over flows, temperatures and controls until none moves; `kick` as of `_push`.

        `again`: from an answer in which the bodies left to gravity stand still, to see whether this push sets
        them going. Where they all stand once it is gone, that answer holds, and no more is found out.
        """
        net = self.net
        start, thermal = self._start()
        mean = self._means(thermal)
        relax = self._push(kick)
        node: dict[int, float] = {}
        known = None if self.last is None else self.last.still
        still = StillWater(net, self.roles) if known is None else known.of(self.roles)
        tanks = TankColumns(net, self.roles)
        joint = JointNewton(self.devices)
        converged, shift = False, 10.0
        balance: Balance | None = None
        level = {} if self.last is None else self.last.balance.pressure
        passes = 0
        while passes < MOST_PASSES:
            if self.keep_on is not None and not self.keep_on():
                raise Dropped
            passes += 1
            if passes in SLOWER_FROM:
                relax *= 0.5
            if start is not None and self.ahead is not None:
                start = start + self.ahead.flow
                mean = mean + relax * self.ahead.put_into(thermal, node)
            rho, mu = self._properties(mean)
            self._put_in(rho)
            column = tanks.densities(rho, node)
            balance = self.balancer.balance(self.settings, rho, mu, column, start, pressure=level)
            level = balance.pressure
            at_rest = passes > 1 and start is not None and _unmoved(balance.branch_flow, start)
            start = balance.branch_flow
            if again and passes > 1 and len(self._still(balance.w)) == len(self.gravity_bodies):
                break
            pushed = bool(self.settings.push.any())
            self.settings.push[:] = 0.0
            self._rest_where_turning(balance.w)
            precision = max(NEAR_SETTLED if self.near else SETTLED, min(0.5, 0.02 * shift))
            thermal = self.thermal_solver.solve(balance.w, balance.branch_flow, thermal, precision)
            node = still.fill(balance.w, self.settings.closed, thermal)
            new = self._means(thermal)
            shift = float(np.abs(new - mean).max(initial=0.0))
            moving = np.abs(balance.w) > STILL
            mean = mean + np.where(moving, relax, 1.0) * (new - mean)
            look = Look(balance.w, thermal.t_in, thermal.t_out, rho, node)
            needs = share_needs(self.roles, self.setup.called, self.thermal_solver.flowing)
            if pushed and self.last is not None:
                continue  # what a push stirs up of an answer tells the controls nothing
            resting = self._move_controls(joint, look, balance, thermal, passes) and needs < NEED_STEP
            if not resting or not self._rests(shift, at_rest) or not thermal.settled:
                continue
            if self._switched(look, rho):
                joint = JointNewton(self.devices)
                continue
            converged = balance.converged and not joint.jumps_at
            break
        assert balance is not None
        answer = Settled(net, self.setup, self.settings, balance, thermal, node, rho, mu, column)
        answer.passes, answer.converged, answer.stuck = passes, converged, joint.jumps_at
        answer.temperatures, answer.still = self.thermal_solver, still
        answer.swing = joint.swings.get(joint.jumps_at, (0.0, 0.0))
        return answer

    def _put_in(self, rho: Array) -> None:
        """Put densities and the positions of the controls into the settings of a pass."""
        self.setup.follow_density(rho)
        for device in self.devices:
            device.apply(self.settings)
        self.setup.stand()

    def _rests(self, shift: float, at_rest: bool) -> bool:
        """Whether temperatures, that moved by `shift` [K], and flows count as at rest."""
        if self.near and not self.gravity_bodies:
            return shift < NEAR_STEP
        return shift < TEMPERATURE_STEP and at_rest

    def _means(self, thermal: ThermalState) -> Array:
        """Mean temperature of the water in each element, [K]."""
        mean = 0.5 * (thermal.t_in + thermal.t_out)
        stored = self.roles.stored
        if stored:  # it weighs what it weighs, whichever way it begins to flow
            mean[list(stored)] = list(stored.values())
        return np.asarray(mean)

    def _move_controls(
        self, joint: JointNewton, look: Look, balance: Balance, thermal: ThermalState, passes: int
    ) -> bool:
        """Let every control answer to the pass; whether all are at rest."""
        self.ahead = None
        for device in self.devices:
            device.look(look)
        if joint.jump():
            return False
        error = rest_error(self.devices)
        if error < (NEAR_REST if self.near else REST) or joint.given_up:
            return True
        if passes > FREE_PASSES and joint.shorten(error):
            return False
        if not joint.headway(error):
            return True
        slopes, by_branch, response = self._slopes(look, balance, thermal)
        joint.move(slopes, error)
        self.ahead = foresee(joint.taken, by_branch, response)
        return False

    def _slopes(self, look: Look, balance: Balance, thermal: ThermalState) -> tuple[Array, Array, Response]:
        """How the error of each control answers to a step of 1 of each; how flows and temperatures do."""
        n, many = len(self.net.elements), len(self.devices)
        losses, bounds = np.zeros((2, n, many))
        heats: dict[int, list[tuple[int, float]]] = {}
        for k, device in enumerate(self.devices):
            for i, rise in device.losses(look):
                losses[i, k] += rise
            for i, rise in device.bounds():
                bounds[i, k] += rise
            if warmed := device.heats(look):
                heats[k] = warmed
        by_branch, by_element = self.balancer.answers(balance, losses, bounds)
        response = self.thermal_solver.response(thermal, by_branch, heats)
        answers = Answers(self.net, balance.w, by_element, response.t_in, response.t_out)
        slopes = np.array([device.slope(look, answers) for device in self.devices])
        slopes[np.arange(many), np.arange(many)] += [device.direct for device in self.devices]
        return slopes, by_branch, response

    def _switched(self, look: Look, rho: Array) -> bool:
        """At rest otherwise: circulators that stop at their least speed, heaters with too little flow."""
        for device in self.devices:
            if isinstance(device, DeltaT) and device.stops and device.note == "at least speed":
                self._stop(device)
                return True
        return self._least_flows(look, rho)

    def _push(self, kick: float) -> Array:
        """Start what gravity might drive; the share of each temperature change to take, by element."""
        relax = np.ones(len(self.net.elements))
        for b in self.gravity_bodies:
            relax[self.net.bodies[b].elements] = GRAVITY_RELAX
            for i in self.gravity_bodies[b]:
                self.settings.push[i] = kick * KICK
        return relax

    def _start(self) -> tuple[Array | None, ThermalState]:
        """The last answer of this plant, gravity flows excepted: those start from their push."""
        if self.last is None:
            return None, self.thermal_solver.fresh()
        before = {d.key: d for d in self.last.devices}
        for device in self.devices:
            old = before.get(device.key)
            if old is not None and type(old) is type(device):
                device.value = min(device.high, max(device.low, old.value))
        state = self.last.thermal.copy()
        flow = self.last.balance.branch_flow.copy()
        for k, b in enumerate(self.net.branches):
            if self.net.body_of[b.start] in self.gravity_bodies or self.net.body_of[b.start] in self.quiet:
                flow[k] = 0.0
        return flow, state

    def _properties(self, mean: Array) -> tuple[Array, Array]:
        mean = mean.copy()
        mean[self.loops] = mean[self.loop_circuits]
        rho = np.full(len(mean), 1000.0)
        mu = np.full(len(mean), 1e-3)
        for fluid, indices in self.net.fluid_groups:
            rho[indices], mu[indices], _ = fluid.properties(mean[indices])
        return rho, mu

    def _stop(self, device: DeltaT) -> None:
        drive = self.settings.drives.pop(device.element.index, None)
        if drive is not None:
            self.settings.square[device.element.index] = drive.back * G
            device.stopped = True
            device.stops = False
            self.setup.running[device.key] = False

    def _least_flows(self, look: Look, rho: Array) -> bool:
        """Heaters with too little flow go out, those that then have it come back; whether one changed."""
        changed = False
        for i, role in self.roles.of.items():
            if (
                not isinstance(role, Source)
                or role.least_flow <= 0.0
                or self.idle.get(role.item, "") not in ("", "flow")
            ):
                continue
            flow, out = abs(look.w[i]) / rho[i], self.idle.get(role.item) == "flow"
            if not out and flow < role.least_flow * (1.0 - 1e-6) and role.item not in self.average:
                self.idle[role.item], changed = "flow", True
                if self.net.plant.items[role.item].si.get("shut_when_idle"):
                    self.settings.closed[i] = True
            elif out and flow > role.least_flow * (1.0 + 1e-6):
                # Cold it would get its flow, hot it does not: it comes and goes, and counts as on.
                del self.idle[role.item]
                self.average.add(role.item)
                changed = True
            role.on = role.item not in self.idle
        return changed


def _mains_per_body(net: Network) -> dict[int, int]:
    count: dict[int, int] = {}
    for node in net.mains:
        count[net.body_of[node]] = count.get(net.body_of[node], 0) + 1
    return count


def _unmoved(w: Array, before: Array) -> bool:
    """Whether flows came out as foreseen; what leaks through shut ways is round-off, and carries nothing."""
    carries = np.maximum(np.abs(w), np.abs(before)) > STILL
    change = np.abs(w - before)[carries].max(initial=0.0)
    return bool(change <= 1e-6 * np.abs(w).max(initial=0.0) + 1e-9)
