"""Arithmetic changes the figures of a case, never its text."""

from dataclasses import replace

import pytest

from core.plant.model import Case, Overrides
from core.solve import Solver
from tests.support.sizes import sample


def test_figures_in_si_are_solved_as_the_same_figures_typed():
    plant = sample("two_heater_clinic")
    case = plant.cases[0]
    tank = next(iter(case.tanks), "T-1")
    typed = replace(case, outdoor="-7.5 degC", tanks={**case.tanks, tank: "52 degC"})
    figures = case.with_si(Overrides(265.65, tanks={**case.si.tanks, tank: 325.15}))
    assert (figures.outdoor, figures.tanks) == (case.outdoor, case.tanks)
    solver = Solver(plant)
    one, other = solver.solve(typed), solver.solve(figures)
    assert one.converged
    for name, pipe in one.pipes.items():
        assert other.pipes[name].flow_m3_s == pytest.approx(pipe.flow_m3_s, rel=1e-9, abs=1e-15)
        assert other.pipes[name].temperature_in_c == pytest.approx(pipe.temperature_in_c, abs=1e-9)


def test_what_is_not_given_in_si_stays_as_typed_and_later_figures_win():
    case = Case("x", "-10 degC", draws={"F-1": "1 L/s"}, lasts="90 min")
    warmer = case.with_si(Overrides(outdoor=280.0)).with_si(Overrides(281.0, {"F-1": 5e-4}))
    assert warmer.si == case.si._replace(outdoor=281.0, draws={"F-1": 5e-4})
    assert replace(warmer, lasts="1 h").si.lasts == 3600.0
    assert warmer != case
