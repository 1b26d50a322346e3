"""Spare: what is left in heaters, exchangers, pumps and pipes, against balances worked out by hand."""

from __future__ import annotations

import json
import math

import pytest
from scipy.optimize import brentq

from core import commands
from core.files.read import from_data
from core.questions.spare import Spare, spare
from tests.support.builders import CP, RHO, Board, k_for

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * RHO * CP  # [W/K]


def answer(board: Board, at: str) -> Spare:
    (found,) = spare(from_data(board.data()), at)
    return found


def plain(load: float = 6e3) -> Board:
    """A boiler of 10 kW at 60 degC and one plain load."""
    board = Board()
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="60 degC")
    board.drive()
    board.item("LD-1", "load", load=f"{load} W")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    return board


def test_a_boiler_has_left_what_its_loads_leave_and_gives_out_itself():
    found = answer(plain(), "B-1")
    # Loads are cut alike once it is at its limit: 10 kW / (6 kW + W) = 0.99.
    assert found.spare == pytest.approx(10e3 / 0.99 - 6e3, rel=5e-3)
    assert found.first_limit == "B-1"
    assert found.as_data()["spare_w"] == found.spare


def test_nothing_is_spare_where_somebody_is_short_already():
    found = answer(plain(12e3), "B-1")
    assert (found.spare, found.first_limit) == (0.0, "LD-1")
    assert found.beside is not None


