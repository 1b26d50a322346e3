"""Standing words in one system of units; what the user typed stays."""

from __future__ import annotations

from dataclasses import replace

import pytest

from core.papers.blocks import Grid, Said
from core.papers.one_system import in_one_system, in_system
from core.plant.model import Plant


# By hand: (F - 32) / 1.8, 1 ft = 0.3048 m, 1 psi = 6.894757 kPa, 1 gpm = 0.0630902 L/s (NIST SP 811,
# from memory).
@pytest.mark.parametrize(
    ("text", "us", "si"),
    [
        ("over 140 °F (60 °C) scalds", "over 140 °F scalds", "over 60 °C scalds"),
        ("below 51 °C (124 °F)", "below 124 °F", "below 51 °C"),
        ("runs (2 ft/s, 0.6 m/s); so", "runs (2 ft/s); so", "runs (0.6 m/s); so"),
        ("10, 50, 70, 90 °C", "50, 122, 158, 194 °F", "10, 50, 70, 90 °C"),
        ("10 to 15 Btu/h/ft²", "10 to 15 Btu/h/ft²", "32 to 47 W/m²"),
        ("5 °F below the coldest", "5 °F below the coldest", "2.8 K below the coldest"),
        (
            "1.35 ft of head per 100 ft, or m per 100 m",
            "1.35 ft of head per 100 ft",
            "1.35 m of head per 100 m",
        ),
        ("3/4 in copper, 22 x 1 mm", "3/4 in copper, 22 x 1 mm", "3/4 in copper, 22 x 1 mm"),
        ("hot at 140 degF", "hot at 140 °F", "hot at 60 °C"),
    ],
)
def test_a_standing_figure_is_said_in_the_papers_units(text: str, us: str, si: str) -> None:
    assert in_system(text, "us") == us
    assert in_system(text, "si") == si


def test_the_users_own_words_stay_as_typed() -> None:
    plant = replace(Plant(), title="The 30 psi shed")
    said, grid = in_one_system(
        [Said("The 30 psi shed: relief at 30 psi"), Grid("", ("a",), (("The 30 psi shed",),))], plant, "si"
    )
    assert isinstance(said, Said)
    assert said.text == "The 30 psi shed: relief at 210 kPa"
    assert isinstance(grid, Grid)
    assert grid.rows == (("The 30 psi shed",),)
