"""Heat loss of insulated pipes against an independent library and a published orientation value."""

import math

import pytest
from ht.conduction import R_cylinder

from core.media.insulation import (
    DEFAULT_CONDUCTIVITY,
    INSULATIONS,
    SURFACE_COEFFICIENT,
    loss_per_metre_kelvin,
)
from tests.verification.checks import Agrees

SUBJECT = "Tubes, fittings and insulation"


@pytest.mark.parametrize("radius", [0.008, 0.0143, 0.027, 0.057])
@pytest.mark.parametrize("thickness", [0.006, 0.013, 0.025, 0.05])
@pytest.mark.parametrize("conductivity", [0.023, 0.040, 0.055])
def test_loss_agrees_with_the_librarys_cylinder(
    agrees: Agrees, radius: float, thickness: float, conductivity: float
) -> None:
    # source: ht, R_cylinder (conduction through a cylinder, one metre long), plus a film of 10 W/m2/K outside
    outer = radius + thickness
    resistance = R_cylinder(2.0 * radius, 2.0 * outer, conductivity, 1.0) + 1.0 / (
        2.0 * math.pi * outer * 10.0
    )
    got, what = loss_per_metre_kelvin(radius, thickness, conductivity), f"radius {radius} m, {thickness} m of"
    library = "package ht, R_cylinder, and a film of 10 W/m2/K"
    agrees(f"tube of {what} {conductivity} W/m/K", got, 1.0 / resistance, "W/m/K", rel=1e-9, source=library)


@pytest.mark.parametrize(
    ("inches", "btu_per_hour_foot", "film"),
    [
        # source: thermal reference D06 and D07: glass fibre of 0.26 Btu in/h/ft2/F and a film
        # of 1.6 Btu/h/ft2/F on a 3/4 in tube, water 140 F, room 70 F
        (0.5, 10.18682, 1.6),
        (1.0, 7.315597, 1.6),
        # source: ASHRAE Applications, service water heating, from memory: bare 30, a film of 1.9
        (0.0, 30.0, 1.9),
    ],
)
def test_three_quarter_inch_tube_loses_what_is_published(
    agrees: Agrees, inches: float, btu_per_hour_foot: float, film: float
) -> None:
    conductivity, surface = 0.26 / 12.0 * 1.730735, film * 5.678263  # [W/m/K], [W/m2/K]
    loss = loss_per_metre_kelvin(0.875 / 2.0 * 0.0254, inches * 0.0254, conductivity, surface)
    tolerance = 1e-4 if inches else 0.02
    got = loss * (140.0 - 70.0) / 1.8 / 0.96152
    book = "package ht, cases D06 and D07" if inches else "ASHRAE Applications, service water (from memory)"
    what = f"3/4 in tube of 140 degF with {inches} in of insulation"
    agrees(what, got, btu_per_hour_foot, "Btu/h/ft", rel=tolerance, source=book)


def test_a_bare_tube_has_only_its_film() -> None:
    assert loss_per_metre_kelvin(0.014, 0.0) == pytest.approx(2.0 * math.pi * 0.014 * 10.0)


def test_more_insulation_loses_less_beyond_the_critical_radius() -> None:
    # source: critical radius k/h = 4 mm, textbook identity; below it a thin layer can lose more
    thick = [loss_per_metre_kelvin(0.011, t / 1000.0) for t in range(0, 60, 3)]
    assert thick == sorted(thick, reverse=True)
    assert loss_per_metre_kelvin(0.002, 0.002) > loss_per_metre_kelvin(0.002, 0.0)


def test_the_contracts_defaults() -> None:
    # source: the plant file's contract
    assert (DEFAULT_CONDUCTIVITY, SURFACE_COEFFICIENT) == (0.040, 10.0)


def test_every_material_names_a_source_and_a_sensible_conductivity() -> None:
    for name, material in INSULATIONS.items():
        assert material.name == name
        assert material.source
        assert 0.015 < material.conductivity < 0.07
