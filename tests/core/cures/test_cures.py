"""Cures: plants with a planted fault and a known best cure, against solving every change by hand."""

from __future__ import annotations

import json
import math
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from core import commands
from core.cures.candidate import Candidate, Surroundings
from core.cures.structures import structures
from core.cures.tried import Cures, seek, take
from core.errors import WetsideError
from core.files.read import from_data, load
from core.plant import edits
from core.plant.changes import apply, fitted
from core.plant.model import Plant
from core.sizing.second_circulator.available import at_hand
from core.solve import solve_case
from core.vocabulary import KINDS
from tests.support.builders import CP, RHO, Board, k_for

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * RHO * CP  # [W/K]
CHANGES = {
    *("tube", "length", "curve", "speed", "control", "second_in_series", "second_in_parallel", "exchanger"),
    *("check_valve", "balance", "limiter", "priority", "set_point", "difference", "separator", "close_tees"),
    *("buffer", "mixing_station", "capacity", "heater"),
}


def sought(data: dict[str, Any], at: str) -> tuple[Plant, Cures]:
    plant = from_data(data)
    found = seek(plant, at)
    assert {cure.candidate.change for cure in found.cures} <= CHANGES
    assert {one.change for one in found.not_tried} <= CHANGES
    for cure in found.cures:  # what is promised is what the file with it solves to
        taken = take(plant, cure)
        case = next(c for c in taken.solve_cases if c.name == cure.case)
        assert solve_case(taken, case).value(at, cure.effect.what) == pytest.approx(
            cure.effect.after, rel=1e-6
        )
    ranks = [cure.rank for cure in found.cures]
    assert ranks == sorted(ranks)
    return plant, found


def loop(load: float, capacity: float = 60e3, ua: float = 2000.0) -> Board:
    board = Board()
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    board.pump("P-1", 60e3, 1e-3, watts="60 W")
    board.item("FC-1", "floor_circuit", output_per_degree=f"{ua} W/K", load=f"{load} W")
    board.pipe("P-1:out", "B-1:in", "L-a", length="5 m")
    board.pipe("B-1:out", "FC-1:in", "L-b", length="20 m")
    board.pipe("FC-1:out", "P-1:in", "L-c", length="20 m")
    return board


def gets(data: dict[str, Any], at: str = "FC-1") -> float:
    plant = from_data(data)
    return float(solve_case(plant, plant.solve_cases[0]).value(at, "delivered_w") or 0.0)


def needing(data: dict[str, Any], load: float, *ids: str) -> dict[str, Any]:
    """The same plant with what some circuits need."""
    for item in data["items"]:
        if item["id"] in (ids or ("FC-1",)):
            item["props"]["load"] = f"{load} W"
    return data


def copper(data: dict[str, Any], **sizes: str) -> dict[str, Any]:
    """Pipes of copper, 1 in unless said."""
    for pipe in data["pipes"]:
        pipe["tube"] = {"material": "copper_l", "size": sizes.get(pipe["id"].replace("-", "_"), "1 in")}
    return data


