"""Rows of a heat pump: straight between them, flat beyond, and which weather and supply they cover."""

import pytest

from core.thermal.heat_pumps import output_at

GRID = (
    (260.0, 308.0, 8e3, 3e3),
    (260.0, 318.0, 7e3, 3.4e3),
    (280.0, 308.0, 12e3, 2.8e3),
    (280.0, 318.0, 11e3, 3.2e3),
)


@pytest.mark.parametrize(
    ("outdoor", "supply", "heat", "power"),
    [
        (260.0, 308.0, 8e3, 3e3),
        (280.0, 318.0, 11e3, 3.2e3),
        (270.0, 313.0, 9.5e3, 3.1e3),
        (265.0, 308.0, 9e3, 2.95e3),
        (250.0, 308.0, 8e3, 3e3),  # flat beyond
        (290.0, 330.0, 11e3, 3.2e3),
        (260.0, 300.0, 8e3, 3e3),
    ],
)
def test_heat_and_power_are_bilinear_and_flat_beyond(outdoor, supply, heat, power):
    output = output_at(GRID, outdoor)
    assert output.heat(supply) == pytest.approx(heat)
    assert output.power(supply) == pytest.approx(power)


@pytest.mark.parametrize(
    ("supply", "slope"), [(307.0, 0.0), (308.0, -100.0), (313.0, -100.0), (318.0, 0.0), (319.0, 0.0)]
)
def test_slope_is_that_of_the_line_above_a_supply_temperature(supply, slope):
    assert output_at(GRID, 270.0).slope(supply) == pytest.approx(slope)


@pytest.mark.parametrize(
    ("outdoor", "supply", "covered"),
    [
        (270.0, 313.0, True),
        (260.0, 308.0, True),
        (280.0, 318.0, True),
        (259.97, 307.97, True),  # within a twentieth of a kelvin
        (280.03, 318.03, True),
        (259.9, 313.0, False),
        (280.1, 313.0, False),
        (270.0, 307.9, False),
        (270.0, 318.1, False),
    ],
)
def test_what_the_rows_cover(outdoor, supply, covered):
    assert output_at(GRID, outdoor).covers(supply) is covered


def test_between_lines_only_what_both_reach_is_covered():
    rows = (*GRID[:3], (280.0, 328.0, 10e3, 4e3), (260.0, 303.0, 8.4e3, 2.9e3))
    output = output_at(rows, 270.0)
    assert (output.low, output.high) == (308.0, 318.0)
    assert output.heat(328.0) == pytest.approx((7e3 + 10e3) / 2)


def test_with_fewer_supply_temperatures_the_lines_run_along_the_weather():
    rows = ((250.0, 308.0, 6e3, 3e3), (270.0, 308.0, 10e3, 3e3), (280.0, 308.0, 11e3, 3e3))
    assert output_at(rows, 260.0).heat(340.0) == pytest.approx(8e3)
    assert output_at(rows, 275.0).heat(300.0) == pytest.approx(10.5e3)
    assert output_at(rows, 275.0).weather == (250.0, 280.0)
    assert output_at(rows, 240.0).heat(308.0) == pytest.approx(6e3)
