"""Random plants with three-way valves, bypasses, humidifiers, heat pumps and coil tanks put into them."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np

from tests.support.builders import Board, c, flow, m, pa, w
from tests.support.random_plants import WATER, Rng, boiler, emitter, pump, random_plant, some, tube

IN_LINE = ("heat_pump", "dp_bypass", "humidifier", "heat_trap")


def kinds_plant(seed: int) -> Board:
    """A random plant with one to four pieces put into its pipes and joints; the same seed, the same plant."""
    rng = np.random.default_rng(seed + 900_000)
    board = random_plant(int(rng.integers(0, 1_000_000)))
    case = board.cases[0] if board.cases else board.case().cases[0]
    case["outdoor"] = c(float(rng.uniform(-20, 15)))
    for number in range(int(rng.integers(1, 4))):
        put_in_line(board, rng, str(rng.choice(IN_LINE)), f"K{number}")
    if rng.random() < 0.6:
        three_way(board, rng)
    if rng.random() < 0.4:
        coil_tank(board, rng)
    return board


def put_in_line(board: Board, rng: Rng, kind: str, ident: str) -> None:
    """Cut a pipe in two and put a piece between, either way round."""
    made = {"heat_pump": heat_pump, "dp_bypass": bypass, "humidifier": humidifier, "heat_trap": trap}[kind]
    ends = ("in", "out") if rng.random() < 0.7 else ("out", "in")
    cut(board, rng, made(board, rng, ident), *ends)


def cut(board: Board, rng: Rng, ident: str, first: str, second: str) -> None:
    """Lead a pipe of the first body through two ports of an item."""
    loops = [p for p in board.pipes if p["system"] == "loop" and p["to"][1] != "mixed"]
    spliced = loops[int(rng.integers(len(loops)))]
    rest = {**copy.deepcopy(spliced), "id": f"{spliced['id']}-{ident}", "from": [ident, second]}
    spliced["to"] = [ident, first]
    board.pipes.append(rest)


def heat_pump(board: Board, rng: Rng, ident: str) -> str:
    """Rows on a grid of three by two: heat falls with supply and rises with the weather."""
    size, power = some(rng, 3e3, 25e3), float(rng.uniform(0.2, 0.5))
    rows = [
        [c(out), c(supply), w(size * (1 + 0.02 * out - 0.006 * (supply - 35))), w(size * power * supply / 45)]
        for out in (-15.0, 0.0, 10.0)
        for supply in (30.0, 55.0)
    ]
    order = rng.permutation(len(rows))
    props: dict[str, Any] = {
        "table": [rows[k] for k in order],
        "set_temperature": c(float(rng.uniform(30, 60))),
    }
    return board.item(ident, "heat_pump", **props)


def bypass(board: Board, rng: Rng, ident: str) -> str:
    lift = some(rng, 500, 40e3)
    setting = pa(lift) if rng.random() < 0.5 else f"{lift / 9806.65!r} m_head"
    return board.item(ident, "dp_bypass", set_pressure=setting, cv=some(rng, 2, 12))


def humidifier(board: Board, rng: Rng, ident: str) -> str:
    return board.item(ident, "humidifier", uses=flow(some(rng, 1e-6, 3e-5)), drops=[["0.2 L/s", "6 kPa"]])


def trap(board: Board, rng: Rng, ident: str) -> str:
    return board.item(ident, "heat_trap", cv=some(rng, 3, 20))


def three_way(board: Board, rng: Rng) -> None:
    """In the place of a joint of three pipes: at a position, or seeking a temperature."""
    at: dict[str, list[tuple[dict[str, Any], str]]] = {}
    for pipe in board.pipes:
        for end in ("from", "to"):
            at.setdefault(pipe[end][0], []).append((pipe, end))
    fit = [k for k, ends in at.items() if board.items[k]["kind"] == "joint" and len(ends) == 3]
    fit = [k for k in fit if all(p["from"][0] != p["to"][0] for p, _ in at[k])]
    if not fit:
        return
    ident = fit[int(rng.integers(len(fit)))]
    how = {"position": float(rng.choice([0.0, 0.2, 0.5, 0.9, 1.0]))}
    made: dict[str, Any] = {"target": c(float(rng.uniform(25, 60)))} if rng.random() < 0.5 else how
    height = board.items[ident]["props"]
    board.items[ident] |= {"kind": "three_way_valve", "props": {**height, "cv": some(rng, 3, 15), **made}}
    for port, number in zip(("a", "b", "ab"), rng.permutation(3), strict=True):
        pipe, end = at[ident][number]
        pipe[end] = [ident, port]


def coil_tank(board: Board, rng: Rng) -> None:
    """A coil in a pipe of the first body; the tank in a ring with a radiator, or between main and fixture."""
    taps = dict.fromkeys(("low", "out"), "0 m")
    size = {"coil_ua": f"{some(rng, 50, 3000)!r} W/K", "ua_loss": f"{some(rng, 1, 20)!r} W/K"}
    drops = {"coil_drops": [["0.3 L/s", "9 kPa"]]} if rng.random() < 0.5 else {}
    board.item("CT", "coil_tank", volume="300 L", taps=taps, **size, **drops)
    cut(board, rng, "CT", "coil_in", "coil_out")
    fluid = board.systems["loop"]["fluid"]
    dry = fluid is WATER
    if rng.random() < 0.3:
        board.cases[0].setdefault("tanks", {})["CT"] = c(float(rng.uniform(25, 60)))
    if dry or rng.random() < 0.5:
        board.body("tank", fluid)
        pump(board, rng, "CP", sure=True)
        emitter(board, rng, str(rng.choice(["radiator", "floor"])), "CE")
        more = [boiler(board, rng, "CB")] if rng.random() < 0.3 else []
        board.ring("CP", *more, "CT:low>out", "CE", **tube(rng, dry))
        return
    board.body("tank", fluid, "potable")
    board.item("CM3", "cold_main", pressure="300 kPa", temperature="9 degC")
    board.item("F3", "fixture", height=m(0.0))
    board.chain("CM3", "CT:low>out", bore=0.026, length=3.0)
    board.pipe("CT:out", "F3:hot", bore=0.02, length=5.0)
    board.cases[0].setdefault("draws", {})["F3"] = flow(some(rng, 1e-5, 2e-4))
