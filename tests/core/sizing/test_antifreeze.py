"""Antifreeze: published freezing points and flow factors, shares by volume and mass, the sample."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from core.media.fluids import fluid_of, mass_fraction
from core.plant.model import Plant, System
from core.sizing.context import Context
from core.sizing.families.antifreeze import carrying_ratio, freezing_of, needed_freezing, share_for, size
from tests.reference.cases import expected, given, source
from tests.support.sizes import context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

ZERO = 273.15
PG = "propylene_glycol"


def test_freezing_points_of_the_handbook_of_chemistry() -> None:
    """Lange's table by volume; inhibited fluids and the tables used differ by little more than a kelvin."""
    path = Path(__file__).parents[2] / "reference" / "data" / "pg_freeze.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if float(row["vol_pct"]) >= 10]
    assert len(rows) == 9
    for row in rows:
        share = float(row["vol_pct"]) / 100
        assert freezing_of(PG, share) - ZERO == pytest.approx(float(row["freeze_C"]), abs=1.4)
        assert 100 * mass_fraction(PG, share) == pytest.approx(float(row["mass_pct_calc"]), abs=0.1)


@pytest.mark.parametrize(("percent", "fahrenheit"), [(40, -5), (50, -28)])
def test_published_strengths(percent: int, fahrenheit: float) -> None:
    """40 % by volume for -5 degF, 50 % for -28 degF (published)."""
    share = share_for(PG, (fahrenheit + 459.67) / 1.8)
    assert share is not None
    assert 100 * share == pytest.approx(percent, abs=1.0)


@pytest.mark.parametrize("kind", [PG, "ethylene_glycol"])
@pytest.mark.parametrize("celsius", [-8.0, -15.0, -30.0])
def test_the_share_found_just_does(kind: str, celsius: float) -> None:
    share = share_for(kind, celsius + ZERO)
    assert share is not None
    assert freezing_of(kind, share) - ZERO == pytest.approx(celsius, abs=0.01)
    assert freezing_of(kind, share - 0.01) - ZERO > celsius


def test_beyond_the_table_there_is_none_and_mild_sites_take_the_least() -> None:
    assert share_for(PG, ZERO - 70) is None
    assert share_for(PG, ZERO - 1) == pytest.approx(0.10)


def test_margin_of_five_degrees() -> None:
    assert float(needed_freezing(number("T_o", 260.0)).value) == pytest.approx(260.0 - 5 / 1.8)


@pytest.mark.parametrize(("ident", "mass"), [("H05_PG30", 0.3), ("H05_PG40", 0.4), ("H05_PG50", 0.5)])
def test_published_flow_factors(agrees: Agrees, ident: str, mass: float) -> None:
    """474.3, 460.8, 443.7 Btu/h for a gpm and degF at 120 degF, 494 of water; tables differ by 1 %."""
    kelvin = (given(ident)["T"] + 459.67) / 1.8
    share = next(x / 1000 for x in range(100, 600) if mass_fraction(PG, x / 1000) >= mass)
    mixture, water = fluid_of({"kind": PG, "fraction": share}), fluid_of({"kind": "water"})
    got = carrying_ratio(
        number("ρ", mixture.density(kelvin)),
        number("c", mixture.heat_capacity(kelvin)),
        number("ρ_w", water.density(kelvin)),
        number("c_w", water.heat_capacity(kelvin)),
    )
    of_water = (expected("H04_100F")["factor"] + expected("H04_140F")["factor"]) / 2
    ratio = of_water / expected(ident)["factor"]
    agrees("flow against that of water", float(got.value), ratio, rel=0.012, source=source(ident))


def test_volume_and_mass_of_the_published_fill(agrees: Agrees) -> None:
    """S11: 40 % by mass of 100 gal are 39.1 gal of propylene glycol."""
    got = mass_fraction(PG, expected("S11")["gal"] / given("S11")["V"])
    agrees("mass share of a fill of propylene glycol", got, 0.40, within=0.002, source=source("S11"))


def test_the_kennel_is_strong_enough() -> None:
    found = size(context_of("two_heater_clinic"))
    recompute(found)
    (sized,) = found
    assert sized.at == "MC-1"
    assert "enough" in sized.words
    assert sized.chosen == ""
    assert sized.cautions
    forty = next(option for option in sized.options if option.name.startswith("40 %"))
    assert forty.serves
    assert forty.figures["glycol_m3"] > 0.0


def with_fluid(fluid: dict[str, Any], **site: str) -> Plant:
    plant = sample("two_heater_clinic")
    melt = System("melt", "closed", fluid, "16 psi")
    systems = {**plant.systems, "melt": melt}
    return replace(plant, systems=systems, site={**plant.site, **site}, cases=plant.cases[4:])


def test_too_weak_or_only_water_is_said() -> None:
    weak = one(size(Context(with_fluid({"kind": PG, "fraction": 0.36}))), "MC-1", "antifreeze")
    assert "too weak" in weak.words
    assert weak.fails
    assert "does not burst tubes" in weak.words
    assert weak.chosen.startswith("40 %")
    water = one(size(Context(with_fluid({"kind": "water"}))), "MC-1", "antifreeze")
    assert "there is only water in it" in water.words
    toxic = one(size(Context(with_fluid({"kind": "ethylene_glycol", "fraction": 0.4}))), "MC-1", "antifreeze")
    assert any("toxic" in text for text in toxic.cautions)


def test_no_mixture_or_no_table_is_said_at_its_place() -> None:
    arctic = with_fluid({"kind": PG, "fraction": 0.5}, outdoor_design="-59 degC")
    sized = one(size(Context(arctic)), "MC-1", "antifreeze")
    assert sized.value is None
    assert "no mixture of propylene glycol up to 60 %" in sized.missing[0]
    own = {"kind": "custom", "density": "1030 kg/m3", "viscosity": "3 mPa*s", "heat_capacity": "3700 J/kg/K"}
    sized = one(size(Context(with_fluid(own))), "MC-1", "antifreeze")
    assert "custom fluid" in sized.missing[0]


@pytest.mark.parametrize("name", ["potting_shed", "school_annex"])
def test_nothing_outdoors_needs_none(name: str) -> None:
    assert size(context_of(name)) == []
