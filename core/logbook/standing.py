"""Whether today's figures still bear out a decision.

Figures are asked to be looked at when they leave the recorded ones by more than `within` (0.10 where
absent; temperatures count against 20 K, our own choice). `wetside logbook` ends with 1 where an entry asks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from core.derivation.leaves import in_si, name_of
from core.logbook.entries import Entry, Figure, entries
from core.plant.model import Plant
from core.solve import Solution
from core.working import Display, show_value

State = Literal["holds", "look again", "gone", "not checked", "superseded"]


@dataclass(frozen=True)
class Compared:
    """A recorded figure beside today's.

    `share` is the change over the recorded value, [-]; None where that has no meaning. `off` marks those that
    ask to be looked at.
    """

    figure: Figure
    then: float | str | bool
    now: float | str | bool | None
    share: float | None
    off: bool
    words: str

    @property
    def named(self) -> str:
        """What was recorded, in words."""
        return name_of(self.figure.place[2]).replace(".", " ")

    def shown(self, display: Display) -> tuple[str, str]:
        """The recorded figure and today's as a person reads them."""
        return self._shown(self.then, display), self._shown(self.now, display)

    def _shown(self, value: float | str | bool | None, display: Display) -> str:
        if value is None:
            return "not known"
        if isinstance(value, (bool, str)) or not self.figure.dimension:
            return str(value)
        return show_value(float(value), self.figure.dimension, display)


@dataclass(frozen=True)
class Standing:
    """An entry today.

    `state`: "holds"; "look again" where a figure left the recorded one by more than the entry's share; "gone"
    where what it was about is no longer drawn; "not checked" where nothing could be compared; "superseded"
    where a later entry follows it.
    """

    entry: Entry
    state: State
    compared: tuple[Compared, ...]
    words: str

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json; figures in SI."""
        e = self.entry
        return {
            "id": e.id,
            "at": list(e.at),
            "date": e.date,
            "choice": e.choice,
            "weighed": list(e.weighed),
            "because": e.because,
            "follows": e.follows,
            "within": e.within,
            "state": self.state,
            "words": self.words,
            "figures": [
                {
                    "path": c.figure.path,
                    "case": c.figure.case,
                    "then": c.then,
                    "now": c.now,
                    "share": c.share,
                    "off": c.off,
                }
                for c in self.compared
            ],
        }


def standings(plant: Plant, solutions: Mapping[str, Solution]) -> tuple[Standing, ...]:
    """Every entry of the logbook, in order, judged by the plant and its solved cases.

    Parameters
    ----------
    plant : Plant
    solutions : Mapping
        Solved cases by name; figures of a case that is not among them are not checked
    """
    every = entries(plant)
    followed = {entry.follows for entry in every if entry.follows}
    display: Display = "si" if plant.units == "si" else "us"
    return tuple(_standing(plant, solutions, entry, entry.id in followed, display) for entry in every)


def cases_named(plant: Plant) -> tuple[str, ...]:
    """Cases that entries of the logbook recorded figures of, as far as the plant still has them."""
    known = {case.name for case in plant.solve_cases}
    named = [f.case for entry in entries(plant) for f in entry.figures if f.case in known]
    return tuple(dict.fromkeys(named))


def _standing(
    plant: Plant, solutions: Mapping[str, Solution], entry: Entry, followed: bool, display: Display
) -> Standing:
    compared = tuple(_compare(plant, solutions, f, entry.within, display) for f in entry.figures)
    missing = [name for name in entry.at if name not in plant.items and name not in plant.pipes]
    off = [c for c in compared if c.off]
    if followed:
        return Standing(entry, "superseded", compared, "A later entry follows it.")
    if entry.at and len(missing) == len(entry.at):
        verb = "is" if len(missing) == 1 else "are"
        return Standing(entry, "gone", compared, f"{', '.join(missing)} {verb} no longer drawn.")
    if off:
        words = " ".join(c.words for c in off) + " Look again, or write why it still holds."
        return Standing(entry, "look again", compared, words)
    if not compared or all(c.now is None for c in compared):
        return Standing(entry, "not checked", compared, "It records no figure that can be compared today.")
    return Standing(entry, "holds", compared, "Today's figures bear it out.")


def _compare(
    plant: Plant, solutions: Mapping[str, Solution], figure: Figure, within: float, display: Display
) -> Compared:
    group, name, key = figure.place
    label = f"{name_of(key).replace('.', ' ')} of {name}"
    if figure.case or figure.dimension:
        now, lack = _solved(plant, solutions, figure, group, name, key)
        if lack:
            return Compared(figure, figure.value, None, None, lack == "gone", _lacking(figure, label, lack))
        then = figure.si()
        if then is None and not isinstance(now, (bool, str)):
            words = f"The {label} was recorded as {figure.value} {figure.unit}, which is no measure of it."
            return Compared(figure, figure.value, now, None, True, words)
        if then is None or isinstance(now, bool):
            changed = now != figure.value
            words = f"The {label} was {figure.value}. Today it is {now}." if changed else ""
            return Compared(figure, figure.value, now, None, changed, words)
        share, off = _change(then, float(now or 0.0), within, figure.dimension)
        was, today = (show_value(v, figure.dimension, display) for v in (then, float(now or 0.0)))
        where = f" in {figure.case}" if figure.case else ""
        words = f"The {label} was {was}{where}. Today it is {today}." if off else ""
        return Compared(figure, then, now, share, off, words)
    typed = _typed(plant, group, name, key)
    changed = typed != figure.value
    words = f"The {label} was {figure.value}. Today it is {typed}." if changed else ""
    return Compared(figure, figure.value, typed, None, changed, words)


def _lacking(figure: Figure, label: str, lack: str) -> str:
    if lack == "case":
        return f"The case {figure.case} is not among those solved."
    if not figure.place[1]:
        return f"{figure.path} names no figure: expected items.ID.KEY or pipes.ID.KEY."
    return f"The {label} can no longer be found."


def _solved(
    plant: Plant, solutions: Mapping[str, Solution], figure: Figure, group: str, name: str, key: str
) -> tuple[Any, str]:
    """Today's solved value in SI, or why there is none: "case" (not solved here) or "gone"."""
    case = figure.case or next(iter(solutions), "")
    solution = solutions.get(case)
    if solution is None:
        known = any(c.name == case for c in plant.solve_cases)
        return None, "case" if known else "gone"
    figures = solution.pipes.get(name) if group == "pipes" else solution.items.get(name)
    value = None if figures is None else figures.value(key)
    return (None, "gone") if value is None else (in_si(key, value), "")


def _change(then: float, now: float, within: float, dimension: str) -> tuple[float | None, bool]:
    """Change over the recorded value and whether it is more than the share allowed.

    Temperatures change by kelvins over the 20 K of a usual circuit, for a share of an absolute temperature
    says nothing (our own choice). A figure recorded as zero asks as soon as it is anything else.
    """
    if dimension == "temperature":
        share = (now - then) / 20.0
        return share, abs(share) > within
    size = abs(then)
    if size < 1e-12:
        return None, abs(now) > 1e-9
    share = (abs(now) - size) / size if now * then >= 0.0 else (now - then) / size
    return share, abs(share) > within


def _typed(plant: Plant, group: str, name: str, key: str) -> Any:
    """What the file says today at a recorded place; None where it says nothing."""
    part: Any = plant.items.get(name) if group == "items" else plant.pipes.get(name)
    if part is None:
        return None
    for step in key.split("."):
        part = part.get(step) if isinstance(part, Mapping) else getattr(part, step, None)
        if part is None:
            return None
    return part
