"""Watches a run: what runs and for how long, temperatures, energies; shows rows to a trace."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.simulation.course import Course, Stretch
from core.simulation.melting import Melting
from core.simulation.meters import matrix_of
from core.simulation.pipe_water import PipeWater
from core.simulation.powers import Powers
from core.simulation.stepping import LEVELS
from core.simulation.tally import Shortfall, Span, Switching, TapTally
from core.thermal.roles import Source
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

TAP_USUAL = 313.15  # [K] 40 degC: a tap without set_temperature; the contract's
GIVING = 1.0  # [W] a source that gives less is not heating
LOOK_EVERY = 600.0  # [s] rows of the CSV are never further apart
MINUTE = 60.0
FINE = 2  # level of the steps while somebody waits: 0.25 s, after two minutes 1 s
LONG_WAIT = 15.0 * MINUTE  # beyond it nobody waits
CALLERS = (Trait.STAT, Trait.TIMED, Trait.SWITCHED_BY_HAND)


class Why(NamedTuple):
    """Who called from a time on, which sources were at their limit, what drew, what gave heat."""

    calls: tuple[str, ...]
    limited: tuple[str, ...]
    drawing: tuple[str, ...]
    heating: tuple[str, ...]


@dataclass
class Recovery:
    """A tank on its way back to the temperature of the stat that senses it."""

    since: float | None = None
    longest: float | None = None
    longest_at: float = 0.0

    def note(self, t: float, on: bool) -> None:
        """The stat turned."""
        if on:
            self.since = t
        elif self.since is not None:
            if self.longest is None or t - self.since > self.longest:
                self.longest, self.longest_at = t - self.since, self.since
            self.since = None


@dataclass
class _Watched:
    """What is looked at in a stretch, rows by (change, 1, seconds)."""

    meters: list[tuple[str, str]] = field(default_factory=list)
    meter_rows: Array = field(default_factory=lambda: np.zeros((0, 2)))
    looks: list[tuple[str, str]] = field(default_factory=list)
    look_rows: Array = field(default_factory=lambda: np.zeros((0, 2)))
    pipe_rows: Array = field(default_factory=lambda: np.zeros((0, 2)))


class Observer:
    """All that is counted in one run; `sim` is what it watches."""

    def __init__(self, sim: Course) -> None:
        self.sim, self.plant = sim, sim.plant
        layout, plant = sim.layout, self.plant
        movers = plant.with_trait(Trait.DRIVES, Trait.MAKES_HEAT)
        self.items = {item.id: Switching() for item in movers if item.id in sim.net.of_item}
        self.rooms = {key: Span() for key in layout.rooms}
        self.short = {key: Shortfall(room.wanted) for key, room in layout.rooms.items()}
        self.tanks = {k: Span() for k in layout.vessels if plant.items[k].has(Trait.STORES_HEAT)}
        self.recovery = {key: Recovery() for key in self.tanks}
        self.taps = {
            item.id: TapTally(
                float(item.si.get("set_temperature") or TAP_USUAL), (item.id, "hot") not in sim.net.piped
            )
            for item in plant.with_trait(Trait.DRAWS_WATER)
            if item.id in sim.net.of_item
        }
        self.returns = {key: Span() for key in self.items if plant.items[key].has(Trait.MAKES_HEAT)}
        self.callers = {item.id for item in plant.with_trait(*CALLERS)}
        self.melting = {key: Melting() for key, m in layout.masses.items() if m.melts}
        self.pipes = PipeWater(sim.net)
        self.powers = Powers(plant, list(self.items))
        self.sums: dict[tuple[str, str], float] = {}  # [J]
        self.electricity: dict[str, float] = {}  # [J]
        self.at_limit: dict[str, float] = {}  # sources at full output, [s]
        self.alone: dict[str, float] = {}  # what each source alone would have carried of all heat, [J]
        self.whys: list[tuple[float, Why]] = []
        self.trace: Callable[[Stretch, Array, float], None] | None = None
        self.watched = _Watched()
        self.limited: tuple[str, ...] = ()
        self.unsettled = 0.0  # [s]
        self.calls = {key: Switching() for key in sim.machine.signals.items}
        self.told, self.behind = np.zeros(0), 0.0  # for the water in pipes: temperatures [K], and time [s]
        self.integral, self.gone = np.zeros(0), 0.0  # since the last moment: of the states, and time [s]
        self.rough = False  # whether flows did not settle at the last moment
        self.first = True
        self.began = sim.x.copy()

    def begin(self) -> None:
        """At time 0, before the water is found."""
        self.began = self.sim.x.copy()

    def next(self, t: float) -> float:
        """When a row may be due next, [s]; the same with and without a trace, so that it changes nothing."""
        return (math.floor(t / LOOK_EVERY + 1e-9) + 1.0) * LOOK_EVERY

    def row(self, stretch: Stretch, z: Array, ends: bool) -> None:
        """Show the trace a row at the end of a stretch, and every ten minutes."""
        t = self.sim.time
        if self.trace is not None and (ends or t % LOOK_EVERY < 1e-9):
            self.trace(stretch, z, t)

    # moments -----------------------------------------------------------------------------------------------

    def moment(self, stretch: Stretch) -> None:
        """A moment from which on things go otherwise."""
        t, rows, s = self.sim.time, stretch.rows, stretch.settled
        self._flush()
        self.rough = not s.converged
        meters = list(stretch.heats.meters.items())
        looks = self._looks(stretch, t)
        self._move()
        self.watched = _Watched(
            [key for key, _ in meters],
            stretch.shifted(matrix_of([row for _, row in meters], rows.n)),
            [key for key, _ in looks],
            stretch.shifted(matrix_of([row for _, row in looks], rows.n)),
            stretch.shifted(matrix_of(self.pipes.moment(rows, t), rows.n)),
        )
        self._switches(stretch, t)
        self.powers.take(s)
        self.limited = tuple(
            role.item
            for i, role in s.roles.of.items()
            if isinstance(role, Source) and rows.flows(i) and s.thermal.source.get(i) == "limit"
        )
        self._why(t)
        if self.trace is not None:
            z = np.zeros(rows.n + 2)
            z[rows.n] = 1.0
            self.trace(stretch, z, t)

    def _looks(self, stretch: Stretch, t: float) -> list[tuple[tuple[str, str], Array]]:
        """Temperatures to look at: coming back to sources and from surfaces; taps open and shut."""
        rows, of_item = stretch.rows, self.sim.net.of_item
        found: list[tuple[tuple[str, str], Array]] = []
        for key, tap in self.taps.items():
            if any(rows.flows(e.index) for e in of_item[key]):
                tap.open(t)
            else:
                tap.shut(t)
        for key in self.returns:
            i = of_item[key][0].index
            if rows.flows(i):
                found.append((("return", key), rows.t_in[i]))
        for key, melting in self.melting.items():
            mass = self.sim.layout.masses[key]
            i = mass.way
            melting.flow(t, rows.flows(i), mass.mean(stretch.x))
            if rows.flows(i):
                found.append((("melt", key), rows.t_out[i]))
        return found

    def _switches(self, stretch: Stretch, t: float) -> None:
        rows = stretch.rows
        heat = {at: rows.value(row) for (what, at), row in stretch.heats.meters.items() if what == "heat"}
        for key, item in self.items.items():
            runs = bool(stretch.settled.running.get(key))
            on = heat.get(key, 0.0) > GIVING if key in self.returns else runs
            self._note(item, t, on)
        for key, call in self.calls.items():
            self._note(call, t, self.sim.machine.states.on.get(key, False))
        self.first = False

    def _note(self, switching: Switching, t: float, on: bool) -> None:
        if self.first:
            switching.begin(on)
        else:
            switching.note(t, on)

    def _why(self, t: float) -> None:
        states = self.sim.machine.states.on
        why = Why(
            tuple(key for key, on in states.items() if on and key in self.callers),
            self.limited,
            tuple(key for key, tap in self.taps.items() if tap.drawing),
            tuple(key for key, item in self.items.items() if item.on and key in self.returns),
        )
        if not self.whys or self.whys[-1][1] != why:
            self.whys.append((t, why))

    def why_at(self, t: float) -> Why:
        """Who called at a time."""
        before = [why for at, why in self.whys if at <= t + 1e-6]
        return before[-1] if before else self.whys[0][1]

    def stat(self, key: str, on: bool) -> None:
        """A stat changed."""
        recovery = self.recovery.get(self.sim.machine.stats[key].stat.place[0])
        if recovery is not None:
            recovery.note(self.sim.time, on)

    # steps -------------------------------------------------------------------------------------------------

    def step(self, stretch: Stretch, z: Array, after: Array, integral: Array, taken: float) -> bool:
        """Time goes by: from `z` to `after`, its integral given; whether the last snow is gone with it."""
        self.integral = integral if self.gone == 0.0 else self.integral + integral
        self.gone += taken
        n, t = stretch.rows.n, self.sim.time
        x0, x1 = stretch.x + z[:n], stretch.x + after[:n]
        for key, span in self.rooms.items():
            at = self.sim.layout.rooms[key].first
            a, b = float(x0[at]), float(x1[at])
            self._span(span, a, b, taken)
            self.short[key].pass_time(t, a, b, taken)
        for key, span in self.tanks.items():
            vessel = self.sim.layout.vessels[key]
            self._span(span, vessel.mean(x0), vessel.mean(x1), taken)
        before, values = (self.watched.look_rows @ z).tolist(), (self.watched.look_rows @ after).tolist()
        for (what, key), a, b in zip(self.watched.looks, before, values, strict=True):
            if what == "return":
                self._span(self.returns[key], a, b, taken)
            else:
                self.melting[key].see(t, b, self.sim.layout.masses[key].mean(x1))
        self._taps(stretch, after, taken)
        return self._snow(integral, taken)

    def _taps(self, stretch: Stretch, after: Array, taken: float) -> None:
        """Let the water in the pipes move on, once a minute while nobody draws, and see what taps give."""
        self.told, self.behind = self.watched.pipe_rows @ after, self.behind + taken
        if self.behind < MINUTE and not any(tap.drawing for tap in self.taps.values()):
            return
        found = self._move()
        for key, tap in self.taps.items():
            if tap.drawing:
                t = self.pipes.tap(self.sim.net.of_item[key], stretch.rows, found)
                tap.see(self.sim.time, t if math.isnan(tap.last) else tap.last, t, taken)
                tap.last = t

    def _move(self) -> dict[int, float]:
        """Let the water in the pipes catch up with the time that went by."""
        behind, self.behind = self.behind, 0.0
        return self.pipes.step(self.told.tolist(), behind) if behind > 0.0 else {}

    def most_level(self) -> int:
        """The longest step that tells how long somebody waits at a tap."""
        waits = [self.sim.time - tap.opened for tap in self.taps.values() if tap.drawing and not tap.ready]
        if not waits or min(waits) > LONG_WAIT:
            return LEVELS - 1
        return FINE if min(waits) < 2.0 * MINUTE else FINE + 2

    def _flush(self) -> None:
        """Count what went by since the last moment: heats, times, powers."""
        gone, self.gone = self.gone, 0.0
        if gone <= 0.0:
            return
        for name, joules in zip(
            self.watched.meters, (self.watched.meter_rows @ self.integral).tolist(), strict=True
        ):
            self.sums[name] = self.sums.get(name, 0.0) + joules
            if name[0] == "heat" and name[1] in self.powers.per_heat:
                self._draw(name[1], joules * self.powers.per_heat[name[1]])
        made = sum(
            float(row @ self.integral)
            for (what, _), row in zip(self.watched.meters, self.watched.meter_rows, strict=True)
            if what == "heat"
        )
        for key, item in self.items.items():
            item.pass_time(gone)
            most = self.plant.items[key].si.get("capacity")
            if most and key in self.returns:
                self.alone[key] = self.alone.get(key, 0.0) + min(made, float(most) * gone)
        for key, watts in self.powers.watts.items():
            self._draw(key, watts * gone)
        for key in self.limited:
            self.at_limit[key] = self.at_limit.get(key, 0.0) + gone
        if self.rough:
            self.unsettled += gone

    def _draw(self, key: str, joules: float) -> None:
        self.electricity[key] = self.electricity.get(key, 0.0) + joules

    def _snow(self, integral: Array, taken: float) -> bool:
        """Let snow fall and melt; whether a surface is bare with that."""
        bare = False
        for key in self.melting:
            snow = self.sim.layout.masses[key].snow
            if snow.covers:
                name = ("melt", key)
                rows = self.watched
                heat = (
                    float(rows.meter_rows[rows.meters.index(name)] @ integral) if name in rows.meters else 0.0
                )
                bare |= snow.pass_time(taken, heat)
        return bare

    def _span(self, span: Span, a: float, b: float, taken: float) -> None:
        span.see(self.sim.time - taken, a)
        span.see(self.sim.time, b)
        span.pass_time(a, b, taken)

    def finish(self) -> None:
        """At the end."""
        for tap in self.taps.values():
            tap.shut(self.sim.time)
        self._flush()
        self._move()
        self.pipes.end(self.sim.time)
        for call in self.calls.values():
            call.end(self.sim.time)
        if self.unsettled > 0.0:
            self.sim.cautions.append(
                f"for {self.unsettled / 60.0:.3g} min of {self.sim.run.hours:g} h flows and controls did not "
                "settle; their last state stands for it"
            )

    def total(self, *whats: str) -> float:
        """Sum of what was counted, [J]."""
        return sum(value for (what, _), value in self.sums.items() if what in whats)

    def stored(self) -> float:
        """Heat that everything stores more than at the start, [J]."""
        counts = [np.full(len(part.start), float(part.stores)) for part in self.sim.layout.parts]
        weights = np.concatenate(counts) if counts else np.zeros(0)
        return float(((self.sim.x - self.began) * self.sim.capacity * weights).sum())
