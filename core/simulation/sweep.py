"""A grid of runs with settings varied, by Python's standard executor interface; a killed worker's run again.

Each run stands alone, so the answers are the same to the last digit whoever makes them, in whatever order.
Runs that are done can be kept in a file, one a line; a sweep of the same plant and run takes them from there.
"""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from core.controls.resets import find_resets
from core.errors import Refusal, value_text
from core.plant.as_set import RESETTABLE, item_as_set, pipe_as_set
from core.plant.model import Plant
from core.simulation.limits import Broken, broken_limits, conflicts_of
from core.simulation.runs import Run, chosen_run
from core.simulation.workers import AT_ONCE, LocalProcesses, each_made, keep_on
from core.vocabulary import KINDS, nearest, to_si

MOST_RUNS = 10_000
MOST_VARIED = 4
PIPE_VARIED = ("length", "k", "around")


@dataclass(frozen=True)
class Varied:
    """One setting, of an item or a pipe, with the values it takes, as typed."""

    path: str
    item: str
    name: str
    values: tuple[str, ...]


def read_varied(plant: Plant, text: str) -> Varied:
    """A setting such as "AQ-1.differential=4 K,8 K".

    Raises
    ------
    Refusal
        An item or property that is not there, a value that it cannot have
    """
    path, sign, raw = text.partition("=")
    key, dot, name = path.strip().rpartition(".")
    if not sign or not dot:
        raise Refusal("--vary", value_text(text), "a setting such as 'AQ-1.differential=4 K,8 K'")
    values = tuple(value.strip() for value in raw.split(","))
    varied = Varied(f"{key}.{name}", key, name, values)
    if key in plant.pipes:
        if name not in PIPE_VARIED:
            expected = "of a pipe one of " + ", ".join(PIPE_VARIED)
            raise Refusal("--vary", value_text(name), expected, nearest(name, PIPE_VARIED))
        for value in values:
            plant_with(plant, [varied], [value])
        return varied
    if key not in plant.items:
        known = [*plant.items, *plant.pipes]
        raise Refusal("--vary", value_text(key), "the id of an item or pipe", nearest(key, known))
    properties = KINDS[plant.items[key].kind].properties
    if name not in properties:
        expected = f"a property of {key}"
        raise Refusal("--vary", value_text(name), expected, nearest(name, properties))
    for value in values:
        to_si(properties[name], raw_of(plant, varied, value), f"--vary {varied.path}")
    return varied


def raw_of(plant: Plant, varied: Varied, value: str) -> Any:
    """A typed value as the file would hold it: a number or true and false where the property is one."""
    if varied.item in plant.pipes:
        plain = varied.name == "k"
    else:
        prop = KINDS[plant.items[varied.item].kind].properties[varied.name]
        plain = prop.type in ("number", "integer", "boolean")
    if plain:
        try:
            return json.loads(value)
        except ValueError:
            return value
    return value


def grid(varied: Sequence[Varied]) -> list[tuple[str, ...]]:
    """All combinations of values, the last setting changing fastest."""
    return list(itertools.product(*(one.values for one in varied)))


def plant_with(plant: Plant, varied: Sequence[Varied], values: Sequence[str]) -> Plant:
    """The plant with its settings at some values.

    Raises
    ------
    Refusal
        Where a value does not go with what else the plant says
    """
    from core.plant.validity import require

    items, pipes = dict(plant.items), dict(plant.pipes)
    for one, value in zip(varied, values, strict=True):
        raw = {one.name: raw_of(plant, one, value)}
        if one.item in pipes:
            pipes[one.item] = pipe_as_set(pipes[one.item], raw)
        else:
            items[one.item] = item_as_set(items[one.item], raw)
    changed = replace(plant, items=items, pipes=pipes)
    require(changed)
    return changed


def _check_paths(varied: Sequence[Varied]) -> None:
    """Refuse a setting that is varied twice, or that takes one value twice."""
    for k, one in enumerate(varied):
        if any(other.path == one.path for other in varied[:k]):
            raise Refusal("--vary", value_text(one.path), "each setting once")
        for value in one.values:
            if one.values.count(value) > 1:
                raise Refusal(f"--vary {one.path}", value_text(value), "each value once")


def _check_free(varied: Sequence[Varied], run: Run) -> None:
    """Refuse a setting that the run's case, or the weather, sets whatever the file says."""
    for one in varied:
        if one.name in run.case.set.get(one.item, ()):
            expected = f"a setting that the case {value_text(run.case.name)} does not set itself"
            raise Refusal("--vary", value_text(one.path), expected)
        by = find_resets(run.plant, run.weather.at(0.0)).by.get(one.item)
        if by is not None and one.name in RESETTABLE:
            raise Refusal("--vary", value_text(one.path), f"a setting that {by} does not set by the weather")


def run_one(plant: Plant, name: str | None, hours: float | None, folder: str) -> dict[str, Any]:
    """One run of a sweep, made by whatever worker."""
    from core.simulation.engine import Simulation
    from core.simulation.summary import summary_of

    return summary_of(Simulation(chosen_run(plant, name, hours, Path(folder)), keep_on).simulate())


