"""What a plant is to the flow: nodes, and elements between two nodes with a law of loss.

No states, no solving. Source of what cv, k and drops mean: the plant file's contract.

* An unset valve loss is none; a mixing valve without `cv` shares by a very wide one (50). Both its legs
  pass water one way only, and below a millionth of their travel they are shut. A three-way valve passes
  water both ways.
* A floor or melt circuit with `tube` and `loops` loses the friction of its parallel loops at the mean
  temperature of the circuit; without them it loses nothing.
* The drain of a purge set and the hose of a service valve hang on side `a` and are shut (the drain: unless
  `drain_open`).
* A pressure reducer passes water forward only; its outlet has the lower of its set pressure and its
  inlet's, less its own loss. A fill valve gives no flow: a closed body draws none.
* A bypass held by difference of pressure is shut below its setting and passes nothing backward; without a
  setting it opens at once.
* A heat trap only loses pressure: creeping within one pipe is not solved.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import G
from core.hydraulics.curves import Curve, drop_curve, head_curve
from core.plant.model import Item, Pipe
from core.vocabulary import Lift, Trait
from core.vocabulary.waterways import (
    Branches,
    Legs,
    Loops,
    OneWay,
    OpenToAir,
    Pump,
    Sides,
    Straight,
    TapsToCenter,
    Terminal,
    TwoEnds,
    UsesUp,
)

Array = npt.NDArray[np.float64]

GPM = 3.785411784e-3 / 60.0  # [m^3/s]
PSI = 6894.757293168  # [Pa]
CV_DENSITY = 999.0  # density the flow coefficient is stated for, [kg/m^3]
WIDE_CV = 50.0  # stands for 'no loss stated' in a mixing valve, whose two legs need some loss to share by
COIL = "coil"  # part of a tank's coil, whose water is not the tank's
_NONE: frozenset[Trait] = frozenset()
USE = "use"  # part of the way by which a humidifier uses water up


@dataclass(slots=True)
class Element:
    """One way between two nodes.

    `square` is the loss coefficient of cv and k, [Pa/(kg/m^3)/(m^3/s)^2]; `curve` a drop [Pa] or, with
    `is_head`, [m] by flow. `one_way` forbids flow from end to start; `opens_at` is the fall that opens such a
    way, [Pa] or, with `opens_by_head`, [m]. `part` tells the ways of one item apart. `traits` are the
    kind's; a pipe has none. Water that goes `to_air` leaves the plant.
    """

    key: str
    is_pipe: bool
    traits: frozenset[Trait]
    part: str
    start: int
    end: int
    z_start: float = 0.0
    z_end: float = 0.0
    bore: float = 0.0
    length: float = 0.0
    roughness: float = 0.0
    k: float = 0.0
    count: int = 1
    square: float = 0.0
    curve: Curve | None = None
    is_head: bool = False
    one_way: bool = False
    opens_at: float = 0.0
    opens_by_head: bool = False
    to_air: bool = False
    index: int = -1

    def has(self, *traits: Trait) -> bool:
        """Whether any of some traits is true of the item it lies in."""
        return not self.traits.isdisjoint(traits)

    def opening(self, rho: float) -> float:
        """Fall of pressure that opens this way at density rho [kg/m^3], [Pa]."""
        return self.opens_at * rho * G if self.opens_by_head else self.opens_at


class Columns:
    """Figures of all elements in arrays, by element; names and units as of `Element`.

    Attributes
    ----------
    minor : ndarray
        Loss coefficient of fittings: k rho v^2/2 at the bore, [Pa/(kg/m^3)/(m^3/s)^2]
    fall : ndarray
        Height by which an element falls from its start to its end, [m]
    rubs, curved : ndarray of bool
        Tubes with friction; pieces with a drop curve
    """

    def __init__(self, elements: list[Element]) -> None:
        def column(name: str) -> Array:
            return np.array([getattr(e, name) for e in elements], float)

        self.bore, self.length, self.roughness = column("bore"), column("length"), column("roughness")
        self.count, self.square, self.opens_at = column("count"), column("square"), column("opens_at")
        self.fall = column("z_start") - column("z_end")
        self.one_way = np.array([e.one_way for e in elements], bool)
        self.opens_by_head = np.array([e.opens_by_head for e in elements], bool)
        self.curved = np.array([e.curve is not None and not e.has(Trait.DRIVES) for e in elements], bool)
        self.rubs = (self.bore > 0.0) & (self.length > 0.0)
        k = column("k")
        area = np.pi * self.bore * self.bore / 4.0 * self.count
        self.minor = np.where((k > 0.0) & (area > 0.0), k / (2.0 * np.where(area > 0.0, area, 1.0) ** 2), 0.0)


@dataclass
class Drawing:
    """Nodes and elements of a plant while they are collected."""

    nodes: dict[tuple[str, str], int] = field(default_factory=dict)
    heights: list[float] = field(default_factory=list)
    elements: list[Element] = field(default_factory=list)

    def node(self, item: Item, port: str, height: float | None = None) -> int:
        """Number of the node at a port (or inside an item under a made-up name)."""
        at = (item.id, port)
        if at not in self.nodes:
            self.nodes[at] = len(self.heights)
            self.heights.append(port_height(item, port) if height is None else height)
        return self.nodes[at]

    def way(self, item: Item, start: str, end: str, part: str = "", **law: Any) -> Element:
        """Add an element between two ports of an item."""
        a, b = self.node(item, start), self.node(item, end)
        e = Element(
            item.id, False, item.kind_info.traits, part, a, b, self.heights[a], self.heights[b], **law
        )
        e.index = len(self.elements)
        self.elements.append(e)
        return e


def port_height(item: Item, port: str) -> float:
    """Height of a port above the plant's datum, [m]."""
    si = item.si
    height = float(si.get("height") or 0.0)
    ports = si.get("port_heights") or {}
    if port in ports:
        return height + float(ports[port])
    inside = {**(si.get("taps") or {}), **(si.get("coil_heights") or {})}
    return height + float(inside.get(port, 0.0))


