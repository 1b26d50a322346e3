"""Temperatures where nothing flows: each still stretch shows its warmer end, or its surroundings."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.thermal.flowing import STILL, ThermalState
from core.thermal.roles import Roles
from core.water.numbers import reached

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


class StillWater:
    """Temperatures of what stands still in one network; the stretches are kept while the same ways flow.

    Parameters
    ----------
    net, roles
        The network and what acts on its temperatures
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        self.net = net
        self.roles = roles
        self.around = _surroundings(net)
        self.key: tuple[bytes, bytes] | None = None
        self.stretches: list[tuple[list[int], list[int]]] = []
        self.coiled: list[int] = []

    def fill(self, w: Array, closed: Bools, state: ThermalState) -> dict[int, float]:
        """Temperature of every node, and of the still elements in `state`.

        Parameters
        ----------
        w : ndarray, shape (n elements,)
            Mass flow, [kg/s]
        closed : ndarray of bool, shape (n elements,)
            Shut ways: a still stretch ends there, as it does at a check valve
        state : ThermalState
            Temperatures of what flows; those of still elements are put in

        Returns
        -------
        dict
            Temperature by node, [K]
        """
        sense = np.where(np.abs(w) > STILL, np.sign(w), 0.0).astype(np.int8)
        key = (sense.tobytes(), closed.tobytes())
        if key != self.key:
            self.key = key
            self._find(sense.tolist(), closed)
        entered, left = self.entered, self.left
        known: dict[int, float] = dict(zip(entered[0], state.t_in[entered[1]].tolist(), strict=True))
        known.update(zip(left[0], state.t_out[left[1]].tolist(), strict=True))
        known.update((node, state.node[node]) for node in self.mixed if node in state.node)
        for node, t in self.roles.fixed.items():
            known.setdefault(node, t)
        for node in self.coiled:
            known.setdefault(node, state.node[node])
        for node, store in self.roles.stores.items():
            rise = store.element / store.ua if store.ua > 0.0 else 0.0
            known.setdefault(node, store.around + rise)
        indoor = self.net.plant.site_si.indoor
        for nodes, rim in self.stretches:
            warm = [known[n] for n in rim if n in known]
            warmest = max(warm) if warm else None
            for n in nodes:
                if n not in known:
                    known[n] = warmest if warmest is not None else self.around.get(n, indoor)
        a, b = (np.array([known[node] for node in nodes]) for nodes in self.ends)
        warmer = np.maximum(a, b)
        state.t_in[self.still] = np.where(self.pipes, warmer, a)
        state.t_out[self.still] = np.where(self.pipes, warmer, b)
        return known

    def _find(self, sense: list[int], closed: Bools) -> None:
        net = self.net
        still: list[Element] = []
        entered: list[tuple[int, int]] = []
        left: list[tuple[int, int]] = []
        for e in net.elements:
            if sense[e.index] == 0:
                still.append(e)
                continue
            start, end = (e.start, e.end) if sense[e.index] > 0 else (e.end, e.start)
            entered.append((start, e.index))
            left.append((end, e.index))
        self.entered, self.left = _apart(entered[::-1]), _apart(left)  # the first to enter a node counts
        passed = {*self.entered[0], *self.left[0]}
        self.mixed = passed
        self.still = np.array([e.index for e in still], np.intp)
        self.pipes = np.array([e.is_pipe for e in still], bool)
        self.ends = [e.start for e in still], [e.end for e in still]
        self.coiled = [
            coil.node for i, coil in self.roles.coils.items() if sense[i] and coil.given is None
        ]  # tanks whose temperature their coil decides, though nothing may flow through them
        fixed = passed | set(self.roles.fixed) | set(self.roles.stores)
        through = [not (moves or shut) for moves, shut in zip(sense, closed.tolist(), strict=True)]

        def beside(n: int) -> list[int]:
            ways = [e for e in net.touching[n] if through[e.index] and not e.one_way]
            return [e.end if e.start == n else e.start for e in ways]

        self.stretches = []
        seen: set[int] = set()
        for first in net.touching:
            if first in fixed or first in seen:
                continue
            stretch = list(reached([first], lambda n: [m for m in beside(n) if m not in fixed]))
            seen.update(stretch)
            self.stretches.append((stretch, [m for n in stretch for m in beside(n) if m in fixed]))


def _apart(pairs: list[tuple[int, int]]) -> tuple[list[int], Indices]:
    """Nodes, and the elements that tell their temperature."""
    return [node for node, _ in pairs], np.array([i for _, i in pairs], np.intp)


def _surroundings(net: Network) -> dict[int, float]:
    """What stands around the pipes at each node, [K], where a pipe says so."""
    around: dict[int, float] = {}
    for pipe in net.plant.pipes.values():
        if pipe.around is not None and pipe.id in net.of_item:
            e = net.of_item[pipe.id][0]
            for n in (e.start, e.end):
                around[n] = max(around.get(n, 0.0), pipe.si.around or 0.0)
    return around
