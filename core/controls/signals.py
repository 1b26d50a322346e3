"""What is on in a case: switches, outlets, and stats as the case or what they feel says.

Signals that depend on themselves start off; those that come to no rest stay off. Outlets count as signals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from core.controls.expressions import holds, runs
from core.plant.model import Case, Item, Plant
from core.vocabulary import Trait, signal_names

__all__ = ["SignalStates", "Signals", "holds", "runs", "signal_states"]

FED_BY = ("switched_by", "powered_by")


@dataclass
class SignalStates:
    """Signals of one case.

    Attributes
    ----------
    on : dict
        State of every signal
    given : frozenset
        Those whose state the case fixes
    unpowered : frozenset
        Stats that lack power, and so are off
    timed : dict
        Devices that time keeps on or off, whatever their run_when says
    """

    on: dict[str, bool] = field(default_factory=dict)
    given: frozenset[str] = frozenset()
    unpowered: frozenset[str] = frozenset()
    timed: Mapping[str, bool] = field(default_factory=dict)

    def lets_run(self, key: str, si: Mapping[str, Any]) -> bool:
        """Whether a device of these properties runs."""
        return self.timed[key] if key in self.timed else runs(si, self.on)


class Signals:
    """The signals of a plant and what feeds them; those to be removed left out.

    Attributes
    ----------
    plant : Plant
    items : dict
        Switches, outlets and stats by id
    dead : frozenset
        Those out of service: off, whatever the case or a temperature says
    loops : list of tuple
        Groups of signals of which each depends on itself by way of switched_by and powered_by
    """

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.items = {i.id: i for i in plant.with_trait(Trait.SIGNALS)}
        self.dead = frozenset(key for key, item in self.items.items() if item.out_of_service)
        self.needs = {
            key: {n for prop in FED_BY for n in signal_names(item.si.get(prop)) if n in self.items}
            for key, item in self.items.items()
        }
        self.loops = self._loops()
        self.looped = {name for loop in self.loops for name in loop}

    def _loops(self) -> list[tuple[str, ...]]:
        reach = {key: self._reached(key) for key in self.needs}
        loops: list[tuple[str, ...]] = []
        for key in self.needs:
            if key in reach[key] and not any(key in loop for loop in loops):
                loops.append(tuple(k for k in self.needs if k in reach[key] and key in reach[k]))
        return loops

    def _reached(self, start: str) -> set[str]:
        """All that a signal depends on, at whatever remove."""
        found: set[str] = set()
        queue = [start]
        while queue:
            for name in self.needs[queue.pop()] - found:
                found.add(name)
                queue.append(name)
        return found

    def states(self, case: Case, calling: Mapping[str, bool]) -> SignalStates:
        """States of all signals: as the case says, else as switched, powered and felt.

        Parameters
        ----------
        case : Case
        calling : mapping
            What each stat that the case leaves out makes of its temperature, and each timer of the clock; off
            where nothing is said

        Returns
        -------
        SignalStates

        Notes
        -----
        Signals that depend on themselves start off; those of them that then come to no rest stay off.
        """
        given = {k: v for k, v in case.signals.items() if isinstance(v, bool)}
        given |= dict.fromkeys(self.dead, False)
        free = {k: item for k, item in self.items.items() if k not in given}
        own = {
            k: calling.get(k, False) if item.has(Trait.STAT, Trait.TIMED) else bool(item.si.get("on"))
            for k, item in free.items()
        }
        on = {k: own.get(k, False) and k not in self.looped for k in self.items} | given
        if not _come_to_rest(free, own, on):
            on.update((k, False) for k in self.looped if k in free)
            free = {k: item for k, item in free.items() if k not in self.looped}
            _come_to_rest(free, own, on)
        stats = ((k, item) for k, item in free.items() if item.has(Trait.STAT))
        unpowered = frozenset(k for k, item in stats if not holds(item.si.get("powered_by"), on))
        return SignalStates(on, frozenset(given), unpowered)


def _come_to_rest(items: Mapping[str, Item], own: Mapping[str, bool], on: dict[str, bool]) -> bool:
    """Pass states on along what feeds them, until none changes; False where that has no end."""
    for _ in range(len(items) + 2):
        changed = False
        for key, item in items.items():
            by = item.si.get("switched_by")
            state = (own[key] if by is None else holds(by, on)) and holds(item.si.get("powered_by"), on)
            changed |= state != on[key]
            on[key] = state
        if not changed:
            return True
    return False


def signal_states(plant: Plant, case: Case, calling: Mapping[str, bool] | None = None) -> SignalStates:
    """States of all signals of a plant, as of `Signals.states`."""
    return Signals(plant).states(case, calling or {})
