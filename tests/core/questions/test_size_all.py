"""Size all: rows against the plant, and consequences against the plant changed by hand and solved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.files.read import load
from core.plant.model import Plant
from core.questions.size_all import Weighing, changes_of, table_of
from core.sizing.everything import size
from core.solve import Solver
from core.vocabulary import KINDS

SAMPLES = Path(__file__).parents[3] / "sample_plants"


@pytest.fixture(scope="module")
def shed() -> Plant:
    """The potting shed with a thin pair of pipes."""
    plant = load(SAMPLES / "potting_shed.plant.json")
    thin = {"material": "copper_l", "size": "3/8 in"}
    pipes = {n: replace(p, tube=thin) if n in ("L-2", "L-3") else p for n, p in plant.pipes.items()}
    return replace(plant, pipes=pipes)


@pytest.fixture(scope="module")
def rows(shed: Plant):
    return table_of(shed, size(shed))


def test_a_row_names_what_is_drawn_as_the_file_has_it(shed: Plant, rows):
    for row in rows:
        if row.sized.what == "tube":
            assert {str(shed.pipes[name].tube["size"]) for name in row.ids} == {
                row.drawn.split(" in ")[0] + " in"
            }
            assert row.lesser is None or row.lesser.name != row.proposed.name
    thin = next(row for row in rows if "L-2" in row.ids)
    assert "L-3" in thin.ids
    assert thin.standing == "over"
    assert rows[0].standing == "over"


def test_no_row_twice_and_no_kind_that_cannot_be_taken(shed: Plant, rows):
    keys = [(name, row.sized.what) for row in rows for name in row.ids]
    assert len(keys) == len(set(keys))
    for row in rows:
        for option in row.options():
            assert option.props
            for name in row.ids:
                known = KINDS[shed.items[name].kind].properties if name in shed.items else {"tube"}
                assert set(option.props) <= set(known)


def test_a_consequence_is_that_of_the_plant_changed_by_hand(shed: Plant, rows):
    weighing = Weighing(shed, {})
    row = next(row for row in rows if "L-2" in row.ids)
    found = weighing.alone(row, row.proposed)
    tube = row.proposed.props["tube"]
    pipes = {n: replace(p, tube=tube) if n in row.ids else p for n, p in shed.pipes.items()}
    case = next(case for case in shed.solve_cases if case.name == found.case)
    before, after = (Solver(one).solve(case) for one in (shed, replace(shed, pipes=pipes)))
    assert found.flow.before == pytest.approx(abs(before.pipes[row.ids[0]].flow_m3_s), rel=1e-9)
    assert found.flow.after == pytest.approx(abs(after.pipes[row.ids[0]].flow_m3_s), rel=1e-9)
    assert found.flow.after > found.flow.before
    heat = sum(after.items[name].delivered_w for name in ("FC-1", "FC-2"))
    assert found.heat.after == pytest.approx(heat, rel=1e-9)


def test_closing_a_balance_valve_says_who_gets_less(shed: Plant, rows):
    row = next(row for row in rows if row.ids == ("BV-1",))
    found = Weighing(shed, {}).alone(row, row.proposed)
    assert found.flow.after < found.flow.before
    assert "FC-1" in found.harmed


def test_taking_all_together_makes_every_row_as_proposed(shed: Plant, rows):
    picked = [(row, row.proposed) for row in rows if row.proposed is not None and row.sized.what == "tube"]
    joint = Weighing(shed, {}).joint(picked)
    assert [one.case for one in joint.consequences] == [case.name for case in shed.solve_cases]
    assert all(one.solved for one in joint.consequences)
    for row, option in picked:
        assert all(joint.plant.pipes[name].tube == option.props["tube"] for name in row.ids)
    assert changes_of(joint.plant, picked) == []
