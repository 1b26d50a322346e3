"""Heat content of a fluid: the integral of its heat capacity, and back."""

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.integrate import quad

from core.media.fluids import fluid_of
from core.thermal.heat import HeatTables, heat_table
from tests.verification.checks import Agrees

SUBJECT = "Heat carried, mixed and lost"
ZERO = 273.15
WATER = fluid_of({"kind": "water"})
GLYCOL = fluid_of({"kind": "propylene_glycol", "fraction": 0.4})


@pytest.mark.parametrize(("cold", "hot"), [(10.0, 60.0), (55.3, 55.9), (20.0, 95.0)])
def test_content_is_the_integral_of_heat_capacity(agrees: Agrees, cold: float, hot: float) -> None:
    table = heat_table(WATER)
    want, _ = quad(lambda t: IAPWS97(T=t + ZERO, P=0.2).cp * 1e3, cold, hot)
    got = table.content(hot + ZERO) - table.content(cold + ZERO)
    what = f"heat content of water from {cold} to {hot} degC"
    agrees(what, got, want, "J/kg", rel=1e-4, source="IAPWS-97, package iapws, integrated")
    mean = table.mean_capacity(cold + ZERO, hot + ZERO)
    assert mean == pytest.approx(want / (hot - cold), rel=1e-4)
    assert table.mean_capacity(hot + ZERO, cold + ZERO) == pytest.approx(mean, rel=1e-12)


@pytest.mark.parametrize("celsius", [0.5, 4.0, 37.77, 60.0, 99.0])
def test_the_mean_over_no_difference_is_the_capacity_there(celsius: float) -> None:
    kelvin = celsius + ZERO
    for fluid in (WATER, GLYCOL):
        table = heat_table(fluid)
        assert table.mean_capacity(kelvin, kelvin) == pytest.approx(
            float(fluid.heat_capacity(kelvin)), rel=5e-4
        )
        assert table.capacity(kelvin) == pytest.approx(float(fluid.heat_capacity(kelvin)), rel=5e-4)


@pytest.mark.parametrize("celsius", [-30.0, 0.0, 20.0, 61.7, 95.0, 140.0, 400.0])
def test_temperature_is_the_inverse_of_content_also_beyond_the_table(celsius: float) -> None:
    for fluid in (WATER, GLYCOL):
        table = heat_table(fluid)
        assert table.temperature(table.content(celsius + ZERO)) == pytest.approx(celsius + ZERO, abs=1e-6)


def test_many_places_at_once_are_each_by_their_own_fluid() -> None:
    plain = fluid_of(
        {"kind": "custom", "density": 1e3, "viscosity": 1e-3, "heat_capacity": 4e3, "conductivity": 0.6}
    )
    fluids = [WATER, GLYCOL, plain, WATER]
    tables = [heat_table(fluid) for fluid in fluids]
    assert heat_table(WATER) is tables[0]
    many = HeatTables(tables)
    for celsius in (-60.0, 5.0, 33.3, 80.0, 300.0):
        kelvins = np.full(4, celsius + ZERO) + np.arange(4.0)
        content, slope = many.content_and_capacity(kelvins)
        assert content == pytest.approx([table.content(t) for table, t in zip(tables, kelvins, strict=True)])
        assert slope == pytest.approx([table.capacity(t) for table, t in zip(tables, kelvins, strict=True)])
        assert many.capacity(kelvins) == pytest.approx(slope)
        assert slope[2] == pytest.approx(4000.0)
