"""Snow melting: the handbook's terms against other libraries, classes, the sample, what the site lacks."""

from __future__ import annotations

from dataclasses import replace

import pytest
from CoolProp.CoolProp import HAPropsSI

from core.plant.model import Plant, PortRef
from core.sizing.context import Context
from core.sizing.families import snow
from core.sizing.families.melt import CLASSES, FLUX, by_class, size
from core.sizing.trial import with_props
from core.solve import solve_case
from core.working import Working
from tests.reference.cases import expected, given, source
from tests.support.sizes import changed, context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

ZERO = 273.15
SNOW = {
    "snowfall": "0.1 in/h",
    "snow_temperature": "17 degF",
    "snow_dew_point": "14 degF",
    "snow_wind": "19.7 mph",
}


def f(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def terms(ident: str) -> dict[str, Working]:
    """Every term for a published set of weather; symbols as shown to the user."""
    v = given(ident)
    rate = number("s", v["s"] * 0.0254 / 3600)
    air, surface = number("T_a", f(v["Ta"])), number("T_f", f(v["Tf"]))
    pressure = number("p", 101325.0)
    film = snow.film_temperature(air, surface)
    transfer = snow.convection(
        number("v", v["V_mph"] * 0.44704), number("L", v["L_ft"] * 0.3048), film, pressure
    )
    wet = snow.humidity("W_f", "wet", number("T_f", f(v["Tf"])), pressure)
    dry = snow.humidity("W_a", "dry", number("T_d", f(v["Tdp"])), pressure)
    losing = snow.losing(transfer, air, surface, number("T_r", f(v["Tmr"])))
    evaporating = snow.evaporating(transfer, wet, dry)
    parts = snow.warming(rate, air, surface), snow.melting(rate)
    whole = snow.melt_flux(parts, (losing, evaporating), number("A_r", v["Ar"]))
    return {"hc": transfer, "qs": parts[0], "qm": parts[1], "qh": losing, "qe": evaporating, "total": whole}


def test_warming_and_melting_of_the_handbook(agrees: Agrees) -> None:
    found = terms("S04")
    warmed, melted = (float(found[key].value) / FLUX for key in ("qs", "qm"))
    film = float(found["hc"].value) / 5.678263
    agrees("warming of snow", warmed, expected("S01")["q"], "Btu/h/ft2", rel=0.02, source=source("S01"))
    agrees("melting of snow", melted, expected("S02")["q"], "Btu/h/ft2", rel=0.002, source=source("S02"))
    agrees(
        "convection over a slab",
        film,
        expected("S03")["hc"],
        "Btu/h/ft2/degF",
        rel=0.02,
        source=source("S03"),
    )


@pytest.mark.parametrize("ident", ["S04", "S05", "S06"])
def test_totals(agrees: Agrees, ident: str) -> None:
    """The expected figures come of the same balance with air and moisture of another library."""
    found = terms(ident)
    for key, want in expected(ident).items():
        if ident == "S06" and key == "total":
            continue  # with no snow the handbook idles on q_h alone
        flux = float(found[key].value) / FLUX
        agrees(f"snow melting, {key}", flux, want, "Btu/h/ft2", rel=0.015, source=source(ident))


def test_moist_air_is_that_of_the_library(agrees: Agrees) -> None:
    for celsius in (-20.0, -5.0, 0.56, 4.0):
        got = snow.humidity("W", "", number("T", celsius + ZERO), number("p", 101325.0))
        want = HAPropsSI("W", "T", celsius + ZERO, "P", 101325.0, "R", 1.0)
        library = "package CoolProp, HAPropsSI"
        agrees(f"moisture of saturated air at {celsius} degC", got.value, want, rel=0.015, source=library)


def test_older_form_is_of_the_same_size(agrees: Agrees) -> None:
    """S07: Chapman's 142.6 Btu/h/ft2 at 20 degF and 10 mph; here about a tenth apart."""
    v = given("S04") | {"Ta": 20, "Tdp": 17.5, "V_mph": 10, "Tmr": 20}
    rate, air, surface = number("s", 0.1 * 0.0254 / 3600), number("T_a", f(20)), number("T_f", f(33))
    pressure = number("p", 101325.0)
    film = snow.film_temperature(air, surface)
    transfer = snow.convection(number("v", v["V_mph"] * 0.44704), number("L", 20 * 0.3048), film, pressure)
    losing = snow.losing(transfer, air, surface, number("T_r", f(v["Tmr"])))
    wet = snow.humidity("W_f", "", number("T_f", f(33)), pressure)
    evaporating = snow.evaporating(transfer, wet, snow.humidity("W_a", "", number("T_d", f(17.5)), pressure))
    parts = snow.warming(rate, air, surface), snow.melting(rate)
    whole = snow.melt_flux(parts, (losing, evaporating), number("A_r", 1.0))
    flux, want = float(whole.value) / FLUX, expected("S07")["total"]
    agrees("older form of the snow balance", flux, want, "Btu/h/ft2", rel=0.12, source=source("S07"))


def test_water_by_the_handbooks_rule(agrees: Agrees) -> None:
    v = given("S08")
    got = snow.fluid_by_rule(number("q", v["qo"] * FLUX), number("T_f", f(v["Tf"])))
    fluid = float(got.value) * 1.8 - 459.67
    agrees("fluid of a melting slab", fluid, expected("S08")["tm"], "degF", within=0.05, source=source("S08"))


def test_classes_follow_one_another() -> None:
    """Trade ranges 80 to 125, 125 to 250, 250 to 450 Btu/h/ft2."""
    edges = [(one.low / FLUX, one.high / FLUX) for one in CLASSES]
    assert edges == [pytest.approx(pair) for pair in ((80, 125), (125, 250), (250, 450))]
    assert float(by_class(0.5).value) / FLUX == pytest.approx(187.5)


def snowy(**more: str) -> Plant:
    plant = sample("two_heater_clinic")
    return replace(plant, site={**plant.site, **SNOW, **more})


def test_the_kennel_by_class_and_by_weather() -> None:
    found = size(context_of("two_heater_clinic"))
    assert recompute(found) > 5
    sized = one(found, "MC-1", "melt_flux")
    assert "enough" in sized.words
    assert any("site.snowfall is not given" in text for text in sized.missing)
    context = Context(changed(snowy(), {"MC-1": {"clear": 1}}))
    weather = size(context)
    recompute(weather)
    sized = one(weather, "MC-1", "melt_flux")
    assert sized.missing == ()
    # 20 ft along the wind in the case, the root of 350 ft2 here; 1250 ft up the air is thinner
    assert float(sized.value or 0) / FLUX == pytest.approx(expected("S04")["total"], rel=0.05)
    assert "too little" in sized.words
    assert sized.fails
    assert sized.chosen == "kept clear: 1"
    assert any(option.name.startswith("idling") for option in sized.options)


def test_weather_half_said_names_what_was_taken() -> None:
    plant = sample("two_heater_clinic")
    some = replace(plant, site={**plant.site, "snowfall": "0.1 in/h"})
    sized = one(size(Context(some)), "MC-1", "melt_flux")
    assert any(text.startswith("site.snow_temperature is not given; 25 °F") for text in sized.missing)
    # under a cover neither wind nor moisture counts
    assert float(sized.value or 0) / FLUX == pytest.approx(52 / 100 * (0.49 * 7 + 1.0) + 74.516, rel=0.01)


def test_the_water_promised_brings_what_is_wanted() -> None:
    """A source at that temperature before the circuit, at the same flow."""
    context = context_of("two_heater_clinic")
    sized = one(size(context), "MC-1", "melt_water")
    wanted = float(sample("two_heater_clinic").items["MC-1"].si["load"])
    case = context.case(sized.case)
    low, high = 500.0, 4000.0  # the UA of its exchanger until the inlet has that temperature
    for _ in range(12):
        middle = (low * high) ** 0.5
        there = solve_case(with_props(context.plant, {"HX-2": {"ua": f"{middle!r} Btu/h/degF"}}), case)
        (pipe,) = context.plant.pipes_at[PortRef("MC-1", "in")]
        inlet = there.pipes[pipe]
        if inlet.temperature_out_c + ZERO < float(sized.value or 0):
            low = middle
        else:
            high = middle
    assert there.items["MC-1"].delivered_w == pytest.approx(wanted, rel=0.02)


def test_without_area_it_says_so() -> None:
    plant = changed(sample("two_heater_clinic"), {"MC-1": {"area": None}})
    sized = one(size(Context(plant)), "MC-1", "melt_flux")
    assert sized.value is None
    assert sized.missing[0].startswith("MC-1: props.area is not given")
