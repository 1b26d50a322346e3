"""What is on: stats with their bands, timers, priority, and devices with delays, least times and lock-outs.

Power comes before everything; then least times on and off; then calls.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from core.controls.expressions import holds
from core.controls.resets import Resets
from core.controls.signals import Signals, SignalStates
from core.controls.stats import Stat, as_reset
from core.plant.model import Case, Item
from core.simulation.clock import timer_next, timer_on
from core.vocabulary import Trait

LEAST_BAND = 0.1  # [K] a stat without differential, and no bulb has less
NEVER = -math.inf


@dataclass
class StatState:
    """A stat in time: on or off, and since when it calls, [s]."""

    stat: Stat
    on: bool = True
    since: float = NEVER

    @property
    def band(self) -> float:
        """Width between its points, [K]."""
        return max(self.stat.differential, LEAST_BAND)

    @property
    def middle(self) -> float:
        """The middle between its points, [K]."""
        return self.stat.set_at - 0.5 * self.stat.sense * self.band

    @property
    def point(self) -> float:
        """The temperature at which it changes next, [K]."""
        stat = self.stat
        return stat.set_at if self.on else stat.set_at - stat.sense * self.band

    @property
    def way(self) -> float:
        """1 where it changes as its place warms past the point, -1 as it cools."""
        return self.stat.sense if self.on else -self.stat.sense


@dataclass
class Device:
    """What signals run, with its times, [s]."""

    item: Item
    on: bool = False
    called: bool = False
    called_at: float = NEVER
    ended_at: float = NEVER
    started_at: float = NEVER
    stopped_at: float = NEVER
    locked_from: float = NEVER  # its last start; what runs at time 0 has not started since
    delay: float = field(init=False)
    min_on: float = field(init=False)
    min_off: float = field(init=False)
    post_run: float = field(init=False)
    lock_out: float = field(init=False)

    def __post_init__(self) -> None:
        for name in ("delay", "min_on", "min_off", "post_run", "lock_out"):
            setattr(self, name, float(self.item.si.get(name) or 0.0))

    @property
    def may_start_at(self) -> float:
        """Earliest time of its next start."""
        rests = max(self.stopped_at + self.min_off, self.locked_from + self.lock_out)
        return max(self.called_at + self.delay, rests)

    @property
    def may_stop_at(self) -> float:
        """Earliest time at which it stops, its call being over."""
        return max(self.ended_at + self.post_run, self.started_at + self.min_on)

    def update(self, t: float, call: bool, power: bool) -> bool:
        """Take over its call; whether it changed."""
        if call != self.called:
            self.called = call
            if call:
                self.called_at = t
            else:
                self.ended_at = t
        before = self.on
        if not power:
            self.on = False
        elif self.on:
            self.on = call or t < self.may_stop_at - 1e-9
        else:
            self.on = call and t >= self.may_start_at - 1e-9
        if self.on and not before:
            self.started_at = t
            self.locked_from = t if t > 0.0 else NEVER
        elif before and not self.on:
            self.stopped_at = t
        return self.on != before

    def next(self, t: float) -> float:
        """When time alone may change it next."""
        if self.on and not self.called:
            return self.may_stop_at
        if self.called and not self.on:
            return self.may_start_at if self.may_start_at > t else math.inf
        return math.inf


class Machine:
    """All signals and devices of a run.

    Parameters
    ----------
    signals : Signals
    case : Case
        What it says of signals stands, but for `free`
    stats : mapping
        Stats that follow what they feel
    free : set of str
        Signals of the case that are left to themselves
    starts : float
        The clock at time 0, counted from Monday 00:00, [s]
    own : mapping
        By device: whether its own control lets it run
    """

    def __init__(
        self,
        signals: Signals,
        case: Case,
        stats: Mapping[str, Stat],
        free: set[str],
        starts: float,
        own: Mapping[str, Callable[[], bool]],
    ) -> None:
        self.signals, self.starts, self.own = signals, starts, own
        self.case = replace(case, signals={k: v for k, v in case.signals.items() if k not in free})
        fixed = {k for k, v in self.case.signals.items() if isinstance(v, bool)}
        self.stats = {key: StatState(stat) for key, stat in stats.items() if key not in fixed}
        self.timers = {k: i for k, i in signals.items.items() if i.has(Trait.TIMED) and k not in fixed}
        plant_items = signals.plant.items
        self.devices = {
            item.id: Device(item)
            for item in plant_items.values()
            if item.stays and {"run_when", "powered_by"} & set(item.kind_info.properties)
            and not item.has(Trait.SIGNALS)
        }  # fmt: skip
        self.priority = {
            key: (tuple(_names(item.si["priority"])), item.si.get("priority_limit"))
            for key, item in signals.items.items()
            if item.has(Trait.STAT) and item.si.get("priority")
        }
        self.since: dict[str, float] = {}  # when each stat with priority came on
        self.states = SignalStates()

    def begin(self, felt: Callable[[str], float]) -> None:
        """At time 0: stats on unless past their off point."""
        for key, state in self.stats.items():
            t = felt(key)
            state.on = not math.isfinite(t) or state.stat.sense * (t - state.stat.set_at) < 0.0
            if math.isfinite(t) and abs(t - state.stat.set_at) < 1e-9:
                state.on = True
        self.update(0.0)

    def reset(self, resets: Resets) -> None:
        """Move the points of stats that an outdoor reset sets."""
        stats = as_reset({key: state.stat for key, state in self.stats.items()}, resets)
        for key, stat in stats.items():
            self.stats[key].stat = stat

    def felt(self, key: str, temperature: float) -> bool:
        """Let a stat act on what it feels; whether it changed."""
        state = self.stats[key]
        if state.way * (temperature - state.point) < -1e-9:
            return False
        state.on = not state.on
        return True

    def update(self, t: float) -> bool:
        """Signals and devices as they are now; whether a device changed."""
        clock = self.starts + t
        calling = {key: state.on for key, state in self.stats.items()}
        calling |= {key: timer_on(item.si, clock) for key, item in self.timers.items()}
        self.states = self.signals.states(self.case, calling)
        held = self._held_off(t)
        if held:
            signals = {**self.case.signals, **dict.fromkeys(held, False)}
            self.states = self.signals.states(replace(self.case, signals=signals), calling)
        changed = False
        on = self.states.on
        for key, device in self.devices.items():
            si, own = device.item.si, self.own.get(key)
            call = holds(si.get("run_when"), on) and (own is None or own())
            changed |= device.update(t, call, holds(si.get("powered_by"), on))
        timed = {key: device.on for key, device in self.devices.items()}
        self.states = replace(self.states, timed=timed)
        return changed

    def _held_off(self, t: float) -> set[str]:
        held: set[str] = set()
        for key, (names, limit) in self.priority.items():
            if not self.states.on.get(key, False):
                self.since.pop(key, None)
                continue
            since = self.since.setdefault(key, t)
            if limit is None or t < since + float(limit) - 1e-9:
                held.update(name for name in names if name != key)
        return held

    def next(self, t: float) -> float:
        """When time alone changes something next, [s]."""
        clock = self.starts + t
        times = [device.next(t) for device in self.devices.values()]
        times += [timer_next(item.si, clock) - self.starts for item in self.timers.values()]
        for key, since in self.since.items():
            limit = self.priority[key][1]
            if limit is not None and since + float(limit) > t + 1e-9:
                times.append(since + float(limit))
        return min((time for time in times if time > t + 1e-9), default=math.inf)


def _names(raw: Any) -> tuple[str, ...]:
    return (raw,) if isinstance(raw, str) else tuple(raw)
