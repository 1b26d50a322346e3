"""What may be otherwise than drawn: UA of an exchanger or coil, speed of a circulator, Cv of a valve."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.plant.model import Item, Plant
from core.vocabulary import Trait

UA, SPEED, CV = "ua", "speed", "cv"
# Between which factors each is looked for: what scale, a wrong step or a half-shut valve brings, and somewhat
# to the other side, so that a plant better than drawn is not called a fault of something else.
RANGE = {UA: (0.05, 1.6), SPEED: (0.25, 1.6), CV: (0.02, 3.0)}
WORDS = {
    UA: ("its UA", "scale or dirt on its surface, air in it, or another model"),
    SPEED: ("its speed", "set to another step, worn, or air in it"),
    CV: ("its opening", "not where it is drawn: half shut, or blocked"),
}


@dataclass(frozen=True)
class Suspect:
    """One thing that may be otherwise than drawn."""

    at: str
    what: str


def suspects(plant: Plant) -> list[Suspect]:
    """All that is looked at, in the order of the file."""
    found: list[Suspect] = []
    for item in plant.items.values():
        if item.stays:
            found += [Suspect(item.id, what) for what in _kinds_of_fault(item)]
    return found


def _kinds_of_fault(item: Item) -> list[str]:
    si = item.si
    found = []
    if item.has(Trait.EXCHANGES_HEAT) and (si.get("ua") or si.get("rated")):
        found.append(UA)
    if item.has(Trait.HAS_COIL) and si.get("coil_ua"):
        found.append(UA)
    if item.has(Trait.DRIVES) and si.get("curve"):
        found.append(SPEED)
    if item.has(Trait.HAND_VALVE, Trait.BALANCES) and (si.get("cv") or si.get("k")) and si.get("open", True):
        found.append(CV)
    return found


def with_fault(plant: Plant, suspect: Suspect, factor: float) -> Plant:
    """The plant with one figure otherwise by a factor."""
    item = plant.items[suspect.at]
    si = item.si
    if suspect.what == SPEED:
        other = item.with_si(speed=float(si.get("speed") or 1.0) * factor)
    elif suspect.what == CV and si.get("cv"):
        other = item.with_si(cv=float(si["cv"]) * factor)
    elif suspect.what == CV:
        other = item.with_si(k=float(si["k"]) / factor**2)
    elif item.has(Trait.HAS_COIL):
        other = item.with_si(coil_ua=float(si["coil_ua"]) * factor)
    else:
        other = item.with_si(ua=conductance(plant, item) * factor, rated=None, fouling=None)
    return replace(plant, items={**plant.items, item.id: other})


def conductance(plant: Plant, item: Item) -> float:
    """UA of an exchanger as drawn, fouling taken off, [W/K]."""
    from core.hydraulics.network_update import network_of
    from core.thermal.plates import exchanger_ua

    return exchanger_ua(network_of(plant), item.id)
