"""Random heating plants whose emitters stand in rooms, with stats that run pumps and zone valves.

Built on the random nets of `random_plants`; the laws of rooms are written out again in `rooms_broken`.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np

from tests.support.balance import Balance, si
from tests.support.builders import CP, Board, Solved, c, constant_fluid
from tests.support.random_plants import heating, some

EMITTERS = ("radiator", "floor_circuit", "fan_coil")
RUN = ("circulator", "zone_valve")


def room_plant(seed: int) -> Board:
    """One plant of two to four rooms; the same seed gives the same plant."""
    rng = np.random.default_rng(seed)
    board = Board(constant_fluid(), outdoor_design=c(float(rng.uniform(-20, 5))))
    if rng.random() < 0.5:
        heating(board, rng, "H", size=int(rng.integers(5, 12)))
    else:
        zones(board, rng)
    count = int(rng.integers(2, 5))
    for k in range(count):
        gain = f"{float(rng.choice([0, 0, 300, 2500]))} W"
        board.item(f"R-{k}", "room", loss=f"{some(rng, 10, 250)!r} W/K", gain=gain, wanted="20 degC")
    for item in board.items.values():
        if item["kind"] in EMITTERS and rng.random() < 0.85:
            item["props"].pop("room_temperature", None)
            item["props"]["serves"] = f"R-{int(rng.integers(count))}"
    run = [key for key, item in board.items.items() if item["kind"] in RUN]
    for k in range(count):
        if rng.random() < 0.7:
            set_to = {"set_temperature": c(float(rng.uniform(16, 24))), "differential": "1 K"}
            board.item(f"TH-{k}", "thermostat", senses=[f"R-{k}"], **set_to)
            for key in run:
                if rng.random() < (0.4 if "ZV" in key else 0.15):
                    board.items[key]["props"]["run_when"] = f"TH-{k}"
    return board.case("c")


def zones(board: Board, rng: np.random.Generator) -> None:
    """A boiler, a pump, and zones side by side behind a valve each."""
    most, warm = f"{some(rng, 6e3, 90e3)!r} W", c(float(rng.uniform(40, 80)))
    board.item("B", "boiler", capacity=most, set_temperature=warm)
    board.pump("P", some(rng, 2e4, 6e4), some(rng, 3e-4, 2e-3), integral_check=bool(rng.random() < 0.5))
    ends = ("JA", "JB")
    for joint in ends:
        board.item(joint, "joint")
    board.chain("JB", "P", "B", "JA", bore=0.026, length=4.0)
    for k in range(int(rng.integers(2, 5))):
        kind = str(rng.choice(EMITTERS[:2]))
        size = {"radiator": "ua", "floor_circuit": "output_per_degree"}[kind]
        stops = [board.item(f"ZV-{k}", "zone_valve", cv=some(rng, 2, 10))]
        for number in range(int(rng.integers(1, 3))):
            drops = {"drops": [["0.1 L/s", "5 kPa"]]} if kind == "radiator" else {}
            stops.append(board.item(f"E{k}{number}", kind, **{size: f"{some(rng, 20, 400)!r} W/K"}, **drops))
        for start, stop in pairwise(["JA", *stops, "JB"]):
            board.pipe(board.ends(start)[1], board.ends(stop)[0], bore=0.0199, length=some(rng, 1, 20))


def rooms_broken(data: dict[str, Any], solved: Solved) -> list[str]:
    """Everything that is wrong with the rooms and emitters of a solution, in words."""
    trouble: list[str] = []
    balance = Balance(data, solved)
    outdoor = si(data["cases"][0].get("outdoor", data["site"]["outdoor_design"]), "temperature") - 273.15
    stats = {i["props"]["senses"][0]: i for i in data["items"] if i["kind"] == "thermostat"}
    for item in data["items"]:
        figures, props = solved.items.get(item["id"], {}), item["props"]
        if item["kind"] in EMITTERS[:2] and abs(figures["flow_m3_s"]) > 1e-7:
            trouble += _emitter(item, figures, solved, balance)
        if item["kind"] != "room":
            continue
        loss, gain = si(props["loss"], "heat_per_kelvin"), si(props["gain"], "power")
        served = [i["id"] for i in data["items"] if i["props"].get("serves") == item["id"]]
        heat = math.fsum(solved.items[key]["delivered_w"] for key in served)
        t, share, lost = (
            figures["temperature_c"],
            figures["duty_share"],
            loss * (figures["temperature_c"] - outdoor),
        )
        near = 1e-4 * max(abs(lost), abs(heat), gain, 50.0)
        if abs(figures["heat_w"] - heat) > near or abs(figures["loss_w"] - lost) > near:
            trouble.append(f"{item['id']} reports {figures}, its parts sum to {heat:.6g} and {lost:.6g}")
        stat = stats.get(item["id"])
        held = stat is not None and 0.0 < share < 1.0 and solved.raw.signals[stat["id"]]
        mixed = min((solved.items[key]["delivered_w"] for key in served), default=0.0) < 0.0
        if not held and not mixed and abs(share * heat + gain - lost) > near:
            trouble.append(f"{item['id']} is out of balance: {share} {heat:.6g} + {gain} against {lost:.6g}")
        if stat is not None:
            trouble += _stat(item["id"], stat, share, t, solved)
            if held and heat + gain < lost - near:
                trouble.append(f"{item['id']} is held at more than it gets")
    return trouble


def _emitter(item: dict[str, Any], figures: dict[str, Any], solved: Solved, balance: Balance) -> list[str]:
    props, ident = item["props"], item["id"]
    ua = si(props.get("ua") or props["output_per_degree"], "heat_per_kelvin")
    own = props.get("room_temperature")
    t_room = (
        solved.items[props["serves"]]["temperature_c"]
        if own is None and "serves" in props
        else si(own or "20 degC", "temperature") - 273.15
    )
    rate = abs(figures["flow_m3_s"]) * 1000.0 * CP
    port = "in" if figures["flow_m3_s"] > 0 else "out"
    inlet = balance.warm_at(*balance.touch[ident, port][0])
    by_law = rate * -math.expm1(-ua / rate) * (inlet - t_room)
    if abs(by_law - figures["delivered_w"]) > 1e-4 * max(abs(by_law), 10.0) + rate * 1e-5:
        return [f"{ident} delivers {figures['delivered_w']:.7g}, by its law {by_law:.7g}"]
    return []


def _stat(room: str, stat: dict[str, Any], share: float, t: float, solved: Solved) -> list[str]:
    """A stat is off above its point, holds at it, or is on all the time below it."""
    set_at = si(stat["props"]["set_temperature"], "temperature") - 273.15
    on = solved.raw.signals[stat["id"]]
    if not on:
        fine = t >= set_at - 1e-4
    else:  # where it comes for part of the time only, another stat may leave it short
        fine = t <= set_at + 1e-4
    return [] if fine else [f"{room} at {t:.6g} of {set_at:.6g}, share {share}, stat {'on' if on else 'off'}"]
