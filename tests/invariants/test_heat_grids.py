"""Small heating plants, ample to scarce, against the second method; what is known to fail is listed by name.

The ordinary run takes every ninth plant; `WETSIDE_RANDOM_PLANTS=1 pytest tests/invariants` takes all.
"""

from __future__ import annotations

import os

import pytest

from tests.invariants.known_failing import GRIDS_FAILING
from tests.support.builders import solve_data
from tests.support.heat_grids import GRIDS, expected
from tests.support.second_method import disagreements

NAMES = list(GRIDS)[:: 1 if "WETSIDE_RANDOM_PLANTS" in os.environ else 9]


def marked(name: str) -> object:
    """A plant by name, marked where it is known to fail."""
    marks = [pytest.mark.xfail(strict=True, reason="known")] if name in GRIDS_FAILING else []
    return pytest.param(name, marks=marks)


@pytest.mark.parametrize("name", [marked(name) for name in NAMES])
def test_a_small_plant_settles_at_the_figures_of_the_second_method(name: str) -> None:
    data = GRIDS[name]()
    solved = solve_data(data)
    assert solved.converged, solved.notes
    assert not disagreements(data, solved, expected(data))


def test_two_boilers_share_a_scarce_load_by_hand() -> None:
    """6 kW wanted of 3.6 + 2.4 kW times 0.8: f = 0.8, the last boiler just at its 60 degC."""
    data = GRIDS["two-series-load-0.8"]()
    got = expected(data)
    assert got.cut["E-1"] == pytest.approx(0.8, abs=1e-4)
    assert got.outlet["B-2"] == pytest.approx(60.0, abs=1e-3) or got.outlet["B-1"] == pytest.approx(
        55.0, abs=1e-3
    )
    assert got.duty["B-1"] == pytest.approx(2880.0, rel=1e-4)


def test_a_load_is_cut_to_nothing_where_the_floor_alone_takes_more_than_the_boilers_give() -> None:
    """Load 6 kW and floor at a third: f = 0; the floor takes just the 3795 W that the boilers give."""
    got = expected(GRIDS["two-series-load+floor-0.33"]())
    assert got.cut["E-1"] == 0.0
    assert got.delivered["E-2"] == pytest.approx(0.33 * 11500.0, rel=1e-4)
    assert sum(got.duty.values()) == pytest.approx(0.33 * 11500.0, rel=1e-4)