def cv_square(cv: float) -> float:
    """Loss coefficient of a flow coefficient: dp[psi] = SG (Q[gpm]/Cv)^2, [Pa/(kg/m^3)/(m^3/s)^2]."""
    return PSI / CV_DENSITY / (cv * GPM) ** 2


def item_law(item: Item, drops: str = "drops") -> dict[str, Any]:
    """The loss that an item states by drops, cv or k; none where it states none."""
    si = item.si
    points = si.get(drops)
    if points:
        is_head = bool(points[0][1].is_head)
        return {"curve": drop_curve([(q, lift.value) for q, lift in points]), "is_head": is_head}
    cv, k, size = si.get("cv"), si.get("k"), si.get("size")
    if isinstance(cv, (int, float)) and cv > 0:
        return {"square": cv_square(cv)}
    if k and size:
        area = math.pi * size * size / 4.0
        return {"square": k / (2.0 * area * area)}
    return {}


def add_pipe(drawing: Drawing, pipe: Pipe, start: int, end: int) -> None:
    """The element of a pipe."""
    si = pipe.si
    e = Element(pipe.id, True, _NONE, "", start, end, drawing.heights[start], drawing.heights[end])
    if not si.joined:
        e.bore, e.length, e.roughness, e.k = si.bore, si.length, si.roughness, si.k_total
    e.index = len(drawing.elements)
    drawing.elements.append(e)


def _straight(item: Item, drawing: Drawing, of: Straight) -> None:
    first, second = item.ports[0], item.ports[1]
    law = item_law(item)
    share = item.si.get(of.throttle) if of.throttle else None
    if "square" in law and share:
        law["square"] /= share**2
    drawing.way(item, first, second, **law)
    if of.side:
        drawing.way(item, first, of.side, part=of.side)


def _one_way(item: Item, drawing: Drawing, of: OneWay) -> None:
    """Shut below the fall that opens it; open, it loses that and its own loss, as a spring check does."""
    opens = item.si.get(of.opens_at) if of.opens_at else None
    by_head = isinstance(opens, Lift) and opens.is_head
    least = float(opens.value if isinstance(opens, Lift) else opens or 0.0)
    law = item_law(item)
    if item.out_of_service:  # a failed check lets water pass both ways
        drawing.way(item, "in", "out", **law)
        return
    drawing.way(item, "in", "out", one_way=True, opens_at=least, opens_by_head=by_head, **law)


def _pump(item: Item, drawing: Drawing, of: Pump) -> None:
    points = item.si.get("curve") or ()
    curve = head_curve([(q, lift.value) for q, lift in points]) if points else None
    is_head = not points or bool(points[0][1].is_head)
    checked = bool(item.si.get("integral_check")) and not item.out_of_service
    drawing.way(item, "in", "out", curve=curve, is_head=is_head, one_way=checked)


def _legs(item: Item, drawing: Drawing, of: Legs) -> None:
    square = cv_square(item.si.get("cv") or WIDE_CV)
    for leg in of.legs:
        drawing.way(item, leg, of.common, part=leg, square=square, one_way=of.only_in)


def _sides(item: Item, drawing: Drawing, of: Sides) -> None:
    for side, inlet, outlet, lost in of.ways:
        drawing.way(item, inlet, outlet, part=side, **item_law(item, lost))


