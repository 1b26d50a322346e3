"""Sheets of a plant as it is edited: the same figures as afresh, and no more solved than an edit asks."""

import io
import pickle
from dataclasses import replace

import pytest

from core.calls.incremental import IncrementalRows
from core.calls.sheet import call_sheet
from core.calls.worker_process import Answer, Question, answers, serve
from core.solve import Dropped
from tests.support.calling import plant_of, two_zones


def edited(plant, key, **props):
    item = plant.items[key]
    return replace(plant, items={**plant.items, key: replace(item, props={**item.props, **props})})


def figures(rows):
    return {row.name: (row.runs, row.heat, row.short, row.circulators["P-1"].flow) for row in rows}


@pytest.fixture
def kept():
    keeper = IncrementalRows()
    plant = plant_of(two_zones())
    assert len(list(keeper.rows(plant))) == keeper.solved == 4
    keeper.solved = 0
    return keeper, plant


def same_as_afresh(keeper, plant):
    got, wanted = figures(keeper.rows(plant)), figures(call_sheet(plant).rows)
    assert got.keys() == wanted.keys()
    for name, figure in wanted.items():
        assert got[name][0] == figure[0]
        assert got[name][1:] == pytest.approx(figure[1:], rel=1e-4, abs=1e-9), name


def test_moving_and_labelling_solve_nothing(kept):
    keeper, plant = kept
    item = replace(plant.items["P-1"], at=(500.0, 500.0), label="Renamed", turn=90)
    list(keeper.rows(replace(plant, items={**plant.items, "P-1": item}, title="Other")))
    assert keeper.solved == 0


def test_who_runs_what_solves_only_where_something_else_runs(kept):
    keeper, plant = kept
    other = edited(plant, "P-2", run_when={"any": ["TH-1", "TH-2"]})
    same_as_afresh(keeper, other)
    assert keeper.solved == 1  # with TH-1 alone P-2 now runs too
    same_as_afresh(keeper, edited(other, "P-2", run_when=False))
    assert keeper.solved == 1 + 3


def test_any_other_edit_solves_all_and_finds_the_same(kept):
    keeper, plant = kept
    same_as_afresh(keeper, edited(plant, "LD-1", load="12000 W"))
    assert keeper.solved == 4
    without = {key: item for key, item in plant.items.items() if key != "ET-1"}
    pipes = {key: pipe for key, pipe in plant.pipes.items() if pipe.end.item != "ET-1"}
    same_as_afresh(keeper, replace(plant, items=without, pipes=pipes))
    assert keeper.solved == 8


def test_combinations_in_sight_come_first_and_the_rest_can_be_dropped(kept):
    keeper, plant = kept
    other = edited(plant, "LD-1", load="5000 W")
    rows = keeper.rows(other, first=("TH-1 + TH-2",), keep_on=lambda: keeper.solved < 2)
    assert next(rows).name == "TH-1 + TH-2"
    with pytest.raises(Dropped):
        list(rows)
    assert keeper.solved == 2


def test_the_process_apart_answers_in_its_own_words():
    source, sink = io.BytesIO(), io.BytesIO()
    plant = plant_of(two_zones())
    pickle.dump(Question(7, plant, "Design", wants=("energy", "fewer")), source)
    source.seek(0)
    serve(source, sink)
    sink.seek(0)
    found = []
    while sink.tell() < len(sink.getbuffer()):
        found.append(pickle.load(sink))
    # The end of the source may come before the rows do: then nobody waits for them any more.
    assert all(isinstance(answer, Answer) and answer.ticket == 7 for answer in found)
    parts = [
        answer.what
        for answer in answers(IncrementalRows(), Question(1, plant, "", wants=("energy",)), lambda: True)
    ]
    assert parts == ["row"] * 4 + ["done", "energy"]
