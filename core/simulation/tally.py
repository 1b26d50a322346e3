"""What is counted over a run: starts and runs, extremes, shortfalls, waits, energies."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

GROWTH = (298.15, 318.15)  # [K] 25 to 45 degC: temperature alone, never proof of hygiene
SHORT_ROOM = 0.3  # [K] by which a room has to be below what is wanted to be worth a word
NEAR_SET = 1.0  # [K] within which a tap counts as at its temperature


@dataclass
class Switching:
    """Something that goes on and off."""

    on: bool = False
    since: float | None = None  # when this run began, None where before the start
    on_from: float = 0.0  # the same, or the start
    starts: list[float] = field(default_factory=list)
    shortest: float = math.inf
    shortest_at: float = 0.0
    longest_at: float = 0.0
    longest: float = 0.0
    seconds: float = 0.0
    heat: float = 0.0  # [J]

    def begin(self, on: bool) -> None:
        """At time 0."""
        self.on = on

    def note(self, t: float, on: bool) -> None:
        """Its state from now on."""
        if on and not self.on:
            self.starts.append(t)
            self.since = self.on_from = t
        elif self.on and not on:
            if self.since is not None and t - self.since < self.shortest:
                self.shortest, self.shortest_at = t - self.since, self.since
            self.since = None
            self.end(t)
        self.on = on

    def end(self, t: float) -> None:
        """A run is over, or time is: see whether it was the longest."""
        if self.on and t - self.on_from > self.longest:
            self.longest, self.longest_at = t - self.on_from, self.on_from

    def pass_time(self, seconds: float) -> None:
        """Let time go by."""
        if self.on:
            self.seconds += seconds


@dataclass
class Span:
    """Least, mean and greatest of a temperature [K], and hours in the growth range."""

    low: float = math.inf
    low_at: float = 0.0
    high: float = -math.inf
    high_at: float = 0.0
    integral: float = 0.0
    seconds: float = 0.0
    growth: float = 0.0

    def see(self, t: float, value: float) -> None:
        """One value at a time."""
        if value < self.low - 1e-9:
            self.low, self.low_at = value, t
        if value > self.high + 1e-9:
            self.high, self.high_at = value, t

    def pass_time(self, before: float, after: float, seconds: float) -> None:
        """From one value to another, taken as straight."""
        self.integral += 0.5 * (before + after) * seconds
        self.seconds += seconds
        self.growth += seconds * _share_between(before, after, *GROWTH)

    @property
    def mean(self) -> float:
        """Over the time that went by."""
        return self.integral / self.seconds if self.seconds else self.low


def _share_between(a: float, b: float, low: float, high: float) -> float:
    """Share of a straight course from a to b that lies between two values."""
    if a > b:
        a, b = b, a
    if b - a < 1e-12:
        return 1.0 if low <= a <= high else 0.0
    return max(0.0, min(b, high) - max(a, low)) / (b - a)


@dataclass
class Shortfall:
    """By how much a temperature stays below what is wanted, [K s], and where that is deepest."""

    wanted: float
    total: float = 0.0
    deepest: float = 0.0
    deepest_at: float = 0.0
    longest: float = 0.0  # time more than SHORT_ROOM below, [s]
    longest_at: float = 0.0
    since: float | None = None

    def pass_time(self, t: float, before: float, after: float, seconds: float) -> None:
        """From one temperature to another [K] until t, taken as straight."""
        a, b = self.wanted - before, self.wanted - after
        if max(a, b) <= SHORT_ROOM:
            self.since = None
        if a <= 0.0 and b <= 0.0:
            return
        if a >= 0.0 and b >= 0.0:
            self.total += 0.5 * (a + b) * seconds
        else:
            top = max(a, b)
            self.total += 0.5 * top * seconds * top / abs(a - b)
        if max(a, b) > self.deepest:
            self.deepest, self.deepest_at = max(a, b), t if b > a else t - seconds
        if max(a, b) <= SHORT_ROOM:
            return
        if self.since is None:
            self.since = t - seconds
        if t - self.since > self.longest:
            self.longest, self.longest_at = t - self.since, self.since


@dataclass
class TapTally:
    """A tap: when it opened, whether it came to its temperature yet, what it gave."""

    set_at: float
    cold: bool = False  # only cold water comes to it: nobody waits
    drawing: bool = False
    opened: float = 0.0
    ready: bool = False
    whole_low: float = math.inf  # of this draw, in case it never comes to its temperature
    whole_low_at: float = 0.0
    span: Span = field(default_factory=Span)  # after the wait
    high: float = -math.inf
    high_at: float = 0.0
    wait: float = 0.0
    wait_at: float = 0.0
    draws: int = 0
    short: float = 0.0  # [K s]
    short_so_far: float = 0.0  # of this draw, in case it never comes to its temperature
    last: float = math.nan  # what it gave last in this draw, [K]

    def open(self, t: float) -> None:
        """It opens, or draws another flow: then a wait that is over is over."""
        if not self.drawing:
            self.drawing, self.opened, self.ready = True, t, self.cold
            self.whole_low, self.draws = math.inf, self.draws + 1
            self.short_so_far, self.last = 0.0, math.nan

    def shut(self, t: float) -> None:
        """It shuts: a wait that was not over ends, and all of the draw counts."""
        if not self.drawing:
            return
        self.drawing = False
        if not self.ready:
            self._waited(t)
            self.short += self.short_so_far
            if math.isfinite(self.whole_low):
                self.span.see(self.whole_low_at, self.whole_low)

    def _waited(self, t: float) -> None:
        if t - self.opened > self.wait:
            self.wait, self.wait_at = t - self.opened, self.opened

    def see(self, t: float, before: float, after: float, seconds: float) -> None:
        """From one temperature to another [K] until t."""
        if not self.drawing or not (math.isfinite(before) and math.isfinite(after)):
            return
        for at, value in ((t - seconds, before), (t, after)):
            if value > self.high + 1e-9:
                self.high, self.high_at = value, at
            if not self.ready and value >= self.set_at - NEAR_SET:
                self.ready = True
                self._waited(at)
            if self.ready:
                self.span.see(at, value)
            elif value < self.whole_low:
                self.whole_low, self.whole_low_at = value, at
        if self.cold:
            return
        missed = max(0.0, self.set_at - 0.5 * (before + after)) * seconds
        if self.ready:
            self.short += missed
        else:
            self.short_so_far += missed
