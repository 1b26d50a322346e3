"""Who runs whom: what each signal reaches, what can never run, and what a call waits for. No temperatures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product

from core.controls.expressions import runs
from core.controls.signals import FED_BY, Signals
from core.plant.model import Item, Plant
from core.vocabulary import signal_names

MOST_NAMES = 12  # in one item's expressions; with more it is not tried whether they can ever hold


class Wiring:
    """What the signals of a plant run.

    Attributes
    ----------
    run : dict
        Items that a signal lets run, by item id
    """

    def __init__(self, plant: Plant, signals: Signals) -> None:
        self.signals = signals
        here = [i for i in plant.items.values() if i.stage != "to_remove"]
        self.run = {i.id: i for i in here if i.id not in signals.items and _expressions(i)}
        self.names = {key: _names(item) for key, item in self.run.items()}
        self.feeds: dict[str, set[str]] = {key: set() for key in signals.items}
        for key, needs in signals.needs.items():
            for name in needs:
                self.feeds[name].add(key)

    def reached(self, signal: str) -> list[str]:
        """Items that a signal helps to run, by itself or by way of outlets and stats that it feeds."""
        chain, queue = {signal}, [signal]
        while queue:
            for name in self.feeds.get(queue.pop(), set()) - chain:
                chain.add(name)
                queue.append(name)
        return [key for key, names in self.names.items() if not chain.isdisjoint(names)]

    def never(self) -> list[str]:
        """Items that no state of the signals they name lets run."""
        named = ((key, item) for key, item in self.run.items() if self.names[key])
        return [key for key, item in named if not self._can_run(item, sorted(self.names[key]))]

    def _can_run(self, item: Item, names: list[str]) -> bool:
        known = [n for n in names if n in self.signals.items]
        if len(known) > MOST_NAMES:
            return True
        states = product((True, False), repeat=len(known))
        return any(runs(item.si, dict(zip(known, state, strict=True))) for state in states)

    def waits_for(self, keys: Iterable[str], on: Mapping[str, bool]) -> tuple[str, str, bool] | None:
        """An item that rests, and one signal whose other state would let it run.

        Returns
        -------
        (str, str, bool) or None
            Item, signal, and the state that signal would have to have
        """
        for key in keys:
            for name in sorted(self.names[key]):
                other = not on.get(name, False)
                if runs(self.run[key].si, {**on, name: other}):
                    return key, name, other
        return None


def _expressions(item: Item) -> bool:
    return item.si.get("run_when") is not None or item.si.get("powered_by") is not None


def _names(item: Item) -> set[str]:
    return {name for prop in ("run_when", *FED_BY) for name in signal_names(item.si.get(prop))}
