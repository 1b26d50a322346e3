"""What must hold of every solution, worked out anew from the plant file's data and the reported figures.

Nothing of the solver is used: the laws are written again from the contract (friction stepped from Colebrook,
curves by scipy), so a figure that breaks a law cannot be hidden by the code that made it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable
from typing import Any

import networkx as nx
from scipy.interpolate import PchipInterpolator

from core import units
from core.media.fluids import fluid_of
from tests.support.builders import GPM, PSI, G, Solved, area

Port = tuple[str, str]


def si(text: Any, dimension: str) -> float:
    """A written quantity in SI, by the project's own table of units."""
    return float(units.parse(text, dimension))


class Balance:
    """Residuals of one solution of one plant."""

    def __init__(self, data: dict[str, Any], solved: Solved, case: dict[str, Any] | None = None) -> None:
        self.data, self.solved = data, solved
        self.items = {item["id"]: item for item in data["items"]}
        self.fluids = {name: _fluid(system["fluid"]) for name, system in data["systems"].items()}
        self.case = case or (data["cases"][0] if data["cases"] else {})
        self.pipe_of = {pipe["id"]: pipe for pipe in data["pipes"]}
        self.mass: dict[str, float] = {}
        self.touch: dict[Port, list[tuple[str, int]]] = defaultdict(list)
        for pipe in data["pipes"]:
            rho, _ = self.fluids[pipe["system"]](self.mean(pipe["id"]))
            self.mass[pipe["id"]] = solved.flow(pipe["id"]) * rho
            self.touch[tuple(pipe["from"])].append((pipe["id"], 1))
            self.touch[tuple(pipe["to"])].append((pipe["id"], -1))

    def mean(self, pipe: str) -> float:
        return (self.solved.warm(pipe) + self.solved.warm_end(pipe)) / 2

    def out_of(self, item: str, ports: tuple[str, ...] | None = None) -> float:
        """Net mass leaving an item (or some of its ports) through its pipes [kg/s]."""
        return sum(
            sign * self.mass[pipe]
            for (ident, port), ends in self.touch.items()
            if ident == item and (ports is None or port in ports)
            for pipe, sign in ends
        )

    # ---- mass

    def worst_mass(self) -> tuple[float, str]:
        """Largest imbalance over joints and other items that neither take nor give water [kg/s]."""
        worst = (0.0, "")
        for ident, item in self.items.items():
            kind = item["kind"]
            if kind in ("cold_main", "fixture", "humidifier"):
                continue
            for group in GROUPS.get(kind, lambda ports: (None,))(self.ports_of(ident)):
                worst = max(worst, (abs(self.out_of(ident, group)), ident))
        return worst

    def worst_draw(self) -> float:
        """Largest difference between what a fixture reports and what its pipes bring [m3/s]."""
        draws = self.case.get("draws", {})
        worst = 0.0
        for ident, item in self.items.items():
            if item["kind"] == "fixture":
                brought = -sum(
                    sign * self.solved.flow(pipe)
                    for port in ("hot", "cold")
                    for pipe, sign in self.touch.get((ident, port), [])
                )
                got = self.solved.items[ident]["flow_m3_s"]
                wanted = si(draws[ident], "flow") if ident in draws else 0.0
                worst = max(worst, abs(brought - got), 0.0 if self.solved.noted(ident) else abs(got - wanted))
        return worst

    def ports_of(self, ident: str) -> tuple[str, ...]:
        """Ports of an item that have a pipe."""
        return tuple(port for item, port in self.touch if item == ident)

    # ---- pressure

    def pipe_drop(self, pipe: dict[str, Any]) -> float:
        """Friction and K of a pipe from its flow [Pa]."""
        rho, mu = self.fluids[pipe["system"]](self.mean(pipe["id"]))
        bore = si(pipe["tube"]["bore"], "length")
        rough = si(pipe["tube"]["roughness"], "length")
        speed = self.solved.flow(pipe["id"]) / area(bore)
        reynolds = rho * abs(speed) * bore / mu
        if reynolds == 0:
            return 0.0
        loss = factor(reynolds, rough / bore) * si(pipe["length"], "length") / bore + pipe.get("k", 0)
        return loss * rho * speed * abs(speed) / 2

    def worst_pipe(self) -> tuple[float, str]:
        """Largest disagreement of a pipe's drop, or of its end pressures, with the law [Pa]."""
        worst = (0.0, "")
        for pipe in self.data["pipes"]:
            drop, fall = self.pipe_drop(pipe), self.pipe_fall(pipe)
            got = self.solved.pipes[pipe["id"]]
            worst = max(worst, (abs(got["drop_pa"] - drop), pipe["id"]))
            worst = max(worst, (abs(got["pressure_in_pa"] - got["pressure_out_pa"] - fall), pipe["id"]))
        return worst

    def height(self, item: str) -> float:
        return si(self.items[item]["props"].get("height", "0 m"), "length")

    def pipe_fall(self, pipe: dict[str, Any]) -> float:
        """How much lower the pressure stands at `to` than at `from` [Pa]."""
        rho, _ = self.fluids[pipe["system"]](self.mean(pipe["id"]))
        return self.pipe_drop(pipe) + rho * G * (self.height(pipe["to"][0]) - self.height(pipe["from"][0]))

    def inner_falls(self) -> list[tuple[Port, Port, float]]:
        """Falls of pressure inside items, where a law fixes them."""
        falls = []
        for ident, item in self.items.items():
            for first, second in INNER.get(item["kind"], ()):
                if (ident, first) in self.touch and (ident, second) in self.touch:
                    fall = self.item_fall(item, first, second)
                    if fall is not None:
                        falls.append(((ident, first), (ident, second), fall))
        return falls

    def item_fall(self, item: dict[str, Any], first: str, second: str) -> float | None:
        """Fall from port `first` to `second`; None where nothing fixes it. Volume flow at the mean warmth."""
        ends = [self.touch[item["id"], port][0] for port in (first, second)]
        warmths = [self.warm_at(pipe, sign) for pipe, sign in ends]
        pipe, sign = ends[0]
        if item["kind"] == "three_way_valve":  # its legs carry their own water up to where they meet
            warmths = warmths[:1]
        rho, _ = self.fluids[self.pipe_of[pipe]["system"]](sum(warmths) / len(warmths))
        volume = -sign * self.mass[pipe] / rho
        if item["kind"] == "humidifier":  # what it uses up leaves before its drops
            volume -= self.solved.items[item["id"]]["uses_m3_s"]
        if item["kind"] == "coil_tank" and first != "coil_in":
            return 0.0  # between its taps, at one height
        if item["kind"] == "three_way_valve":
            position = self.solved.items[item["id"]]["position"]
            share = position if first == "a" else 1.0 - position
            return cv_loss(item["props"]["cv"] * share, volume, rho) if share > 1e-6 else None
        return item_law(item["kind"], item["props"], volume, rho)

    def warm_at(self, pipe: str, sign: int) -> float:
        return self.solved.warm(pipe) if sign > 0 else self.solved.warm_end(pipe)

    def worst_item(self) -> tuple[float, str]:
        """Largest disagreement of an item's port pressures with its law [Pa]."""
        worst = (0.0, "")
        for first, second, fall in self.inner_falls():
            got = self.port_pressure(first) - self.port_pressure(second)
            worst = max(worst, (abs(got - fall), first[0]))
        return worst

    def port_pressure(self, port: Port) -> float:
        pipe, sign = self.touch[port][0]
        return float(self.solved.pipes[pipe]["pressure_in_pa" if sign > 0 else "pressure_out_pa"])

    def worst_joint(self) -> float:
        """Largest spread of the pressures that the pipes of one joint report [Pa]."""
        worst = 0.0
        for ends in self.touch.values():
            seen = [
                self.solved.pipes[pipe]["pressure_in_pa" if sign > 0 else "pressure_out_pa"]
                for pipe, sign in ends
            ]
            worst = max(worst, max(seen) - min(seen))
        return worst

    def worst_loop(self) -> tuple[float, int]:
        """Largest sum of falls round a loop of networkx' cycle basis [Pa], and how many loops there are."""
        graph = nx.Graph()
        for pipe in self.data["pipes"]:
            graph.add_edge(
                tuple(pipe["from"]), pipe["id"], fall=self.pipe_fall(pipe), start=tuple(pipe["from"])
            )
            graph.add_edge(pipe["id"], tuple(pipe["to"]), fall=0.0, start=pipe["id"])
        for first, second, fall in self.inner_falls():
            graph.add_edge(first, second, fall=fall, start=first)
        loops = nx.cycle_basis(graph)
        worst = 0.0
        for loop in loops:
            total = 0.0
            for here, there in zip(loop, loop[1:] + loop[:1], strict=True):
                edge = graph.edges[here, there]
                total += edge["fall"] if edge["start"] == here else -edge["fall"]
            worst = max(worst, abs(total))
        return worst, len(loops)

    # ---- leaks

    def worst_leak(self) -> tuple[float, str]:
        """Largest flow through what is shut, or backward through what checks [m3/s]."""
        worst = (0.0, "")
        for ident, item in self.items.items():
            props, kind = item["props"], item["kind"]
            port = "in" if (ident, "in") in self.touch else "a"
            if (ident, port) not in self.touch:
                continue
            pipe, sign = self.touch[ident, port][0]
            flow = -sign * self.solved.flow(pipe)
            if (
                props.get("open") is False
                or props.get("setting") == 0
                or (kind == "zone_valve" and props.get("run_when") is False)
            ):
                worst = max(worst, (abs(flow), ident))
            if kind in ("check_valve", "dp_bypass") or props.get("integral_check"):
                worst = max(worst, (-flow, ident))
            if kind == "three_way_valve":
                position = self.solved.items[ident]["position"]
                for leg, share in (("a", position), ("b", 1.0 - position)):
                    if share == 0.0:
                        worst = max(worst, (abs(self.solved.items[ident][f"{leg}_flow_m3_s"]), ident))
        return worst

    # ---- heat

    def heat_error(self) -> float:
        """Heat in less heat out, as a share of all heat moved; pipes and water drawn count by one cp."""
        moved = out = 0.0
        base = 20.0
        for ident, item in self.items.items():
            figures = self.solved.items.get(ident, {})
            kind = item["kind"]
            if kind in ("boiler", "heater", "heat_pump", "tank", "coil_tank"):
                terms = [figures["duty_w"] * (1 if kind in ("tank", "coil_tank") else -1)]
            elif "delivered_w" in figures:
                terms = [figures["delivered_w"]]
            elif kind in ("cold_main", "fixture", "humidifier", "buffer"):
                terms = [self.carried(pipe, sign, base) for pipe, sign in self.ends_of(ident)]
            else:
                continue
            out += sum(terms)
            moved += sum(abs(term) for term in terms)
        for pipe in self.data["pipes"]:
            if "insulation" in pipe:
                lost = (
                    self.mass[pipe["id"]]
                    * self.capacity(pipe)
                    * (self.solved.warm(pipe["id"]) - self.solved.warm_end(pipe["id"]))
                )
                out += lost
                moved += abs(lost)
        return abs(out) / max(moved, 10.0)

    def ends_of(self, ident: str) -> list[tuple[str, int]]:
        return [end for (item, _), ends in self.touch.items() if item == ident for end in ends]

    def carried(self, pipe: str, sign: int, base: float) -> float:
        """Heat carried into an item at a pipe's end, over `base` [W]."""
        carried = self.mass[pipe] * self.capacity(self.pipe_of[pipe])
        return -sign * carried * (self.warm_at(pipe, sign) - base)

    def capacity(self, pipe: dict[str, Any]) -> float:
        fluid = self.data["systems"][pipe["system"]]["fluid"]
        return si(fluid["heat_capacity"], "heat_capacity") if "heat_capacity" in fluid else 4180.0


