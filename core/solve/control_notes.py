"""What the solver has to say about signals: loops, idle calls, stats that hunt or feel nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.controls.stats import out_of_reach
from core.solve.note_text import NoteWriter
from core.solve.sensing import circuit_of, place_at
from core.solve.sensors import place_of
from core.solve.solution import Note, Severity
from core.thermal.limits import RESTING
from core.vocabulary import Trait

ALIKE = 0.05  # [K] by which a differential must fall short of a difference to be called smaller


class ControlNotes(NoteWriter):
    """Notes on the signals of a settled case."""

    def found(self) -> Iterator[Note]:
        """All of them."""
        assert self.s.thermostats.wiring is not None
        self.wiring, self.stats = self.s.thermostats.wiring, self.s.thermostats.stats
        self.signals = self.wiring.signals
        if self.signals.items or self.wiring.run:
            yield from self._loops()
            yield from self._unused()
            yield from self._waiting()
            yield from self._stats()
        yield from self._resets()

    def _loops(self) -> Iterator[Note]:
        for loop in self.signals.loops:
            for k, key in enumerate(loop):
                others = " and ".join([*loop[k + 1 :], *loop[:k]])
                by = f"by way of {others}" if others else "on nothing but itself"
                yield Note(key, f"depends on itself, {by}: it never comes on by itself. Break the loop.")

    def _unused(self) -> Iterator[Note]:
        for key, item in self.signals.items.items():
            if not self.wiring.reached(key):
                does = "feeds" if item.has(Trait.FEEDS_POWER) else "runs"
                text = f"{does} nothing: no run_when, powered_by or switched_by leads to equipment."
                yield Note(key, text, rule="call-runs-nothing")
        for key in self.wiring.never():
            text = "can never run: no state of the signals it names lets it. Nobody calls it."
            yield Note(key, text, rule="never-runs")

    def _waiting(self) -> Iterator[Note]:
        """Calls that are on while all that they help to run rests."""
        on, running = self.s.signals.on, self.s.running
        for key, item in self.signals.items.items():
            if item.has(Trait.FEEDS_POWER) or not on.get(key):
                continue
            reached = self.wiring.reached(key)
            if not reached or any(running.get(k) for k in reached):
                continue
            found = self.wiring.waits_for(reached, on)
            if found is not None and found[1] != key:
                what, name, state = found
                wanted = "on" if state else "off"
                text = f"calls, but {what} rests: it waits for {name} to be {wanted}."
                yield Note(key, text, rule="call-waits-for-another")

    # stats -------------------------------------------------------------------------------------------------

    def _stats(self) -> Iterator[Note]:
        thermostats = self.s.thermostats
        for key in thermostats.blind:
            item = self.plant.items[key]
            why = (
                "feels nothing: type what it senses"
                if not item.si.get("senses")
                else ("has no set temperature: type one")
            )
            yield Note(key, f"{why}, or let the case say whether it calls. Taken as off.")
        for key in sorted(thermostats.unpowered):
            yield Note(key, "has no power in this case: off.")
        for key, stat in self.stats.items():
            if key in thermostats.blind or key in thermostats.unpowered:
                continue
            if not math.isfinite(thermostats.felt.get(key, math.nan)):
                text = "feels a place where there is no water nor room. Taken as off."
                yield Note(key, text, rule="stat-feels-nothing")
            elif place_of(self.plant, self.s.case, stat) == "water":
                yield from self._over_water(key)
            else:
                yield from self._holding(key)

    def _over_water(self, key: str) -> Iterator[Note]:
        stat, thermostats = self.stats[key], self.s.thermostats
        on, width = self.s.signals.on.get(key, False), self.span(stat.differential)
        drop, pump = self._circuit_drop(key) if on else (0.0, "")
        defeated = (
            f"Its differential of {width} is less than the {self.span(drop)} by which the water changes "
            f"round {pump}: it switches within one round. Widen it, or let it sense a tank."
        )
        defeats = stat.differential < drop - ALIKE and not out_of_reach(self.plant, stat)
        if key in thermostats.hunts:
            warm, cool = thermostats.hunts[key]
            off = "" if math.isnan(cool) else f"; off, {self.warm(cool)}"
            state = "on" if on else "off"
            why = f" {defeated}" if defeats else " Let it sense a tank, or widen its differential."
            yield Note(
                key,
                f"has no steady state: on, it senses {self.warm(warm)}, past its {self.warm(stat.set_at)}"
                f"{off}, and nothing it runs can bring it between. Shown is it {state}.{why}",
                Severity.UNSOLVED,
            )
        elif not self.solution.converged:
            return
        elif thermostats.cycles.get(key, 0.0) >= RESTING:
            text = f"on all the time: at {self.warm(thermostats.felt[key])} its sources give all they can."
            yield Note(key, f"is {text} The loads take less than they want.")
        elif key in thermostats.cycles:
            yield Note(
                key,
                f"cycles: on {100.0 * thermostats.cycles[key]:.0f} % of the time; the water it senses is at "
                f"{self.warm(thermostats.felt[key])} on average.{f' {defeated}' if defeats else ''}",
            )
        elif defeats:
            text = f"will cycle fast once the load falls. {defeated}"
            yield Note(key, text, rule="differential-defeated")

    def _circuit_drop(self, key: str) -> tuple[float, str]:
        """Largest difference while it is on round a circuit that a stat senses, [K], and its circulator."""
        sensed = set(place_at(self.net, self.stats[key].place).nodes)
        t, drops = self.s.thermal, [(0.0, "")]
        for i in self.s.settings.drives:
            e = self.net.elements[i]
            circuit = circuit_of(self.net, e)(self.s.balance.w)
            ends = {n for k in circuit for n in (self.net.elements[k].start, self.net.elements[k].end)}
            if sensed & ends:
                values = [*t.t_in[circuit], *t.t_out[circuit]]
                drops.append((float(max(values) - min(values)), e.key))
        drop, pump = max(drops)
        return drop / max(self.s.thermostats.cycles.get(key, 1.0), 1e-3), pump

    def _holding(self, key: str) -> Iterator[Note]:
        if not self.solution.converged:
            return
        for place, held in self.s.thermostats.holdings.items():
            share = self.s.thermostats.share.get(place, 1.0)
            if held.by == key and not self.plant.items[place].has(Trait.ROOM) and share < 1.0:
                yield Note(
                    key,
                    f"cycles: on {100.0 * share:.0f} % of the time it holds {place} at "
                    f"{self.warm(held.set_at)}. Shown are the flows while it is on.",
                )

    # outdoor reset ----------------------------------------------------------------------------------------

    def _resets(self) -> Iterator[Note]:
        resets = self.s.resets
        for key, item in self.plant.items.items():
            if not item.has(Trait.RESETS) or item.stage == "to_remove":
                continue
            if not item.si.get("line"):
                yield Note(key, "has no line yet, so it sets nothing. Type its points.")
            elif not item.si.get("sets"):
                yield Note(key, "sets nothing: name a source, a mixing valve or a stat.")
            for name in resets.rivals.get(key, ()):
                yield Note(key, f"{resets.by[name]} sets {name} already: this line is not followed.")
            for name in resets.strangers.get(key, ()):
                kind = self.plant.items[name].kind_info.title if name in self.plant.items else "thing"
                yield Note(key, f"cannot set {name}: a {kind} has no temperature to set.")
