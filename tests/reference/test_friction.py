"""Friction factors against a general-purpose library, and the bridge between laminar and turbulent flow."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.friction import friction_factor as library_factor

from core.hydraulics.friction import friction_factor
from tests.reference.independent import colebrook
from tests.verification.checks import Agrees

SUBJECT = "Friction in pipes"

ROUGH = [0.0, 1e-6, 1e-5, 1e-4, 3e-4, 1e-3, 3e-3, 1e-2, 2e-2, 5e-2]


@pytest.mark.parametrize("rough", ROUGH)
def test_turbulent_factor_is_colebrooks(agrees: Agrees, rough: float) -> None:
    """`fluids`, exact Colebrook (Clamond's method), Re 4000 to 1e8."""
    numbers = np.geomspace(4000, 1e8, 200)
    got = friction_factor(numbers, np.full_like(numbers, rough))
    want = [library_factor(Re=float(re), eD=rough, Method="Clamond") for re in numbers]
    source = "package fluids, exact Colebrook by Clamond (2009)"
    agrees(f"Darcy factor, roughness {rough:g}, Re 4000 to 1e8", got, want, rel=1e-6, source=source)


@pytest.mark.parametrize("rough", ROUGH)
def test_turbulent_factor_solves_its_own_equation(agrees: Agrees, rough: float) -> None:
    """To 1e-8, as the contract says: Colebrook-White stepped until it stands."""
    numbers = np.geomspace(4000, 1e8, 60)
    got = friction_factor(numbers, np.full_like(numbers, rough))
    want = [colebrook(float(re), rough) for re in numbers]
    source = "Colebrook (1939), stepped until it stands"
    agrees(f"Darcy factor, roughness {rough:g}, Re 4000 to 1e8", got, want, rel=1e-8, source=source)


def test_laminar_factor(agrees: Agrees) -> None:
    numbers = np.geomspace(1, 2000, 100)
    for rough in (0.0, 0.05):
        got = friction_factor(numbers, np.full_like(numbers, rough))
        source = "Hagen-Poiseuille, 64/Re"
        agrees(f"Darcy factor, roughness {rough:g}, Re 1 to 2000", got, 64 / numbers, rel=1e-9, source=source)


@pytest.mark.parametrize("rough", ROUGH)
def test_bridge_is_the_cubic_of_both_ends(rough: float) -> None:
    """The cubic in Re through value and slope at 2000 and 4000, written out anew."""
    step = 0.5
    end = colebrook(4000, rough)
    slope = (colebrook(4000 + step, rough) - colebrook(4000 - step, rough)) / (2 * step)
    numbers = np.linspace(2000, 4000, 41)
    t, width = (numbers - 2000) / 2000, 2000
    want = (
        0.032 * (1 + 2 * t) * (1 - t) ** 2
        + width * (-0.032 / 2000) * t * (1 - t) ** 2
        + end * t**2 * (3 - 2 * t)
        + width * slope * t**2 * (t - 1)
    )
    np.testing.assert_allclose(friction_factor(numbers, np.full_like(numbers, rough)), want, rtol=1e-6)


@pytest.mark.parametrize("rough", ROUGH)
def test_loss_never_falls_with_flow(rough: float) -> None:
    numbers = np.geomspace(1, 1e6, 4000)
    loss = friction_factor(numbers, np.full_like(numbers, rough)) * numbers**2
    assert (np.diff(loss) > 0).all()


def test_factors_printed_in_textbooks(agrees: Agrees) -> None:
    """White 6.18 pipes 1 to 3 (stored copy); Cengel 8-3 (from memory)."""
    white, cengel = "White, Fluid Mechanics, Example 6.18", "Cengel and Cimbala, Example 8-3 (from memory)"
    for reynolds, rough, want, source in (
        (0.08 * 3.46 / 1.02e-6, 0.003, 0.0267, white),
        (0.06 * 2.55 / 1.02e-6, 0.002, 0.0246, white),
        (0.04 * 2.52 / 1.02e-6, 0.005, 0.0313, white),
        (126400, 4.2e-5, 0.0174, cengel),
        (248625, 0.0005 / (20 / 12), 0.0173, cengel),
    ):
        got = friction_factor(np.array([reynolds]), np.array([rough]))
        agrees(f"Darcy factor at Re {reynolds:.0f}", got, want, within=2e-4, source=source)