INNER: dict[str, tuple[tuple[str, str], ...]] = {
    **dict.fromkeys(("shutoff", "zone_valve", "purge_set", "balance_valve"), (("a", "b"),)),
    **dict.fromkeys(
        ("circulator", "check_valve", "strainer", "air_separator", "boiler", "heater"), (("in", "out"),)
    ),
    **dict.fromkeys(("radiator", "floor_circuit", "fan_coil"), (("in", "out"),)),
    **dict.fromkeys(("heat_pump", "dp_bypass", "humidifier", "heat_trap"), (("in", "out"),)),
    "three_way_valve": (("a", "ab"), ("b", "ab")),
    "coil_tank": (("coil_in", "coil_out"), ("low", "out")),
    "exchanger": (("a_in", "a_out"), ("b_in", "b_out")),
    **dict.fromkeys(("separator", "buffer"), (("a_in", "b_out"), ("b_in", "a_out"), ("a_in", "a_out"))),
    "tank": (("top", "low"), ("low", "out"), ("out", "back")),
}


def _sides(ports: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    return ("a_in", "a_out"), ("b_in", "b_out")


def _tank_and_coil(ports: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    coil = ("coil_in", "coil_out")
    return coil, tuple(port for port in ports if port not in coil)


GROUPS: dict[str, Callable[[tuple[str, ...]], tuple[tuple[str, ...], ...]]] = {
    "exchanger": _sides,
    "coil_tank": _tank_and_coil,
}
"""Ports of an item, of those that have a pipe, that one body of water joins; where not all of them are."""


def _fluid(spec: dict[str, Any]) -> Callable[[float], tuple[float, float]]:
    """Density and viscosity by temperature [degC]."""
    if spec["kind"] == "custom":
        rho, mu = si(spec["density"], "density"), si(spec["viscosity"], "viscosity")
        return lambda celsius: (rho, mu)
    fluid = fluid_of(spec)
    return lambda celsius: (float(fluid.density(celsius + 273.15)), float(fluid.viscosity(celsius + 273.15)))


def factor(reynolds: float, rough: float) -> float:
    """Darcy's f as the contract states it."""
    if reynolds <= 2000:
        return 64 / reynolds
    if reynolds >= 4000:
        return _colebrook(reynolds, rough)
    end, step, width = _colebrook(4000, rough), 0.5, 2000.0
    slope = (_colebrook(4000 + step, rough) - _colebrook(4000 - step, rough)) / (2 * step)
    t = (reynolds - 2000) / width
    return (
        0.032 * (1 + 2 * t) * (1 - t) ** 2
        - width * 1.6e-5 * t * (1 - t) ** 2
        + end * t**2 * (3 - 2 * t)
        + width * slope * t**2 * (t - 1)
    )


def _colebrook(reynolds: float, rough: float) -> float:
    x = 7.0
    for _ in range(60):
        x = -2 * math.log10(rough / 3.7 + 2.51 * x / reynolds)
    return x**-2


def curve_head(curve: list[list[str]], flow: float, speed: float) -> float:
    """Pressure [Pa] of a circulator's curve at flow >= 0, by affinity."""
    flows = [si(point[0], "flow") for point in curve]
    heads = [si(point[1], "pressure") for point in curve]
    line = PchipInterpolator(flows, heads)
    at = flow / speed
    if at > flows[-1]:
        return speed**2 * (heads[-1] + float(line.derivative()(flows[-1])) * (at - flows[-1]))
    return speed**2 * float(line(at))


def drops_loss(drops: list[list[str]], flow: float) -> float:
    """Loss of `drops` at a flow of either sign [Pa]."""
    flows = [0.0] + [si(point[0], "flow") for point in drops]
    falls = [0.0] + [si(point[1], "pressure") for point in drops]
    size = abs(flow)
    if len(drops) == 1 or size > flows[-1]:
        loss = falls[-1] * (size / flows[-1]) ** 2
    else:
        loss = float(PchipInterpolator(flows, falls)(size))
    return math.copysign(loss, flow)


def cv_loss(cv: float, flow: float, rho: float) -> float:
    return PSI * rho / 999.0 * (flow / GPM / cv) * abs(flow / GPM / cv)


def item_law(kind: str, props: dict[str, Any], flow: float, rho: float) -> float | None:
    """Fall of pressure in the direction of `flow` > 0; None where only an inequality holds."""
    if kind == "circulator":
        controlled = props.get("control", "fixed") != "fixed"
        return None if controlled else _pump_law(props, flow, rho)
    if (
        props.get("open") is False
        or props.get("setting") == 0
        or (kind == "zone_valve" and props.get("run_when") is False)
    ):
        return None
    if kind == "check_valve":
        if flow < 1e-9:
            return None
        return (
            si(props["opens_at"], "pressure") + cv_loss(props["cv"], flow, rho)
            if "opens_at" in props
            else (cv_loss(props["cv"], flow, rho))
        )
    if kind == "dp_bypass":
        if flow < 1e-9:
            return None
        return lift(props["set_pressure"], rho) + cv_loss(props["cv"], flow, rho)
    if kind == "coil_tank":
        return drops_loss(props["coil_drops"], flow) if "coil_drops" in props else 0.0
    if "set_flow" in props and abs(flow) > 0.999 * si(props["set_flow"], "flow"):
        return None
    if "cv" in props:
        return cv_loss(props["cv"] * props.get("setting", 1.0), flow, rho)
    return drops_loss(props["drops"], flow) if "drops" in props else 0.0


def lift(text: str, rho: float) -> float:
    """A pressure, or a head of the water there, as written [Pa]."""
    return si(text.removesuffix("_head"), "length") * rho * G if "_head" in text else si(text, "pressure")


def _pump_law(props: dict[str, Any], flow: float, rho: float) -> float | None:
    if props.get("integral_check") and flow < 1e-9:
        return None
    speed, curve = props.get("speed", 1.0), props["curve"]
    if props.get("stopped_cv"):
        loss = cv_loss(props["stopped_cv"], flow, rho)
    else:
        last = si(curve[-1][0], "flow")
        loss = si(curve[0][1], "pressure") * flow * abs(flow) / last**2
    if props.get("run_when") is False:
        return loss
    return loss - speed**2 * si(curve[0][1], "pressure") if flow < 0 else -curve_head(curve, flow, speed)
