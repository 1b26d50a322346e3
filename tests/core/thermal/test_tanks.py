"""Water standing in a tank weighs by its own temperature, not by that of what passes its taps."""

import pytest
from iapws import IAPWS97

from core.files.read import from_data
from core.solve import Solver
from tests.support.builders import Board, G, c


def rho(celsius: float) -> float:
    return float(IAPWS97(T=celsius + 273.15, P=0.2).rho)


def stand(tank: str | dict[str, str]) -> float:
    """Pressure at the low tap less that at the high one, 1.5 m above it, nothing flowing [Pa]."""
    board = Board({"kind": "water"})
    board.item("T-1", "tank", volume="200 L", taps={"supply": "1.6 m", "bottom": "0.1 m"})
    board.item("ET", "expansion_tank", volume="12 L", precharge="100 kPa")
    board.item("J", "joint")
    board.pipe("T-1:bottom", "ET:at")
    board.pipe("T-1:supply", "J:at")
    plant = from_data(board.case(tanks={"T-1": tank}).data())
    solution = Solver(plant).solve(plant.solve_cases[0])
    return solution.pipes["L-1"].pressure_in_pa - solution.pipes["L-2"].pressure_in_pa


@pytest.mark.parametrize("warm", [20.0, 60.0, 85.0])
def test_a_mixed_tank_weighs_by_its_temperature(warm):
    assert stand(c(warm)) == pytest.approx(rho(warm) * G * 1.5, rel=1e-4)


def test_between_given_taps_the_temperature_is_straight_by_height():
    """Simpson's rule over the steam-table densities at 20, 50 and 80 degC."""
    mean = (rho(20.0) + 4.0 * rho(50.0) + rho(80.0)) / 6.0
    assert stand({"bottom": c(20.0), "supply": c(80.0)}) == pytest.approx(mean * G * 1.5, rel=2e-4)
