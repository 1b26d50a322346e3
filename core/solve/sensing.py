"""Where controls sense temperature, and how that answers to small changes of the controls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.thermal.flowing import STILL
from core.water.numbers import reached, round_through

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


class Look(NamedTuple):
    """What a device sees after a pass: flows [kg/s], temperatures where water enters and leaves each element,
    [K], densities [kg/m^3], temperatures of the nodes, [K]."""

    w: Array
    t_in: Array
    t_out: Array
    rho: Array
    node: dict[int, float]


@dataclass
class Answers:
    """How flows and temperatures answer to a step of 1 of each control, one column a control.

    Attributes
    ----------
    w : ndarray, shape (n elements, n changes)
        Mass flows, [kg/s]
    t_in, t_out : ndarray, shape (n elements, n changes)
        Temperatures where the water enters and leaves, [K]
    """

    net: Network
    flow: Array
    w: Array
    t_in: Array
    t_out: Array

    @property
    def changes(self) -> int:
        """Number of controls."""
        return int(self.w.shape[1])

    def node(self, n: int) -> Array:
        """Temperature at a node, shape (n changes,), [K]; nothing where no water moves."""
        leaving: Array | None = None
        for e in self.net.touching[n]:
            w = float(self.flow[e.index])
            if abs(w) <= STILL:
                continue
            if n == (e.start if w > 0.0 else e.end):
                return np.asarray(self.t_in[e.index])
            leaving = np.asarray(self.t_out[e.index])
        return np.zeros(self.changes) if leaving is None else leaving


@dataclass(frozen=True)
class Place:
    """One place, by its node; a pipe or item by the mean of its two ends."""

    nodes: tuple[int, ...]

    def temperature(self, look: Look) -> float:
        """[K]; nan where there is no such place."""
        values = [look.node.get(n, float("nan")) for n in self.nodes]
        return sum(values) / len(values) if values else float("nan")

    def slope(self, look: Look, answers: Answers) -> Array:
        """How it answers, [K]."""
        return np.asarray(
            sum((answers.node(n) for n in self.nodes), np.zeros(answers.changes)) / max(1, len(self.nodes))
        )


def place_at(net: Network, place: Sequence[str]) -> Place:
    """The place of [item or pipe, port or sensor]."""
    item, port = place[0], place[1] if len(place) > 1 else ""
    node = net.drawing.nodes.get((item, port))
    if node is None:  # a tank's sensor: the tank is one temperature
        node = net.drawing.nodes.get((item, "*"))
    if node is not None:
        return Place((node,))
    if item not in net.of_item:
        return Place(())
    e = net.of_item[item][0]
    ends = {"in": (e.start,), "from": (e.start,), "out": (e.end,), "to": (e.end,)}
    return Place(ends.get(port, (e.start, e.end)))


class Difference(Protocol):
    """A difference of temperature, [K]; nan where nothing warms or cools."""

    def __call__(self, look: Look) -> float: ...

    def slope(self, look: Look, answers: Answers) -> Array:
        """How it answers, [K]."""


@dataclass(frozen=True)
class _Sensed:
    warm: Place
    cold: Place

    def __call__(self, look: Look) -> float:
        return self.warm.temperature(look) - self.cold.temperature(look)

    def slope(self, look: Look, answers: Answers) -> Array:
        return self.warm.slope(look, answers) - self.cold.slope(look, answers)


@dataclass(frozen=True)
class _Round:
    circuit: Callable[[Array], Indices]

    def __call__(self, look: Look) -> float:
        moving = self.circuit(look.w)
        if not len(moving):
            return float("nan")
        temperatures = np.concatenate([look.t_in[moving], look.t_out[moving]])
        return float(temperatures.max() - temperatures.min())

    def slope(self, look: Look, answers: Answers) -> Array:
        moving = self.circuit(look.w)
        if not len(moving):
            return np.zeros(answers.changes)
        temperatures = np.concatenate([look.t_in[moving], look.t_out[moving]])

        def of(k: int) -> Array:
            side = answers.t_in if k < len(moving) else answers.t_out
            return np.asarray(side[moving[k % len(moving)]])

        return of(int(temperatures.argmax())) - of(int(temperatures.argmin()))


def sensed_difference(net: Network, senses: Any) -> Difference:
    """Difference between two stated places, warm first, [K]."""
    warm, cold = senses
    return _Sensed(place_at(net, warm), place_at(net, cold))


def circuit_difference(net: Network, e: Element) -> Difference:
    """Difference between the warmest and coldest port of the circuit a circulator drives, [K].

    The circuit is every way water can take from its outlet back to its inlet without passing one place twice,
    a separator or buffer being one place: neither other zones on the same mains are in it, nor what lies on
    the far side of a separator.
    """
    return _Round(circuit_of(net, e))


def circuit_of(net: Network, e: Element) -> Callable[[Array], Indices]:
    """Elements of the circuit a circulator drives, by all mass flows; none where it is cut off."""
    own = int(net.branch_of[e.index])
    kept: dict[bytes, Indices] = {}

    def circuit(w: Array) -> Indices:
        if own < 0:
            return np.zeros(0, np.intp)
        sense = _senses(net, w)
        key = sense.tobytes()
        if key not in kept:
            kept[key] = _circuit(net, own, sense.tolist())
        return kept[key]

    return circuit


def comes_back(net: Network, e: Element, w: Array) -> bool:
    """Whether what a circulator moves finds a way back to it, at all mass flows [kg/s]."""
    own = int(net.branch_of[e.index])
    ways = _directed(net, own, _senses(net, w).tolist())
    back, ahead = ways.pop(own)
    follows: dict[int, list[int]] = {}
    for start, end in ways.values():
        follows.setdefault(start, []).append(end)
    return back == ahead or back in reached((ahead,), lambda node: follows.get(node, ()))


def _places(net: Network) -> dict[int, int]:
    """One node for all of a separator, buffer or tank."""
    place: dict[int, int] = {}
    for standing in net.standing.values():
        nodes = [e.end for e in standing]
        place.update(dict.fromkeys(nodes, nodes[0]))
    return place


def _senses(net: Network, w: Array) -> npt.NDArray[np.int8]:
    """Which way each branch flows: 1, -1, or 0 where it is still."""
    flows = np.array([w[b.elements[0]] * b.signs[0] for b in net.branches])
    return np.where(np.abs(flows) > STILL, np.sign(flows), 0.0).astype(np.int8)


def _directed(net: Network, own: int, sense: list[int]) -> dict[int, tuple[int, int]]:
    """Where water enters and leaves each branch that flows, and the circulator's own."""
    place = _places(net)
    ways: dict[int, tuple[int, int]] = {}
    for k, b in enumerate(net.branches):
        start, end = place.get(b.start, b.start), place.get(b.end, b.end)
        if sense[k] or k == own:
            ways[k] = (start, end) if sense[k] > 0 else (end, start)
    return ways


def _circuit(net: Network, own: int, sense: list[int]) -> Indices:
    """Elements on any simple way round through a branch, with the flows as they run."""
    ways = _directed(net, own, sense)
    return np.array([i for k in round_through(ways, own) for i in net.branches[k].elements], np.intp)
