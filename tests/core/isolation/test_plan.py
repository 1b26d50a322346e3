"""Shut-off plans: what is closed, drained and switched off, and that the solver then finds no flow."""

import json
import os
from dataclasses import replace

import pytest

from core.commands import main
from core.files import read
from core.isolation.flushing import flushings
from core.isolation.plan import COOL, RINSE, TREATED, shut_off
from core.plant import edits
from core.plant.changes import apply
from core.plant.model import System
from core.solve import solve_case
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.ways import water_graph
from tests.core.water.test_shut_off import BOILER_AND_TWO_RADIATORS, plant_of
from tests.plants.edits import SAMPLES, file_of

SHEETS = sorted(SAMPLES.glob("*.plant.json"))


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name.split(".")[0])
def test_neither_flow_nor_a_way_for_pressure_is_left_by_any_plan_there_is(path):
    plant = read.from_data(json.loads(path.read_text(encoding="utf-8")))
    graph = water_graph(plant)
    pipes = list(plant.pipes)[:: 1 if os.environ.get("WETSIDE_EVERY_PIPE") else 4]  # all take a minute
    targets = [key for key in (*plant.items, *pipes) if graph.places_of.get(key)]
    plans = [plan for key in targets if (plan := shut_off(plant, key, graph)).possible]
    assert plans
    together: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for plan in plans:
        together.setdefault((plan.close, plan.switch_off), []).append(plan.target)
    case = plant.solve_cases[0]
    for (close, off), taken in together.items():
        shut = {key: {"open": False} for key in close} | {key: {"run_when": False} for key in off}
        mains = [item.id for item in plant.with_trait(Trait.BRINGS_WATER) if item.id in taken]
        shut |= {key: {"pressure": "0 psi"} for key in mains}  # as the plan asks, ahead of it
        seen = {key: {**case.set.get(key, {}), **values} for key, values in shut.items()}
        solution = solve_case(plant, replace(case, set={**case.set, **seen}))
        hangs = hanging_together(plant, frozenset(close))
        for target in taken:
            for pipe in graph.pipes_at(frozenset(graph.places_of[target])):
                assert abs(solution.pipes[pipe.id].flow_m3_s) <= NO_FLOW, (target, pipe.id)
            own = {hangs[place] for place in hangs if place[0] == target}
            for item in plant.with_trait(*PRESSES):
                if item.id not in (target, *off):
                    wet = {hangs[place] for place in hangs if place[0] == item.id}
                    assert own.isdisjoint(wet) or item.has(Trait.EXPANDS), (target, item.id)


PRESSES = (Trait.BRINGS_WATER, Trait.DRIVES, Trait.MAKES_HEAT)


def hanging_together(plant, closed):
    """Ports and pipes by what they hang together with, walked anew: by ports and their names alone.

    Water passes from each port of an item to every other, but for the two sides of an exchanger, a coil and
    its tank, a valve that is shut, and a hose port.
    """
    group = {}

    def root(place):
        while group.setdefault(place, place) != place:
            place = group[place]
        return place

    def join(one, other):
        group[root(one)] = root(other)

    for item in plant.items.values():
        if not item.stays:
            continue
        sides: dict[str, list[str]] = {}
        for port in item.ports:
            parted = item.has(Trait.EXCHANGES_HEAT) or item.has(Trait.HAS_COIL)
            side = port.split("_")[0] if parted and port.split("_")[0] in ("a", "b", "coil") else ""
            if item.id in closed or (item.has(Trait.HAND_VALVE) and item.si.get("open") is False):
                side = port
            if item.has(Trait.HAND_VALVE) and port in ("hose", "drain"):
                side = port
            sides.setdefault(side, []).append(port)
            root((item.id, port))
        for ports in sides.values():
            for port in ports[1:]:
                join((item.id, ports[0]), (item.id, port))
    for pipe in plant.pipes.values():
        if pipe.stage != "to_remove":
            join(tuple(pipe.start), (pipe.id, ""))
            join(tuple(pipe.end), (pipe.id, ""))
    return {place: root(place) for place in list(group)}


def test_each_side_of_an_exchanger_has_its_pressure_let_go():
    plant = read.load(file_of("two_heater_clinic"))
    plan = shut_off(plant, "HX-1")
    at_once = [step for step in plan.steps if step.startswith("At once open")]
    assert [step.split()[3].rstrip(",") for step in at_once] == ["SV-7", "SV-12"]
    assert "Let air in at SV-8 and drain at SV-7 and SV-8." in plan.steps
    assert any(step.startswith("Drain at SV-12; nothing lets air in") for step in plan.steps)
    assert "rinse the drinking-water side" in plan.steps[-1]


def test_flushing_asks_for_hose_ports_that_look_towards_the_exchanger():
    plant = read.load(file_of("two_heater_clinic"))
    one, other = flushings(water_graph(plant), "HX-1")
    assert (one.close, one.hose_in, one.hose_out) == (("SV-7", "SV-8"), "SV-7", "SV-8")
    assert "SV-7" in one.steps[1]
    assert (other.lacking, other.steps) == (("b_out",), ())
    # that valve turned round: its hose port looks towards the exchanger
    turned = apply(plant, edits.turn_round(plant, "SV-11"))
    assert flushings(water_graph(turned), "HX-1")[1].lacking == ()


def test_the_water_main_itself_is_shut_ahead_of_the_plant():
    plant = read.load(file_of("two_heater_clinic"))
    assert any("at the meter" in step for step in shut_off(plant, "CM-1").steps)
    assert not any("at the meter" in step for step in shut_off(plant, "HX-1").steps)


def test_what_is_neither_exchanger_nor_heater_is_not_flushed():
    plant = read.load(file_of("two_heater_clinic"))
    assert flushings(water_graph(plant), "P-1") == []


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
