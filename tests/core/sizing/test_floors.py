"""Floors: the published characteristic and limits, and the water promised tried in the solver."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from core.sizing.context import Context
from core.sizing.families.floors import (
    WATER_LIMITS,
    ZONES,
    greatest_flux,
    size,
    surface_temperature,
)
from core.sizing.trial import with_props
from core.solve import solve_case
from tests.reference.cases import expected, given, source, tolerance
from tests.support.sizes import SAMPLES, changed, context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

ZERO = 273.15


@pytest.mark.parametrize("ident", ["F01", "F02", "F03"])
def test_flux_at_the_limits(agrees: Agrees, ident: str) -> None:
    v = given(ident)
    got = greatest_flux(number("T_m", v["Ts"]), number("T_r", v["Ti"]))
    what = f"floor at {v['Ts']} degC in a room of {v['Ti']} degC: heat"
    agrees(what, got.value, expected(ident)["q"], "W/m2", rel=tolerance(ident), source=source(ident))
    back = surface_temperature(number("q", float(got.value)), number("T_r", v["Ti"]))
    assert back.value == pytest.approx(v["Ts"])


def test_surface_of_a_published_flux_and_excess(agrees: Agrees) -> None:
    v = given("F04")
    got = surface_temperature(number("q", v["q"]), number("T_r", v["Ti"]))
    agrees(
        "surface of a floor at 60 W/m2",
        got.value,
        expected("F04")["Ts"],
        "degC",
        within=0.005,
        source=source("F04"),
    )


def test_american_relation_is_near(agrees: Agrees) -> None:
    """F05: 2 Btu/h/ft2 per degF give 34 at 85 over 68 degF, the standard 33.4."""
    kelvin = (given("F05")["Ts"] - given("F05")["Ti"]) / 1.8
    got = greatest_flux(number("T_m", kelvin), number("T_r", 0.0))
    flux = float(got.value) / 3.1545907
    agrees(
        "floor at 85 degF, room at 68",
        flux,
        expected("F05")["q"],
        "Btu/h/ft2",
        rel=0.02,
        source=source("F05"),
    )


def test_limits_are_the_published_ones() -> None:
    path = Path(__file__).parents[2] / "reference" / "data" / "floor_limits.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = {row["zone"]: row for row in csv.DictReader(file)}
    named = {"occupied": "occupied", "bathroom": "bathroom", "edge along cold walls": "perimeter"}
    for zone in ZONES:
        row = rows[named.get(zone.name, "wood floor (surface)")]
        assert zone.surface - ZERO == pytest.approx(float(row["T_surface_C"]))
        assert zone.source
        if row["q_limit_W_m2"]:
            most = greatest_flux(number("T_m", zone.over), number("T_r", 0.0))
            assert most.value == pytest.approx(float(row["q_limit_W_m2"]), rel=0.01)
    assert [limit - ZERO for _, limit, _ in WATER_LIMITS] == [55.0, 50.0]


@pytest.mark.parametrize("name", SAMPLES)
def test_samples(name: str) -> None:
    found = size(context_of(name))
    recompute(found)
    for each in found:
        assert each.value is not None
        assert each.cautions
        assert "too cool" not in each.words
        if each.what == "floor_surface":
            assert "within the" in each.words


@pytest.mark.parametrize("name", ["FC-1", "FC-2"])
def test_the_water_promised_brings_what_is_wanted(name: str) -> None:
    context = context_of("potting_shed")
    sized = one(size(context), name, "floor_water")
    wanted = float(sample("potting_shed").items[name].si["load"])
    supply = {"B-1": {"set_temperature": f"{float(sized.value or 0) - ZERO!r} degC"}}
    there = solve_case(with_props(sample("potting_shed"), supply), context.case(sized.case))
    assert there.items[name].delivered_w == pytest.approx(wanted, rel=0.02)


def test_too_much_wanted_of_a_floor_is_said() -> None:
    plant = changed(sample("two_heater_clinic"), {"FC-2": {"load": "30 kBtu/h"}})
    found = size(Context(plant))
    surface = one(found, "FC-2", "floor_surface")
    assert "over the 84 °F of rooms" in surface.words
    assert "another emitter must" in surface.words
    assert "Over the 81 °F of wood" in surface.words
    assert "too cool" in one(found, "FC-2", "floor_water").words


def test_too_hot_water_for_the_floor_is_said() -> None:
    plant = changed(sample("potting_shed"), {"B-1": {"set_temperature": "140 degF"}})
    water = one(size(Context(plant)), "FC-1", "floor_water")
    assert "Too hot for screed or concrete round the tube and gypsum board" in water.words


def test_what_lacks_is_named_and_the_rest_sized() -> None:
    plant = changed(sample("potting_shed"), {"FC-1": {"area": None}, "FC-2": {"load": None}})
    found = size(Context(plant))
    assert one(found, "FC-1", "floor_surface").missing[0].startswith("FC-1: props.area is not given")
    assert one(found, "FC-1", "floor_water").value is not None
    assert "neither props.load nor props.flux" in one(found, "FC-2", "floor_water").missing[0]
