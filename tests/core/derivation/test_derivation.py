"""Every figure on screen can say how it came about: formulas recompute, and agree with the solver."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from core.derivation import of_item, of_pipe
from core.derivation.leaves import in_si
from core.files.read import load
from core.plant.model import Plant
from core.solve import Solution, solve_plant
from core.working import Working, evaluate, lines
from tests.plants.edits import file_of

SAMPLES = ("potting_shed", "two_heater_clinic", "school_annex", "bakery_loft", "orchard_packhouse")
FOLDER = Path(__file__).parents[3] / "sample_plants"
UNSIGNED = ("flow_m3_s", "velocity_m_s", "drop_pa")


@cache
def solved(name: str) -> tuple[Plant, tuple[Solution, ...]]:
    plant = load(file_of(name))
    return plant, tuple(solve_plant(plant)[:2])


def recomputed(working: Working) -> int:
    """Every formula of the tree gives its value from its inputs; how many there were."""
    count = 0
    for _, part in working.walk():
        value = evaluate(part)
        if value is not None:
            assert value == pytest.approx(part.value, rel=1e-6, abs=1e-9), (part.words, part.formula)
            count += 1
    return count


def near(working: Working, key: str, figure: float, name: str) -> None:
    wanted = in_si(key, figure)
    wanted = abs(wanted) if key in UNSIGNED else wanted
    if key.endswith("_c"):
        assert working.value == pytest.approx(wanted, abs=0.02), (name, key)
    else:
        floor = {"drop_pa": 0.5, "pressure_out_pa": 20.0, "short_w": 30.0}.get(key, 1e-9)
        rel = 5e-3 if key in ("delivered_w", "duty_w", "hot_share", "effectiveness") else 1e-3
        assert working.value == pytest.approx(wanted, rel=rel, abs=floor), (name, key)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_of_every_pipe_is_derived_as_the_solver_found_it(name: str) -> None:
    plant, solutions = solved(name)
    formulas = 0
    for solution in solutions:
        for pipe, figures in solution.pipes.items():
            for key, figure in figures.as_data().items():
                working = of_pipe(plant, solution, pipe, key)
                if plant.pipes[pipe].joined and working is None:
                    continue
                assert working is not None, (pipe, key)
                formulas += recomputed(working)
                near(working, key, figure, pipe)
    assert formulas > 1000


@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_of_every_item_is_derived_as_the_solver_found_it(name: str) -> None:
    plant, solutions = solved(name)
    formulas = 0
    for solution in solutions:
        for item, figures in solution.items.items():
            for key, figure in figures.as_data().items():
                working = of_item(plant, solution, item, key)
                assert working is not None, (item, key)
                formulas += recomputed(working)
                if not isinstance(figure, bool) and key not in UNSIGNED:
                    near(working, key, figure, item)
    assert formulas > 20


def test_the_loss_of_a_pipe_goes_down_to_what_was_typed() -> None:
    plant, solutions = solved("two_heater_clinic")
    working = of_pipe(plant, solutions[0], "L-14", "drop_pa")
    assert working is not None
    paths = {leaf.path for leaf in working.leaves() if leaf.origin == "typed"}
    assert "pipes.L-14.length" in paths
    shown = "\n".join(text for _, text in lines(working, "us"))
    assert "Δp = (f · L / d + K) · ρ · v^2 / 2" in shown
    assert "Colebrook" in shown
    assert plant.pipes["L-14"].length in shown


def test_the_head_of_a_circulator_rests_on_its_curve_and_speed() -> None:
    plant, solutions = solved("two_heater_clinic")
    working = of_item(plant, solutions[0], "P-4", "head_m")
    assert working is not None
    assert working.formula == "s^2 * H_1"
    assert {part.symbol for _, part in working.walk()} >= {"s", "H_1", "Q_1", "H_c"}


def test_unknown_figures_have_no_working() -> None:
    plant, solutions = solved("potting_shed")
    pipe = next(iter(plant.pipes))
    assert of_pipe(plant, solutions[0], pipe, "colour") is None
    assert of_item(plant, solutions[0], next(iter(plant.items)), "colour") is None