class Sweep:
    """A grid of runs.

    Parameters
    ----------
    plant : Plant
    varied : sequence of Varied
    name, hours, folder
        As of `chosen_run`
    keep : Path or None
        File of runs already made, which is added to
    at_once : int
        Runs that are asked for and not made
    """

    def __init__(
        self,
        plant: Plant,
        varied: Sequence[Varied],
        name: str | None = None,
        hours: float | None = None,
        folder: Path | None = None,
        keep: Path | None = None,
        at_once: int = AT_ONCE,
    ) -> None:
        self.at_once = at_once
        self.plant, self.varied, self.name, self.hours = plant, list(varied), name, hours
        self.folder, self.keep = str(folder or Path()), keep
        _check_paths(self.varied)
        self.values = grid(varied)
        if len(self.values) > MOST_RUNS:
            raise Refusal("--vary", f"{len(self.values)} runs", f"at most {MOST_RUNS}")
        run = chosen_run(plant, name, hours, folder)
        _check_free(self.varied, run)
        self.limits = run.limits
        self.plants = [plant_with(plant, varied, values) for values in self.values]
        self.made: dict[int, dict[str, Any]] = {}
        self.cancelled = False

    def cancel(self) -> None:
        """Begin no further run; what is made stays."""
        self.cancelled = True

    def go(
        self,
        make: Callable[[], Executor] = LocalProcesses,
        done: Callable[[int, int], None] | None = None,
    ) -> dict[str, Any]:
        """Make all runs that are not kept yet.

        Parameters
        ----------
        make : callable
            Gives the executor, again where its workers were killed; local processes by default
        done : callable or None
            Told how many of how many runs are made
        """
        told = -1
        for made in self.steps(make):
            if done is not None and made != told:
                done(made, len(self.values))
            told = made
        return self.answer()

    def steps(self, make: Callable[[], Executor] = LocalProcesses) -> Iterator[int]:
        """Make them by and by: how many are made, at every one and some times a second.

        Whoever stops asking ends it; what is made stays.
        """
        self._take_kept()
        left = [k for k in range(len(self.values)) if k not in self.made]
        asked = {k: (self.plants[k], self.name, self.hours, self.folder) for k in left}
        making = each_made(make, run_one, asked, self.at_once)
        for one in making if not self.cancelled else ():
            if one is not None:
                self.made[one.number] = one.found
                self._keep(one.number)
            yield len(self.made)
            if self.cancelled:
                making.close()
                return

    # kept runs ---------------------------------------------------------------------------------------------

    def _key(self, k: int) -> str:
        """Tells a run from others: its plant, its weather file, its name and hours."""
        from core.files.write import dumps

        said = [dumps(self.plants[k]), self.name, self.hours]
        run = next((r for r in self.plant.runs if r["name"] == self.name), (*self.plant.runs, {})[0])
        weather = (run.get("weather") or {}).get("file")
        if weather:
            said.append(hashlib.sha256((Path(self.folder) / weather).read_bytes()).hexdigest())
        return hashlib.sha256(json.dumps(said).encode()).hexdigest()[:24]

    def _take_kept(self) -> None:
        if self.keep is None:
            return
        known: dict[str, dict[str, Any]] = {}
        try:
            with self.keep.open("a+", encoding="utf-8", errors="replace") as source:
                source.seek(0)
                lines = source.read().splitlines()
        except OSError as fault:
            raise _unkept(self.keep, fault) from None
        for line in lines:
            try:
                row = json.loads(line)
                known[str(row["key"])] = row["summary"]
            except (ValueError, KeyError, TypeError):
                continue  # a line that was being written when the program ended
        for k in range(len(self.values)):
            if (found := known.get(self._key(k))) is not None:
                self.made[k] = found

    def _keep(self, k: int) -> None:
        if self.keep is not None:
            row = json.dumps({"key": self._key(k), "summary": self.made[k]}) + "\n"
            try:
                with self.keep.open("a", encoding="utf-8") as sink:
                    sink.write(row)
            except OSError as fault:
                raise _unkept(self.keep, fault) from None

    def answer(self) -> dict[str, Any]:
        """What came of the runs that are made, as `wetside sweep --json` tells it."""
        runs, judged = [], []
        for k, values in enumerate(self.values):
            if k not in self.made:
                continue
            summary = self.made[k]
            broken: list[Broken] = broken_limits(summary, self.limits)
            judged.append((values, broken))
            row: dict[str, Any] = {"values": list(values), "ok": not broken, "summary": summary}
            row["broken"] = [{"limit": one.limit, "at": one.at, "text": one.words} for one in broken]
            runs.append(row)
        return {
            "vary": [{"path": one.path, "values": list(one.values)} for one in self.varied],
            "limits": dict(self.limits),
            "runs": runs,
            "conflicts": conflicts_of([one.path for one in self.varied], judged),
        }


def _unkept(path: Path, fault: OSError) -> Refusal:
    return Refusal("--keep", str(path), f"a file that can be written ({fault.strerror})")


__all__ = ["Sweep", "Varied", "grid", "plant_with", "read_varied", "run_one"]
