"""Which circuits a combination of calls asks for: those that some running circulator can reach.

A circuit that no call runs is off, not short; one that is called and yet stands still is short of everything.

* `call` absent: thermostats and switches named in a run_when are calls; where there are none, those that
  feed outlets. A circuit is called if it has flow or lies on a loop with a running circulator; hand valves
  count as open.
* The call of a stat kept on over a room that needs no heat counts as absent where, without it, the water
  stands, or no source of its body runs and nothing else heats that body.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from core.hydraulics.network import Network, build
from core.plant.model import Plant
from core.vocabulary import Trait
from core.water.numbers import on_rounds


class Reach:
    """The ways of a plant's water, with what signals stop taken out.

    Parameters
    ----------
    plant : Plant
    net : Network or None
        Of the same plant, where it is already made
    """

    def __init__(self, plant: Plant, net: Network | None = None) -> None:
        self.net = net if net is not None else build(plant)
        items = plant.items
        self.branch_of: dict[str, int] = {}
        self.stops: dict[int, list[str]] = {}
        self.drives: dict[str, int] = {}
        for key, elements in self.net.of_item.items():
            if key not in items:
                continue
            branch = next((int(self.net.branch_of[e.index]) for e in elements if e.part == ""), -1)
            if items[key].has(Trait.GIVES_HEAT):
                self.branch_of[key] = branch
            elif items[key].has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL) and branch >= 0:
                self.stops.setdefault(branch, []).append(key)
                if items[key].has(Trait.DRIVES):
                    self.drives[key] = branch
        self._known: dict[frozenset[str], frozenset[str]] = {}

    def learn(self, other: Reach) -> None:
        """Take over what another one found on a network of the same shape."""
        self._known = other._known

    def called(self, running: Mapping[str, bool], flowing: Set[str]) -> frozenset[str]:
        """Circuits with flow, and those that lie on a loop with a circulator that runs.

        Hand valves count as open: a circuit shut off by hand is called and gets nothing.

        Parameters
        ----------
        running : dict
            Circulators and zone valves by id
        flowing : set of str
            Items with flow
        """
        still = frozenset(key for key, on in running.items() if not on)
        if still not in self._known:
            self._known[still] = self._driven(still)
        return self._known[still] | (self.branch_of.keys() & flowing)

    def _driven(self, still: frozenset[str]) -> frozenset[str]:
        shut = {k for k, keys in self.stops.items() if still & set(keys)}
        live = [k for k in range(len(self.net.branches)) if k not in shut]
        ways = [(self.net.branches[k].start, self.net.branches[k].end) for k in live]
        drives = {k for key, k in self.drives.items() if key not in still}
        found = {live[n] for n in on_rounds(ways, [n for n, k in enumerate(live) if k in drives])}
        return frozenset(key for key, branch in self.branch_of.items() if branch in found)
