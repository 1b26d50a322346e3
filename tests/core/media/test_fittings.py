"""Fitting losses against the general-purpose library `fluids` and the printed friction factors."""

import fluids
import pytest
from fluids import fittings as library

from core.errors import Refusal
from core.media.fittings import FITTINGS, fitting_k, turbulent_friction
from tests.verification.checks import Agrees

SUBJECT = "Tubes, fittings and insulation"

BORES = (0.009, 0.0125, 0.020, 0.0266, 0.0409, 0.0525, 0.0779, 0.1023, 0.2)


@pytest.mark.parametrize("bore", BORES)
def test_turbulent_friction_agrees_with_the_library(agrees: Agrees, bore: float) -> None:
    # source: fluids, ft_Crane
    got, library_says = turbulent_friction(bore), "package fluids, ft_Crane"
    agrees(f"fT at a bore of {bore} m", got, fluids.ft_Crane(bore), rel=2e-5, source=library_says)


@pytest.mark.parametrize(
    ("bore_mm", "printed"),
    [
        (15.76, 0.026),
        (20.96, 0.024),
        (26.64, 0.022),
        (35.08, 0.021),
        (40.94, 0.020),
        (52.48, 0.019),
        (62.68, 0.018),
        (77.92, 0.017),
        (102.26, 0.016),
    ],
)
def test_turbulent_friction_rounds_to_the_printed_value(bore_mm: float, printed: float) -> None:
    # source: Crane TP-410 (2009), table of fT for nominal 1/2 to 4 in, from memory; bores of schedule 40 pipe
    assert round(turbulent_friction(bore_mm / 1000.0), 3) == printed


@pytest.mark.parametrize("bore", [0.0157, 0.0266, 0.0525, 0.1023])
@pytest.mark.parametrize(
    ("name", "function"),
    [
        ("elbow_90", lambda d: library.bend_rounded(d, 90.0, method="Crane standard")),
        ("elbow_45", lambda d: library.bend_rounded(d, 45.0, method="Crane standard")),
        ("return_bend", lambda d: library.bend_rounded(d, 180.0, method="Crane standard")),
        ("ball_valve", lambda d: fluids.K_ball_valve_Crane(d, d, 0.0)),
        ("gate_valve", lambda d: fluids.K_gate_valve_Crane(d, d, 0.0)),
        ("globe_valve", lambda d: fluids.K_globe_valve_Crane(d, d)),
        ("angle_valve", lambda d: fluids.K_angle_valve_Crane(d, d, style=1)),
        ("y_valve", lambda d: fluids.K_angle_valve_Crane(d, d, style=0)),
        ("plug_valve", lambda d: fluids.K_plug_valve_Crane(d, d, 0.0)),
        ("entrance", lambda d: fluids.entrance_sharp(method="Crane")),
        ("exit", lambda d: fluids.exit_normal()),
    ],
)
def test_loss_coefficients_agree_with_the_library(
    agrees: Agrees, name: str, function: object, bore: float
) -> None:
    # source: fluids, Crane TP-410 functions
    assert callable(function)
    crane, what = "package fluids, Crane TP-410", f"K of {name.replace('_', ' ')}, bore {bore} m"
    agrees(what, fitting_k(name, bore), function(bore), rel=1e-4, source=crane)


def test_long_radius_elbow_agrees_with_the_librarys_curve() -> None:
    # source: fluids, bend_rounded_Crane: a smooth curve near Crane's table of bends, half a percent off
    assert fitting_k("elbow_90_long", 0.0525) == pytest.approx(
        library.bend_rounded_Crane(0.0525, 90.0, bend_diameters=1.5), rel=6e-3
    )


def test_butterfly_valve_agrees_with_the_library_from_two_inches_up() -> None:
    # source: fluids; the multiple 45 is printed for nominal 2 to 8 in
    assert fitting_k("butterfly_valve", 0.0779) == pytest.approx(
        fluids.K_butterfly_valve_Crane(0.0779), rel=1e-4
    )


@pytest.mark.parametrize(
    ("name", "one_inch", "four_inch"),
    [
        ("elbow_90", 0.66, 0.48),
        ("elbow_45", 0.352, 0.256),
        ("elbow_90_long", 0.308, 0.224),
        ("tee_run", 0.44, 0.32),
        ("tee_branch", 1.32, 0.96),
        ("return_bend", 1.1, 0.8),
        ("ball_valve", 0.066, 0.048),
        ("gate_valve", 0.176, 0.128),
        ("globe_valve", 7.48, 5.44),
        ("angle_valve", 3.3, 2.4),
        ("y_valve", 1.21, 0.88),
    ],
)
def test_loss_coefficients_agree_with_printed_friction_factors(
    agrees: Agrees, name: str, one_inch: float, four_inch: float
) -> None:
    # source: n times the printed fT (0.022 and 0.016), Crane TP-410 from memory; the rounding of fT is 2.3 %
    crane, what = "n times the printed fT, Crane TP-410 (from memory)", f"K of {name.replace('_', ' ')}"
    agrees(f"{what}, 1 in", fitting_k(name, 0.02664), one_inch, rel=0.023, source=crane)
    agrees(f"{what}, 4 in", fitting_k(name, 0.10226), four_inch, rel=0.023, source=crane)


def test_couplings_and_unions_have_the_handbooks_constant() -> None:
    # source: Perry's Chemical Engineers' Handbook, table of fitting losses (secondary copy): 0.04
    assert fitting_k("coupling", 0.02) == fitting_k("union", 0.05) == 0.04


def test_every_fitting_says_its_source_and_costs_something() -> None:
    for name, fitting in FITTINGS.items():
        assert fitting.name == name
        assert fitting.words
        assert "Crane" in fitting.source or "Perry" in fitting.source
        assert 0.0 < fitting_k(name, 0.02) < 15.0


def test_an_unknown_fitting_is_refused_with_the_nearest() -> None:
    with pytest.raises(Refusal, match=r"elbow90; expected one of .*Did you mean elbow_90\?"):
        fitting_k("elbow90", 0.02)
