"""Static pressure at every port, once the flows are known: from each body's fixed point along the ways.

* Behind a backflow preventer that parts, water stands at the pressure before it, where nothing else fixes
  its level.
* Water trapped between shut one-way ways shows the highest pressure that can still feed it, else the lowest
  it can still feed.
* A body with neither expansion tank nor fill valve has its level at its item of the lowest id.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.balance import Balance, Balancer
from core.hydraulics.circulators import G
from core.hydraulics.elements import Element
from core.hydraulics.laws import Laws, Settings
from core.hydraulics.network import Body, Network
from core.vocabulary import Trait
from core.water.numbers import carry

Array = npt.NDArray[np.float64]


@dataclass
class Pressures:
    """Gauge pressure by node, [Pa]; loss along each element as it runs, [Pa]; what fixes each body."""

    at: dict[int, float] = field(default_factory=dict)
    loss: Array = field(default_factory=lambda: np.zeros(0))
    unpinned: dict[int, int] = field(default_factory=dict)  # body -> node pinned at 0 for want of any level


def element_losses(laws: Laws, net: Network, settings: Settings, rho: Array, mu: Array, w: Array) -> Array:
    """Loss along each element from its start to its end at given flows (a circulator's is negative), [Pa].

    Parameters
    ----------
    laws : Laws
        Of all branches
    net : Network
    settings : Settings
    rho, mu, w : ndarray, shape (n elements,)
        Density [kg/m^3], viscosity [Pa s], mass flow [kg/s]

    Returns
    -------
    ndarray, shape (n elements,)
    """
    loss = np.zeros(len(net.elements))
    if laws.m:
        laws.prepare(settings, rho, mu, np.zeros(len(rho)))
        loss[laws.elements] = laws.along(w[laws.elements]) + np.where(w[laws.elements] > 0.0, laws.opens, 0.0)
    for i, drive in settings.drives.items():
        if net.branch_of[i] < 0:
            loss[i] = -drive.head(0.0)[0] * float(rho[i]) * G
    return loss


def find_pressures(
    balancer: Balancer, settings: Settings, balance: Balance, rho: Array, mu: Array, column: Array
) -> Pressures:
    """Gauge pressure at every node.

    Parameters
    ----------
    balancer : Balancer
    settings : Settings
    balance : Balance
        Flows and junction pressures
    rho, mu : ndarray, shape (n elements,)
        Density [kg/m^3] and viscosity [Pa s]
    column : ndarray, shape (n elements,)
        Density whose weight stands in each element, [kg/m^3]

    Returns
    -------
    Pressures
    """
    net = balancer.net
    result = Pressures(loss=element_losses(balancer.every_law, net, settings, rho, mu, balance.w))
    walker = _Walker(net, settings, balance, balancer.body_reference, column, result)
    behind = {b.number: e for b in net.bodies if (e := _fed_through(net, b)) is not None}
    for body in net.bodies:
        if body.number not in behind:
            walker.body(body)
    for number, e in behind.items():  # as high as the water before the preventer
        walker.body(net.bodies[number], (e.end, result.at.get(e.start, 0.0)))
    return result


class _Walker:
    """Carries known pressures from node to node through one body at a time."""

    def __init__(
        self,
        net: Network,
        settings: Settings,
        balance: Balance,
        reference: dict[int, float],
        column: Array,
        result: Pressures,
    ) -> None:
        self.net, self.settings, self.balance, self.result = net, settings, balance, result
        self.reference, self.column = reference, column
        self.touching = net.touching
        self.blocks = self._blocking(settings, balance.w)
        # From start to end: loss, and the weight of the column between.
        self.fall: list[float] = (result.loss - column * G * net.columns.fall).tolist()
        self.parts: dict[int, list[int]] = defaultdict(list)
        for node, part in balance.parts.items():
            self.parts[part].append(node)

    def body(self, body: Body, given: tuple[int, float] | None = None) -> None:
        for node, level in [given] if given else self._levels(body):
            self._spread(node, level)
        blocked = [e for n in body.nodes for e in self.touching[n] if self.blocks[e.index]]
        for _ in range(len(blocked) + 1):  # over shut ways last: the same level is the best guess there is
            fresh = [e for e in blocked if (e.start in self.result.at) != (e.end in self.result.at)]
            if not fresh:
                break
            self._spread(*self._beyond(min(fresh, key=self._turn)))
        for node in body.nodes:
            if node not in self.result.at and self.touching[node]:
                self._spread(node, 0.0)
            self.result.at.setdefault(node, 0.0)

    def _levels(self, body: Body) -> list[tuple[int, float]]:
        """Known pressures of a body: mains; else fill pressure, fill valve or precharge at its tank."""
        net, plant = self.net, self.net.plant
        mains = [n for n in body.nodes if n in net.mains]
        if mains:
            return [(n, float(plant.items[net.mains[n]].si.get("pressure") or 0.0)) for n in mains]
        there = (i for i in body.items if not plant.items[i].out_of_service)
        tanks = sorted(i for i in there if plant.items[i].has(Trait.EXPANDS))
        fills = sorted(
            (
                (key, e)
                for key, e in net.parted.items()
                if net.body_of[e.end] == body.number and _open_fill(net, key)
            ),
            key=lambda fill: fill[0],
        )
        system = plant.systems.get(body.system)
        level = system.si.fill_pressure if system else None
        if level is None and fills:
            level = plant.items[fills[0][0]].si.get("set_pressure")
        if level is None and tanks:
            level = plant.items[tanks[0]].si.get("precharge")
        if tanks:
            node = net.node(tanks[0], "at")
        elif fills:
            node = fills[0][1].end
        else:
            node = self._lowest(body)
        if level is None:
            self.result.unpinned[body.number] = node
        return [(node, float(level or 0.0))]

    def _lowest(self, body: Body) -> int:
        """The first piped port of the item with the lowest id: not of the first item in the file."""
        nodes, of = self.net.drawing.nodes, self.net.body_of
        places = (key for key, n in nodes.items() if of[n] == body.number and self.touching[n])
        first = min(places, default=None)
        return body.nodes[0] if first is None else nodes[first]

    def _blocking(self, settings: Settings, w: Array) -> list[bool]:
        """Whether the loss across each element cannot be told from its flow: shut, held, or at a bound."""
        blocks = settings.closed | (np.abs(w) >= settings.upper * (1.0 - 1e-9))
        for e in self.net.elements:
            if e.one_way and w[e.index] <= 0.0:
                blocks[e.index] |= self.net.branch_of[e.index] >= 0 or e.has(
                    Trait.CHECKS, Trait.OPENS_BY_PRESSURE
                )
            if e.has(Trait.HOLDS_OUTLET_PRESSURE):
                blocks[e.index] = True
        found: list[bool] = blocks.tolist()
        return found

    def _spread(self, node: int, pressure: float) -> None:
        carry(self.result.at, node, pressure, self._beside)

    def _beside(self, n: int) -> Iterator[tuple[int, float]]:
        """Nodes whose pressure follows from this one's: of its part, and over ways that are not shut."""
        yield from self._same_part(n)
        here = self.result.at[n]
        for e in self.touching[n]:
            if not self.blocks[e.index]:
                fall = self.fall[e.index]
                yield (e.end, here - fall) if e.start == n else (e.start, here + fall)

    def _same_part(self, n: int) -> Iterator[tuple[int, float]]:
        """Junctions whose difference to this one the balance already knows."""
        part = self.balance.parts.get(n)
        if part is None:
            return
        at, p = self.result.at, self.balance.pressure
        weight = self.reference[self.net.body_of[n]] * G
        head = at[n] + weight * self.net.height(n) - p[n]
        for m in self.parts.pop(part, []):
            yield m, p[m] + head - weight * self.net.height(m)

    def _turn(self, e: Element) -> tuple[int, float, str, str]:
        """Order in which blocked ways are crossed, so that no check is seen shut against its own direction.

        Water shut in between has at least the pressure of all that can still feed it, then at most that of
        all it can still feed; what is shut both ways tells nothing.
        """
        if not e.one_way or self.settings.closed[e.index]:
            return 2, 0.0, e.key, e.part
        node, pressure = self._beyond(e)
        level = pressure + self.reference[self.net.body_of[node]] * G * self.net.height(node)
        return (0, -level, e.key, e.part) if node == e.end else (1, level, e.key, e.part)

    def _beyond(self, e: Element) -> tuple[int, float]:
        """The end of a blocked way whose pressure is not known yet, and the pressure to put there."""
        at = self.result.at
        known, other = (e.start, e.end) if e.start in at else (e.end, e.start)
        pressure = at[known] + float(self.column[e.index]) * G * (
            self.net.height(known) - self.net.height(other)
        )
        if e.has(Trait.DRIVES):  # at shut-off behind another shut way: it gives its head all the same
            pressure -= float(self.result.loss[e.index]) * (1.0 if known == e.start else -1.0)
        if e.has(Trait.HOLDS_OUTLET_PRESSURE) and known == e.start:
            wanted = float(self.net.plant.items[e.key].si.get("set_pressure") or 0.0)
            pressure = min(pressure, wanted)
        if known == e.start:
            pressure -= e.opening(float(self.column[e.index]))
        return other, pressure


def _fed_through(net: Network, body: Body) -> Element | None:
    """The backflow preventer a body stands behind, where neither main, tank nor fill valve sets its level."""
    told = any(net.plant.items[i].has(Trait.BRINGS_WATER, Trait.EXPANDS) for i in body.items)
    entering = [e for e in net.parted.values() if net.body_of[e.end] == body.number]
    if told or any(_open_fill(net, e.key) for e in entering):
        return None
    return next((e for e in entering if e.has(Trait.STOPS_BACKFLOW)), None)


def _open_fill(net: Network, key: str) -> bool:
    item = net.plant.items[key]
    return item.has(Trait.FILLS) and bool(item.si.get("open", True)) and not item.out_of_service
