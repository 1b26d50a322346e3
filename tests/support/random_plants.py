"""Random plants for the invariants: trees with chords of pipes, pumps, checks, valves, heat makers, users.

Every plant is feasible: no set flow is forced against a closed path, no fixed heat is taken out of a body
that cannot bring it. `relabelled` gives the same plant under other names, in another order, pipes turned.
"""

from __future__ import annotations

import copy
from itertools import pairwise
from typing import Any

import numpy as np

from tests.support.builders import Board, c, constant_fluid, flow, m, pa

Rng = np.random.Generator
WATER = {"kind": "water"}


def random_plant(seed: int) -> Board:
    """One plant; the same seed gives the same plant."""
    rng = np.random.default_rng(seed)
    kind = rng.choice(["heating", "heating and potable", "potable"], p=[0.5, 0.2, 0.3])
    board = Board(random_fluid(rng), use="potable" if kind == "potable" else "closed")
    if kind == "potable":
        potable(board, rng)
    else:
        heating(board, rng, "H", size=int(rng.integers(4, 13)))
        if kind == "heating and potable":
            second_body(board, rng)
    return board


def random_fluid(rng: Rng) -> dict[str, Any]:
    if rng.random() < 0.3:
        return WATER
    return constant_fluid(float(round(rng.uniform(950, 1050), 3)))


