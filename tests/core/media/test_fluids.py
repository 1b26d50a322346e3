"""Fluids against published values and general-purpose libraries; each check names its source beside it."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97

from core.errors import Refusal
from core.media.fluids import GLYCOLS, PURE_AT_60F, WATER_AT_60F, Fluid, fluid_of, fraction_range
from tests.verification.checks import Agrees

SUBJECT = "Water, glycol and air"

ZERO = 273.15
SIXTY_F = 288.7056
ASHRAE_FIT = {"propylene_glycol": "APG", "ethylene_glycol": "AEG"}  # percent by volume
NAMES = {"D": "density", "V": "viscosity", "C": "heat capacity", "L": "conductivity"}
MELINDER_FIT = {"propylene_glycol": "MPG", "ethylene_glycol": "MEG"}  # percent by mass


def glycol(kind: str, fraction: float) -> Fluid:
    return fluid_of({"kind": kind, "fraction": fraction})


# --- water --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bar", [1.02, 2.0, 3.0])
def test_water_agrees_with_iapws_at_any_temperature(agrees: Agrees, bar: float) -> None:
    # source: IAPWS-97 (density, heat capacity), IAPWS 2008 viscosity, IAPWS 2011 conductivity, package iapws;
    # temperatures between the table's nodes; 100 degC itself only where it is liquid
    celsius = np.append(np.arange(0.01, 99.9, 1.37), 100.0 if bar > 1.02 else 99.9)
    states = [IAPWS97(T=t + ZERO, P=bar / 10.0) for t in celsius]
    water = fluid_of({"kind": "water"})
    density, viscosity, heat_capacity = water.properties(celsius + ZERO)
    at, library = f"of water at {bar} bar, 0 to 100 degC", "IAPWS-97, 2008 and 2011, package iapws"
    conductivity = water.conductivity(celsius + ZERO)
    agrees(f"density {at}", density, [s.rho for s in states], "kg/m3", rel=1e-4, source=library)
    agrees(f"viscosity {at}", viscosity, [s.mu for s in states], "Pa s", rel=5e-3, source=library)
    capacities = [1000.0 * s.cp for s in states]
    agrees(f"heat capacity {at}", heat_capacity, capacities, "J/kg/K", rel=1e-3, source=library)
    agrees(f"conductivity {at}", conductivity, [s.k for s in states], "W/m/K", rel=2e-3, source=library)


def test_water_between_nodes_is_as_good_as_the_table_itself() -> None:
    # source: as above, at the table's own pressure; a twentieth of what is demanded
    celsius = np.arange(0.5, 120.0, 0.83)
    states = [IAPWS97(T=t + ZERO, P=0.2) for t in celsius]
    density, viscosity, heat_capacity = fluid_of({"kind": "water"}).properties(celsius + ZERO)
    np.testing.assert_allclose(density, [s.rho for s in states], rtol=2e-6)
    np.testing.assert_allclose(viscosity, [s.mu for s in states], rtol=1e-4)
    np.testing.assert_allclose(heat_capacity, [1000.0 * s.cp for s in states], rtol=2e-5)


@pytest.mark.parametrize(
    ("celsius", "density"),
    [(15, 999.1), (20, 998.2), (30, 995.7), (40, 992.2), (60, 983.2), (80, 971.7), (100, 958.1)],
)
def test_water_density_agrees_with_a_printed_table(agrees: Agrees, celsius: float, density: float) -> None:
    # source: textbook water table as printed in a public vignette of pipe hydraulics (its viscosities are
    # 1.3 to 3 % high and are not used)
    got, book = fluid_of({"kind": "water"}).density(celsius + ZERO), "textbook water table"
    agrees(f"density of water at {celsius} degC", got, density, "kg/m3", rel=5e-4, source=book)


def test_water_is_densest_near_four_degrees(agrees: Agrees) -> None:
    # source: textbook, 3.98 degC at one atmosphere
    kelvins = np.linspace(ZERO, ZERO + 10.0, 1001)
    densest = kelvins[np.argmax(fluid_of({"kind": "water"}).density(kelvins))] - ZERO
    agrees(
        "temperature of greatest density",
        densest,
        3.98,
        "degC",
        within=0.1,
        source="textbook, at one atmosphere",
    )


# --- glycols ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", GLYCOLS)
@pytest.mark.parametrize("fraction", [0.10, 0.175, 0.25, 0.333, 0.35, 0.42, 0.50, 0.575, 0.60])
def test_glycol_agrees_with_the_librarys_table_by_volume(agrees: Agrees, kind: str, fraction: float) -> None:
    # source: ASHRAE Fundamentals tables as fitted in CoolProp (incompressible APG and AEG, volume fractions)
    fluid = glycol(kind, fraction)
    name = f"INCOMP::{ASHRAE_FIT[kind]}[{fraction}]"
    kelvins = np.arange(fluid.low + 0.2, fluid.high, 6.1)
    found = [*fluid.properties(kelvins), fluid.conductivity(kelvins)]
    for key, values, tolerance in zip("DVCL", found, (2e-5, 1.5e-3, 1e-4, 2e-4), strict=True):
        expected = [PropsSI(key, "T", t, "P", 3e5, name) for t in kelvins]
        what = f"{NAMES[key]} of {kind.replace('_', ' ')}, volume share {fraction}"
        table = "ASHRAE Fundamentals as fitted in package CoolProp"
        agrees(what, values, expected, rel=tolerance, source=table)
    freezing = PropsSI("T_freeze", "T", 298.15, "P", 3e5, name)
    assert fluid.freezing == pytest.approx(freezing, abs=0.01)


@pytest.mark.parametrize("kind", GLYCOLS)
@pytest.mark.parametrize("fraction", [0.2, 0.3, 0.4, 0.5])
def test_glycol_agrees_with_an_independent_table_by_mass(agrees: Agrees, kind: str, fraction: float) -> None:
    # source: Melinder 2010 as fitted in CoolProp (MPG and MEG, mass fractions); a second family of
    # measurements, so the tolerances are its distance from the ASHRAE tables; the mass share is ours
    fluid = glycol(kind, fraction)
    name = f"INCOMP::{MELINDER_FIT[kind]}[{fluid.mass_fraction}]"
    kelvins = np.arange(ZERO, ZERO + 91.0, 10.0)
    density, viscosity, heat_capacity = fluid.properties(kelvins)
    for key, values, tolerance in (
        ("D", density, 0.010),
        ("V", viscosity, 0.12),
        ("C", heat_capacity, 0.025),
    ):
        expected = [PropsSI(key, "T", t, "P", 3e5, name) for t in kelvins]
        what = f"{NAMES[key]} of {kind.replace('_', ' ')}, volume share {fraction}"
        agrees(what, values, expected, rel=tolerance, source="Melinder (2010) as fitted in package CoolProp")


@pytest.mark.parametrize(
    ("kind", "percent", "freezing", "tolerance"),
    [
        # source: Lange's Handbook of Chemistry, 15th edition, table 5.13 (whole degrees Fahrenheit)
        ("propylene_glycol", 20, -6.7, 1.0),
        ("propylene_glycol", 30, -12.8, 1.0),
        ("propylene_glycol", 35, -16.1, 1.0),
        ("propylene_glycol", 40, -20.6, 1.0),
        ("propylene_glycol", 45, -26.7, 1.0),
        ("propylene_glycol", 50, -33.3, 1.0),
        # the same table's weak mixtures lie further from every other source
        ("propylene_glycol", 10, -2.2, 2.0),
        ("propylene_glycol", 15, -3.9, 2.0),
        ("propylene_glycol", 25, -8.9, 2.0),
        # source: ASHRAE Fundamentals, from memory
        ("propylene_glycol", 30, -13.1, 0.8),
        ("propylene_glycol", 40, -21.5, 0.8),
        ("propylene_glycol", 50, -33.7, 0.8),
        ("ethylene_glycol", 30, -15.7, 0.8),
        ("ethylene_glycol", 40, -24.8, 0.8),
        ("ethylene_glycol", 50, -37.1, 0.8),
    ],
)
def test_freezing_point_agrees_with_published(
    agrees: Agrees, kind: str, percent: int, freezing: float, tolerance: float
) -> None:
    found = glycol(kind, percent / 100.0).freezing
    assert found is not None
    lange, ashrae = "Lange's Handbook of Chemistry, 15th ed., table 5.13", "ASHRAE Fundamentals (from memory)"
    book, what = ashrae if tolerance == 0.8 else lange, f"freezing of {percent} % {kind.replace('_', ' ')}"
    agrees(what, found - ZERO, freezing, "degC", within=tolerance, source=book)


@pytest.mark.parametrize(("percent", "gravity"), [(20, 1.017), (30, 1.024), (40, 1.032), (50, 1.040)])
def test_propylene_glycol_specific_gravity_agrees_with_published(
    agrees: Agrees, percent: int, gravity: float
) -> None:
    # source: Lange's Handbook of Chemistry, 15th edition, table 5.13, specific gravity at 60 degF by volume
    density = glycol("propylene_glycol", percent / 100.0).density(SIXTY_F)
    book = "Lange's Handbook of Chemistry, 15th ed., table 5.13"
    agrees(f"gravity of {percent} % propylene glycol", density / WATER_AT_60F, gravity, rel=8e-3, source=book)


@pytest.mark.parametrize(
    ("percent", "mass"), [(10, 10.3), (20, 20.6), (30, 30.8), (35, 35.9), (40, 40.9), (50, 50.9)]
)
def test_mass_share_of_propylene_glycol(percent: int, mass: float) -> None:
    # source: computed from pure densities 1.038 and 1.000 beside the published freezing points
    found = 100.0 * glycol("propylene_glycol", percent / 100.0).mass_fraction
    assert found == pytest.approx(mass, abs=0.15)


def test_pure_densities_at_sixty_fahrenheit() -> None:
    # source: IAPWS-97 and CoolProp's equation of state of propylene glycol
    assert IAPWS97(T=SIXTY_F, P=0.101325).rho == pytest.approx(WATER_AT_60F, abs=0.01)
    library = PropsSI("D", "T", SIXTY_F, "P", 101325.0, "PropyleneGlycol")
    assert library == pytest.approx(PURE_AT_60F["propylene_glycol"], abs=0.1)


@pytest.mark.parametrize("kind", GLYCOLS)
def test_fraction_outside_the_table_is_refused_with_the_range(kind: str) -> None:
    assert fraction_range(kind) == pytest.approx((0.10, 0.60))
    for fraction in (None, 0.0, 0.0999, 0.61, 35.0, float("nan"), "0.35", True):
        with pytest.raises(Refusal, match=r"0\.1 to 0\.6"):
            fluid_of({"kind": kind, "fraction": fraction})


def test_a_toxic_glycol_says_so() -> None:
    assert "toxic" in glycol("ethylene_glycol", 0.3).caution
    assert glycol("propylene_glycol", 0.3).caution == ""


# --- every table --------------------------------------------------------------------------------------------

TABLED = [
    {"kind": "water"},
    *({"kind": kind, "fraction": share} for kind in GLYCOLS for share in (0.1, 0.22, 0.35, 0.5, 0.6)),
]


@pytest.mark.parametrize("spec", TABLED, ids=str)
def test_beyond_the_range_values_stay_positive_and_go_one_way(spec: dict[str, object]) -> None:
    fluid = fluid_of(spec)
    kelvins = np.concatenate([[1.0, 50.0], np.arange(100.0, 600.0, 0.5), [1e4]])
    density, viscosity, heat_capacity = fluid.properties(kelvins)
    assert viscosity.min() > 5e-5
    assert (np.diff(viscosity) <= 0.0).all()
    assert density.min() > 800.0
    assert density.max() < 1130.0
    assert (np.diff(density[kelvins > 278.0]) <= 0.0).all()
    assert heat_capacity.min() > 2400.0
    assert heat_capacity.max() < 4400.0
    assert fluid.conductivity(kelvins).min() > 0.15


@pytest.mark.parametrize("spec", TABLED, ids=str)
def test_properties_are_smooth_everywhere(spec: dict[str, object]) -> None:
    fluid = fluid_of(spec)
    kelvins = np.arange(150.0, 500.0, 0.05)
    for values in (*fluid.properties(kelvins), fluid.conductivity(kelvins)):
        slope = np.diff(np.log(values)) / 0.05
        assert abs(np.diff(slope)).max() < 2e-4  # a kink would show as a jump of the slope


@pytest.mark.parametrize("spec", TABLED[:3], ids=str)
def test_one_look_up_and_single_properties_agree(spec: dict[str, object]) -> None:
    fluid = fluid_of(spec)
    kelvins = np.array([[285.0, 300.0, 333.3], [290.0, 350.0, 361.0]])
    density, viscosity, heat_capacity = fluid.properties(kelvins)
    assert density.shape == kelvins.shape
    np.testing.assert_array_equal(density, fluid.density(kelvins))
    np.testing.assert_array_equal(viscosity, fluid.viscosity(kelvins))
    np.testing.assert_array_equal(heat_capacity, fluid.heat_capacity(kelvins))
    assert fluid.density(333.3) == density[0, 2]
    assert isinstance(fluid.viscosity(300.0), float)
    assert fluid.conductivity(300.0) == fluid.conductivity(kelvins)[0, 1]


def test_the_same_spec_gives_the_same_object() -> None:
    first = fluid_of({"kind": "propylene_glycol", "fraction": 0.35})
    assert fluid_of({"fraction": 0.35, "kind": "propylene_glycol", "density": None}) is first


# --- custom fluids ------------------------------------------------------------------------------------------

CONSTANTS = {
    "kind": "custom",
    "density": 998.0,
    "viscosity": 1e-3,
    "heat_capacity": 4182.0,
    "conductivity": 0.58,
}


def test_a_custom_fluid_is_constant() -> None:
    fluid = fluid_of(CONSTANTS)
    kelvins = np.array([200.0, 293.15, 500.0])
    density, viscosity, heat_capacity = fluid.properties(kelvins)
    np.testing.assert_array_equal(density, 998.0)
    np.testing.assert_allclose(viscosity, 1e-3, rtol=1e-14)
    np.testing.assert_array_equal(heat_capacity, 4182.0)
    assert fluid.conductivity(300.0) == 0.58
    assert fluid.freezing is None


@pytest.mark.parametrize("kelvin", [263.15, 293.15, 300.0, 363.15])
def test_a_custom_fluid_expands_by_its_share_per_kelvin(kelvin: float) -> None:
    # source: the plant file's contract: density falls by that share per kelvin from `reference`
    fluid = fluid_of({**CONSTANTS, "expansion": 4.5e-4, "reference": 313.15})
    assert fluid.density(kelvin) == pytest.approx(998.0 * (1.0 - 4.5e-4 * (kelvin - 313.15)), rel=1e-13)


@pytest.mark.parametrize("expansion", [0.02, -0.02])
def test_a_custom_fluid_never_loses_all_its_density(expansion: float) -> None:
    fluid = fluid_of({**CONSTANTS, "expansion": expansion, "reference": 293.15})
    assert fluid.density(np.array([1.0, 100.0, 300.0, 900.0, 3000.0])).min() > 40.0


@pytest.mark.parametrize("key", ["density", "viscosity", "heat_capacity", "conductivity"])
def test_a_custom_fluid_with_a_value_not_above_zero_is_refused(key: str) -> None:
    for value in (0.0, -1.0, float("inf"), float("nan")):
        with pytest.raises(Refusal, match=rf"fluid\.{key}"):
            fluid_of({**CONSTANTS, key: value})


def test_a_custom_fluid_without_a_value_is_refused() -> None:
    with pytest.raises(Refusal, match=r"fluid\.viscosity.*nothing"):
        fluid_of({"kind": "custom", "density": 998.0, "heat_capacity": 4182.0})


def test_an_unknown_kind_is_refused_with_the_nearest() -> None:
    with pytest.raises(Refusal, match="propylene_glycol"):
        fluid_of({"kind": "propylen_glycol", "fraction": 0.3})
