"""A run from its start to its end: moments, exact stretches between them, events in their place.

A stretch ends where a stat passes its point, the clock or a least time changes something, a limit of a source
or load is passed, or a figure leaves its band (`guards`); then the water is found anew. Steps double from a
sixteenth of a second to about a minute; a step that passes a stat's point is halved until the point stands
within the shortest. Layers of tanks that turned over mix at the end of every step.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt

from core.controls.resets import find_resets
from core.plant.run_rules import Profile
from core.simulation.clock import profile_next
from core.simulation.course import Course, Stretch
from core.simulation.guards import find_guards
from core.simulation.meters import matrix_of, meter_all
from core.simulation.observer import Observer
from core.simulation.rows import Rows
from core.simulation.runs import Run
from core.simulation.stepping import LEVELS, SHORTEST, Ladder, seconds
from core.simulation.water import Water, case_at
from core.solve.solution import Dropped

Array = npt.NDArray[np.float64]

MIXED_AT_ONCE = 1.0  # [K] that mixing layers may change in one step before steps are shortened
CALM = 3600.0  # [s] after which the water is found anew, and closer, though nothing happened
MOST_CHANGES = 12  # of controls at one time before it is called a swing


class Simulation(Course):
    """One run of a plant, gone through from start to end.

    Parameters
    ----------
    run : Run
    keep_on : callable or None
        Asked at every moment; where it says False, `simulate` raises Dropped
    """

    def __init__(self, run: Run, keep_on: Callable[[], bool] | None = None) -> None:
        super().__init__(run)
        self.keep_on = keep_on
        self.water = Water(self.solver, self.layout)
        self.longest_level = LEVELS - 1
        self.found_at = 0.0  # when the water was found last, [s]
        straight = [part.straight for part in self.layout.parts for _ in part.start]
        self.bending = [k for k, one in enumerate(straight) if not one]
        self.turning = [vessel for vessel in self.layout.vessels.values() if vessel.stacked]
        self.observer = Observer(self)

    # the way -----------------------------------------------------------------------------------------------

    def simulate(self) -> Observer:
        """Go from start to end.

        Raises
        ------
        Dropped
        """
        for _ in self.times():
            if self.keep_on is not None and not self.keep_on():
                raise Dropped
        return self.observer

    def times(self) -> Iterator[float]:
        """Go from start to end by and by: the time of each moment that the run comes to, [s]."""
        self._begin()
        changes, last = 0, -1.0
        while self.time < self.end - 0.5 * SHORTEST:
            yield self.time
            changes = changes + 1 if self.time == last else 0
            last = self.time
            stretch = self.moment()
            if self._boilers(stretch) and changes < MOST_CHANGES:
                self.machine.update(self.time)
                continue
            self.observer.moment(stretch)
            self._go(stretch, self._until())
        self.observer.finish()

    def _begin(self) -> None:
        for boiler in self.layout.boilers.values():
            boiler.fires = float(self.x[boiler.first]) < boiler.set_at
        self.machine.begin(lambda key: self.places.felt(key, self.x))
        self.observer.begin()

    def _until(self) -> float:
        """The next time at which the clock changes something, [s]."""
        starts = self.run.weather.starts
        profiles: list[Profile] = [*self.run.draws.values(), *self.run.gains.values()]
        times = [self.end, self.time + CALM, self.machine.next(self.time), self.run.weather.next(self.time)]
        times += [profile_next(profile, self.clock) - starts for profile in profiles]
        outdoor, rate = self.run.weather.at(self.time), self.run.weather.rate(self.time)
        times.append(self.time + self.water.weather_lasts(outdoor, rate))
        return math.ceil(min(times) / SHORTEST - 1e-6) * SHORTEST

    def moment(self) -> Stretch:
        """The water as it is now, and the system that follows from it."""
        run, layout = self.run, self.layout
        outdoor, rate = run.weather.at(self.time), run.weather.rate(self.time)
        draws = self.draws()
        for key, boiler in layout.boilers.items():
            boiler.burning = self.machine.devices[key].on
            boiler.holding = boiler.holding and boiler.burning
        for mass in layout.masses.values():
            if mass.melts:
                area = float(self.plant.items[mass.key].si.get("area") or 0.0)
                mass.snow.fall(run.weather.snowing(self.time) * area, outdoor)
        seen = self.water.weather_at(outdoor, rate)
        if self.resets:
            self.machine.reset(find_resets(self.plant, seen))
        case = case_at(run.case, layout, seen, draws)
        timed = self.machine.states.timed
        modes = tuple((b.holding, b.burning) for b in layout.boilers.values())
        state = (tuple(timed.values()), tuple(draws.items()), modes)
        calm, self.found_at = self.time - self.found_at >= CALM - SHORTEST, self.time
        settled = self.water.at(state, self.x, seen, case, self.machine.states, calm)
        faces = [face for part in layout.parts for face in part.faces(settled, self.x)]
        rows = Rows(settled, self.x, faces, (outdoor, rate))
        heats = meter_all(rows, layout)
        system = heats.into / self.capacity[:, None]
        rates = system[:, : rows.n] @ self.x + system[:, rows.n]
        system[:, rows.n] = rates  # by the change since this moment
        edges = (bulb.edges(rows) for bulb in self.places.bulbs.values())
        guards = find_guards(rows, rates, self.bending, [edge for edge in edges if edge is not None])
        return Stretch(self.time, self.x.copy(), settled, rows, heats, Ladder(system), guards)

    def _boilers(self, stretch: Stretch) -> bool:
        """Let boilers with a differential choose how they burn; whether one now burns otherwise."""
        changed, rows = False, stretch.rows
        for key, boiler in self.layout.boilers.items():
            changed |= boiler.choose(self.machine.devices[key].on, rows)
        return changed

    def _go(self, stretch: Stretch, until: float) -> None:
        """Steps within a stretch, up to a time or an event."""
        n = stretch.rows.n
        stops = self._stops(stretch)
        stop_rows = stretch.shifted(matrix_of([row for row, _, _ in stops], n))
        points = np.array([point for _, point, _ in stops])
        ways = np.array([way for _, _, way in stops])
        z = np.zeros(n + 2)
        z[n] = 1.0
        level = min(self.longest_level, 4)
        while self.time < until - 0.5 * SHORTEST:
            ahead = min(until, self.observer.next(self.time))
            level = min(level, self.observer.most_level())
            level = min(level, self._most_level(ahead - self.time), self.longest_level)
            moved, summed = stretch.ladder.step(level)
            after = moved @ z
            passed = ways * (stop_rows @ after - points) >= 0.0 if len(stops) else np.zeros(0, bool)
            if passed.any() and level > 0:
                level -= 1
                continue
            values = stretch.guard_rows @ after
            out = (values < stretch.low) | (values > stretch.high)
            if level > 0 and out.any():
                far = (values < stretch.low - stretch.slack) | (values > stretch.high + stretch.slack)
                if far.any():
                    level -= 1
                    continue
            taken = seconds(level)
            self.x = stretch.x + after[:n]
            mixed = max((part.after(self.x, taken) for part in self.turning), default=0.0)
            self.time += taken
            bare = self.observer.step(stretch, z, after, summed @ z, taken)
            z = after
            self.observer.row(stretch, z, bool(passed.any() or out.any() or bare) or self.time >= until)
            z[:n] = self.x - stretch.x
            if passed.any():
                self._passed(np.flatnonzero(passed))
                break
            if bare or out.any():
                break
            if mixed > MIXED_AT_ONCE and level > 0:
                self.longest_level = level - 1
                level -= 1
            elif mixed < 0.25 * MIXED_AT_ONCE:
                self.longest_level = min(LEVELS - 1, max(self.longest_level, level) + 1)
                level += 1
        self.machine.update(self.time)

    @staticmethod
    def _most_level(left: float) -> int:
        return max(0, min(LEVELS - 1, int(math.log2(max(1.0, left / SHORTEST + 1e-6)))))

    # events ------------------------------------------------------------------------------------------------

    def _stops(self, stretch: Stretch) -> list[tuple[Array, float, float]]:
        """Rows that end a stretch where they pass a point one way: of stats, then of boilers."""
        self._stop_of: list[tuple[str, str]] = []
        found = []
        for key, state in self.machine.stats.items():
            row = self.places.row(key, stretch.rows)
            if row is not None:
                found.append((row, state.point, state.way))
                self._stop_of.append(("stat", key))
        for key, boiler in self.layout.boilers.items():
            for row, point, way in boiler.stops(stretch.rows):
                found.append((row, point, way))
                self._stop_of.append(("burner", key))
        return found

    def _passed(self, which: npt.NDArray[np.intp]) -> None:
        """Let stats act that came to their point; boilers choose at the next moment."""
        for k in which.tolist():
            what, key = self._stop_of[k]
            if what == "stat":
                state = self.machine.stats[key]
                state.on = not state.on
                self.observer.stat(key, state.on)