def _taps(item: Item, drawing: Drawing, of: TapsToCenter) -> None:
    """A tank, and through it maybe a coil with water of another body."""
    bottom = float(item.si.get("height") or 0.0)
    drawing.node(item, "*", bottom)
    for tap in item.si["taps"]:
        drawing.way(item, tap, "*", part=tap)
    if of.coil:
        drawing.way(item, "coil_in", "coil_out", part=COIL, **item_law(item, "coil_drops"))


def _two_ends(item: Item, drawing: Drawing, of: TwoEnds) -> None:
    """a_in and b_out meet at the upper end, b_in and a_out at the lower."""
    for end, ports in (("upper", ("a_in", "b_out")), ("lower", ("b_in", "a_out"))):
        heights = [port_height(item, p) for p in ports]
        drawing.node(item, end, sum(heights) / 2.0)
        for port in ports:
            drawing.way(item, port, end, part=port)
    drawing.way(item, "upper", "lower", part="cross")


def _branches(item: Item, drawing: Drawing, of: Branches) -> None:
    drawing.node(item, "*", float(item.si.get("height") or 0.0))
    drawing.way(item, "trunk", "*", part="trunk")
    drawing.way(item, "*", "end", part="end")
    cv = item.si.get("cv")
    branches = [p for p in item.ports if p not in ("trunk", "end")]
    for k, port in enumerate(branches):
        one = cv[min(k, len(cv) - 1)] if isinstance(cv, (list, tuple)) and cv else cv
        law = {"square": cv_square(one)} if isinstance(one, (int, float)) and one > 0 else {}
        drawing.way(item, "*", port, part=port, **law)


def _open_to_air(item: Item, drawing: Drawing, of: OpenToAir) -> None:
    """Each piped port opens to the air; how much may leave is a limit of the case."""
    for port in of.ports:
        drawing.node(item, f"air {port}", port_height(item, port))
        drawing.way(item, port, f"air {port}", part=port, one_way=True, to_air=True)


def _uses_up(item: Item, drawing: Drawing, of: UsesUp) -> None:
    """Water passes on; what it uses up leaves at its inlet into the air, where a main can make up for it."""
    drawing.way(item, "in", "out", **item_law(item))
    drawing.node(item, "air", port_height(item, "in"))
    drawing.way(item, "in", "air", part=USE, one_way=True, to_air=True)


def _loops(item: Item, drawing: Drawing, of: Loops) -> None:
    """By drops, or by the friction of the parallel loops of tube."""
    si = item.si
    loops, tube = si.get("loops"), si.get("tube")
    law = item_law(item)
    if law or not loops or tube is None:
        drawing.way(item, "in", "out", **law)
        return
    middle = (port_height(item, "in") + port_height(item, "out")) / 2.0
    drawing.node(item, "*", middle)
    for k, (count, length) in enumerate(loops):
        part = f"loop {k + 1}"
        drawing.way(
            item, "in", "*", part=part, bore=tube.bore, roughness=tube.roughness, length=length, count=count
        )
    drawing.way(item, "*", "out")


def _terminal(item: Item, drawing: Drawing, of: Terminal) -> None:
    """No way through it."""


_MAKERS: dict[type, Callable[[Item, Drawing, Any], None]] = {
    Straight: _straight,
    OneWay: _one_way,
    Pump: _pump,
    Legs: _legs,
    Sides: _sides,
    TapsToCenter: _taps,
    TwoEnds: _two_ends,
    Branches: _branches,
    OpenToAir: _open_to_air,
    UsesUp: _uses_up,
    Loops: _loops,
    Terminal: _terminal,
}


def add_ways(item: Item, drawing: Drawing) -> None:
    """Add the ways inside an item, as its kind says; none where it is not solved."""
    of = item.kind_info.waterway
    if of is not None:
        _MAKERS[type(of)](item, drawing, of)


def collect(items: list[Item], pipes: list[Pipe]) -> Drawing:
    """Nodes and elements of the items and pipes that take part."""
    drawing = Drawing()
    for item in items:
        for port in item.ports:
            drawing.node(item, port)
        add_ways(item, drawing)
    by_id = {item.id: item for item in items}
    for pipe in pipes:
        ends = []
        for ref in (pipe.start, pipe.end):
            if ref.item in by_id:
                ends.append(drawing.node(by_id[ref.item], ref.port))
            else:  # the item at this end is left out: a plugged end
                ends.append(_plugged_end(drawing, pipe, by_id))
        add_pipe(drawing, pipe, ends[0], ends[1])
    return drawing


def _plugged_end(drawing: Drawing, pipe: Pipe, by_id: dict[str, Item]) -> int:
    other = [ref for ref in (pipe.start, pipe.end) if ref.item in by_id]
    height = port_height(by_id[other[0].item], other[0].port) if other else 0.0
    drawing.heights.append(height)
    return len(drawing.heights) - 1
