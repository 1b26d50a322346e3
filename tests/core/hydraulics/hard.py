"""Hard networks of random make: bores from 2 to 500 mm, thin water and thick, odd curves, checks."""

from __future__ import annotations

from typing import Any

import numpy as np

from core.files.read import from_data
from core.hydraulics.balance import Balance, Balancer
from core.solve.settle import Settled
from core.solve.solver import Solver
from tests.support.builders import Board, constant_fluid, flow, m, pa

Rng = np.random.Generator


def settled(board: Board) -> Settled:
    """The first case of a board's plant, at rest."""
    plant = from_data(board.data())
    return Solver(plant).settle(plant.solve_cases[0])


def balanced(state: Settled) -> tuple[Balance, Balancer]:
    """The state's flows balanced anew from a cold start."""
    balancer = Balancer(state.net)
    return balancer.balance(state.settings, state.rho, state.mu, state.column), balancer


def some(rng: Rng, low: float, high: float) -> float:
    """Between the two, evenly by ratio."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def tube(rng: Rng) -> dict[str, Any]:
    return {
        "bore": some(rng, 0.002, 0.5) if rng.random() < 0.5 else float(rng.choice([0.013, 0.02, 0.05])),
        "roughness": str(rng.choice(["0 mm", "0.0015 mm", "0.045 mm"])),
        "length": 0.0 if rng.random() < 0.25 else some(rng, 0.01, 300),
        "k": float(rng.choice([0, 0, 2, 10])),
    }


def pump(board: Board, rng: Rng, ident: str) -> str:
    head, out = some(rng, 100, 300e3), some(rng, 1e-5, 5e-2)
    shapes = [
        [(0.0, 1.0), (1.0, 1.0)],  # flat
        [(0.0, 1.0), (0.4, 1.0), (1.0, 0.2)],
        [(0.0, 1.0), (0.3, 0.9), (0.5, 0.9), (1.0, 0.0)],
        [(0.0, 1.0), (1.0, 0.0)],
        [(0.0, 1.0), (0.99, 0.98), (1.0, 0.0)],  # a cliff
    ]
    shape = shapes[int(rng.integers(len(shapes)))]
    props: dict[str, Any] = {"curve": [[flow(q * out), pa(h * head)] for q, h in shape]}
    props["integral_check"] = bool(rng.random() < 0.35)
    if rng.random() < 0.3:
        props["speed"] = float(rng.uniform(0.2, 1))
    if rng.random() < 0.2:
        props["run_when"] = False
    return board.item(ident, "circulator", **props)


def piece(board: Board, rng: Rng, ident: str) -> str:
    match str(rng.choice(["pump", "check", "valve", "limiter", "strainer"], p=[0.4, 0.25, 0.1, 0.15, 0.1])):
        case "pump":
            return pump(board, rng, ident)
        case "check":
            opens = pa(float(rng.choice([0, 0, 2e3, 30e3])))
            return board.item(ident, "check_valve", opens_at=opens, cv=some(rng, 0.1, 100))
        case "valve":
            return board.item(ident, "shutoff", cv=some(rng, 0.1, 300), open=bool(rng.random() < 0.7))
        case "limiter":
            most = flow(some(rng, 1e-6, 1e-2))
            return board.item(ident, "balance_valve", cv=some(rng, 0.2, 30), set_flow=most)
    at, drop = some(rng, 1e-5, 1e-2), some(rng, 10, 1e5)
    rise = float(rng.choice([1.0, 1.5, 4.0]))
    return board.item(ident, "strainer", drops=[[flow(at), pa(drop)], [flow(2 * at), pa(rise * drop)]])


def closed(rng: Rng, joints: int) -> Board:
    """A body of pumps in series, beside and against each other, checks both ways, limiters, flat curves."""
    board = Board(constant_fluid(float(rng.uniform(900, 1100)), some(rng, 3e-4, 6e-2)))
    for number in range(joints):
        board.item(f"J{number}", "joint")
    edges = [(int(rng.integers(0, number)), number) for number in range(1, joints)]
    for _ in range(max(2, joints // 3)):
        a, b = (int(x) for x in rng.choice(joints, 2, replace=False))
        edges += [(a, b)] * int(rng.integers(1, 3))
    for number, (a, b) in enumerate(edges):
        at = f"J{a}:at"
        for letter in "abc"[: int(rng.integers(0, 4))]:
            ways = board.ends(piece(board, rng, f"X{number}{letter}"))
            entry, leave = ways if rng.random() < 0.65 else ways[::-1]
            board.pipe(at, entry, **tube(rng))
            at = leave
        board.pipe(at, f"J{b}:at", **tube(rng))
    return board


def reduced(rng: Rng) -> Board:
    """Mains at different pressures, behind each zones with reducers beside and after one another."""
    board = Board(constant_fluid(1000.0, some(rng, 3e-4, 3e-3)), use="potable")
    draws: dict[str, str] = {}
    zones: list[list[str]] = []

    def way(start: str, end: str) -> None:
        board.pipe(start, end, bore=some(rng, 0.01, 0.08), length=some(rng, 0.1, 60))

    def joint() -> str:
        return board.item(f"J{len(board.items)}", "joint", height=m(float(rng.uniform(0, 12))))

    def zone(source: str, further: int) -> None:
        joints = [joint()]
        for _ in range(int(rng.choice([1, 1, 2]))):
            reducer = board.item(
                f"R{len(board.items)}", "pressure_reducer", set_pressure=pa(some(rng, 1e5, 6e5))
            )
            way(f"{source}:at", f"{reducer}:in")
            way(f"{reducer}:out", f"{joints[0]}:at")
        for _ in range(int(rng.integers(1, 5))):
            joints.append(joint())
            way(f"{joints[int(rng.integers(len(joints) - 1))]}:at", f"{joints[-1]}:at")
        way(f"{joints[0]}:at", f"{joints[-1]}:at")
        for _ in range(int(rng.integers(1, 4))):
            tap = board.item(f"F{len(board.items)}", "fixture")
            for port in ("hot", "cold") if rng.random() < 0.4 else ("cold",):
                way(f"{joints[int(rng.integers(len(joints)))]}:at", f"{tap}:{port}")
            if rng.random() < 0.7:
                draws[tap] = flow(some(rng, 1e-6, 3e-3))
        zones.append(joints)
        if further and rng.random() < 0.6:
            zone(joints[int(rng.integers(len(joints)))], further - 1)

    for _ in range(int(rng.integers(1, 4))):
        main = board.item(f"M{len(board.items)}", "cold_main", pressure=pa(some(rng, 2e5, 8e5)))
        first = joint()
        way(f"{main}:at", f"{first}:at")
        zones.append([first])
        zone(first, 2)
    if len(zones) > 1:
        one, other = (zones[int(k)][-1] for k in rng.choice(len(zones), 2, replace=False))
        way(f"{one}:at", f"{other}:at")
    board.case(draws=draws)
    return board
