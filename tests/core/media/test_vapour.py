"""Vapour pressure against the steam tables (IAPWS-97), the air's against the standard atmosphere."""

from __future__ import annotations

import pytest
from iapws.iapws97 import _PSat_T

from core.media.vapour import atmosphere, vapour_pressure


@pytest.mark.parametrize(
    ("celsius", "kpa"), [(25.0, 3.1699), (60.0, 19.946), (100.0, 101.42), (140.0, 361.54)]
)
def test_printed_steam_table(celsius: float, kpa: float):
    assert vapour_pressure(celsius + 273.15) / 1e3 == pytest.approx(kpa, rel=2e-4)


@pytest.mark.parametrize("kelvin", [275.0, 300.0, 330.0, 360.0, 400.0, 450.0])
def test_industrial_formulation(kelvin: float):
    assert vapour_pressure(kelvin) == pytest.approx(_PSat_T(kelvin) * 1e6, rel=3e-4)


@pytest.mark.parametrize(("metres", "pascal"), [(0.0, 101325.0), (1000.0, 89874.6), (3000.0, 70108.5)])
def test_standard_atmosphere(metres: float, pascal: float):
    assert atmosphere(metres) == pytest.approx(pascal, rel=1e-4)