def test_a_boiler_too_small_wants_capacity_and_nothing_else_does():
    board = Board()
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="60 degC")
    board.drive()
    board.item("LD-1", "load", load="14 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    _, found = sought(board.data(), "LD-1")
    assert found.wanted == pytest.approx(14e3)
    assert found.before == pytest.approx(10e3)
    # 10 kW x 1.25 falls short of 14 kW, x 1.5 reaches it; so does a second boiler.
    reaching = {(c.candidate.change, c.candidate.at) for c in found.cures if c.reaches}
    assert reaching == {("capacity", "B-1"), ("heater", "B-1")}
    assert {c.candidate.change for c in found.cures} == {"capacity", "heater"}
    least = next(c for c in found.cures if "1.25" in c.candidate.text)
    assert least.effect.after == pytest.approx(12.5e3)
    assert not least.reaches
    assert "licensed" in least.candidate.trade


def test_a_heat_pump_too_small_wants_a_stronger_one():
    board = Board()
    table = [[f"{out} degC", f"{supply} degC", "10 kW", "3 kW"] for out in (-15, 10) for supply in (30, 50)]
    board.item("HP-1", "heat_pump", table=table, set_temperature="45 degC")
    board.drive()
    board.item("LD-1", "load", load="14 kW")
    board.ring("P-1", "S-1", "HP-1", "LD-1")
    _, found = sought(board.data(), "LD-1")
    least = next(cure for cure in found.cures if cure.reaches)
    assert (least.candidate.change, least.candidate.at) == ("capacity", "HP-1")
    assert "1.5 times" in least.candidate.text


def test_the_one_pipe_that_is_too_small_by_solving_every_size_of_every_pipe():
    data = copper(loop(24e3).data(), L_b="3/8 in")
    _, found = sought(data, "FC-1")
    assert found.before is not None
    assert found.before < 0.9 * 24e3
    tubes = [c for c in found.cures if c.candidate.change == "tube"]
    assert tubes
    assert {c.candidate.at for c in tubes} == {"L-b"}
    best: dict[tuple[str, str], float] = {}
    for pipe, size in product(range(3), ("1/2 in", "5/8 in", "3/4 in", "1 1/4 in", "1 1/2 in", "2 in")):
        other = json.loads(json.dumps(data))
        other["pipes"][pipe]["tube"]["size"] = size
        plant = from_data(other)
        heat = solve_case(plant, plant.solve_cases[0]).value("FC-1", "delivered_w")
        best[other["pipes"][pipe]["id"], size] = float(heat or 0.0)
    first = found.cures[0]
    assert first.reaches
    top = max(heat for (pipe, size), heat in best.items() if (pipe, size) != ("L-b", "1 in"))
    gained = [c.effect.after for c in tubes]
    assert max(gained) == pytest.approx(best["L-b", "3/4 in"], rel=1e-6)
    assert max(gained) <= top + 1e-6


def test_made_joints_are_counted_and_come_last():
    data = copper(loop(24e3).data(), L_b="3/8 in")
    for pipe in data["pipes"]:
        pipe["stage"] = "joined"
    _, found = sought(data, "FC-1")
    tube = next(c for c in found.cures if c.candidate.change == "tube")
    assert tube.candidate.opens == 2
    assert [c.candidate.opens for c in found.cures if c.reaches] == sorted(
        c.candidate.opens for c in found.cures if c.reaches
    )


def test_a_speed_turned_down_is_turned_up_first():
    """The cheapest cure: nothing to open, and fewer watts than any other curve that reaches it."""
    data = copper(loop(30e3, capacity=100e3).data())
    needing(data, gets(data))
    for item in data["items"]:
        if item["id"] == "P-1":
            item["props"]["speed"] = 0.4
    _, found = sought(data, "FC-1")
    speeds = [c for c in found.cures if c.candidate.change == "speed"]
    assert any(c.reaches for c in speeds)
    assert all(c.candidate.opens == 0 for c in speeds)
    full = next(c for c in speeds if "100%" in c.candidate.text)
    assert full.power == pytest.approx(60.0 - 60.0 * 0.4**3, rel=1e-6)


def exchanged(ua: float = 1500.0, capacity: float = 100e3, load: float = 33e3) -> Board:
    board = Board()
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    board.drive()
    board.item("HX-1", "exchanger", ua=f"{ua} W/K")
    board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out")
    board.body("far")
    board.drive("P-2", "S-2")
    board.item("FC-1", "floor_circuit", output_per_degree="2000 W/K", load=f"{load} W")
    board.ring("P-2", "S-2", "HX-1:b_in>b_out", "FC-1")
    return board


def test_an_exchanger_too_small_with_its_effect_by_hand():
    _, found = sought(exchanged().data(), "FC-1")

    def heat(ua: float) -> float:
        """Equal flows: eps = N / (1 + N); the floor takes C e (t_b_out - 20), e = 1 - exp(-UA/C)."""
        n, e = ua / RATE, -math.expm1(-2000.0 / RATE)
        eps = n / (1.0 + n)
        # q = eps C (60 - t_return), q = e C (t_supply - 20), t_supply = t_return + q / C
        return RATE * 40.0 / (1.0 / eps + 1.0 / e - 1.0)

    assert found.before == pytest.approx(heat(1500.0), rel=1e-4)
    doubled = next(c for c in found.cures if "2 times" in c.candidate.text)
    assert doubled.effect.after == pytest.approx(heat(3000.0), rel=1e-4)
    assert found.cures[0].reaches


def test_a_fouled_exchanger_is_descaled_without_opening_a_joint():
    board = exchanged(ua=3000.0)
    board.items["HX-1"]["props"]["fouling"] = 0.5
    for item in board.items.values():
        item["stage"] = "existing"
    for pipe in board.pipes:
        pipe["stage"] = "existing"
    _, found = sought(board.data(), "FC-1")
    clean = next(c for c in found.cures if "descaled" in c.candidate.text)
    assert clean.candidate.opens == 0
    assert clean is found.cures[0]


def stopped_pump() -> Board:
    """P-2 is off and lets water from P-1 turn back: the floor is robbed of its flow."""
    board = Board()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.item("SW-1", "switch", on=True)
    board.item("SW-2", "switch", on=False)
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at", k=k_for(30e3 / FLOW**2))
    board.pipe("J-2:at", "B-1:in")
    for name, ua in (("1", 2000.0), ("2", 10.0)):
        board.pump(f"P-{name}", 90e3, 1e-3, run_when=f"SW-{name}", watts="80 W")
        board.item(f"FC-{name}", "floor_circuit", output_per_degree=f"{ua} W/K", load="1 W")
        board.pipe("J-1:at", f"P-{name}:in", length="1 m")
        board.pipe(f"P-{name}:out", f"FC-{name}:in", length="1 m")
        board.pipe(f"FC-{name}:out", "J-2:at")
    board.items["FC-1"]["props"]["load"] = "48 kW"
    board.case("one", signals={"SW-1": True, "SW-2": False})
    return board


def test_a_check_valve_where_a_stopped_circulator_lets_water_pass():
    _, found = sought(stopped_pump().data(), "FC-1")
    check = next(c for c in found.cures if c.candidate.change == "check_valve")
    assert check.candidate.at == "P-2"
    assert check.power == pytest.approx(0.0)
    assert check is next(c for c in found.cures if c.candidate.opens == 0)


def test_two_together_where_no_single_change_reaches():
    """A boiler and an exchanger too small, both by more than one step alone could make up for."""
    _, found = sought(exchanged(capacity=20e3).data(), "FC-1")
    best = found.cures[0]
    assert best.pair is not None
    assert best.reaches
    assert not best.harms
    assert {one.change for one in best.pair} == {"capacity", "exchanger"}
    assert best.as_data()["pair"][0].keys() == {"change", "at"}


def test_a_harmful_cure_says_whom_it_harms_and_is_not_first():
    """Two floors on one pump: limiting the other brings the one its flow and leaves the other short."""
    board = Board()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    board.pump("P-1", 60e3, 1e-3, watts="60 W")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("P-1:out", "B-1:in", "L-0", k=k_for(20e3 / FLOW**2))
    board.pipe("B-1:out", "J-1:at")
    board.pipe("J-2:at", "P-1:in")
    for name in ("1", "2"):
        board.item(f"FC-{name}", "floor_circuit", output_per_degree="2000 W/K", load="33 kW")
        board.pipe("J-1:at", f"FC-{name}:in", f"L-leg-{name}", k=k_for(30e3 / FLOW**2), length="1 m")
        board.pipe(f"FC-{name}:out", "J-2:at")
    data = board.data()
    _, found = sought(needing(data, 1.03 * gets(data), "FC-1", "FC-2"), "FC-1")
    plant = from_data(data)
    every = seek(plant, "FC-1")
    limited = [cure for cure in every.cures if cure.candidate.change == "limiter"]
    assert all(any("FC-2" in harm for harm in cure.harms) for cure in limited)
    assert not found.cures[0].harms


def test_nothing_runs_above_its_rating_and_no_set_point_is_raised_past_what_has_none():
    board = loop(60e3, capacity=200e3, ua=2000.0)
    data = copper(board.data())
    _, found = sought(data, "FC-1")
    assert not any(c.candidate.change == "set_point" for c in found.cures)
    assert any(one.change == "set_point" for one in found.not_tried)
    for item in data["items"]:
        item["props"]["max_temperature"] = "68 degC"
    _, found = sought(data, "FC-1")
    warmer = [c.candidate.text for c in found.cures if c.candidate.change == "set_point"]
    assert len(warmer) == 1  # 65 degC; 70 degC would be above the rating
    assert "65 degC" in warmer[0]


@pytest.mark.parametrize("change", ["separator", "close_tees", "buffer"])
def test_where_waters_are_parted_the_side_without_a_circulator_gets_the_least_that_carries_its_flow(
    change: str,
):
    plant = from_data(copper(loop(30e3, capacity=100e3).data()))
    case = plant.solve_cases[0]
    before = solve_case(plant, case)
    near = Surroundings(plant, "FC-1", case, before, 1.0)
    found = [one for one in structures(near, lambda other: solve_case(other, case)) if one.change == change]
    (one,) = found
    assert isinstance(one, Candidate)
    parted = fitted(plant, one.make(plant))
    after = solve_case(parted, case)
    assert after.converged
    (pump,) = [key for key in parted.items if key not in plant.items and after.running(key)]
    assert after.flow("FC-1") >= 0.99 * before.flow("FC-1")
    assert after.flow("FC-1") == pytest.approx(after.flow(pump), rel=1e-3)
    assert after.flow("P-1") == pytest.approx(after.flow("B-1"), rel=1e-3)
    smaller = [p for p in at_hand(plant) if p.watts and p.watts < float(parted.items[pump].si["watts"])]
    for other in smaller:  # each smaller one would carry too little
        weak = edits.set_props(parted, pump, {"curve": other.props["curve"]})
        assert solve_case(apply(parted, weak), case).flow("FC-1") < 0.99 * before.flow("FC-1")


def too_warm(manifolds: bool = False) -> Board:
    """A floor that takes boiler water straight, beside a radiator that needs it."""
    board = Board()
    board.item("B-1", "boiler", capacity="60 kW", set_temperature="70 degC")
    board.pump("P-1", 60e3, 1e-3, watts="60 W")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("RA-1", "radiator", ua="500 W/K", load="20 kW")
    board.item("SW-1", "switch", on=True)
    board.item("ZV-1", "zone_valve", run_when="SW-1")
    floors = ("1", "2") if manifolds else ("1",)
    for name in floors:
        board.item(f"FC-{name}", "floor_circuit", output_per_degree="200 W/K", load="3 kW")
    board.chain("P-1", "B-1", "J-1", length="1 m")
    board.pipe("J-1:at", "RA-1:in", length="1 m", k=k_for(30e3 / 0.3e-3**2))
    board.chain("RA-1", "J-2", "P-1", length="1 m")
    board.pipe("J-1:at", "ZV-1:a", "L-f", length="1 m", k=k_for(30e3 / 0.3e-3**2))
    if not manifolds:
        board.pipe("ZV-1:b", "FC-1:in", "L-g", length="1 m")
        board.pipe("FC-1:out", "J-2:at", "L-h", length="1 m")
        return board.case("on", signals={"SW-1": True})
    for name in ("M-1", "M-2"):
        board.item(name, "manifold", branches=2)
    board.pipe("ZV-1:b", "M-1:trunk", "L-g", length="1 m")
    board.pipe("M-2:trunk", "J-2:at", "L-h", length="1 m")
    for name in floors:
        board.pipe(f"M-1:{name}", f"FC-{name}:in", length="1 m")
        board.pipe(f"FC-{name}:out", f"M-2:{name}", length="1 m")
    return board.case("on", signals={"SW-1": True})


@pytest.mark.parametrize("manifolds", [False, True])
def test_a_floor_that_is_too_warm_gets_a_mixing_station_where_its_own_water_runs(manifolds: bool):
    plant, found = sought(too_warm(manifolds).data(), "FC-1")
    assert found.sign == -1.0
    best = found.cures[0]
    assert (best.candidate.change, best.candidate.at) == ("mixing_station", "L-f")
    assert best.reaches
    assert not best.harms
    mixed = take(plant, best)
    solved = solve_case(mixed, mixed.solve_cases[0])
    (pump,) = [key for key in mixed.items if key not in plant.items and solved.running(key)]
    assert mixed.items[pump].props.get("run_when") == "SW-1"  # as the valve on its way, no more often
    assert solved.value("RA-1", "delivered_w") == pytest.approx(20e3, rel=0.3)
    assert float(solved.value("FC-1", "delivered_w") or 0.0) < 1.2 * 3e3


def test_another_call_waits_where_that_is_the_cure():
    """A tank's charge takes half of a boiler that suffices for the floor alone."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="70 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at")
    board.pipe("J-2:at", "B-1:in")
    taps = {"hot": "1.4 m", "cold": "0.1 m"}
    coil = {"coil_ua": "2000 W/K", "coil_heights": {"coil_in": "0.8 m", "coil_out": "0.2 m"}}
    board.item("T-1", "coil_tank", volume="300 L", tall="1.5 m", taps=taps, sensors={"s": "0.7 m"}, **coil)
    board.item("AQ-1", "aquastat", senses=["T-1", "s"], set_temperature="55 degC", differential="5 K")
    board.item("SW-1", "switch", on=True)
    board.item("FC-1", "floor_circuit", output_per_degree="1000 W/K", load="38 kW")
    for pump, call, inlet, outlet in (("P-1", "SW-1", "FC-1:in", "FC-1:out"),
                                      ("P-2", "AQ-1", "T-1:coil_in", "T-1:coil_out")):  # fmt: skip
        board.pump(pump, 60e3, 1e-3, run_when=call, integral_check=True, watts="60 W")
        board.pipe("J-1:at", f"{pump}:in")
        board.pipe(f"{pump}:out", inlet, k=k_for(30e3 / FLOW**2))
        board.pipe(outlet, "J-2:at")
    board.case("both", signals={"SW-1": True, "AQ-1": True}, tanks={"T-1": "45 degC"})
    _, found = sought(board.data(), "FC-1")
    best = found.cures[0]
    assert (best.candidate.change, best.candidate.at) == ("priority", "P-2")
    assert best.reaches
    assert best.power == pytest.approx(-60.0)


def test_no_source_is_set_warmer_whose_heat_comes_to_drinking_water_through_a_wall():
    data = exchanged(ua=4000.0, load=40e3).data()
    data["systems"]["far"]["use"] = "potable"
    for item in data["items"]:
        item["props"]["max_temperature"] = "95 degC"
    _, found = sought(data, "FC-1")
    assert not any(cure.candidate.change == "set_point" for cure in found.cures)
    assert any(one.change == "set_point" for one in found.not_tried)
    data["systems"]["far"]["use"] = "closed"
    _, found = sought(data, "FC-1")
    assert any(cure.candidate.change == "set_point" for cure in found.cures)


def test_costs_are_those_of_the_parts_by_the_price_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    data = copper(loop(24e3).data(), L_b="3/8 in")
    path, prices = tmp_path / "one.plant.json", tmp_path / "prices.csv"
    path.write_text(json.dumps(data))

    def costs() -> dict[str, float | None]:
        assert commands.main(["cures", str(path), "FC-1", "--prices", str(prices), "--json"]) == 0
        return {cure["text"]: cure["cost"] for cure in json.loads(capsys.readouterr().out)["cures"]}

    rows = ["Type L copper tube,1/2 in,m,4", "Type L copper tube,3/8 in,m,3"]
    rows += ["union or adapter to equipment,1/2 in,ea,5", '"reducer, Type L copper",,ea,2']
    prices.write_text("\n".join(["what,size,unit,price", *rows]))
    found = costs()
    half = next(cost for text, cost in found.items() if text.startswith("L-b in 1/2"))
    # Nothing is bought yet: the old tube and its two reducers are saved, two unions are new.
    assert half == pytest.approx(20.0 * 1.1 * (4.0 - 3.0) + 2 * 5.0)
    assert next(cost for text, cost in found.items() if text.startswith("L-b in 3/4")) is None
    for part in (*data["pipes"], *data["items"]):
        part["stage"] = "existing"
    path.write_text(json.dumps(data))
    half = next(cost for text, cost in costs().items() if text.startswith("L-b in 1/2"))
    assert half == pytest.approx(20.0 * 1.1 * 4.0 + 2 * 5.0 + 2 * 2.0)


def test_a_circuit_that_is_well_wants_no_cure():
    plant = load("sample_plants/potting_shed.plant.json")
    found = seek(plant, "FC-1")
    assert (found.cures, found.sign) == ((), 0.0)


def test_every_circuit_and_tap_of_a_sample_is_answered():
    plant = load("sample_plants/orchard_packhouse.plant.json")
    circuit = next(i.id for i in plant.items.values() if KINDS[i.kind].report and i.kind == "fan_coil")
    found = seek(plant, circuit)
    assert found.case


def test_take_writes_the_plant_and_refuses_what_cannot_be(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    path, new = tmp_path / "one.plant.json", tmp_path / "new.plant.json"
    path.write_text(json.dumps(copper(loop(24e3).data(), L_b="3/8 in")))
    assert commands.main(["cures", str(path), "FC-1"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "licensed trades" in said
    assert "Not tried" in said
    assert commands.main(["cures", str(path), "FC-1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {"at", "wanted", "cures", "not_tried"} <= told.keys()
    keys = {"change", "at", "case", "effect", "power_w", "cost", "opens", "harms", "pair"}
    assert keys <= told["cures"][0].keys()
    assert commands.main(["cures", str(path), "FC-1", "--take", "1", "-o", str(new)]) == 0
    after = load(new)
    solved = solve_case(after, after.solve_cases[0])
    assert solved.value("FC-1", "delivered_w") == pytest.approx(told["cures"][0]["effect"]["after"], rel=1e-9)
    for words in (["--take", "1", "-o", str(new)], ["--take", "99", "-o", str(tmp_path / "x.plant.json")]):
        with pytest.raises(WetsideError):
            commands.main(["cures", str(path), "FC-1", *words])
    with pytest.raises(WetsideError):
        commands.main(["cures", str(path), "P-1"])
