"""The friction law against Colebrook stepped to rest, and its joints at Re 2000 and 4000."""

import numpy as np
import pytest

from core.hydraulics.friction import bridge, friction_factor, friction_number
from tests.support.balance import factor

ROUGHNESS = np.array([0.0, 1e-6, 1e-4, 3e-3, 0.05])


def number(reynolds: float) -> tuple[np.ndarray, np.ndarray]:
    return friction_number(np.full(len(ROUGHNESS), reynolds), ROUGHNESS, bridge(ROUGHNESS))


@pytest.mark.parametrize("reynolds", [1.0, 1500.0, 2000.0, 4000.0, 4100.0, 3e4, 1e6, 1e8])
def test_factor_is_the_contracts(reynolds):
    expected = [factor(reynolds, r) for r in ROUGHNESS]
    assert friction_factor(reynolds, ROUGHNESS) == pytest.approx(expected, rel=3e-9)


@pytest.mark.parametrize("reynolds", [2001.0, 2500.0, 3000.0, 3700.0, 3999.0])
def test_factor_of_the_transition_is_the_contracts_cubic(reynolds):
    expected = [factor(reynolds, r) for r in ROUGHNESS]
    assert friction_factor(reynolds, ROUGHNESS) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("reynolds", [0.0, 10.0, 1999.0, 2300.0, 3100.0, 3999.0, 4001.0, 2e4, 1e7])
def test_slope_is_the_laws_own(reynolds):
    step = 1e-4 * max(reynolds, 1.0)
    (low, _), (high, _) = number(max(reynolds - step, 0.0)), number(reynolds + step)
    difference = (high - low) / (step + min(step, reynolds))
    assert number(reynolds)[1] == pytest.approx(difference, rel=2e-4)


@pytest.mark.parametrize("joint", [2000.0, 4000.0])
def test_value_and_slope_run_on_through_the_joints(joint):
    (g0, s0), (g1, s1) = number(joint * (1 - 1e-12)), number(joint * (1 + 1e-12))
    assert g1 == pytest.approx(g0, rel=1e-9)
    assert s1 == pytest.approx(s0, rel=1e-8)


def test_loss_always_rises_and_starts_at_nothing():
    values = np.array([number(re)[0] for re in (0.0, *np.geomspace(1e-3, 1e9, 900))])
    assert (values[0] == 0.0).all()
    assert (np.diff(values, axis=0) > 0.0).all()


def test_a_wild_step_gives_finite_losses():
    g, slope = number(1e25)
    assert np.isfinite([g, slope]).all()
    assert (slope > 0.0).all()
