"""The samples spoiled on purpose: each still settles, says what is wrong at its place, and shows the harm."""

from __future__ import annotations

from functools import cache

import pytest

from core.files import read
from core.plant import validity
from core.plant.model import Plant
from core.solve import Solution, solve_case
from tests.plants.edits import sample
from tests.plants.variants import SNOW, VARIANTS, Variant, direct_return


def case_solved(plant: Plant, case: str) -> Solution:
    return solve_case(plant, next(one for one in plant.cases if one.name == case))


@cache
def spoiled(name: str) -> Solution:
    variant = next(one for one in VARIANTS if one.name == name)
    return case_solved(read.from_data(variant.data()), variant.case)


@cache
def sound(name: str) -> Solution:
    variant = next(one for one in VARIANTS if one.name == name)
    return case_solved(read.from_data(sample(variant.of)), variant.case)


def flow(solution: Solution, item: str) -> float:
    return float(solution.items[item].flow_m3_s)


@pytest.mark.parametrize("variant", VARIANTS, ids=lambda variant: variant.name)
def test_is_read_and_settles(variant: Variant) -> None:
    assert validity.check(read.from_data(variant.data())) == []
    assert spoiled(variant.name).converged


@pytest.mark.parametrize("variant", [one for one in VARIANTS if one.words], ids=lambda variant: variant.name)
def test_says_what_is_wrong_at_its_place(variant: Variant) -> None:
    said = [(note.at, note.text) for note in spoiled(variant.name).notes]
    before = [(note.at, note.text) for note in sound(variant.name).notes]
    right = [at for at, text in said if variant.words in text and (not variant.noted or at in variant.noted)]
    assert right, said
    assert not [text for at, text in before if at in right and variant.words in text]


@pytest.mark.parametrize("name", ["shut valve", "reversed check valve", "dead pump", "shut header"])
def test_what_is_cut_off_gives_nothing(name: str) -> None:
    silent = {
        "shut valve": ("FC-1", "FC-2"),
        "reversed check valve": ("FC-1",),
        "dead pump": ("MC-1",),
        "shut header": ("FN-1", "FN-5", "LD-1"),
    }[name]
    for emitter in silent:
        assert sound(name).items[emitter].delivered_w > 1000.0
        assert spoiled(name).items[emitter].delivered_w == 0.0
        assert abs(flow(spoiled(name), emitter)) < 1e-9


def test_a_reversed_check_valve_leaves_its_neighbours_alone() -> None:
    for emitter in ("FC-2", "RA-1"):
        assert spoiled("reversed check valve").items[emitter].short_w == pytest.approx(0.0, abs=30.0)


def test_a_reversed_pump_turns_the_water_round() -> None:
    assert flow(sound("reversed pump"), "B-1") > 0
    assert flow(spoiled("reversed pump"), "B-1") == pytest.approx(
        -flow(sound("reversed pump"), "B-1"), rel=0.05
    )


def test_undersized_pipe_is_fast_and_starves_the_floor() -> None:
    def fastest(solution: Solution) -> float:
        return float(max(abs(pipe.velocity_m_s) for pipe in solution.pipes.values()))

    assert fastest(spoiled("undersized pipe")) > 1.25 * fastest(sound("undersized pipe"))
    assert flow(spoiled("undersized pipe"), "P-1") < 0.95 * flow(sound("undersized pipe"), "P-1")


def test_without_reference_only_the_pressures_change() -> None:
    one, two = sound("no expansion tank"), spoiled("no expansion tank")
    assert flow(two, "P-6") == pytest.approx(flow(one, "P-6"), rel=1e-4)
    assert two.items["MC-1"].delivered_w == pytest.approx(one.items["MC-1"].delivered_w, rel=1e-4)


def test_parallel_flow_passes_less_heat() -> None:
    one, two = sound("parallel-flow exchanger"), spoiled("parallel-flow exchanger")
    assert two.items["HX-1"].effectiveness < one.items["HX-1"].effectiveness - 0.03
    assert two.items["HX-1"].duty_w < one.items["HX-1"].duty_w


def test_a_missing_check_lets_water_run_backward_through_the_resting_pump() -> None:
    assert flow(sound("missing check"), "P-3") == pytest.approx(0.0, abs=1e-9)
    assert flow(spoiled("missing check"), "P-3") < -1e-5


def test_starved_heaters_give_their_capacity_and_all_go_short() -> None:
    items = spoiled("starved heaters").items
    assert items["H-1"].duty_w == pytest.approx(64_000 * 0.29307107, rel=1e-3)
    assert items["H-2"].duty_w == items["H-3"].duty_w == 0.0
    assert all(items[name].short_w > 500.0 for name in ("MC-1", "FC-1", "FC-2", "RA-1"))


def test_a_boiler_without_its_pump_stays_cold_and_its_check_holds() -> None:
    items = spoiled("boiler without pump").items
    assert items["B-2"].duty_w == 0.0
    assert abs(flow(spoiled("boiler without pump"), "CV-2")) < 1e-9
    assert items["B-1"].duty_w == pytest.approx(36_000.0, rel=1e-3)


def test_a_shut_main_dries_the_taps() -> None:
    solution = spoiled("cold main shut")
    assert flow(solution, "F-1") == pytest.approx(0.0, abs=1e-9)
    assert flow(solution, "F-3") == pytest.approx(0.0, abs=1e-9)
    floor = sound("cold main shut").items["FC-1"].delivered_w
    assert solution.items["FC-1"].delivered_w == pytest.approx(floor, rel=1e-4)


def shares(data: dict[str, object]) -> list[float]:
    solution = case_solved(read.from_data(data), SNOW)
    return [flow(solution, f"H-{n}") for n in (1, 2, 3)]


def test_direct_return_favours_the_near_heater_until_balanced() -> None:
    reverse, direct, balanced = (
        shares(sample("two_heater_clinic")),
        shares(direct_return(False)),
        shares(direct_return(True)),
    )
    assert direct[2] > direct[1] > direct[0]
    assert max(reverse) / min(reverse) < 1.01 < 1.03 < max(direct) / min(direct)
    assert max(balanced) / min(balanced) < 1.005
