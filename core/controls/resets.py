"""Outdoor reset: the line that makes a set temperature of the weather, and what each line sets in a case.

A reset acts on the case's outdoor temperature, else the site's; of two on one item the first in the file
wins.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from core.plant.model import Item, Plant
from core.vocabulary import Trait

# The property a reset sets, in this order of preference.
SETTABLE = ("set_temperature", "target")


@dataclass
class Resets:
    """What outdoor resets make of one weather.

    Attributes
    ----------
    supply : dict
        Temperature each reset gives, by its id, [K]
    set : dict
        By item: the property that is set and its value, [K]
    by : dict
        By item: the reset that sets it
    rivals : dict
        By reset: items it names that another one sets already
    strangers : dict
        By reset: items it names that have no temperature to set
    """

    supply: dict[str, float] = field(default_factory=dict)
    set: dict[str, tuple[str, float]] = field(default_factory=dict)
    by: dict[str, str] = field(default_factory=dict)
    rivals: dict[str, list[str]] = field(default_factory=dict)
    strangers: dict[str, list[str]] = field(default_factory=dict)

    def applied(self, item: Item) -> Mapping[str, Any]:
        """Properties of an item in SI, as set in this weather."""
        if item.id not in self.set:
            return item.si
        name, value = self.set[item.id]
        return {**item.si, name: value}


def on_line(line: Sequence[tuple[float, float]], outdoor: float) -> float:
    """Supply temperature at an outdoor temperature: straight between the points, flat beyond.

    Parameters
    ----------
    line : sequence of (outdoor, supply)
        Rising outdoor temperatures, [K]
    outdoor : float
        [K]

    Returns
    -------
    float
        [K]

    Examples
    --------
    >>> on_line([(258.0, 330.0), (288.0, 300.0)], 268.0)
    320.0
    """
    k = bisect_right([x for x, _ in line], outdoor)
    if k == 0:
        return float(line[0][1])
    if k == len(line):
        return float(line[-1][1])
    (x0, y0), (x1, y1) = line[k - 1], line[k]
    return float(y0 + (y1 - y0) * (outdoor - x0) / (x1 - x0))


def find_resets(plant: Plant, outdoor: float) -> Resets:
    """What the outdoor resets of a plant set at an outdoor temperature [K]; the first of two wins."""
    found = Resets()
    for item in plant.items.values():
        line = item.si.get("line") if item.has(Trait.RESETS) and item.stage != "to_remove" else None
        if not line:
            continue
        found.supply[item.id] = on_line(line, outdoor)
        sets = item.si.get("sets") or ()
        for name in (sets,) if isinstance(sets, str) else sets:
            _set(plant, found, item.id, name)
    return found


def _set(plant: Plant, found: Resets, reset: str, name: str) -> None:
    target = plant.items.get(name)
    properties = target.kind_info.properties if target is not None else {}
    settable = next(
        (p for p in SETTABLE if p in properties and properties[p].dimension == "temperature"), None
    )
    if settable is None:
        found.strangers.setdefault(reset, []).append(name)
    elif name in found.by:
        found.rivals.setdefault(reset, []).append(name)
    else:
        found.by[name] = reset
        found.set[name] = (settable, found.supply[reset])
