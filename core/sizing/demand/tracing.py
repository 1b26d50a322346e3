"""Whose water a pipe carries: following a solved case from a circuit's outlet round to its inlet.

Water is followed as a walk from pipe to pipe; where ways part, each takes its share of the flow. Of all such
walks those are kept that come back to the circuit without going through another circuit first. The share of
them that passes a pipe is the share of the circuit's water that the pipe carries. No flows are found here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from core.plant.model import Plant, PortRef
from core.solve import Solution
from core.vocabulary import Trait, joined_ports
from core.water.numbers import reached

STILL = 1e-8  # [m^3/s] flows below count as none


class Place(NamedTuple):
    """One body of water inside an item: the whole of it, or one side."""

    item: str
    side: str = ""


def place_of(plant: Plant, port: PortRef) -> Place:
    """The place a port opens into; a separator's sides hand heat over like an exchanger's."""
    item = plant.items[port.item]
    if item.has(Trait.PARTS_FLOWS):
        return Place(item.id, port.port[0])
    if item.has(Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
        groups = joined_ports(item.kind, item.props)
        side = next((group[0].partition("_")[0] for group in groups if port.port in group), "")
        return Place(item.id, side if item.has(Trait.EXCHANGES_HEAT) or side == "coil" else "")
    return Place(item.id)


class Trace:
    """The pipes of one solved case in the direction of their flow.

    Parameters
    ----------
    plant : Plant
    solution : Solution
    """

    def __init__(self, plant: Plant, solution: Solution) -> None:
        self.plant = plant
        self.flow: dict[str, float] = {}
        self.source: dict[str, PortRef] = {}
        self.sink: dict[str, PortRef] = {}
        self.leaving: dict[Place, list[str]] = {}
        self.arriving: dict[Place, list[str]] = {}
        for name, figures in solution.pipes.items():
            flow = figures.flow_m3_s
            pipe = plant.pipes.get(name)
            if pipe is None or abs(flow) <= STILL:
                continue
            ends = (pipe.start, pipe.end) if flow > 0.0 else (pipe.end, pipe.start)
            self.flow[name] = abs(flow)
            self.source[name], self.sink[name] = ends
            self.leaving.setdefault(place_of(plant, ends[0]), []).append(name)
            self.arriving.setdefault(place_of(plant, ends[1]), []).append(name)

    def through(self, place: Place) -> float:
        """Flow that leaves a place, [m^3/s]."""
        return sum(self.flow[name] for name in self.leaving.get(place, ()))

    def ports(self, place: Place) -> tuple[PortRef, PortRef] | None:
        """Ports where most water comes in and goes out; None where it stands still."""
        arriving, leaving = self.arriving.get(place), self.leaving.get(place)
        if not arriving or not leaving:
            return None
        most = self.flow.__getitem__
        return self.sink[max(arriving, key=most)], self.source[max(leaving, key=most)]

    def shares(self, place: Place, others: Iterable[Place], stores: Iterable[Place] = ()) -> dict[str, float]:
        """Share of the water of a circuit that passes each pipe on its way round, 0..1.

        Parameters
        ----------
        place : Place
            The circuit
        others : iterable of Place
            Other circuits, which its water does not go through (unless they lie in line with it)
        stores : iterable of Place
            Tanks, which it does not go through unless it comes from there

        Returns
        -------
        dict
            By pipe; empty where its water does not come back
        """
        closed = set(others) - {place}
        for shut in (closed | set(stores), closed, set(stores), set()):
            if found := self._walked(place, shut):
                return found
        return {}

    def _walked(self, place: Place, closed: set[Place]) -> dict[str, float]:
        ahead = self._ahead(place, closed)
        names = sorted(ahead & self._leading_to(place, closed))
        if not names:
            return {}
        row = {name: k for k, name in enumerate(names)}
        back = np.array([self._end(name) == place for name in names])
        steps = np.zeros((len(names), len(names)))
        for name in names:
            end = self._end(name)
            if end == place:
                continue
            total = self.through(end)
            for following in self.leaving.get(end, ()):
                if following in row:
                    steps[row[name], row[following]] = self.flow[following] / total
        visits = np.linalg.inv(np.eye(len(names)) - steps)
        comes_back = visits @ back.astype(float)
        start = np.zeros(len(names))
        for name in self.leaving[place]:
            if name in row:
                start[row[name]] = self.flow[name] / self.through(place)
        whole = float(start @ comes_back)
        passed = (start @ visits) * comes_back / (whole * np.diag(visits))
        return {name: float(min(1.0, passed[row[name]])) for name in names if passed[row[name]] > 1e-6}

    def _ahead(self, place: Place, closed: set[Place]) -> set[str]:
        """Pipes that water from a place gets to; it enters neither a closed place nor comes back twice."""

        def onward(begin: Place) -> list[str]:
            return [name for name in self.leaving.get(begin, ()) if self._end(name) not in closed]

        return set(
            reached(onward(place), lambda name: onward(self._end(name)) if self._end(name) != place else [])
        )

    def _leading_to(self, place: Place, closed: set[Place]) -> set[str]:
        """Pipes whose water gets to a place without coming from a closed one or from the place itself."""

        def back(name: str) -> Iterable[str]:
            begin = place_of(self.plant, self.source[name])
            return () if begin == place or begin in closed else self.arriving.get(begin, ())

        return set(reached(self.arriving.get(place, ()), back))

    def _end(self, name: str) -> Place:
        return place_of(self.plant, self.sink[name])


def passing(shares: Mapping[str, float], trace: Trace, place: Place) -> float:
    """Share of a circuit's water that goes through a place, from the shares of the pipes that end there."""
    return min(1.0, sum(shares.get(name, 0.0) for name in trace.arriving.get(place, ())))
