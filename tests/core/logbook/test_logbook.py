"""The logbook keeps every entry, and an entry asks to be looked at when figures have left it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.files.read import load, loads
from core.files.write import dumps
from core.logbook import Figure, entries, figures_of_the_day, standings, write_down
from core.plant.changes import apply, inverses
from core.plant.model import Plant
from core.solve import Solution, solve_plant

FOLDER = Path(__file__).parents[3] / "sample_plants"


@pytest.fixture(scope="module")
def plant() -> Plant:
    return load(FOLDER / "potting_shed.plant.json")


@pytest.fixture(scope="module")
def solutions(plant: Plant) -> dict[str, Solution]:
    return {s.case: s for s in solve_plant(plant)}


def pumped(plant: Plant) -> str:
    return next(i.id for i in plant.items.values() if i.kind == "circulator")


def noted(plant: Plant, solutions: dict[str, Solution], **more: object) -> Plant:
    at = [pumped(plant), next(p.id for p in plant.pipes.values() if not p.joined)]
    figures = figures_of_the_day(plant, solutions, at)
    change = write_down(plant, at, "this one", "quiet", ["the larger one"], figures, **more)  # type: ignore[arg-type]
    return apply(plant, [change])


def test_an_entry_written_today_holds_today(plant: Plant, solutions: dict[str, Solution]) -> None:
    standing = standings(noted(plant, solutions), solutions)[-1]
    assert standing.state == "holds"
    keys = {c.figure.place[2] for c in standing.compared}
    assert {"head_m", "flow_m3_s", "velocity_m_s", "tube.size"} <= keys


def test_saved_and_read_again_it_is_the_same(plant: Plant, solutions: dict[str, Solution]) -> None:
    changed = noted(plant, solutions)
    assert entries(loads(dumps(changed))) == entries(changed)


def test_a_slower_pump_makes_the_entry_ask(plant: Plant, solutions: dict[str, Solution]) -> None:
    changed = noted(plant, solutions)
    pump = changed.items[pumped(plant)]
    slow = replace(pump, props={**pump.props, "speed": 0.7})
    changed = replace(changed, items={**changed.items, pump.id: slow})
    standing = standings(changed, {s.case: s for s in solve_plant(changed)})[-1]
    assert standing.state == "look again"
    assert "head of " + pump.id in standing.words
    assert any(c.off and c.share is not None and c.share < -0.1 for c in standing.compared)


def test_the_share_is_the_entrys_own(plant: Plant, solutions: dict[str, Solution]) -> None:
    pump = pumped(plant)
    case = next(s for s in solutions.values() if abs(s.items[pump].flow_m3_s) > 0.0)
    flow = abs(case.items[pump].flow_m3_s)
    figure = Figure(f"items.{pump}.flow_m3_s", flow * 1.08 * 60000.0, "L/min", case.case)
    for within, state in ((0.10, "holds"), (0.05, "look again")):
        change = write_down(plant, [pump], "x", "y", (), [figure], within=within)
        assert standings(apply(plant, [change]), solutions)[-1].state == state


def test_other_text_at_its_place_asks(plant: Plant, solutions: dict[str, Solution]) -> None:
    changed = noted(plant, solutions)
    pipe = changed.pipes[entries(changed)[-1].at[1]]
    assert pipe.tube is not None
    other = replace(pipe, tube={**pipe.tube, "size": "1 1/4 in"})
    changed = replace(changed, pipes={**changed.pipes, pipe.id: other})
    standing = standings(changed, solutions)[-1]
    assert standing.state == "look again"
    assert "Today it is 1 1/4 in" in standing.words


def test_what_is_no_longer_drawn_is_said_and_kept(plant: Plant, solutions: dict[str, Solution]) -> None:
    change = write_down(plant, ["P-77"], "x", "y")
    standing = standings(apply(plant, [change]), solutions)[-1]
    assert (standing.state, standing.words) == ("gone", "P-77 is no longer drawn.")


def test_history_is_kept(plant: Plant, solutions: dict[str, Solution]) -> None:
    before = len(plant.logbook)
    first = noted(plant, solutions)
    old = entries(first)[-1]
    second = noted(first, solutions, follows=old.id)
    assert len(second.logbook) == before + 2
    assert second.logbook[:-1] == first.logbook
    states = [s.state for s in standings(second, solutions)][-2:]
    assert states == ["superseded", "holds"]
    assert entries(second)[-1].id != old.id


def test_undo_takes_only_the_entry(plant: Plant) -> None:
    change = write_down(plant, [], "x", "y")
    after = apply(plant, [change])
    assert apply(after, inverses(plant, [change])) == plant


def test_a_case_that_was_not_solved_is_not_called_wrong(plant: Plant, solutions: dict[str, Solution]) -> None:
    changed = noted(plant, solutions)
    standing = standings(changed, {})[-1]
    assert all(not c.off for c in standing.compared if c.figure.case)


def test_a_unit_that_is_no_measure_of_the_figure_is_never_called_good(
    plant: Plant, solutions: dict[str, Solution]
) -> None:
    pump = pumped(plant)
    case = next(s for s in solutions.values() if abs(s.items[pump].flow_m3_s) > 0.0)
    flow = case.items[pump].flow_m3_s
    for unit, state in (("m3_s", "holds"), ("m3/s", "holds"), ("psi", "look again")):
        figure = Figure(f"items.{pump}.flow_m3_s", flow, unit, case.case)
        standing = standings(apply(plant, [write_down(plant, [pump], "x", "y", (), [figure])]), solutions)[-1]
        assert standing.state == state, unit
