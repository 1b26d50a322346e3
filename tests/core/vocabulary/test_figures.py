"""The figures that a kind declares are those that a solved case gives of its items."""

from collections import defaultdict
from dataclasses import fields
from functools import cache
from pathlib import Path

import pytest

from core.commands.kinds import table
from core.figures import PipeFigures
from core.files.read import load
from core.solve import solve_plant
from core.units import DIMENSIONS
from core.vocabulary import KINDS
from core.vocabulary.figures import FIGURES, PIPE_FIGURES
from core.vocabulary.traits import Report
from tests.support.figures import ROLES

FOLDER = Path(__file__).parents[3] / "sample_plants"
# Only where a stat holds the place, or hunts: no sample has it.
SELDOM = {"duty_share", "off_temperature_c"}


@cache
def given() -> dict[str, set[str]]:
    """Keys that all cases of all samples give of the items of a kind."""
    found: dict[str, set[str]] = defaultdict(set)
    for path in sorted(FOLDER.glob("*.plant.json")):
        plant = load(path)
        for solution in solve_plant(plant):
            for name, figures in solution.items.items():
                found[plant.items[name].kind] |= figures.as_data().keys()
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_a_case_gives_the_figures_that_the_kind_declares_and_no_others(kind: str) -> None:
    declared = {figure.key for figure in KINDS[kind].figures}
    assert given()[kind] <= declared
    if given()[kind]:
        assert declared - given()[kind] <= SELDOM


def test_every_figure_has_a_title_a_meaning_and_a_known_dimension() -> None:
    for kind in KINDS.values():
        for figure in kind.figures:
            assert figure.title
            assert figure.help.endswith(".")
            assert figure.dimension in {"", *DIMENSIONS}, figure.key


@pytest.mark.parametrize("report", Report)
def test_the_type_of_a_report_has_the_figures_that_it_declares(report: Report) -> None:
    assert {one.name for one in fields(ROLES[report])} == {figure.key for figure in FIGURES[report]}


def test_the_type_of_a_pipe_has_the_figures_that_are_declared() -> None:
    assert [one.name for one in fields(PipeFigures)] == [figure.key for figure in PIPE_FIGURES]
    assert table()["pipe"]["figures"].keys() == {figure.key for figure in PIPE_FIGURES}
