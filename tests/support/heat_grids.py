"""Grids of small heating plants, ample to scarce, whose figures the second method gives.

`GRIDS` names every plant: `GRIDS[name]()` makes its data, `expected(data)` the figures of its one case by
`second_method` (flows that do not depend on heat, straight pieces, halving). Names read
`two-SOURCES-LOADS-SHARE` where SHARE is capacity over need.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from tests.support.builders import Board, c, w
from tests.support.second_method import Answer, second_solve

SHARES = (0.33, 0.5, 0.8, 0.97, 1.05, 1.5, 3.0)
SOURCES = ("series", "parallel", "unequal", "linked", "heater-behind", "one-idle")
PARTS: dict[str, tuple[str, dict[str, Any], float]] = {
    # kind, properties, heat it wants of water of 60 degC [W]
    "load": ("load", {"load": w(6000.0)}, 6000.0),
    "small": ("load", {"load": w(1500.0)}, 1500.0),
    "floor": ("floor_circuit", {"output_per_degree": "150 W/K"}, 5500.0),
    "typed": ("floor_circuit", {"output_per_degree": "110 W/K", "load": w(3000.0)}, 4000.0),
    "plain-floor": ("floor_circuit", {"load": w(4000.0)}, 4000.0),
    "radiator": ("radiator", {"ua": "90 W/K"}, 3400.0),
    "coil": ("fan_coil", {"ua": "160 W/K", "load": w(4500.0)}, 4500.0),
    "room": ("radiator", {"ua": "130 W/K", "serves": "R-1"}, 3500.0),
    "slab": ("floor_circuit", {"output_per_degree": "90 W/K", "serves": "R-1"}, 2600.0),
}
MIXES = (
    "load",
    "floor",
    "load+small",
    "load+floor",
    "load+radiator",
    "load+typed",
    "load+coil",
    "typed+coil",
    "small+room",
    "room+slab",
    "load+floor+coil",
    "plain-floor+typed+room",
)


def need(mix: str) -> float:
    return sum(PARTS[name][2] for name in mix.split("+"))


def emitters(board: Board, mix: str, start: str, stop: str) -> None:
    """The parts of a mix side by side between two joints, each branch with a drop of its own."""
    for number, name in enumerate(mix.split("+")):
        kind, props, _ = PARTS[name]
        ident = board.item(f"E-{number + 1}", kind, **props)
        piece = board.resistance(f"SE-{number + 1}", (0.2 + 0.1 * number) * 1e-3, 15e3)
        board.chain(start, piece, ident, stop)
        if "serves" in props and "R-1" not in board.items:
            board.item("R-1", "room", loss="90 W/K", wanted="20 degC")


def joints(board: Board, *names: str) -> None:
    for name in names:
        board.item(name, "joint")


def vessel(board: Board, at: str, ident: str = "ET-1") -> None:
    board.item(ident, "expansion_tank", precharge="100 kPa", volume="20 L")
    board.chain(at, ident)


def two_sources(sources: str, mix: str, share: float) -> dict[str, Any]:
    """Two sources, a pump, loads side by side; capacities sum to `share` of the need."""
    board = Board()
    most = share * need(mix)
    board.pump("P-1", 60e3, 1.2e-3)
    joints(board, "J-1", "J-2", "J-3", "J-4")
    first = {"capacity": w(0.6 * most), "set_temperature": c(60.0)}
    second = {"capacity": w(0.4 * most), "set_temperature": c(60.0)}
    if sources in ("series", "heater-behind"):
        first["set_temperature"] = c(55.0)
        board.item("B-1", "boiler", **first)
        if sources == "series":
            board.item("B-2", "boiler", **second)
        else:
            board.item("B-2", "heater", **second, min_flow="0.05 L/s")
        board.chain("P-1", "B-1", "B-2", "J-1")
    else:
        ways = (0.3e-3, 0.3e-3) if sources != "unequal" else (0.45e-3, 0.15e-3)
        kind, more = ("heater", {"linked": "pair"}) if sources == "linked" else ("boiler", {})
        idle = {"run_when": False} if sources == "one-idle" else {}
        board.item("B-1", kind, **first, **more)
        board.item("B-2", kind, **second, **more, **idle)
        board.chain("P-1", "J-3")
        for number, way in enumerate(ways, 1):
            board.chain("J-3", board.resistance(f"S-{number}", way, 8e3), f"B-{number}", "J-1")
    emitters(board, mix, "J-1", "J-2")
    board.chain("J-2", "P-1")
    vessel(board, "J-2")
    return board.case().data()


def mixed_circuit(layout: str, mix: str, share: float) -> dict[str, Any]:
    """A boiler, a mixing valve at 35 degC, pump and loads behind it; `share` of the need there.

    `one-pump`: the pump behind the valve drives the boiler too. `primary`: the boiler too has one.
    `beside`: a plain load of 2 kW hangs on the boiler's loop beside the valve.
    """
    board = Board()
    wants = sum(PARTS[n][2] * (1.0 if PARTS[n][0] == "load" else 0.37) for n in mix.split("+"))
    beside = 2000.0 if layout == "beside" else 0.0
    board.item("B-1", "boiler", capacity=w(share * (wants + beside)), set_temperature=c(60.0))
    joints(board, "J-1", "J-2", "J-5", "J-6")
    board.item("MV-1", "mixing_valve", cv=4, set_temperature=c(35.0))
    board.pump("P-4", 45e3, 1.0e-3)
    if layout == "one-pump":
        board.chain("J-2", "B-1", "J-1")
    else:
        board.pump("P-1", 40e3, 1.0e-3, integral_check=True)
        board.chain("J-2", "P-1", "B-1", "J-1")
        board.chain("J-1", board.resistance("S-0", 0.3e-3, 6e3), "J-2")
    if layout == "beside":
        board.item("LD-9", "load", load=w(beside))
        board.chain("J-1", board.resistance("S-9", 0.2e-3, 6e3), "LD-9", "J-2")
    board.pipe("J-1:at", "MV-1:hot")
    board.pipe("J-5:at", "MV-1:cold")
    board.pipe("MV-1:mixed", "P-4:in")
    board.pipe("P-4:out", "J-6:at")
    emitters(board, mix, "J-6", "J-5")
    board.pipe("J-5:at", "J-2:at", length=2.0)
    vessel(board, "J-2")
    return board.case().data()


def across_exchanger(mix: str, share: float, ua: float, warm_load: bool) -> dict[str, Any]:
    """A boiler and its pump heat, through an exchanger, a second ring with loads."""
    board = Board()
    wants = need(mix) + 2000.0 * warm_load
    board.item("B-1", "boiler", capacity=w(share * wants), set_temperature=c(65.0))
    board.pump("P-1", 60e3, 1.2e-3)
    board.item("HX-1", "exchanger", ua=f"{ua!r} W/K")
    joints(board, "J-1", "J-2")
    stops = ["LD-9"] if warm_load else []
    if warm_load:
        board.item("LD-9", "load", load=w(2000.0))
    board.ring("P-1", board.resistance("S-0", 0.5e-3, 20e3), "B-1", "HX-1:a_in>a_out", *stops)
    board.body("cold")
    board.pump("P-2", 50e3, 1.0e-3)
    board.chain("P-2", "HX-1:b_in>b_out", "J-1", bore=0.03)
    emitters(board, mix, "J-1", "J-2")
    board.chain("J-2", "P-2")
    vessel(board, "J-2")
    return board.case().data()


def _named() -> dict[str, Callable[[], dict[str, Any]]]:
    found: dict[str, Callable[[], dict[str, Any]]] = {}
    for sources in SOURCES:
        for mix in MIXES:
            for share in SHARES:
                found[f"two-{sources}-{mix}-{share}"] = partial(two_sources, sources, mix, share)
    for layout in ("one-pump", "primary", "beside"):
        for mix in ("load", "small", "floor", "typed", "load+floor", "small+typed"):
            for share in (0.33, 0.7, 0.97, 1.05, 1.5, 3.0):
                found[f"mixed-{layout}-{mix}-{share}"] = partial(mixed_circuit, layout, mix, share)
    for mix in ("load", "floor", "load+floor", "small+room"):
        for share in (0.33, 0.7, 1.05, 3.0):
            for ua in (300.0, 2000.0):
                for warm in (False, True):
                    name = f"across-{mix}-{share}-{ua:.0f}{'-and-warm-load' if warm else ''}"
                    found[name] = partial(across_exchanger, mix, share, ua, warm)
    return found


GRIDS = _named()


def expected(data: dict[str, Any]) -> Answer:
    """The figures of a grid's plant by the second method."""
    return second_solve(data)
