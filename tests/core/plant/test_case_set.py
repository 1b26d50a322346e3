"""What a case sets: strict reading, round trips, and the plant as the case sees it."""

import json
from dataclasses import replace

import pytest

from core.errors import Refusal
from core.files import journal, read, write
from core.plant import references
from core.plant.as_set import plant_for
from core.plant.changes import SetPlant, apply, inverses
from core.solve.solver import solve_plant
from tests.support.small_plant import small


def with_case(**case):
    data = small()
    data["cases"] = [{"name": "Otherwise", **case}, {"name": "As drawn"}]
    return data


def flows(solution):
    return {name: figures.flow_m3_s for name, figures in solution.pipes.items()}


SETS = {"P-1": {"speed": 0.5, "run_when": True}, "L-1": {"length": "40 ft"}, "B-1": {"out_of_service": True}}


@pytest.mark.parametrize(
    ("sets", "path", "words"),
    [
        (5, "cases[0].set", "an object by id"),
        ({"P-1": 5}, "cases[0].set.P-1", "an object of properties"),
        ({"P-1": {}}, "cases[0].set.P-1", "an object of properties"),
        ({"P-11": {"speed": 0.5}}, "cases[0].set.P-11", "The nearest is P-1"),
        ({"P-1": {"sped": 0.5}}, "cases[0].set.P-1.sped", "The nearest is speed"),
        ({"P-1": {"speed": 7.0}}, "cases[0].set.P-1.speed", "Out of range"),
        ({"P-1": {"run_when": "SW-1"}}, "cases[0].set.P-1.run_when", "true or false"),
        ({"P-1": {"senses": ["B-1", "out"]}}, "cases[0].set.P-1.senses", "the same in every case"),
        ({"P-1": {"stage": "tested"}}, "cases[0].set.P-1.stage", "a property of circulator"),
        ({"P-1": {"out_of_service": 1}}, "cases[0].set.P-1.out_of_service", "true or false"),
        ({"L-1": {"from": ["B-1", "out"]}}, "cases[0].set.L-1.from", "expected one of tube, length"),
        ({"L-1": {"length": "4 gpm"}}, "cases[0].set.L-1.length", "length"),
        ({"L-1": {"length": None}}, "cases[0].set.L-1.length", "found null"),
    ],
)
def test_what_a_case_cannot_set_is_refused_at_its_place(sets, path, words):
    with pytest.raises(Refusal) as caught:
        read.from_data(with_case(set=sets))
    assert caught.value.path == path
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("more", "path", "words"),
    [
        ({"lasts": 5}, "cases[0].lasts", "time"),
        ({"lasts": None}, "cases[0].lasts", "found null"),
        ({"lasts": "0 s"}, "cases[0].lasts", "Out of range"),
        ({"lasts": "3 gpm"}, "cases[0].lasts", "time"),
        ({"lasts": "2 h", "start": {"P-1": "60 degF"}}, "cases[0].start.P-1", "P-1 is a circulator"),
        ({"lasts": "2 h", "start": {"R-1": "60 ft"}}, "cases[0].start.R-1", "temperature"),
        ({"start": {"R-1": "60 degF"}}, "cases[0].lasts", "beside start"),
    ],
)
def test_how_long_a_case_lasts_is_read_strictly(more, path, words):
    with pytest.raises(Refusal) as caught:
        read.from_data(with_case(**more))
    assert caught.value.path == path
    assert words in str(caught.value)


def test_new_keys_of_a_case_and_the_sheet_come_back_as_written():
    data = with_case(set=SETS, lasts="90 min", start={})
    data["sheet"] = {"number": "M-1", "revisions": [["A", "2026-11-02", "First"]]}
    plant = read.from_data(data)
    assert read.loads(write.dumps(plant)) == plant
    assert json.loads(write.dumps(plant))["cases"][0]["set"] == SETS
    with pytest.raises(Refusal, match=r"sheet.numbr.*The nearest is number"):
        read.from_data({**data, "sheet": {"numbr": "M-1"}})
    with pytest.raises(Refusal, match=r"sheet.revisions\[0\]: found"):
        read.from_data({**data, "sheet": {"revisions": ["A"]}})


def test_the_journal_and_undo_carry_what_a_case_sets():
    plant = read.from_data(small())
    change = SetPlant(
        {"cases": read.from_data(with_case(set=SETS, lasts="1 h")).cases, "sheet": {"owner": "X"}}
    )
    after = apply(plant, [change])
    assert journal.differences(plant, after)["rest"]["cases"][0]["set"] == SETS
    assert journal.differences(plant, after)["rest"]["sheet"] == {"owner": "X"}
    assert apply(after, inverses(plant, [change])) == plant


def test_a_renamed_item_keeps_what_cases_set_of_it():
    plant = read.from_data(with_case(set=SETS))
    changes = references.renamed(plant, lambda name: "P-9" if name == "P-1" else name)
    assert apply(plant, changes).cases[0].set["P-9"] == SETS["P-1"]


def test_the_plant_as_a_case_sees_it():
    plant = read.from_data(with_case(set=SETS))
    seen = plant_for(plant, plant.cases[0])
    assert seen.items["P-1"].si["speed"] == 0.5
    assert seen.pipes["L-1"].si.length == pytest.approx(40 * 0.3048)
    assert seen.items["B-1"].out_of_service
    assert not plant.items["B-1"].out_of_service
    untouched = next(name for name in plant.items if name not in SETS)
    assert seen.items[untouched] is plant.items[untouched]
    assert plant_for(plant, plant.cases[1]) is plant
    assert plant_for(plant, replace(plant.cases[0], name="Other", draws={})) is seen
    assert plant_for(seen, plant.cases[0]) is seen


def test_a_case_that_sets_gives_the_figures_of_a_file_that_says_so():
    """Second method: the same written into the file; and the other case is as if nothing were set."""
    data = with_case(set={"P-1": {"speed": 0.7}, "L-1": {"length": "90 ft"}})
    set_case, as_drawn = solve_plant(read.from_data(data))
    plain = small()
    plain["cases"] = [{"name": "Otherwise"}]
    assert flows(as_drawn) == pytest.approx(flows(solve_plant(read.from_data(plain))[0]), rel=1e-6)
    next(one for one in plain["items"] if one["id"] == "P-1")["props"]["speed"] = 0.7
    next(one for one in plain["pipes"] if one["id"] == "L-1")["length"] = "90 ft"
    assert flows(set_case) == pytest.approx(flows(solve_plant(read.from_data(plain))[0]), rel=1e-6)
    assert flows(set_case) != pytest.approx(flows(as_drawn), rel=1e-3)


def test_no_water_flows_through_what_is_out_of_service():
    data = with_case(set={"B-1": {"out_of_service": True}})
    set_case, as_drawn = solve_plant(read.from_data(data))
    assert set_case.items["B-1"].flow_m3_s == 0.0
    assert as_drawn.items["B-1"].flow_m3_s != 0.0


def test_a_case_that_lasts_is_not_its_end_state():
    found = solve_plant(read.from_data(with_case(lasts="2 h", start={"R-1": "50 degF"})))
    assert found[0].converged
    assert found[0].items["R-1"].temperature_c == pytest.approx(10.0), "it says no mass, so it stays"
    assert any(note.at == "R-1" and "mass is not set" in note.text for note in found[0].notes)
