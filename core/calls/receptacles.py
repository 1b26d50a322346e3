"""Which outlet feeds what, and what it carries: amps against rating and the practice for lasting loads.

An outlet switched by another counts as plugged into it; every load counts as lasting; amps that are not
known are never good.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from core.calls.power import current
from core.controls.expressions import runs
from core.plant.model import Item, Plant
from core.solve import Solution
from core.vocabulary import Trait
from core.working import Working, derived, given, typed

CONTINUOUS = 0.8
CONTINUOUS_SOURCE = (
    "NFPA 70 (National Electrical Code): article 100, a continuous load lasts 3 h or more; 210.20(A), 125 % "
    "of it counts; 210.23(A)(1), one cord-and-plug load takes at most 80 % of the branch circuit; from "
    "memory, not checked against the edition in force"
)
CAUTION = (
    "Overloaded wiring burns and electricity kills. The electrical code in force and a licensed "
    "electrician decide what a receptacle and its circuit may carry; what else hangs on it is not known here."
)
Verdict = Literal["within", "over 80 %", "over rating", "unknown", "idle"]


@dataclass(frozen=True)
class Plugged:
    """Something that an outlet feeds: through which further controls or outlets, and its current [A]."""

    at: str
    through: tuple[str, ...]
    runs: bool
    amps: Working | None


@dataclass(frozen=True)
class OutletLoad:
    """What an outlet carries in one case.

    Attributes
    ----------
    at : str
    on : bool
    feeds : tuple of Plugged
        All it feeds, whether it runs or not
    amps : Working
        Sum of the known currents of what runs, [A]
    unknown : tuple of str
        What runs and whose current is not known
    rating, limit : Working or None
        Rated current, and 80 % of it, [A]
    verdict : str
        "idle" where nothing runs on it; "unknown" where a current or the rating is missing and what is
        known would still pass
    """

    at: str
    on: bool
    feeds: tuple[Plugged, ...]
    amps: Working
    unknown: tuple[str, ...]
    rating: Working | None
    limit: Working | None
    verdict: Verdict

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "on": self.on,
            "amps_a": self.amps.value,
            "unknown": list(self.unknown),
            "rating_a": None if self.rating is None else self.rating.value,
            "continuous_limit_a": None if self.limit is None else self.limit.value,
            "verdict": self.verdict,
            "feeds": [
                {
                    "at": p.at,
                    "through": list(p.through),
                    "runs": p.runs,
                    "amps_a": None if p.amps is None else p.amps.value,
                }
                for p in self.feeds
            ],
            "working": self.amps.as_data(),
            "continuous_working": None if self.limit is None else self.limit.as_data(),
        }

    def words(self) -> str:
        """What it carries, in one clause."""
        known = f"{float(self.amps.value):.1f} A"
        if self.unknown:
            known += f" and {', '.join(self.unknown)} of unknown current"
        if self.verdict == "idle":
            return "carries nothing"
        if self.rating is None:
            return f"carries {known}; its rating is not known"
        rating, limit = float(self.rating.value), float(self.limit.value) if self.limit else 0.0
        tail = {
            "over rating": f"more than its {rating:.0f} A",
            "over 80 %": f"more than 80 % of its {rating:.0f} A ({limit:.1f} A), the practice for loads "
            "of 3 h and more",
            "within": f"within 80 % of its {rating:.0f} A ({limit:.1f} A)",
            "unknown": f"of {limit:.1f} A (80 % of {rating:.0f} A): not proven",
        }
        return f"carries {known}, {tail[self.verdict]}"


def feeds(plant: Plant) -> dict[str, dict[str, tuple[str, ...]]]:
    """What each outlet feeds, and through which controls and outlets on the way.

    `powered_by` is followed upwards: an item on a stat that is itself powered by an outlet hangs on that
    outlet; an outlet switched by another outlet counts as plugged into it.
    """
    here = {key: item for key, item in plant.items.items() if item.stage != "to_remove"}
    found: dict[str, dict[str, tuple[str, ...]]] = {
        key: {} for key, item in here.items() if item.has(Trait.FEEDS_POWER)
    }
    for key, item in here.items():
        if item.has(Trait.FEEDS_POWER, Trait.SWITCHED_BY_HAND):
            continue
        for chain in _chains(here, item, ()):
            for place, name in enumerate(chain):
                if name in found:
                    found[name].setdefault(key, chain[:place])
    return {
        name: {k: via for k, via in fed.items() if not here[k].has(Trait.STAT)} for name, fed in found.items()
    }


def _chains(
    here: Mapping[str, Item], item: Item, seen: tuple[str, ...], depth: int = 0
) -> Iterator[tuple[str, ...]]:
    """Ways from an item up to where its power comes from, by the names passed."""
    above = "switched_by" if item.has(Trait.FEEDS_POWER) else "powered_by"
    for name in dict.fromkeys(_feeding_names(item.si.get(above))):
        source = here.get(name)
        if (
            source is None
            or name in seen
            or (item.has(Trait.FEEDS_POWER) and not source.has(Trait.FEEDS_POWER))
        ):
            continue
        further = list(_chains(here, source, (*seen, name), depth + 1)) if depth < 20 else []
        yield from ((name, *way) for way in further or [()])


def _feeding_names(expression: Any) -> Iterator[str]:
    """Names through which power may come: those not under a `not`."""
    if isinstance(expression, str):
        yield expression
    elif isinstance(expression, Mapping):
        for word, part in expression.items():
            if word != "not":
                yield from _feeding_names(part)
    elif isinstance(expression, (list, tuple)):
        for part in expression:
            yield from _feeding_names(part)


Fed = Mapping[str, Mapping[str, tuple[str, ...]]]
"""By outlet and by what it feeds: the controls and outlets on the way."""


def outlet_loads(plant: Plant, solution: Solution, fed: Fed | None = None) -> tuple[OutletLoad, ...]:
    """What each outlet carries in a solved case, in the order of the file.

    What is fed by any of several outlets counts in full on each that is on. `fed` are the plant's `feeds`,
    where they are already known.
    """
    fed = feeds(plant) if fed is None else fed
    on = solution.signals
    return tuple(_load(plant, name, fed[name], on, solution) for name in fed)


def _load(
    plant: Plant, name: str, fed: Mapping[str, tuple[str, ...]], on: Mapping[str, bool], solution: Solution
) -> OutletLoad:
    outlet = plant.items[name]
    volts = _number(outlet, "volts", "U", "voltage", "voltage")
    live = bool(on.get(name))
    plugged = tuple(
        _plugged(plant.items[key], way, live and all(on.get(step) for step in way), volts, on, solution)
        for key, way in fed.items()
    )
    running = [p for p in plugged if p.runs]
    known = [p.amps for p in running if p.amps is not None]
    unknown = tuple(p.at for p in running if p.amps is None)
    parts = tuple(replace(w, symbol=f"I_{n}") for n, w in enumerate(known, 1))
    total = Working(
        "I",
        f"current through {name}",
        sum(float(w.value) for w in known),
        "current",
        " + ".join(p.symbol for p in parts),
        parts,
        how="all that runs on it at once, as if it lasted 3 h or more" if parts else "nothing runs on it",
    )
    rating = _number(outlet, "rating", "I_rated", "rating", "current")
    limit = None
    if rating is not None:
        share = given("k", "share for loads of 3 h and more", CONTINUOUS, "", "table", CONTINUOUS_SOURCE)
        words = f"lasting current that {name} takes"
        limit = derived("I_lasting", words, "current", "k * I_rated", share, rating)
    verdict = _verdict(bool(running), float(total.value), unknown, rating, limit)
    return OutletLoad(name, live, plugged, total, unknown, rating, limit, verdict)


def _plugged(
    item: Item,
    way: tuple[str, ...],
    live: bool,
    volts: Working | None,
    on: Mapping[str, bool],
    solution: Solution,
) -> Plugged:
    running = live and runs(item.si, dict(on))
    return Plugged(item.id, way, running, current(item, volts, solution.items.get(item.id)))


def _verdict(
    busy: bool, amps: float, unknown: tuple[str, ...], rating: Working | None, limit: Working | None
) -> Verdict:
    if not busy:
        return "idle"
    if rating is None or limit is None:
        return "unknown"
    if amps > float(rating.value) * (1.0 + 1e-9):
        return "over rating"
    if amps > float(limit.value) * (1.0 + 1e-9):
        return "over 80 %"
    return "unknown" if unknown else "within"


def _number(item: Item, name: str, symbol: str, words: str, dimension: str) -> Working | None:
    value = item.si.get(name)
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return None
    path = f"items.{item.id}.props.{name}"
    return typed(symbol, f"{words} of {item.id}", float(value), dimension, path, str(item.props.get(name)))
