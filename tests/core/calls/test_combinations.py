"""Which combinations of calls are made, what they are called; a neighbour's start changes nothing."""

from itertools import product
from pathlib import Path
from typing import Any

import pytest

from core.calls.combinations import all_calls, calls_of, solve_calls
from core.files.read import from_data, load
from core.solve import Dropped, Solver
from tests.support.builders import Board

SAMPLES = Path(__file__).parents[3] / "sample_plants"


def board(*controls: tuple[str, str, dict[str, Any]], **pump: Any) -> Board:
    made = Board()
    made.drive()
    made.items["P-1"]["props"].update(pump)
    made.ring("P-1", "S-1")
    for name, kind, props in controls:
        made.item(name, kind, **props)
    return made


def test_every_combination_named_by_what_is_on():
    made = board(
        ("TH-1", "thermostat", {}),
        ("SW-1", "switch", {}),
        ("SW-2", "switch", {}),  # nothing names it
        ("AQ-1", "aquastat", {}),  # named, but no call unless it says so
        ("AQ-2", "aquastat", {"call": True}),
        ("TH-2", "thermostat", {"call": False}),
        run_when={"any": ["TH-1", {"not": {"all": ["SW-1", "AQ-1"]}}, "TH-2"]},
    )
    made.case("cold", outdoor="-5 degC", signals={"SW-2": True, "AQ-1": True, "TH-2": True}, hours_per_year=9)
    plant = from_data(made.data())
    assert calls_of(plant) == ("TH-1", "SW-1", "AQ-2")
    cases = all_calls(plant)
    assert [case.name for case in cases] == [
        "none",
        "TH-1",
        "SW-1",
        "AQ-2",
        "TH-1 + SW-1",
        "TH-1 + AQ-2",
        "SW-1 + AQ-2",
        "TH-1 + SW-1 + AQ-2",
    ]
    for case in cases:
        assert case.outdoor == "-5 degC"
        assert case.hours_per_year is None
        assert {case.signals[name] for name in ("SW-2", "AQ-1", "TH-2")} == {True}
        on = [name for name in calls_of(plant) if case.signals[name]]
        assert case.name == (" + ".join(on) or "none")


def test_a_plant_wired_by_outlets_alone_has_calls_too():
    made = board(
        ("TH-1", "thermostat", {}),
        ("OU-1", "outlet", {"switched_by": {"any": ["TH-1"]}}),
        powered_by="OU-1",
    )
    assert calls_of(from_data(made.data())) == ("TH-1",)


@pytest.mark.parametrize(("count", "expected"), [(0, 1), (1, 2), (10, 1024), (11, 1 + 11 + 55 + 11 + 1)])
def test_how_many(count, expected):
    names = [f"SW-{k}" for k in range(count)]
    made = board(*((name, "switch", {"call": True}) for name in names), run_when={"any": names})
    cases = all_calls(from_data(made.data()))
    assert len({case.name for case in cases}) == len(cases) == expected
    if count > 10:
        assert sorted({case.name.count(" + ") + 1 for case in cases}) == [1, 2, 10, 11]


def test_a_start_from_the_neighbour_changes_nothing():
    plant = load(SAMPLES / "potting_shed.plant.json")
    seen: list[str] = []
    solutions = solve_calls(plant, solved=lambda one: seen.append(one.case))
    assert [s.case for s in solutions] == ["none", "TH-1", "TH-2", "TH-1 + TH-2"]
    assert seen == ["none", "TH-1", "TH-1 + TH-2", "TH-2"]  # one call changes at a time
    for case, solution in zip(all_calls(plant), solutions, strict=True):
        assert solution.converged
        cold = Solver(plant).solve(case)
        for key, figures in cold.items.items():
            same = pytest.approx(figures.as_data(), rel=1e-4, abs=1e-6)
            assert solution.items[key].as_data() == same, (case.name, key)


def test_the_pump_runs_where_its_expression_holds():
    made = board(
        *((name, "switch", {"call": True}) for name in ("A", "B", "C")),
        run_when={"all": [{"any": ["A", "B"]}, {"not": "C"}]},
    )
    found = {s.case: s.items["P-1"].running for s in solve_calls(from_data(made.data()))}
    for a, b, c in product((False, True), repeat=3):
        name = " + ".join(n for n, on in zip("ABC", (a, b, c), strict=True) if on) or "none"
        assert found[name] == ((a or b) and not c)


def test_nobody_waits_for_the_rest():
    plant = load(SAMPLES / "potting_shed.plant.json")
    seen: list[str] = []
    with pytest.raises(Dropped):
        solve_calls(plant, keep_on=lambda: len(seen) < 2, solved=lambda one: seen.append(one.case))
    assert len(seen) == 2
