"""Who robs whom: plants with one planted cause each, answers worked out by hand."""

from __future__ import annotations

import json
import math
from itertools import permutations
from typing import Any

import pytest

from core import commands
from core.files.read import from_data, load
from core.questions.averaging import shares
from core.questions.why import Row, why
from core.solve import solve_case
from tests.plants.edits import file_of
from tests.support.builders import CP, RHO, Board, k_for

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * RHO * CP  # [W/K]


def heat(q: float, ua: float, supply: float, room: float = 20.0) -> float:
    rate = q * RHO * CP
    return rate * -math.expm1(-ua / rate) * (supply - room)


def rows(board: Board, at: str = "") -> dict[tuple[str, str], Row]:
    found = why(from_data(board.data()), at)
    assert found.unsolved == ()
    for row in found.rows:
        assert sum(c.share_w for c in row.causes) + row.left_w == pytest.approx(row.lost_w, abs=1e-6)
        assert all(c.low_w <= c.share_w + 1e-6 and c.share_w <= c.high_w + 1e-6 for c in row.causes)
    return {(row.at, row.call): row for row in found.rows}


def two_zones(shared: float = 0.5, capacity: float = 200e3, **second: Any) -> Board:
    """A pump of 60 kPa at rest and 1 L/s at most, a common pipe, two zone valves with a radiator each."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    for name in ("1", "2"):
        board.item(f"SW-{name}", "switch", on=True)
        board.item(f"ZV-{name}", "zone_valve", run_when=f"SW-{name}")
        board.item(f"RA-{name}", "radiator", **({"ua": "1000 W/K"} | (second if name == "2" else {})))
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    whole = 30e3 / FLOW**2
    board.pipe("P-1:out", "B-1:in", "L-common", k=k_for(shared * whole))
    board.pipe("B-1:out", "J-1:at")
    board.pipe("J-2:at", "P-1:in")
    for name in ("1", "2"):
        board.pipe("J-1:at", f"ZV-{name}:a", f"L-leg-{name}", k=k_for((1.0 - shared) * whole))
        board.pipe(f"ZV-{name}:b", f"RA-{name}:in")
        board.pipe(f"RA-{name}:out", "J-2:at")
    board.case("both", signals={"SW-1": True, "SW-2": True})
    return board


def split(shared: float) -> float:
    """Flow of each of two equal zones: 60 (1 - 2q) = R_s (2q)^2 + R_b q^2, q in L/s, R in kPa."""
    whole = 30.0 / 0.25
    a = whole * (4.0 * shared + 1.0 - shared)
    return 1e-3 * (-120.0 + math.sqrt(120.0**2 + 4.0 * a * 60.0)) / (2.0 * a)


def test_head_shared_in_a_common_pipe():
    row = rows(two_zones())["RA-1", "SW-2"]
    q = split(0.5)
    assert row.lost_m3_s == pytest.approx(FLOW - q, rel=1e-3)
    assert row.lost_w == pytest.approx(heat(FLOW, 1e3, 60.0) - heat(q, 1e3, 60.0), rel=1e-3)
    (cause,) = row.causes
    assert cause.kind == "shared_head"
    assert {"P-1", "L-common"} <= set(cause.at)
    assert "L-leg-1" not in cause.at
    assert cause.share_w == pytest.approx(row.lost_w, rel=1e-9)
    assert cause.share_m3_s == pytest.approx(row.lost_m3_s, rel=1e-3)
    assert "the head of P-1 falls" in row.text


def test_nobody_is_told_of_its_own_call():
    assert set(rows(two_zones())) == {("RA-1", "SW-2"), ("RA-2", "SW-1")}


def test_source_at_its_limit_with_flows_of_their_own():
    """Each zone has a pump on a boiler that a wide pipe shares; the boiler's 60 kW are cut by warmth."""
    board = own_pumps(capacity=60e3)
    row = rows(board)["RA-1", "SW-2"]
    # Alone: 50.6 kW at 60 degC. Together twice the flow and UA share 60 kW: each 30 kW.
    alone = heat(FLOW, 2e3, 60.0)
    assert row.lost_w == pytest.approx(alone - 30e3, rel=2e-3)
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("source_limit", ("B-1",))
    assert cause.share_w == pytest.approx(row.lost_w, rel=1e-9)