def test_behind_a_radiator_that_needs_its_heat_the_water_may_cool_little():
    """The radiator needs 99 % of what it gets now: the load after the boiler may cool its water by that."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="60 degC")
    board.drive()
    given = RATE * -math.expm1(-500.0 / RATE) * (60.0 - 20.0)
    board.item("FC-1", "floor_circuit", output_per_degree="500 W/K", load=f"{given} W")
    board.ring("P-1", "S-1", "B-1", "FC-1")
    found = answer(board, "B-1")
    assert found.spare == pytest.approx(0.01 * 40.0 * RATE, rel=0.01)
    assert found.first_limit == "FC-1"


def pumped(part: str) -> tuple[Spare, float]:
    """A floor that needs what it gets: the flow that may be added beside it through the pump, or a pipe."""
    board = Board()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    board.pump("P-1", 60e3, 1e-3)
    resistance = 30e3 / FLOW**2
    board.item("FC-1", "floor_circuit", output_per_degree="2000 W/K", load="1 W")
    board.pipe("P-1:out", "B-1:in", "L-pump", k=k_for(0.25 * resistance))
    board.pipe("B-1:out", "FC-1:in", "L-floor", k=k_for(0.75 * resistance))
    board.pipe("FC-1:out", "P-1:in", "L-back")

    def heat(q: float) -> float:
        rate = q * RHO * CP
        return rate * -math.expm1(-2000.0 / rate) * 40.0

    board.items["FC-1"]["props"]["load"] = f"{heat(FLOW)} W"
    least = brentq(lambda q: heat(q) - 0.99 * heat(FLOW), 0.5 * FLOW, FLOW)
    if part == "P-1":  # its head is what the circuit needs: 60 kPa (1 - Q / 1 L/s) = R q^2
        whole = 1e-3 * (1.0 - resistance * least**2 / 60e3)
    else:  # the pipe loses more, the pump pushes the circuit's flow alone
        head = 60e3 * (1.0 - least / 1e-3) - 0.75 * resistance * least**2
        whole = math.sqrt(head / (0.25 * resistance))
    return answer(board, part), whole - least


@pytest.mark.parametrize("part", ["P-1", "L-pump"])
def test_flow_added_in_parallel_until_the_floor_lacks_a_hundredth(part: str):
    found, by_hand = pumped(part)
    assert found.spare == pytest.approx(by_hand, rel=0.01)
    assert found.first_limit == "FC-1"
    assert found.as_data()["spare_m3_s"] == found.spare


def test_an_exchanger_is_asked_on_its_warmed_side():
    board = Board()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.drive()
    board.item("HX-1", "exchanger", ua="4000 W/K")
    board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out")
    board.body("far")
    board.drive("P-2", "S-2")
    board.item("LD-1", "load", load="10 kW", least_return="30 degC")
    board.ring("P-2", "S-2", "HX-1:b_in>b_out", "LD-1")
    found = answer(board, "HX-1")
    # Equal flows: duty = eps C (60 - t_b), eps = NTU / (1 + NTU). At the limit the load, at least 30 degC on
    # its return, takes all that is left: both loads together, the first one taken whole.
    eps = (4000.0 / RATE) / (1.0 + 4000.0 / RATE)
    most = eps * RATE * (60.0 - 30.0)
    assert found.spare == pytest.approx(most - 0.99 * 10e3, rel=0.01)
    assert found.as_data()["spare_w"] > 0.0


def test_an_expansion_tank_holds_by_boyle_and_no_more_than_it_accepts():
    board = Board({"kind": "water"})
    board.body("loop", {"kind": "water"}, fill_pressure="100 kPa")
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="80 degC", water_content="5 L")
    board.drive()
    board.item("LD-1", "load", load="6 kW")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("ET-1", "expansion_tank", volume="30 L", precharge="100 kPa")
    board.item("RV-1", "relief_valve", set_pressure="300 kPa", capacity="60 kW")
    board.ring("P-1", "S-1", "B-1", "J-1", "LD-1", "J-2", length=10.0)
    board.pipe("J-2:at", "ET-1:at")
    board.pipe("J-1:at", "RV-1:at")
    wide = answer(board, "ET-1")
    board.items["ET-1"]["props"]["acceptance"] = "4 L"
    assert wide.spare > 0.0
    narrow = answer(board, "ET-1")
    swells = 4e-3 - narrow.spare
    assert 0.0 < swells < 4e-3
    # 0.9 of 300 kPa at the valve, the valve's pressure above the tank's taken off; P_1 is the precharge.
    assert wide.spare + swells == pytest.approx(30e-3 * (1.0 - 201.3 / (270.0 + 101.3)), rel=0.15)


def test_the_command_and_an_id_that_cannot_be_asked(tmp_path, capsys):
    path = tmp_path / "one.plant.json"
    path.write_text(json.dumps(plain().data()))
    assert commands.main(["spare", str(path), "B-1", "--json"]) == 0
    (part,) = json.loads(capsys.readouterr().out)["parts"]
    assert part["at"] == "B-1"
    assert part["first_limit"] == "B-1"
    assert commands.main(["spare", str(path)]) == 0
    assert "kW left" in capsys.readouterr().out
    with pytest.raises(Exception, match="expected one of"):
        commands.main(["spare", str(path), "LD-1"])


@pytest.mark.parametrize(("share", "holds"), [(0.99, True), (1.01, False)])
def test_put_in_by_hand_a_little_less_leaves_nobody_short_and_a_little_more_does(share: float, holds: bool):
    """A floor behind a load: by hand another load between the boiler and its pipe."""
    board = Board()
    board.item("B-1", "boiler", capacity="30 kW", set_temperature="60 degC")
    board.drive()
    board.item("FC-1", "floor_circuit", output_per_degree="400 W/K", load="12 kW")
    board.item("LD-1", "load", load="5 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1", "FC-1")
    found = answer(board, "B-1")
    first = next(pipe for pipe in board.pipes if pipe["from"] == ["B-1", "out"])
    board.item("LD-9", "load", load=f"{share * found.spare} W")
    old, first["to"] = first["to"], ["LD-9", "in"]
    board.pipe("LD-9:out", ":".join(old))
    solved = board.solve()
    assert solved.converged
    taking = [solved.items[key] for key in ("FC-1", "LD-1", "LD-9")]
    assert (max(one["short_w"] / one["wanted_w"] for one in taking) <= 0.01) == holds


def test_where_nothing_flows_the_command_says_so_and_that_is_no_fault(tmp_path, capsys):
    board = plain()
    board.items["P-1"]["props"]["run_when"] = False
    path = tmp_path / "one.plant.json"
    path.write_text(json.dumps(board.data()))
    assert commands.main(["spare", str(path)]) == 0
    assert "nothing can be said" in capsys.readouterr().out
