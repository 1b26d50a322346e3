"""How many heaters: the published rule, a draw too great, and the samples with one heater fewer."""

from __future__ import annotations

import pytest

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.families.heaters import combinations_of, demands_of, size, units_needed
from core.solve import solve_case
from tests.reference.cases import expected, given
from tests.support.builders import BTU_H, GPM, Board, constant_fluid, f
from tests.support.sizes import SAMPLES, changed, context_of, number, one, recompute, sample, without

CP, MASS = 4186.8, 500 * BTU_H * 1.8 / 4186.8  # so that 1 gpm carries 500 Btu/h per degF
RULE = constant_fluid(MASS / GPM, 1e-3, CP)


def drawn(gpm: float, capacity: float, cold: float, hot: float) -> Context:
    board = Board(RULE, use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature=f(cold))
    board.item("H-1", "heater", capacity=f"{capacity} Btu/h", set_temperature=f(hot), min_output="15 kBtu/h")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "H-1:in")
    board.pipe("H-1:out", "F-1:hot")
    return Context(from_data(board.case(draws={"F-1": f"{gpm} gpm"}).data()))


@pytest.mark.parametrize(
    ("gpm", "cold", "hot", "capacity", "heat", "count"),
    [
        (given("H02")["gpm"], 60.0, 60.0 + given("H02")["dT"], 30_000.0, expected("H02")["Q"], 2),
        (expected("D10")["gpm"], 45.0, 120.0, given("D10")["Q"], given("D10")["Q"], 1),
        (given("D11")["gpm"], 45.0, 120.0, given("D11")["Q"], 225_000.0, 2),  # else 102 degF
        (given("H01")["Q"] / 20 / 500, 50.0, 70.0, 34_000.0, given("H01")["Q"], 3),
    ],
)
def test_published_draws(
    gpm: float, cold: float, hot: float, capacity: float, heat: float, count: int
) -> None:
    found = size(drawn(gpm, capacity, cold, hot))
    sized = one(found, "H-1", "heaters")
    assert sized.value == count
    assert sized.working is not None
    assert float(sized.working.inputs[0].value) / BTU_H == pytest.approx(heat, rel=2e-3)
    recompute(found)


def test_part_of_a_heater_is_a_whole_one() -> None:
    assert units_needed(number("Q", 5.0), number("P", 2.0)).value == pytest.approx(2.5)


def test_kennel_needs_its_three_and_two_are_short_where_it_is_said() -> None:
    context = context_of("two_heater_clinic")
    found = size(context)
    recompute(found)
    sized = one(found, "H-1", "heaters")
    assert sized.value == 3
    assert "3 are drawn" in sized.words
    two = next(option for option in sized.options if option.name == "2 heaters")
    assert not two.serves
    fewer = without(sample("two_heater_clinic"), "H-3")
    there = solve_case(fewer, context.case(sized.case))
    short = sum(there.items[name].short_w for name in ("H-1", "H-2"))
    assert short > 0.0
    given_now = sum(there.items[name].duty_w for name in ("H-1", "H-2"))
    assert given_now == pytest.approx(two.figures["capacity_w"], rel=0.02)
    mild = solve_case(fewer, context.case("Mild day"))
    assert sum(mild.items[name].short_w for name in ("H-1", "H-2")) < 1.0
    assert two.figures["short_h"] == pytest.approx(120.0)  # the hours of that one case


@pytest.mark.parametrize("name", SAMPLES)
def test_cases_and_combinations_both_count(name: str) -> None:
    context = context_of(name)
    found = size(context)
    recompute(found)
    assert 2 <= len(combinations_of(context)) <= 32
    for sized in found:
        assert not sized.missing or sized.what == "least_output"
    (answer,) = [each for each in found if each.what == "heaters"]
    assert answer.chosen == ""


def test_a_call_below_the_least_output_starts_and_stops() -> None:
    plant = changed(sample("potting_shed"), {"B-1": {"min_output": "8 kBtu/h"}})
    sized = one(size(Context(plant)), "B-1", "least_output")
    assert "starts and stops" in sized.words
    assert sized.working is not None
    assert float(sized.working.value) == pytest.approx(float(sized.value or 0) / (8000 * BTU_H), rel=1e-3)
    none = one(
        size(Context(changed(sample("potting_shed"), {"B-1": {"min_output": None}}))), "B-1", "least_output"
    )
    assert "no props.min_output is given, which counts as 0" in none.words
    assert not none.missing
    assert "follows it" in none.words


def test_a_tank_that_is_being_heated_asks_for_no_second_boiler() -> None:
    found = size(context_of("bakery_loft"))
    recompute(found)
    sized = one(found, "B-1", "heaters")
    assert sized.value == 1
    assert sized.chosen == ""
    assert "coincide" in sized.words


def test_what_a_second_source_in_the_same_water_makes_up_is_not_short() -> None:
    """In the design night the heater behind the heat pump brings the rest: asked is what both give."""
    context = context_of("orchard_packhouse")
    demands = {demand.name: demand for demand in demands_of(context, ("HP-1", "H-1"))}
    both = context.solution("Design night").duty("HP-1") + context.solution("Design night").duty("H-1")
    assert context.solution("Design night").items["HP-1"].short_w > 0.0
    assert demands["Design night"].heat == pytest.approx(both, rel=0.01)


