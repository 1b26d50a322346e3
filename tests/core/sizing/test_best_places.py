"""At most three places for a second circulator: against the plant really changed, and what is left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.files.read import load
from core.media.tubes import tube_of
from core.plant.changes import fitted
from core.sizing.second_circulator.best import best_places
from core.sizing.second_circulator.edit import put_in
from core.solve import Solver
from tests.plants.edits import file_of

SAMPLES = Path(__file__).parents[3] / "sample_plants"


def test_every_place_keeps_its_promise_in_the_plant_really_changed():
    plant = load(file_of("two_heater_clinic"))
    found = best_places(plant, plant.solve_cases[0], "L-128")
    assert 1 <= len(found.offers) <= 3
    case = next(case for case in plant.solve_cases if case.name == found.case)
    before = Solver(plant).solve(case)
    for offer in found.offers:
        edit = put_in(plant, offer.found.place, offer.found.spot, offer.found.pump)
        after = Solver(fitted(plant, edit.changes)).solve(case)
        assert after.converged
        assert offer.before == pytest.approx(abs(before.pipes["L-128"].flow_m3_s), rel=1e-9)
        assert offer.after == pytest.approx(abs(after.pipes["L-128"].flow_m3_s), rel=1e-9)


def test_nothing_is_put_on_a_recirculation_where_no_circuit_is_short():
    found = best_places(load(file_of("two_heater_clinic")))
    assert found.offers == ()
    assert found.none == "None, because no circuit is short of heat in any case."


def test_a_place_that_makes_a_tube_too_fast_is_left_out_and_the_limit_named():
    plant = load(SAMPLES / "orchard_packhouse.plant.json")
    found = best_places(plant)
    assert not any("L-26" in offer.found.title for offer in found.offers)
    assert any("L-26 would run too fast" in words for words in found.refused)
    assert tube_of(**plant.pipes["L-26"].tube).bore < 0.06  # the limit named is that of tubes up to 2 in
