"""Shut-off plans: what is closed, drained and switched off, and that the solver then finds no flow."""

import json
from dataclasses import replace

import pytest

from core.commands import main
from core.files import read
from core.isolation.plan import COOL, RINSE, TREATED, shut_off
from core.plant.model import System
from core.solve import solve_case
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.ways import water_graph
from tests.core.water.test_shut_off import BOILER_AND_TWO_RADIATORS, plant_of
from tests.plants.edits import SAMPLES

SHEETS = sorted(SAMPLES.glob("*.plant.json"))


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name.split(".")[0])
def test_no_water_moves_in_what_the_solver_sees_shut_off(path):
    plant = read.from_data(json.loads(path.read_text(encoding="utf-8")))
    graph = water_graph(plant)
    served = plant.with_trait(Trait.NEEDS_ISOLATION, Trait.GIVES_HEAT)
    plans = [shut_off(plant, item.id, graph) for item in served]
    plans = [plan for plan in plans if plan.possible]
    case = plant.solve_cases[0]
    for plan in plans[:6]:
        shut = {key: {"open": False} for key in plan.close} | {
            key: {"run_when": False} for key in plan.switch_off
        }
        seen = {key: {**case.set.get(key, {}), **values} for key, values in shut.items()}
        solution = solve_case(plant, replace(case, set={**case.set, **seen}))
        for pipe in graph.pipes_at(frozenset(graph.places_of[plan.target])):
            assert abs(solution.pipes[pipe.id].flow_m3_s) <= NO_FLOW, (plan.target, pipe.id)


def test_a_boiler_is_drained_at_its_lowest_place_and_vented_at_its_highest():
    kinds = [
        *(("B", "boiler"), ("V", "service_valve"), ("W", "shutoff"), ("P", "circulator"), ("A", "radiator")),
        *(("J", "joint"), ("D", "drain"), ("K", "joint"), ("AV", "air_vent"), ("RV", "relief_valve")),
        ("ET", "expansion_tank"),
    ]
    lines = [
        *("B.out > K", "K > AV", "K > RV", "K > V.a", "V.b > P.in", "P.out > A.in", "A.out > W.a"),
        *("W.b > J", "J > D", "J > B.in", "J > ET"),
    ]
    heights = {"D": {"height": "1 ft"}, "V": {"height": "6 ft"}, "AV": {"height": "8 ft"}}
    plan = shut_off(plant_of(kinds, lines, heights), "B")
    assert plan.close == ("V", "W")
    assert plan.drain == ("D", "V")  # the hose port of V hangs on its a side, within the section
    assert plan.vent == ("AV", "V")
    assert plan.switch_off == ("B", "P")
    assert plan.steps[0].startswith("Lock out fuel and electricity of B and P")
    assert COOL in plan.steps[1]
    assert plan.steps[3].startswith("At once open D")
    assert any("Drained with it: RV" in step for step in plan.steps)


def test_an_electric_element_is_locked_out_before_its_tank_is_drained():
    kinds = [("T", "tank"), ("CM", "cold_main"), ("V", "shutoff"), ("D", "drain"), ("J", "joint")]
    lines = ["CM > V.a", "V.b > J", "J > D", "J > T.cold"]
    plan = shut_off(plant_of(kinds, lines, {"T": {"element": "4.5 kW"}}), "T")
    assert plan.close == ("V",)
    assert plan.steps[0].startswith("Lock out fuel and electricity of T")
    assert plan.drain == ("D",)


def test_without_any_place_to_release_pressure_nobody_is_told_to_loosen_a_joint():
    plan = shut_off(plant_of(*BOILER_AND_TWO_RADIATORS), "A1")
    assert plan.drain == plan.vent == ()
    (step,) = (step for step in plan.steps if "release" in step)
    assert "do not loosen a joint" in step


def test_an_exchanger_side_shut_in_beside_heat_is_said():
    kinds = [
        *(("HX", "exchanger"), ("P", "circulator"), ("V", "shutoff"), ("W", "shutoff"), ("J", "joint")),
        *(("ET", "expansion_tank"), ("A", "radiator"), ("D", "drain"), ("K", "joint"), ("CM", "cold_main")),
        *(("M", "shutoff"),),
    ]
    # the expansion tank hangs on the target's side of the valves, so the exchanger is left without
    lines = [
        *("HX.b_out > K", "K > D", "K > V.a", "V.b > P.in", "P.out > J", "J > ET", "J > A.in", "A.out > W.a"),
        *("W.b > HX.b_in", "CM > M.a"),
    ]
    plan = shut_off(plant_of(kinds, lines), "A")
    assert plan.possible
    assert plan.close == ("V", "W")
    assert any("Stop what heats HX too" in step for step in plan.steps)
    assert "D" in plan.drain


def test_what_it_holds_is_said():
    plant = plant_of(*BOILER_AND_TWO_RADIATORS)
    assert RINSE not in shut_off(plant, "A1").cautions
    potable = replace(plant, systems={"s": System("s", "potable")})
    assert RINSE in shut_off(potable, "A1").cautions
    glycol = {"kind": "propylene_glycol", "fraction": 0.3}
    treated = replace(plant, systems={"s": System("s", "closed", glycol)})
    assert TREATED in shut_off(treated, "A1").cautions


def test_the_command_tells_the_plan_and_why_there_is_none(capsys):
    sheet = str(next(path for path in SHEETS if "bakery" in path.name))
    assert main(["shut-off", sheet, "B-1", "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert plan.keys() >= {"possible", "close", "drain", "vent", "switch_off", "also_dead", "missing"}
    assert plan["close"] == ["V-1", "V-2"]
    assert main(["shut-off", sheet, "P-1"]) == 1
    out = capsys.readouterr().out
    assert "P-1 cannot be shut off" in out
    assert "would make it possible" in out
    assert all(len(line) <= 110 for line in out.splitlines())
