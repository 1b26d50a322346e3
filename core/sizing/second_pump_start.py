"""A solver for an edited plant that starts from the answer of the plant before the edit.

The answer it comes to is its own; only the way there is shorter. Edits that add or split a few parts keep
most of the network, so flows and temperatures are carried over by the name of each part.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.plant.model import Plant
from core.solve import Solver
from core.solve.settle import Settled
from core.thermal.flowing import ThermalState


def warmed(plant: Plant, before: Solver, near: str) -> Solver:
    """A solver of an edited plant.

    Parameters
    ----------
    plant : Plant
        After the edit
    before : Solver
        Of the plant before it, with an answer in `last`
    near : str
        A pipe or item of both plants; what is new starts at its temperature
    """
    solver = Solver(plant)
    if before.last is not None:
        solver.last = _carried(solver, before.last, near)
        solver.counts = dict(before.counts)
    return solver


def _carried(solver: Solver, old: Settled, near: str) -> Settled:
    net, was = solver.net, old.net
    place = {(e.key, e.part): e.index for e in was.elements}
    spare = next((e.index for e in was.of_item.get(near, ())), 0)
    known = [place.get((e.key, e.part)) for e in net.elements]
    source = np.array([spare if k is None else k for k in known], np.intp)
    flow = np.zeros(len(net.branches))
    for number, branch in enumerate(net.branches):
        for index, sign in zip(branch.elements, branch.signs, strict=True):
            if (k := known[index]) is not None:
                flow[number] = sign * float(old.balance.w[k])
                break
    nodes = {key: old.node.get(n) for key, n in was.drawing.nodes.items()}
    node = {n: t for key, n in net.drawing.nodes.items() if (t := nodes.get(key)) is not None}
    by_element = {k: e.index for e, k in zip(net.elements, known, strict=True) if k is not None}
    states = {by_element[k]: state for k, state in old.thermal.source.items() if k in by_element}
    thermal = ThermalState(old.thermal.t_in[source], old.thermal.t_out[source], node, states)
    balance = replace(old.balance, w=old.balance.w[source], branch_flow=flow)
    return replace(old, net=net, balance=balance, thermal=thermal, node=node)
