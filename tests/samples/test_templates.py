"""The templates: each is what its script makes, settles, and leaves the review nothing to mend."""

from __future__ import annotations

import pytest

from core.files import read, write
from core.plant import validity
from core.questions.size_all import table_of
from core.review import Severity as Gravity
from core.review import review_plant
from core.sizing.everything import size
from core.solve import solve_case
from core.solve.solution import Severity
from core.vocabulary.guesses import Guess
from tests.tools.make_templates import FOLDER, MAKERS

GRID = 10
"""The unit of length of the board that symbols stand on."""


@pytest.fixture(params=sorted(MAKERS), scope="module")
def made(request: pytest.FixtureRequest):
    """A template by name, as packed."""
    name = str(request.param)
    return name, read.load(FOLDER / f"{name}.plant.json")


def test_no_template_is_missing_or_left_over():
    assert sorted(file.name for file in FOLDER.iterdir()) == sorted(f"{name}.plant.json" for name in MAKERS)


def test_a_template_is_what_its_script_makes(made):
    name, plant = made
    assert write.dumps(read.from_data(MAKERS[name]().finished())) == write.dumps(plant)
    assert validity.check(plant) == []


def test_a_template_settles_in_every_case(made):
    _, plant = made
    assert len(plant.cases) >= 2
    for case in plant.cases:
        solution = solve_case(plant, case)
        assert solution.converged, case.name
        assert [note for note in solution.notes if note.severity is not Severity.NOTE] == []


def test_the_review_of_a_template_finds_no_stop_and_nothing_to_mend(made):
    _, plant = made
    assert [f for f in review_plant(plant) if f.severity in (Gravity.STOP, Gravity.MEND)] == []


def test_every_length_is_a_guess_and_every_symbol_on_the_grid(made):
    _, plant = made
    assert all(isinstance(pipe.length, Guess) for pipe in plant.pipes.values())
    bends = [bend for pipe in plant.pipes.values() for bend in pipe.via]
    places = [*(item.at for item in plant.items.values()), *bends]
    assert [place for place in places if place[0] % GRID or place[1] % GRID] == []


def test_every_source_has_a_relief_valve_and_every_make_up_a_reduced_pressure_preventer(made):
    _, plant = made
    kinds = [item.kind for item in plant.items.values()]
    sources = sum(kinds.count(kind) for kind in ("boiler", "heater", "heat_pump"))
    assert kinds.count("relief_valve") >= sources
    assert kinds.count("expansion_tank") >= 1
    for item in plant.items.values():
        if item.kind == "backflow_preventer":
            assert item.props["class"] == "reduced_pressure"


def test_what_is_drawn_in_a_template_keeps_the_limits_of_its_own_sizing(made):
    _, plant = made
    rows = table_of(plant, size(plant))
    assert [(row.named, row.verdict) for row in rows if row.standing in ("over", "lacks", "open")] == []
