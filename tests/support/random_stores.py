"""Random heating plants as they are built: sources, a store, zones with every kind of control."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.support.builders import Board, c, flow, pa, w
from tests.support.random_plants import Rng, emitter, some, tube

PORTS = {"tank": ("top", "low", "out", "back"), "other": ("a_in", "a_out", "b_out", "b_in")}


def store_plant(seed: int) -> Board:
    """Boilers side by side on a ring, a separator, buffer or tank, and two to five zones."""
    rng = np.random.default_rng(seed + 500_000)
    board = Board()
    kind = str(rng.choice(["separator", "buffer", "tank"]))
    tanks = {}
    if kind == "tank":
        loss = f"{some(rng, 1, 20)!r} W/K"
        taps = dict.fromkeys(PORTS["tank"], "0 m")
        board.item("X", "tank", volume="400 L", taps=taps, ua_loss=loss)
    else:
        board.item("X", kind, volume="40 L")
    if kind != "separator" and rng.random() < 0.4:
        tanks["X"] = c(float(rng.uniform(30, 60)))
    warm_in, cold_out, supply, back = PORTS["tank" if kind == "tank" else "other"]
    most = sources(board, rng, f"X:{cold_out}", f"X:{warm_in}")
    zones(board, rng, f"X:{supply}", f"X:{back}", most, held=bool(tanks))
    board.item("ET", "expansion_tank", volume="18 L", precharge="120 kPa")
    board.pipe("RET:at", "ET:at")
    return board.case(tanks=tanks)


def sources(board: Board, rng: Rng, start: str, end: str) -> float:
    """One to three boilers side by side behind one pump; returns their capacity [W]."""
    board.item("SRC", "joint")
    board.item("MIX", "joint")
    pump(board, rng, "P0", "fixed")
    board.pipe(start, "P0:in", **tube(rng))
    board.pipe("P0:out", "SRC:at", **tube(rng))
    board.pipe("MIX:at", end, **tube(rng))
    set_to, total = c(float(rng.uniform(45, 75))), 0.0
    for number in range(int(rng.integers(1, 4))):
        capacity = some(rng, 4e3, 40e3)
        total += capacity
        drops = [["0.3 L/s", "12 kPa"]]
        name = board.item(f"B{number}", "boiler", capacity=w(capacity), set_temperature=set_to, drops=drops)
        board.pipe("SRC:at", f"{name}:in", **tube(rng))
        board.pipe(f"{name}:out", "MIX:at", **tube(rng))
    return total


def pump(board: Board, rng: Rng, ident: str, control: str) -> str:
    head, out = some(rng, 20e3, 80e3), some(rng, 4e-4, 2e-3)
    props: dict[str, Any] = {"curve": [["0 m3/s", pa(head)], [flow(out), "0 Pa"]]}
    if control == "delta_t":
        props |= {"control": control, "target": f"{rng.uniform(4, 15)!r} K"}
    elif control != "fixed":
        props |= {"control": control, "target": pa(head * float(rng.uniform(0.3, 0.7)))}
    if rng.random() < 0.4:
        props["integral_check"] = True
    return board.item(ident, "circulator", **props)


def zones(board: Board, rng: Rng, start: str, end: str, most: float, held: bool) -> None:
    """A pump for all zones with zone valves, or one for each with a check; every kind of control."""
    board.item("SUP", "joint")
    board.item("RET", "joint")
    controls = ["fixed", "delta_t", "delta_p_constant", "delta_p_proportional"]
    common = rng.random() < 0.5
    if common:
        pump(board, rng, "P1", str(rng.choice(controls, p=[0.4, 0.1, 0.25, 0.25])))
        board.pipe(start, "P1:in", **tube(rng))
        board.pipe("P1:out", "SUP:at", **tube(rng))
    else:
        board.pipe(start, "SUP:at", **tube(rng))
    board.pipe("RET:at", end, **tube(rng))
    for number in range(int(rng.integers(2, 6))):
        stops = ["SUP"]
        if common:
            state = {"run_when": bool(rng.random() < 0.7)}
            stops.append(board.item(f"ZV{number}", "zone_valve", cv=some(rng, 2, 8), **state))
        else:
            stops.append(
                pump(board, rng, f"P{number + 2}", str(rng.choice(controls, p=[0.4, 0.4, 0.1, 0.1])))
            )
            stops.append(board.item(f"CV{number}", "check_valve", cv=12.0, opens_at="2 kPa"))
        stops.append(user(board, rng, f"E{number}", most, held))
        if rng.random() < 0.3:
            limit = flow(some(rng, 5e-5, 4e-4))
            stops.append(board.item(f"BV{number}", "balance_valve", cv=some(rng, 3, 10), set_flow=limit))
        board.chain(*stops, "RET", **tube(rng))


def user(board: Board, rng: Rng, ident: str, most: float, held: bool) -> str:
    """An emitter, or a load of a size the sources might or might not bring."""
    if rng.random() < 0.3 and not held:
        return board.item(ident, "load", load=w(most * float(rng.uniform(0.05, 0.5))))
    return emitter(board, rng, str(rng.choice(["radiator", "floor", "fan"])), ident)