def some(rng: Rng, low: float, high: float) -> float:
    """Between the two, evenly by ratio."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def tube(rng: Rng, dry: bool = False) -> dict[str, Any]:
    """Keys of a pipe of common size; some are insulated, some have no length at all."""
    keys: dict[str, Any] = {
        "bore": float(rng.choice([0.0138, 0.0199, 0.026, 0.0326])),
        "roughness": str(rng.choice(["0 mm", "0.0015 mm", "0.045 mm"])),
        "length": 0.0 if rng.random() < 0.1 else some(rng, 0.2, 60),
        "k": float(rng.choice([0, 0, 1.5, 6])),
    }
    if not dry and rng.random() < 0.3:
        keys["insulation"] = {"thickness": "13 mm"}
        keys["around"] = c(float(rng.uniform(5, 25)))
    return keys


def heating(board: Board, rng: Rng, mark: str, size: int) -> None:
    """A closed body: joints in a random tree with chords, a pump and a boiler at least."""
    dry = board.systems[board.system]["fluid"] is WATER  # without pipe loss the heat sums need no enthalpy
    tall = rng.random() < 0.4
    joints = []
    for number in range(size):
        height = float(rng.uniform(0, 6)) if tall and not dry else 0.0
        joints.append(board.item(f"{mark}J-{number}", "joint", height=m(height)))
    edges = [(int(rng.integers(0, number)), number) for number in range(1, size)]
    for _ in range(int(rng.integers(1, max(2, size // 2) + 1))):
        a, b = (int(x) for x in rng.choice(size, 2, replace=False))
        edges.append((a, b))
    kinds = [str(rng.choice(IN_LINE, p=SHARES)) for _ in edges]
    on_loop = int(rng.integers(len(edges) - 1, len(edges)))
    kinds[on_loop] = "drive"
    for number, ((a, b), kind) in enumerate(zip(edges, kinds, strict=True)):
        if rng.random() < 0.5:
            a, b = b, a
        stops = [joints[a], *in_line(board, rng, kind, f"{mark}{number}"), joints[b]]
        for start, stop in pairwise(stops):
            board.pipe(board.ends(start)[1], board.ends(stop)[0], **tube(rng, dry))
    if rng.random() < 0.8:
        board.item(f"{mark}ET", "expansion_tank", volume="12 L", precharge="100 kPa")
        board.pipe(f"{joints[int(rng.integers(size))]}:at", f"{mark}ET:at", **tube(rng, True))


IN_LINE = (
    *("plain", "pump", "check", "valve", "balance", "limiter", "strainer", "boiler"),
    *("radiator", "floor", "fan", "air", "pair"),
)
SHARES = (0.24, 0.1, 0.08, 0.1, 0.05, 0.03, 0.06, 0.06, 0.1, 0.08, 0.03, 0.03, 0.04)


def in_line(board: Board, rng: Rng, kind: str, tag: str) -> list[str]:
    """Items of one edge, in the order of the edge."""
    match kind:
        case "pump":
            return [pump(board, rng, f"P{tag}")]
        case "pair":
            return [pump(board, rng, f"P{tag}"), pump(board, rng, f"Q{tag}")]
        case "drive":
            return [pump(board, rng, f"P{tag}", sure=True), boiler(board, rng, f"B{tag}")]
        case "check":
            opens = pa(float(rng.choice([0, 0, 3e3, 20e3])))
            return [board.item(f"CV{tag}", "check_valve", opens_at=opens, cv=float(rng.choice([6, 20])))]
        case "valve":
            which = str(rng.choice(["shutoff", "zone_valve", "purge_set"]))
            shut = bool(rng.random() < 0.4)
            state = {"run_when": not shut} if which == "zone_valve" else {"open": not shut}
            return [board.item(f"V{tag}", which, cv=some(rng, 2, 30), **state)]
        case "balance":
            setting = float(rng.choice([0, 0.1, 0.5, 1]))
            return [board.item(f"V{tag}", "balance_valve", cv=some(rng, 1, 10), setting=setting)]
        case "limiter":
            limit = flow(some(rng, 2e-5, 5e-4))
            return [board.item(f"V{tag}", "balance_valve", cv=some(rng, 4, 15), set_flow=limit)]
        case "strainer":
            points = [["0.1 L/s", "1 kPa"], ["0.4 L/s", "14 kPa"], ["0.8 L/s", "60 kPa"]]
            return [board.item(f"S{tag}", "strainer", drops=points[: int(rng.integers(1, 4))])]
        case "boiler":
            return [boiler(board, rng, f"B{tag}")]
        case "air":
            return [board.item(f"A{tag}", "air_separator")]
        case "radiator" | "floor" | "fan":
            return [emitter(board, rng, kind, f"E{tag}")]
    return []


def pump(board: Board, rng: Rng, ident: str, sure: bool = False) -> str:
    head, out = some(rng, 8e3, 80e3), some(rng, 2e-4, 2e-3)
    if rng.random() < 0.5:
        curve = [["0 m3/s", pa(head)], [flow(out * 0.5), pa(head * 0.8)], [flow(out), pa(head * 0.1)]]
    else:
        curve = [["0 m3/s", pa(head)], [flow(out), "0 Pa"]]
    props: dict[str, Any] = {"curve": curve}
    if rng.random() < 0.4:
        props["integral_check"] = True
    if rng.random() < 0.3:
        props["speed"] = float(rng.uniform(0.3, 1.0))
    if not sure and rng.random() < 0.3:
        props["run_when"] = False
        if rng.random() < 0.3:
            props["stopped_cv"] = some(rng, 1, 10)
    return board.item(ident, "circulator", **props)


def boiler(board: Board, rng: Rng, ident: str) -> str:
    set_to, most = c(float(rng.uniform(40, 75))), f"{some(rng, 2e3, 60e3)!r} W"
    drops = {"drops": [["0.3 L/s", "8 kPa"]]} if rng.random() < 0.5 else {}
    return board.item(ident, "boiler", capacity=most, set_temperature=set_to, **drops)


def emitter(board: Board, rng: Rng, kind: str, ident: str) -> str:
    size, room = f"{some(rng, 20, 800)!r} W/K", c(float(rng.uniform(5, 24)))
    if kind == "floor":
        return board.item(ident, "floor_circuit", output_per_degree=size, room_temperature=room)
    if kind == "fan":
        want = f"{some(rng, 500, 9000)!r} W"
        return board.item(ident, "fan_coil", ua=size, room_temperature=room, load=want)
    drops = {"drops": [["0.2 L/s", "3 kPa"]]} if rng.random() < 0.5 else {}
    return board.item(ident, "radiator", ua=size, room_temperature=room, **drops)


def second_body(board: Board, rng: Rng) -> None:
    """An exchanger across one pipe of the first body; its other side is a ring, or a stream once through."""
    spliced = board.pipes[int(rng.integers(len(board.pipes)))]
    arrangement = str(rng.choice(["counter", "parallel"]))
    ua, fouling = f"{some(rng, 100, 4000)!r} W/K", float(rng.choice([0, 0.2]))
    board.item("HX-1", "exchanger", ua=ua, arrangement=arrangement, fouling=fouling)
    rest = {**copy.deepcopy(spliced), "id": "spliced", "from": ["HX-1", "a_out"]}
    spliced["to"] = ["HX-1", "a_in"]
    board.pipes.append(rest)
    fluid = board.systems["loop"]["fluid"]
    dry = fluid is WATER
    if dry or rng.random() < 0.6:
        board.body("second", fluid)
        pump(board, rng, "P2", sure=True)
        emitter(board, rng, str(rng.choice(["radiator", "floor"])), "E2")
        board.ring("P2", "HX-1:b_in>b_out", "E2", **tube(rng, dry))
    else:
        board.body("second", fluid, "potable")
        board.item("CM2", "cold_main", pressure="300 kPa", temperature="9 degC")
        board.item("F2", "fixture")
        board.chain("CM2", "HX-1:b_in>b_out", bore=0.026, length=3.0)
        board.pipe("HX-1:b_out", "F2:cold", bore=0.02, length=5.0)
        board.case(draws={"F2": flow(some(rng, 1e-5, 3e-4))})


def potable(board: Board, rng: Rng) -> None:
    """Main, reducer, heater, mixing valve, a tree of fixtures on hot, cold and mixed water."""
    if board.systems["loop"]["fluid"] is WATER:
        board.systems["loop"]["fluid"] = constant_fluid()  # the sums of heat take one heat capacity
    board.item("CM", "cold_main", pressure=pa(float(rng.uniform(250e3, 600e3))), temperature="9 degC")
    board.item("PR", "pressure_reducer", set_pressure=pa(float(rng.uniform(200e3, 450e3))))
    heater = {"capacity": f"{some(rng, 8e3, 90e3)!r} W", "set_temperature": c(float(rng.uniform(48, 65)))}
    board.item("WH", "heater", **heater, min_flow=flow(some(rng, 1e-6, 5e-5)), drops=[["0.2 L/s", "30 kPa"]])
    board.item("MV", "mixing_valve", cv=some(rng, 2, 8), set_temperature=c(float(rng.uniform(35, 52))))
    for name in ("cold", "hot", "mixed"):
        board.item(f"{name}-0", "joint")
    board.chain("CM", "PR", "cold-0", **tube(rng))
    inlet = ["cold-0", "WH", "hot-0"]
    if rng.random() < 0.5:
        board.item("CK", "check_valve", cv=10.0)
        inlet.insert(1, "CK")
    board.chain(*inlet, **tube(rng))
    board.pipe("hot-0:at", "MV:hot", **tube(rng))
    board.pipe("cold-0:at", "MV:cold", **tube(rng))
    board.pipe("MV:mixed", "mixed-0:at", **tube(rng))
    draws = {}
    joints = {name: [f"{name}-0"] for name in ("cold", "hot", "mixed")}
    for number in range(int(rng.integers(2, 7))):
        for name, places in joints.items():
            if rng.random() < 0.5:
                place = board.item(f"{name}-{number + 1}", "joint", height=m(float(rng.uniform(0, 5))))
                board.pipe(f"{places[int(rng.integers(len(places)))]}:at", f"{place}:at", **tube(rng))
                places.append(place)
        tap = board.item(f"F-{number}", "fixture", set_temperature=c(float(rng.uniform(34, 44))))
        ports = [("cold", "cold"), ("hot", "hot"), ("cold", "mixed"), ("both", "")][int(rng.integers(4))]
        for port, name in [("hot", "hot"), ("cold", "cold")] if ports[0] == "both" else [ports]:
            places = joints[name]
            board.pipe(f"{places[int(rng.integers(len(places)))]}:at", f"{tap}:{port}", **tube(rng))
        if rng.random() < 0.8:
            draws[tap] = flow(some(rng, 5e-6, 1.5e-4))
    board.case(draws=draws)


def relabelled(
    data: dict[str, Any], seed: int
) -> tuple[dict[str, Any], dict[str, str], dict[str, tuple[str, int]]]:
    """The same plant renamed, reordered, with some pipes turned round.

    Returns the data, the new name of each item, and of each pipe its new name and sign.
    """
    rng = np.random.default_rng(seed)
    new = copy.deepcopy(data)
    order = rng.permutation(len(new["items"]))
    items = {item["id"]: f"X{order[number]}" for number, item in enumerate(new["items"])}
    pipes: dict[str, tuple[str, int]] = {}
    for item in new["items"]:
        item["id"] = items[item["id"]]
        item["props"] = _renamed(item["props"], items)
    for number, pipe in zip(rng.permutation(len(new["pipes"])), new["pipes"], strict=True):
        sign = -1 if rng.random() < 0.5 else 1
        ends = [[items[pipe[end][0]], pipe[end][1]] for end in ("from", "to")]
        pipe["from"], pipe["to"] = ends[::sign]
        pipes[pipe["id"]] = (f"Y{number}", sign)
        pipe["id"] = f"Y{number}"
    for case in new["cases"]:
        for key in ("draws", "tanks"):
            if key in case:
                case[key] = {items[name]: value for name, value in case[key].items()}
    for key in ("items", "pipes"):
        new[key] = [new[key][number] for number in rng.permutation(len(new[key]))]
    return new, items, pipes


def _renamed(value: Any, items: dict[str, str]) -> Any:
    """A property with the items it names renamed: rooms served, places sensed, signals."""
    if isinstance(value, str):
        return items.get(value, value)
    if isinstance(value, list):
        return [_renamed(one, items) for one in value]
    if isinstance(value, dict):
        return {key: _renamed(one, items) for key, one in value.items()}
    return value
