"""Purging by loops: with the valves named shut, solved water moves in that loop alone."""

from dataclasses import replace

import pytest

from core.files.read import load
from core.papers.purging import purges
from core.plant.model import Case
from core.solve import solve_case
from core.vocabulary import Trait
from core.water.ways import water_graph
from tests.plants.edits import SAMPLES, file_of


@pytest.mark.parametrize("name", ["potting_shed", "orchard_packhouse", "bakery_loft"])
def test_with_its_valves_shut_only_that_loop_has_flow(name):
    plant = load(SAMPLES / f"{name}.plant.json")
    emitters = [item.id for item in plant.with_trait(Trait.GIVES_HEAT, Trait.HAS_COIL)]
    seen = set()
    for purge in purges(plant, water_graph(plant)):
        for loop in purge.loops:
            run = {
                item.id: {"run_when": True} for item in plant.with_trait(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
            }
            shut = {valve: {"out_of_service": True} for valve in loop.shut}
            case = Case("purge", set={**run, **shut})
            solution = solve_case(replace(plant, cases=(case,)), case)
            moved = {key for key in emitters if abs(_flow(solution, key)) > 1e-7}
            assert moved <= {*loop.at, *loop.together}
            assert not loop.together
            seen |= {*loop.at}
    assert seen == {key for key in emitters if plant.items[key].has(Trait.GIVES_HEAT, Trait.HAS_COIL)}


def _flow(solution, key):
    found = solution.items[key]
    return getattr(found, "coil_flow_m3_s", None) or found.flow or 0.0


def test_loops_that_no_valve_parts_are_purged_together():
    plant = load(file_of("two_heater_clinic"))
    (melt,) = [purge for purge in purges(plant, water_graph(plant)) if purge.system == "melt"]
    assert [set(loop.at) for loop in melt.loops] == [{"HX-2", "MC-1"}]
