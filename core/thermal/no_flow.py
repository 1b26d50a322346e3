"""Temperatures where nothing flows: each still stretch shows its warmer end, or its surroundings."""

from __future__ import annotations

from copy import copy

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
        self.key: tuple[object, ...] | None = None
        self.coiled: list[int] = []

    def of(self, roles: Roles) -> StillWater:
        """The same for what acts on temperatures in another case."""
        found = copy(self)
        found.roles = roles
        return found

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
        coiled = tuple(coil.given is None for coil in self.roles.coils.values())
        tied = frozenset(self.roles.fixed), frozenset(self.roles.stores)
        key = (sense.tobytes(), closed.tobytes(), coiled, *tied)
        if key != self.key:
            self.key = key
            self._find(sense.tolist(), closed)
        values = np.full(len(self.net.drawing.heights), np.nan)
        for (nodes, elements), t in ((self.entered, state.t_in), (self.left, state.t_out)):
            values[nodes] = t[elements]
        for node, at in state.node.items():
            if node in self.mixed:
                values[node] = at
        given = dict(self.roles.fixed)
        given.update((node, state.node[node]) for node in self.coiled if node not in given)
        for node, store in self.roles.stores.items():
            rise = store.element / store.ua if store.ua > 0.0 else 0.0
            given.setdefault(node, store.around + rise)
        for node, at in given.items():
            if np.isnan(values[node]):
                values[node] = at
        warmest = np.full(self.many, np.nan)
        if len(self.rims):
            warmest[self.rimmed] = np.fmax.reduceat(values[self.rims], self.rim_from)
        here = values[self.standing]
        at_rest = np.where(np.isnan(warmest[self.stretch_of]), self.beside, warmest[self.stretch_of])
        values[self.standing] = np.where(np.isnan(here), at_rest, here)
        a, b = values[self.ends[0]], values[self.ends[1]]
        warmer = np.maximum(a, b)
        state.t_in[self.still] = np.where(self.pipes, warmer, a)
        state.t_out[self.still] = np.where(self.pipes, warmer, b)
        return {node: t for node, t in enumerate(values.tolist()) if t == t}

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
        passed = {*(node for node, _ in entered), *(node for node, _ in left)}
        self.mixed = passed
        self.still = np.array([e.index for e in still], np.intp)
        self.pipes = np.array([e.is_pipe for e in still], bool)
        self.ends = np.array([e.start for e in still], np.intp), np.array([e.end for e in still], np.intp)
        self.coiled = [
            coil.node for i, coil in self.roles.coils.items() if sense[i] and coil.given is None
        ]  # tanks whose temperature their coil decides, though nothing may flow through them
        fixed = passed | set(self.roles.fixed) | set(self.roles.stores)
        through = [not (moves or shut) for moves, shut in zip(sense, closed.tolist(), strict=True)]

        def beside(n: int) -> list[int]:
            ways = [e for e in net.touching[n] if through[e.index] and not e.one_way]
            return [e.end if e.start == n else e.start for e in ways]

        standing: list[int] = []
        stretch_of: list[int] = []
        rims: list[int] = []
        rimmed: list[int] = []
        rim_from: list[int] = []
        seen: set[int] = set()
        number = 0
        for first in net.touching:
            if first in fixed or first in seen:
                continue
            stretch = list(reached([first], lambda n: [m for m in beside(n) if m not in fixed]))
            seen.update(stretch)
            standing += stretch
            stretch_of += [number] * len(stretch)
            rim = [m for n in stretch for m in beside(n) if m in fixed]
            if rim:
                rimmed.append(number)
                rim_from.append(len(rims))
                rims += rim
            number += 1
        indoor = net.plant.site_si.indoor
        self.many = number
        self.standing, self.stretch_of = np.array(standing, np.intp), np.array(stretch_of, np.intp)
        self.rims, self.rim_from = np.array(rims, np.intp), np.array(rim_from, np.intp)
        self.rimmed = np.array(rimmed, np.intp)
        self.beside = np.array([self.around.get(n, indoor) for n in standing])


def _apart(pairs: list[tuple[int, int]]) -> tuple[Indices, Indices]:
    """Nodes, and the elements that tell their temperature."""
    return np.array([node for node, _ in pairs], np.intp), np.array([i for _, i in pairs], np.intp)


def _surroundings(net: Network) -> dict[int, float]:
    """What stands around the pipes at each node, [K], where a pipe says so."""
    around: dict[int, float] = {}
    for pipe in net.plant.pipes.values():
        if pipe.around is not None and pipe.id in net.of_item:
            e = net.of_item[pipe.id][0]
            for n in (e.start, e.end):
                around[n] = max(around.get(n, 0.0), pipe.si.around or 0.0)
    return around