def test_a_heat_pump_counts_with_what_it_gives_in_that_weather() -> None:
    context = context_of("orchard_packhouse")
    found = size(context)
    recompute(found)
    sized = one(found, "HP-1", "heaters")
    assert sized.value == 2
    alone = next(option for option in sized.options if option.name == "1 heater")
    assert not alone.serves
    cold = changed(sample("orchard_packhouse"), {"H-1": {"capacity": "1 W"}})
    there = solve_case(cold, context.case("Design night"))
    assert there.items["HP-1"].short_w > 0.0
    assert there.items["HP-1"].duty_w == pytest.approx(alone.figures["capacity_w"], rel=0.02)


def test_without_capacity_it_says_which() -> None:
    plant = changed(sample("potting_shed"), {"B-1": {"capacity": None, "min_output": None}})
    sized = one(size(Context(plant)), "B-1", "heaters")
    assert sized.value is None
    assert sized.missing == ("B-1: its capacity is not given",)


def boilers_and_loads(boilers: list[float], loads: list[float]) -> Context:
    """One circulator, boilers side by side and loads side by side, all in kilowatts."""
    board = Board({"kind": "water"})
    board.item(
        "P-1", "circulator", curve=[["0 m3/h", "5 m_head"], ["6 m3/h", "4 m_head"], ["12 m3/h", "0 m_head"]]
    )
    joints = [board.item(f"J-{n}", "joint") for n in range(3)]
    board.chain("P-1", joints[0])
    for n, capacity in enumerate(boilers):
        name = board.item(f"B-{n}", "boiler", capacity=f"{capacity} kW", set_temperature="65 degC")
        board.chain(joints[0], name, joints[1])
    for n, load in enumerate(loads):
        board.chain(joints[1], board.item(f"Q-{n}", "load", load=f"{load} kW"), joints[2])
    board.chain(joints[2], "P-1")
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="1 bar")
    board.chain(joints[2], "ET-1")
    return Context(from_data(board.case().data()))


@pytest.mark.parametrize(
    ("boilers", "loads", "asked", "count"),
    [
        ([10, 10], [28, 28, 28], 84, 9),  # 84 / 10 = 8.4
        ([10], [28, 28, 28], 84, 9),
        ([10, 10], [28], 28, 3),
        ([10], [12], 12, 2),
        ([10, 10], [5, 5], 10, 1),
        ([30, 30, 30], [28, 28, 28], 84, 3),
    ],
)
def test_heaters_were_counted_by_the_heat_given_not_wanted(
    boilers: list[float], loads: list[float], asked: float, count: int
) -> None:
    (sized,) = [each for each in size(boilers_and_loads(boilers, loads)) if each.what == "heaters"]
    assert sized.value == count
    assert sized.working is not None
    assert float(sized.working.inputs[0].value) == pytest.approx(1000.0 * asked, rel=1e-3)
    assert sized.fails is (count > len(boilers))


VOLUME, COLD, HOT = 0.3, 20.0, 55.0  # [m3], [degC]


def charging(capacity: float, load: float = 0.0) -> Context:
    """A boiler that fills a cold tank, with a load beside it."""
    board = Board()
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="70 degC")
    board.pump("P-1", 60e3, 4e-3)
    taps = {"a": "1 m", "b": "0 m"}
    board.item("T-1", "tank", volume=f"{VOLUME} m3", tall="1 m", taps=taps)
    board.item("AQ-1", "aquastat", senses=["T-1", "a"], set_temperature=f"{HOT} degC", differential="5 K")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("LD-1", "load", load=f"{load} W")
    board.chain("J-2", "P-1", "B-1", "J-1")
    board.chain("J-1", board.resistance("S-1", 1e-3, 10e3), "T-1:a")
    board.chain("T-1:b", "J-2")
    board.chain("J-1", board.resistance("S-2", 1e-3, 10e3), "LD-1", "J-2")
    return Context(from_data(board.case("filling", tanks={"T-1": f"{COLD} degC"}).data()))


def test_a_filling_tank_asks_for_no_larger_boiler_each_time_one_is_bought() -> None:
    """300 L from 10 to 55 degC in an hour at 4 kJ/kg/K: 15 kW, whatever boiler there is; the load besides."""
    hour = VOLUME * 1000.0 * 4000.0 * (HOT - 10.0) / 3600.0
    assert hour == pytest.approx(15e3)
    for capacity in (20e3, 40e3, 80e3):
        context = charging(capacity, load=3e3)
        found = size(context)
        recompute(found)
        filling = next(one for one in demands_of(context, ["B-1"]) if one.is_case)
        assert filling.solution.duty("B-1") == pytest.approx(capacity, rel=1e-6)  # it takes all there is
        assert filling.heat == pytest.approx(3e3 + hour, rel=1e-6)
        assert one(found, "B-1", "heaters").value == 1
    small = next(one for one in demands_of(charging(8e3), ["B-1"]) if one.is_case)
    assert small.heat == pytest.approx(8e3, rel=1e-6)  # quicker than it can is no need either
