"""Chart and table of a circulator's curves, and the process that works them out beside the window."""

from __future__ import annotations

import os
import pickle
import threading
from pathlib import Path
from typing import Any

import pytest

import sample_plants
from core import units
from core.files.read import from_data, load
from core.sizing.second_circulator.chart import curves_of, empty, figure
from core.sizing.second_circulator.worker import Keeper, Question, answers, serve
from core.solve import solve_case
from tests.plants.edits import file_of
from tests.support.builders import Board

SHED = Path(sample_plants.__file__).parent / "potting_shed.plant.json"


def question(ticket: int = 1, **more: Any) -> Question:
    plant = load(SHED)
    return Question(ticket, more.pop("revision", 1), plant, plant.solve_cases[1].name, "P-1", **more)


def test_answers_come_quickest_first_and_agree():
    keeper = Keeper()
    found = list(answers(keeper, question(), lambda: True))
    assert [answer.what for answer in found] == ["system", "study", "study", "done"]
    quick, whole = found[1].load, found[2].load
    assert [one.title for one in quick.found] == [one.title for one in whole.found]
    assert any(one.others for one in whole.found)
    assert not any(one.others for one in quick.found)
    assert len(pickle.dumps(found)) < 400_000  # light enough to send


def test_a_kept_plant_is_not_solved_again():
    keeper = Keeper()
    first = keeper.bench(question(), lambda: True)
    assert keeper.bench(question(2, where="all"), lambda: True) is first
    assert keeper.bench(question(3, revision=2), lambda: True) is not first


def test_another_question_ends_the_work():
    asked = iter([True] * 12 + [False] * 1000)
    found = list(answers(Keeper(), question(), lambda: next(asked)))
    assert "done" not in [answer.what for answer in found]


def test_process_answers_on_its_streams_and_survives_nonsense():
    (theirs, ours), (answered, theirs_out) = os.pipe(), os.pipe()
    with os.fdopen(theirs, "rb") as source, os.fdopen(theirs_out, "wb") as sink:
        worker = threading.Thread(target=serve, args=(source, sink))
        worker.start()
        with os.fdopen(answered, "rb") as hear:
            with os.fdopen(ours, "wb", buffering=0) as ask:
                ask.write(pickle.dumps(Question(1, 1, "no plant", "case", "P-1")))  # type: ignore[arg-type]
                refused = pickle.load(hear)
                ask.write(pickle.dumps(question(2, where="none")))
                system, done = pickle.load(hear), pickle.load(hear)
            worker.join(20.0)
    assert (refused.ticket, refused.what) == (1, "refused")
    assert "nobody foresaw" in refused.load
    assert (system.ticket, system.what) == (2, "system")
    assert done.what == "done"
    assert not worker.is_alive()


def test_without_a_curve_it_says_what_to_do():
    board = Board()
    board.item("P-1", "circulator")
    board.item("S-1", "strainer")
    board.ring("P-1", "S-1", length="1 m")
    curves = curves_of(from_data(board.data()), "P-1", None, "us")
    assert "has no curve" in curves.chart.empty
    assert empty("si").chart.x == "flow, L/s"


def test_resting_circulator_shows_its_curve_alone():
    plant = load(SHED)
    off = next(case for case in plant.solve_cases if "off" in case.name.lower())
    figures = solve_case(plant, off).items["P-1"]
    curves = curves_of(plant, "P-1", figures, "us")
    assert [trace.name for trace in curves.chart.traces] == ["P-1"]
    assert curves.rows == ()
    assert "rests" in curves.said


def test_delta_t_circulator_at_its_solved_speed():
    plant = load(file_of("two_heater_clinic"))
    figures = solve_case(plant, plant.solve_cases[0]).items["P-2"]
    curves = curves_of(plant, "P-2", figures, "us")
    names = [trace.name for trace in curves.chart.traces]
    assert names == [f"P-2 at {figures.speed:.0%} speed", "at full speed"]
    gpm, feet = (
        units.to_unit(figures.flow_m3_s, "gpm"),
        units.to_unit(figures.head_m, "ft_head"),
    )
    line = curves.chart.traces[0].points
    before = max((p for p in line if p[0] <= gpm), key=lambda p: p[0])
    assert before[1] == pytest.approx(feet, rel=0.05)
    # By hand: 55 W at full speed, by the cube of the speed.
    assert curves.rows[0].power == pytest.approx(55.0 * figures.speed**3)


@pytest.mark.parametrize(("value", "text"), [(0.486, "0.49"), (8.44, "8.4"), (123.4, "123")])
def test_figures_of_the_table(value: float, text: str):
    assert figure(value) == text