def own_pumps(capacity: float, checks: bool = True) -> Board:
    """Two pumps with a check valve each on one boiler, joined without loss."""
    board = Board()
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at")
    board.pipe("J-2:at", "B-1:in")
    for name in ("1", "2"):
        board.item(f"SW-{name}", "switch", on=True)
        board.pump(f"P-{name}", 60e3, 1e-3, run_when=f"SW-{name}", integral_check=checks)
        board.item(f"RA-{name}", "radiator", ua="2000 W/K")
        board.pipe("J-1:at", f"P-{name}:in")
        board.pipe(f"P-{name}:out", f"RA-{name}:in", k=k_for(30e3 / FLOW**2))
        board.pipe(f"RA-{name}:out", "J-2:at")
    board.case("both", signals={"SW-1": True, "SW-2": True})
    return board


def test_a_check_held_shut_by_a_stronger_pump():
    """Two pumps side by side feed one common resistance; the weak one's check is shut by the strong one."""
    board = Board()
    board.item("B-1", "boiler", capacity="400 kW", set_temperature="60 degC")
    board.resistance("S-1", 1e-3, 50e3)
    for name, head in (("1", 20e3), ("2", 90e3)):
        board.item(f"SW-{name}", "switch", on=True)
        board.pump(f"P-{name}", head, 3e-3, run_when=f"SW-{name}")
        board.item(f"CV-{name}", "check_valve")
        board.item(f"RA-{name}", "radiator", ua="500 W/K")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("J-2", "S-1", "B-1", "J-1")
    for name in ("1", "2"):
        board.chain("J-1", f"P-{name}", f"CV-{name}", f"RA-{name}", "J-2")
    board.case("both", signals={"SW-1": True, "SW-2": True})
    row = rows(board)["RA-1", "SW-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("check_shut", ("CV-1", "P-2"))
    assert (cause.share_w, cause.low_w, cause.high_w) == (row.lost_w,) * 3
    assert row.got_w == 0.0


def test_flow_through_a_circulator_that_is_off():
    """The second pump is off and lets water back: its row is what shutting its way would bring."""
    board = own_pumps(400e3, checks=False)
    board.pipes[0]["k"] = k_for(30e3 / FLOW**2)  # the boiler resists, so that water turns back past P-2
    board.cases[0]["signals"] = {"SW-1": True, "SW-2": False}
    found = rows(board)
    row = found["RA-1", "P-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("through_off_pump", ("P-2",))
    assert cause.share_w == row.lost_w
    shut = own_pumps(400e3, checks=True)
    shut.pipes[0]["k"] = k_for(30e3 / FLOW**2)
    shut.cases[0]["signals"] = {"SW-1": True, "SW-2": False}
    with_check = shut.solve().items["RA-1"]["delivered_w"]
    assert row.lost_w == pytest.approx(with_check - row.got_w, rel=1e-3, abs=1.0)


def test_a_stopped_pump_on_the_way_does_not_keep_a_cause_from_being_found():
    """Water also turns back past P-3, which is off: what RA-1 loses to SW-2 is told in full all the same."""
    board = Board()
    board.item("B-1", "boiler", capacity="400 kW", set_temperature="60 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at", k=k_for(30e3 / FLOW**2))
    board.pipe("J-2:at", "B-1:in")
    for name in "123":
        board.item(f"SW-{name}", "switch", on=True)
        board.pump(f"P-{name}", 60e3, 1e-3, run_when=f"SW-{name}", integral_check=name == "2")
        board.item(f"RA-{name}", "radiator", ua="2000 W/K")
        board.pipe("J-1:at", f"P-{name}:in")
        board.pipe(f"P-{name}:out", f"RA-{name}:in", k=k_for(30e3 / FLOW**2))
        board.pipe(f"RA-{name}:out", "J-2:at")
    board.case("two", signals={"SW-1": True, "SW-2": True, "SW-3": False})
    row = rows(board)["RA-1", "SW-2"]
    assert row.causes[0].kind == "shared_head"
    assert abs(row.left_w) < 0.01 * row.got_w


def small_exchanger() -> Board:
    """Two zones with pumps of their own on the far side of a small exchanger."""
    board = Board()
    board.item("B-1", "boiler", capacity="400 kW", set_temperature="60 degC")
    board.drive("P-0", "S-0")
    board.item("HX-1", "exchanger", ua="1500 W/K")
    board.ring("P-0", "S-0", "B-1", "HX-1:a_in>a_out")
    board.body("far")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("HX-1:b_out", "J-1:at")
    board.pipe("J-2:at", "HX-1:b_in")
    for name in ("1", "2"):
        board.item(f"SW-{name}", "switch", on=True)
        board.pump(f"P-{name}", 60e3, 1e-3, run_when=f"SW-{name}", integral_check=True)
        board.item(f"RA-{name}", "radiator", ua="1000 W/K")
        board.pipe("J-1:at", f"P-{name}:in")
        board.pipe(f"P-{name}:out", f"RA-{name}:in", k=k_for(30e3 / FLOW**2))
        board.pipe(f"RA-{name}:out", "J-2:at")
    return board.case("both", signals={"SW-1": True, "SW-2": True})


def test_colder_supply_past_an_exchanger():
    """A second zone on the far side takes more water through a small exchanger: both get it colder."""
    row = rows(small_exchanger())["RA-1", "SW-2"]
    (cause,) = row.causes
    assert cause.kind == "colder_supply"
    assert cause.at == ("HX-1",)
    assert cause.share_w == pytest.approx(row.lost_w, rel=1e-9)
    assert row.lost_w > 0.05 * row.got_w
    assert abs(row.lost_m3_s) < 1e-9


def test_a_mixing_valve_at_its_end_names_the_loss():
    """A floor behind a valve set at 40 degC; a second load takes the boiler's heat and its water cools."""
    board = Board()
    board.item("B-1", "boiler", capacity="30 kW", set_temperature="60 degC")
    board.item("MV-1", "mixing_valve", cv=20, set_temperature="40 degC")
    board.item("SW-1", "switch", on=True)
    board.item("SW-2", "switch", on=True)
    board.pump("P-1", 60e3, 1e-3, run_when="SW-1")
    board.pump("P-2", 60e3, 1e-3, run_when="SW-2", integral_check=True)
    board.resistance("S-1", FLOW, 30e3)
    board.resistance("S-2", FLOW, 30e3)
    board.item("FC-1", "floor_circuit", output_per_degree="1200 W/K")
    board.item("RA-2", "radiator", ua="3000 W/K")
    for name in ("J-1", "J-2", "J-3"):
        board.item(name, "joint")
    board.pipe("B-1:out", "J-1:at")
    board.pipe("J-1:at", "MV-1:hot")
    board.chain("MV-1:mixed", "P-1", "S-1", "FC-1", "J-2")
    board.pipe("J-2:at", "MV-1:cold")
    board.pipe("J-2:at", "J-3:at")
    board.chain("J-1", "P-2", "S-2", "RA-2", "J-3")
    board.pipe("J-3:at", "B-1:in")
    board.case("both", signals={"SW-1": True, "SW-2": True})
    row = rows(board)["FC-1", "SW-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("valve_end", ("MV-1", "B-1"))
    assert cause.share_w == row.lost_w
    assert row.lost_w > 0.0


def test_two_causes_add_up_and_show_their_spread():
    """Shared head and a source at its limit together: the mean lies between the orders."""
    row = rows(two_zones(capacity=42e3))["RA-1", "SW-2"]
    assert [cause.kind for cause in row.causes][:2] == ["shared_head", "source_limit"]
    assert sum(cause.share_w for cause in row.causes) == pytest.approx(row.lost_w, rel=1e-6)
    for cause in row.causes:
        assert cause.low_w < cause.share_w < cause.high_w


def test_loads_cut_by_a_heat_pump_at_its_limit():
    """Loads of a fixed size are cut and the pump keeps its set point: nothing comes colder."""
    board = two_zones()
    table = [[f"{out} degC", f"{supply} degC", "30 kW", "10 kW"] for out in (-10, 10) for supply in (35, 60)]
    board.items["B-1"] |= {"kind": "heat_pump", "props": {"table": table, "set_temperature": "60 degC"}}
    for name in ("RA-1", "RA-2"):
        board.items[name] |= {"kind": "load", "props": {"load": "20 kW"}}
    row = rows(board)["RA-1", "SW-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("source_limit", ("B-1",))
    assert cause.share_w == pytest.approx(5e3, rel=1e-3)  # 20 kW alone, half of 30 kW together


def exchanger_before(head: float) -> Board:
    """A floor behind an exchanger whose weak pump's check a strong one may hold shut."""
    board = Board()
    board.item("B-1", "boiler", capacity="400 kW", set_temperature="60 degC")
    board.resistance("S-1", 1e-3, 50e3)
    board.item("SW-2", "switch", on=True)
    board.pump("P-1", 20e3, 3e-3)
    board.pump("P-2", head, 3e-3, run_when="SW-2")
    board.item("CV-1", "check_valve")
    board.item("CV-2", "check_valve")
    board.item("HX-1", "exchanger", ua="3000 W/K")
    board.item("RA-2", "radiator", ua="500 W/K")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("J-2", "S-1", "B-1", "J-1")
    board.chain("J-1", "P-1", "CV-1", "HX-1:a_in>a_out", "J-2")
    board.chain("J-1", "P-2", "CV-2", "RA-2", "J-2")
    board.body("far")
    board.drive("P-3", "S-3")
    board.item("FC-1", "floor_circuit", output_per_degree="800 W/K")
    board.ring("P-3", "S-3", "HX-1:b_in>b_out", "FC-1")
    return board.case("both", signals={"SW-2": True})


def test_a_check_held_shut_before_the_exchanger_that_heats_a_circuit():
    row = rows(exchanger_before(90e3))["FC-1", "SW-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("check_shut", ("CV-1", "P-2"))
    assert cause.share_w == row.lost_w > 10e3


def test_a_pump_told_to_wait_is_not_held_shut():
    board = own_pumps(400e3)
    board.items["P-1"]["props"]["run_when"] = {"all": ["SW-1", {"not": "SW-2"}]}
    row = rows(board)["RA-1", "SW-2"]
    assert row.lost_w > 0.0
    assert row.causes == ()
    assert "P-1 stands still while SW-2 calls" in row.text


def test_water_that_another_circuit_has_cooled_names_it():
    """One pipe passes both: what RA-2 took from the water reaches RA-1 colder."""
    board = Board()
    board.item("B-1", "boiler", capacity="400 kW", set_temperature="60 degC")
    board.drive()
    board.item("SW-2", "switch", on=True)
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("RA-1", "radiator", ua="800 W/K")
    board.item("RA-2", "radiator", ua="1500 W/K")
    board.pump("P-2", 20e3, 0.6e-3, run_when="SW-2", integral_check=True)
    board.ring("P-1", "S-1", "B-1", "J-1", "J-2", "RA-1")
    board.chain("J-1", "P-2", "RA-2")
    board.pipe("RA-2:out", "J-2:at", k=k_for(15e3 / 0.3e-3**2))
    row = rows(board.case("both", signals={"SW-2": True}))["RA-1", "SW-2"]
    (cause,) = row.causes
    assert (cause.kind, cause.at) == ("colder_supply", ("RA-2",))


def test_the_stat_of_a_tank_calls_and_its_charge_is_robbed_by_the_source():
    board = own_pumps(60e3)
    del board.items["RA-2"], board.items["SW-2"]
    taps = {"hot": "1.4 m", "cold": "0.1 m"}
    coil = {"coil_ua": "2000 W/K", "coil_heights": {"coil_in": "0.8 m", "coil_out": "0.2 m"}}
    board.item("T-1", "coil_tank", volume="300 L", tall="1.5 m", taps=taps, sensors={"s": "0.7 m"}, **coil)
    board.item("AQ-1", "aquastat", senses=["T-1", "s"], set_temperature="55 degC", differential="5 K")
    board.items["P-2"]["props"]["run_when"] = "AQ-1"
    for pipe in board.pipes:
        for end in ("from", "to"):
            if pipe[end][0] == "RA-2":
                pipe[end] = ["T-1", f"coil_{pipe[end][1]}"]
    board.cases[0] |= {"signals": {"SW-1": True, "AQ-1": True}, "tanks": {"T-1": "45 degC"}}
    found = rows(board)
    assert set(found) == {("T-1", "SW-1"), ("RA-1", "AQ-1")}
    # Together 60 kW for (T - 20) of the radiator and (T - 45) of the coil at equal flow and UA.
    effect = -math.expm1(-2000.0 / RATE) * RATE
    supply = 0.5 * (60e3 / effect + 65.0)
    alone = effect * 15.0
    row = found["T-1", "SW-1"]
    assert row.lost_w == pytest.approx(alone - effect * (supply - 45.0), rel=2e-3)
    assert [cause.kind for cause in row.causes] == ["source_limit"]


def test_a_case_that_lasts_is_asked_at_its_end():
    board = two_zones(capacity=42e3)
    for name in ("1", "2"):
        board.item(f"R-{name}", "room", loss="1000 W/K", wanted="20 degC", mass="5 MJ/K")
        board.items[f"RA-{name}"]["props"]["serves"] = f"R-{name}"
    board.cases = [{"name": "dawn", "signals": {"SW-1": True, "SW-2": True}, "lasts": "20 min"}]
    board.cases[0]["start"] = {"R-1": "15 degC"}
    row = rows(board)["RA-1", "SW-2"]
    board.cases[0]["signals"] = {"SW-1": True, "SW-2": False}
    off = board.solve().items["RA-1"]["delivered_w"]
    assert row.lost_w == pytest.approx(off - row.got_w, rel=1e-6)
    assert {cause.kind for cause in row.causes} <= {"shared_head", "source_limit"}


def test_a_limited_source_and_a_small_exchanger_by_hand():
    """Removing one cause alone: no limit in both states, or the exchanger's gap as with the call off."""
    board = small_exchanger()
    board.items["B-1"]["props"]["capacity"] = "25 kW"
    row = rows(board)["RA-1", "SW-2"]
    share = {cause.kind: cause for cause in row.causes}
    assert set(share) == {"source_limit", "colder_supply"}
    # With no limit the loss is that of the exchanger alone.
    free = rows(small_exchanger())["RA-1", "SW-2"]
    assert share["source_limit"].high_w == pytest.approx(row.lost_w - free.lost_w, rel=1e-3)
    # With the gap as alone, the boiler has no need of more than it can give: nothing is lost.
    assert share["colder_supply"].high_w == pytest.approx(row.lost_w, rel=2e-3)
    assert share["source_limit"].low_w == pytest.approx(0.0, abs=20.0)


def test_shares_are_the_mean_over_all_orders():
    whole = {frozenset(s): float(v) for s, v in (("", 20), ("a", 13), ("b", 15), ("c", 20), ("ab", 4),
             ("ac", 11), ("bc", 15), ("abc", 1))}  # fmt: skip
    found = shares(["a", "b", "c"], lambda gone: (whole[gone],))
    for name in "abc":
        steps = []
        for order in permutations("abc"):
            before = frozenset(order[: order.index(name)])
            steps.append(whole[before] - whole[before | {name}])
        assert found[name].mean[0] == pytest.approx(sum(steps) / 6.0)
        assert (found[name].low[0], found[name].high[0]) == (min(steps), max(steps))
    assert sum(share.mean[0] for share in found.values()) == pytest.approx(20.0 - 1.0)


def test_the_sample_and_the_command(capsys):
    path = str(file_of("two_heater_clinic"))
    found = why(load(path), "RA-1", "Design night")
    assert {cause.kind for row in found.rows for cause in row.causes} >= {"shared_head", "colder_supply"}
    assert commands.main(["why", path, "RA-1", "--case", "Design night", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["circuits"]
    assert {"at", "case", "call", "lost_w", "lost_m3_s", "causes"} <= set(told[0])
    with pytest.raises(Exception, match="expected one of"):
        commands.main(["why", path, "P-1"])


def three_calls() -> dict[str, Any]:
    """Three floors with a call and a circulator each, on a boiler too small for them and a common pipe that
    loses head, in US units."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kBtu/h", set_temperature="150 degF")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at", "L-s", length="10 ft", k=k_for(15e3 / 0.5e-3**2))
    board.pipe("J-2:at", "B-1:in", "L-r", length="10 ft")
    for n, ua, head in (("1", 400, 60e3), ("2", 300, 80e3), ("3", 250, 50e3)):
        board.item(f"SW-{n}", "switch", on=True, call=True)
        board.pump(f"P-{n}", head, 1e-3, run_when=f"SW-{n}", integral_check=True)
        board.item(f"FC-{n}", "floor_circuit", output_per_degree=f"{ua} W/K", load="30 kBtu/h")
        board.pipe("J-1:at", f"P-{n}:in", length="3 ft")
        board.pipe(f"P-{n}:out", f"FC-{n}:in", f"Z-{n}", length="3 ft", k=k_for(20e3 / 0.3e-3**2))
        board.pipe(f"FC-{n}:out", "J-2:at", length="3 ft")
    board.case("all", signals={"SW-1": True, "SW-2": True, "SW-3": True})
    return {**board.data(), "units": "us"}


def by_hand(at: str, call: str = "", boundless: bool = False, flow: float = 0.0) -> tuple[float, float]:
    """Heat and flow of a floor with a call off, a boiler without limit, or its own circulator made strong and
    held to a flow: all by editing the file."""
    data = three_calls()
    parts = {part["id"]: part for part in (*data["items"], *data["pipes"])}
    if call:
        data["cases"][0]["signals"][call] = False
    if boundless:
        parts["B-1"]["props"]["capacity"] = "1000 kBtu/h"
    if flow:
        n = at[-1]
        parts[f"P-{n}"]["props"]["curve"] = [["0 m3/s", "300 m_head"], ["1 m3/s", "299 m_head"]]
        data["items"].append(
            {
                "id": "BV-9",
                "kind": "balance_valve",
                "at": [0, 0],
                "props": {"cv": 1000, "set_flow": f"{flow} m3/s"},
            }
        )
        old = parts[f"Z-{n}"]
        data["pipes"].append({**old, "id": "Z-9", "from": ["BV-9", "b"], "k": 0.0, "length": "0 ft"})
        old["to"] = ["BV-9", "a"]
    plant = from_data(data)
    solved = solve_case(plant, plant.solve_cases[0])
    assert solved.converged
    return float(solved.value(at, "delivered_w") or 0.0), abs(solved.flow(at))


@pytest.mark.parametrize(("at", "call"), [("FC-1", "SW-2"), ("FC-3", "SW-1")])
def test_causes_of_three_calls_are_those_of_the_file_edited_by_hand_and_add_up(at: str, call: str):
    row = next(r for r in why(from_data(three_calls()), at).rows if r.call == call)
    off, flow = by_hand(at, call)
    whole = off - by_hand(at)[0]
    assert row.lost_w == pytest.approx(whole, abs=0.5)
    free_off, free_flow = by_hand(at, call, boundless=True)
    without_limit = free_off - by_hand(at, boundless=True)[0]
    without_head = off - by_hand(at, flow=flow)[0]
    with_neither = free_off - by_hand(at, boundless=True, flow=free_flow)[0]
    limit = 0.5 * (whole - without_limit + without_head - with_neither)
    head = 0.5 * (whole - without_head + without_limit - with_neither)
    shares = {cause.kind: cause.share_w for cause in row.causes}
    assert shares.keys() == {"source_limit", "shared_head"}
    assert shares["source_limit"] == pytest.approx(limit, abs=0.005 * whole)
    assert shares["shared_head"] == pytest.approx(head, abs=0.005 * whole)
    assert sum(shares.values()) == pytest.approx(whole, rel=1e-6)
