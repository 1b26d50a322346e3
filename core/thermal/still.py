"""Temperatures where nothing flows: each still stretch shows its warmer end, or its surroundings."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.thermal.roles import Roles
from core.thermal.temperatures import STILL, ThermalState

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def fill_still(net: Network, roles: Roles, w: Array, closed: Bools, state: ThermalState) -> dict[int, float]:
    """Temperature of every node, and of the still elements in `state`.

    Parameters
    ----------
    net, roles
        The network and what acts on its temperatures
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
    known: dict[int, float] = {}
    flows = np.abs(w) > STILL
    for i in np.flatnonzero(flows):
        e = net.elements[i]
        first, last = (e.start, e.end) if w[i] > 0 else (e.end, e.start)
        known.setdefault(first, float(state.t_in[i]))
        known[last] = float(state.t_out[i])
    for node, t in state.node.items():
        known[node] = t
    known.update({n: t for n, t in roles.fixed.items() if n not in known})
    for node, store in roles.stores.items():
        if node not in known:
            rise = store.element / store.ua if store.ua > 0.0 else 0.0
            known[node] = store.around + rise
    parted = {e.index for e in net.parted.values()}
    still = [e for e in net.elements if not flows[e.index]]
    open_ways = [e for e in still if not (closed[e.index] or e.one_way or e.index in parted)]
    filled = _warmer_ends(net, known, open_ways)
    for e in still:
        ends = (filled[e.start], filled[e.end])
        t = max(ends)
        if e.is_pipe:
            state.t_in[e.index] = state.t_out[e.index] = t
        else:
            state.t_in[e.index], state.t_out[e.index] = ends
    return filled


def _warmer_ends(net: Network, known: dict[int, float], ways: list[Element]) -> dict[int, float]:
    touching: dict[int, list[int]] = defaultdict(list)
    for e in ways:
        touching[e.start].append(e.end)
        touching[e.end].append(e.start)
    filled = dict(known)
    indoor = net.plant.site_si.indoor
    around = _surroundings(net)
    seen: set[int] = set()
    for first in touching:
        if first in known or first in seen:
            continue
        stretch, rim, queue = [first], [], [first]
        seen.add(first)
        while queue:
            n = queue.pop()
            for m in touching[n]:
                if m in known:
                    rim.append(known[m])
                elif m not in seen:
                    seen.add(m)
                    stretch.append(m)
                    queue.append(m)
        for n in stretch:
            filled[n] = max(rim) if rim else around.get(n, indoor)
    for n in range(len(net.drawing.heights)):
        filled.setdefault(n, around.get(n, indoor))
    return filled


def _surroundings(net: Network) -> dict[int, float]:
    """What stands around the pipes at each node, [K], where a pipe says so."""
    around: dict[int, float] = {}
    for pipe in net.plant.pipes.values():
        if pipe.around is not None and pipe.id in net.of_item:
            e = net.of_item[pipe.id][0]
            for n in (e.start, e.end):
                around[n] = max(around.get(n, 0.0), pipe.si.around or 0.0)
    return around
