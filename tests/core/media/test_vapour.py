"""Vapour pressure against the steam tables (IAPWS-97), the air's against the standard atmosphere."""

from __future__ import annotations

import pytest
from iapws.iapws97 import _PSat_T

from core.media.vapour import atmosphere, vapour_pressure
from tests.verification.checks import Agrees

SUBJECT = "Water, glycol and air"


@pytest.mark.parametrize(
    ("celsius", "kpa"), [(25.0, 3.1699), (60.0, 19.946), (100.0, 101.42), (140.0, 361.54)]
)
def test_printed_steam_table(agrees: Agrees, celsius: float, kpa: float) -> None:
    got = vapour_pressure(celsius + 273.15) / 1e3
    agrees(f"vapor pressure at {celsius} degC", got, kpa, "kPa", rel=2e-4, source="printed steam table")


@pytest.mark.parametrize("kelvin", [275.0, 300.0, 330.0, 360.0, 400.0, 450.0])
def test_industrial_formulation(agrees: Agrees, kelvin: float):
    got, want = vapour_pressure(kelvin), _PSat_T(kelvin) * 1e6
    agrees(f"vapor pressure at {kelvin} K", got, want, "Pa", rel=3e-4, source="IAPWS-97, package iapws")


@pytest.mark.parametrize(("metres", "pascal"), [(0.0, 101325.0), (1000.0, 89874.6), (3000.0, 70108.5)])
def test_standard_atmosphere(agrees: Agrees, metres: float, pascal: float):
    book = "U.S. Standard Atmosphere 1976"
    agrees(f"pressure of the air at {metres} m", atmosphere(metres), pascal, "Pa", rel=1e-4, source=book)
