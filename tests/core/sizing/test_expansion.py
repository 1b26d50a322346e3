"""Expansion tanks: published examples, the code's table, the samples, and what contradicts itself."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from core.files.read import from_data
from core.media.fluids import fluid_of
from core.plant.model import System
from core.sizing.context import Context
from core.sizing.families.expansion import SIZES, size
from core.sizing.families.expansion_formulas import (
    Cushion,
    code_volume,
    cushion_when_hot,
    diaphragm_volume,
    fill_pressure,
    net_expansion,
    plain_volume,
    pressure_when_hot,
)
from core.sizing.result import Sized
from core.units import parse
from core.working import Working
from tests.reference.cases import expected, given, source, tolerance
from tests.support.builders import Board
from tests.support.sizes import SAMPLES, changed, context_of, number, one, recompute, sample, without
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

DATA = Path(__file__).parents[2] / "reference" / "data"
PSI, FOOT, GAL = 6894.757293168361, 0.3048, 231 * 0.0254**3


def swelling(v: dict[str, float]) -> Working:
    """Water to take in, in the units of the example: formulas do not care."""
    return net_expansion(
        number("V", v["Vs"]),
        number("ρ_f", 1 / v["v1"]),
        number("ρ_h", 1 / v["v2"]),
        number("T_f", 0.0),
        number("T_h", v["dt"]),
        number("α", v["alpha"]),
    )


@pytest.mark.parametrize("ident", ["E01", "E02", "E03"])
def test_examples_of_the_handbook(agrees: Agrees, ident: str) -> None:
    v, want = given(ident), expected(ident)
    taken, first, last = swelling(v), number("P_1", v["P1"]), number("P_2", v["P2"])
    got = plain_volume(taken, first, last, number("p_a", v["Pa"])) if "Pa" in v else None
    got = got or diaphragm_volume(taken, first, last)
    agrees("expansion tank", got.value, want["Vt"], "gal", rel=tolerance(ident), source=source(ident))
    if "net_expansion" in want:
        net = want["net_expansion"]
        agrees("net expansion", taken.value, net, "gal", rel=tolerance(ident), source=source(ident))


def by_code(volume: float, fahrenheit: float, first: float, last: float) -> float:
    warmest = number("T_h", (fahrenheit + 459.67) / 1.8, "temperature")
    got = code_volume(number("V", volume), warmest, number("P_1", first), number("P_2", last))
    assert got.within is (160 <= fahrenheit <= 230)
    return float(got.value)


def test_short_form_of_the_code_and_its_table(agrees: Agrees) -> None:
    v = given("E05")
    got = by_code(v["Vs"], v["t"], v["Pf"], v["Po"])
    agrees("tank by the code's short form", got, expected("E05")["Vt"], "gal", rel=1e-4, source=source("E05"))
    with (DATA / "imc_expansion_table.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 7
    for row in rows:
        got = by_code(float(row["system_gal"]), 195.0, 26.7, 44.7)
        what = f"tank by the code's table, {row['system_gal']} gal of water"  # in whole gallons
        agrees(
            what,
            got,
            float(row["diaphragm_gal"]),
            "gal",
            within=0.999,
            source=f"{row['source']} (from memory)",
        )


def test_handbook_and_code_agree_where_both_hold(agrees: Agrees) -> None:
    """Water from 40 to 200 degF in steel: 35.4 of 1,000 gal by both."""
    water = fluid_of({"kind": "water"})
    cold, hot = 277.594, 366.483
    taken = net_expansion(
        number("V", 1000.0),
        number("ρ_f", water.density(cold)),
        number("ρ_h", water.density(hot)),
        number("T_f", cold),
        number("T_h", hot),
        number("α", 11.7e-6),
    )
    want = expected("E03")["net_expansion"]
    agrees("net expansion by density", taken.value, want, "gal", rel=0.01, source=source("E03"))
    volume = diaphragm_volume(taken, number("P_1", 26.7), number("P_2", 44.7))
    assert volume.value == pytest.approx(by_code(1000.0, 200.0, 26.7, 44.7), rel=0.01)


@pytest.mark.parametrize("ident", ["E06", "E07"])
def test_potable_tank_at_line_pressure(agrees: Agrees, ident: str) -> None:
    """2 gal at 80 psi line and 135 psi need 5.44 gal; at 40 psi 3.15 gal."""
    v = given(ident)
    first, last = number("P_1", v["P1g"] + v["Pa"]), number("P_2", v["P2g"] + v["Pa"])
    got = diaphragm_volume(number("V_e", v["Ve"]), first, last)
    want = expected(ident)["Vt"]
    agrees("potable expansion tank", got.value, want, "gal", rel=tolerance(ident), source=source(ident))
    back = pressure_when_hot(
        number("V_e", v["Ve"]), first, replace(got, symbol="V_t"), number("p_a", v["Pa"])
    )
    assert back.value == pytest.approx(v["P2g"], rel=1e-9)


@pytest.mark.parametrize("ident", ["E08", "E09", "E10"])
def test_swelling_of_heated_water(agrees: Agrees, ident: str) -> None:
    v = given(ident)
    cold, hot = ((v[key] + 459.67) / 1.8 for key in ("T1", "T2"))
    water = fluid_of({"kind": "water"})
    got = net_expansion(
        number("V", v["V"]),
        number("ρ_f", water.density(cold)),
        number("ρ_h", water.density(hot)),
        number("T_f", cold),
        number("T_h", hot),
        number("α", 0.0),
    )
    agrees(
        "swelling of heated water", got.value, expected(ident)["dV"], "gal", rel=0.01, source=source(ident)
    )


def test_swelling_table_of_steam_tables(agrees: Agrees) -> None:
    water = fluid_of({"kind": "water"})
    with (DATA / "water_expansion.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            kelvin = (float(row["T_F"]) + 459.67) / 1.8
            got = 100 * (water.density(277.594) / water.density(kelvin) - 1)
            what, want = f"swelling from 40 to {row['T_F']} degF", float(row["pct_from_40F"])
            agrees(what, 1 + got / 100, 1 + want / 100, "volume ratio", within=1.5e-4, source=row["source"])


def test_static_height_and_margin(agrees: Agrees) -> None:
    """E12: 20 ft above the tank and 5 psi are 13.7 psi."""
    v = given("E12")
    got = fill_pressure(
        number("ρ", 999.0),
        number("z_t", v["height_ft"] * FOOT),
        number("z_e", 0.0),
        number("p_t", v["margin_psi"] * PSI),
    )
    fill = float(got.value) / PSI
    agrees("fill pressure", fill, expected("E12")["psi"], "psi", rel=2e-3, source=source("E12"))


# The samples -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_samples_have_tanks_enough_and_every_formula_holds(name: str) -> None:
    found = size(context_of(name))
    assert recompute(found) > 20
    tanks = [each for each in found if each.what == "expansion_tank"]
    assert {each.at for each in tanks} == {
        item.id for item in sample(name).items.values() if item.kind == "expansion_tank"
    }
    for each in tanks:
        assert "is enough" in each.words
        assert each.cautions


def test_water_in_items_counts_where_it_is_said() -> None:
    plant = sample("school_annex")
    less = one(size(context_of("school_annex")), "ET-1", "expansion_tank")
    assert "Water in RA-1, RA-2" in less.words
    said = changed(plant, {f"RA-{n}": {"water_content": "6 L"} for n in range(1, 9)})
    more = one(size(Context(said)), "ET-1", "expansion_tank")
    assert "RA-1" not in more.words
    content = [
        next(float(w.value) for _, w in each.working.walk() if w.symbol == "V") for each in (less, more)
    ]  # type: ignore[union-attr]
    assert content[1] - content[0] == pytest.approx(0.048)


def tank(plant_changes: dict[str, dict[str, str | None]], at: str = "ET-1") -> Sized:
    return one(size(Context(changed(sample("school_annex"), plant_changes))), at, "expansion_tank")


def test_a_tank_too_small_is_told_and_a_round_size_cures_it() -> None:
    small = tank({"ET-1": {"volume": "12 L", "acceptance": "6 L"}})
    assert "is too small" in small.words
    assert "accepts only" in small.words
    assert small.chosen in SIZES["si"]
    cure = next(option for option in small.options if option.name == small.chosen)
    assert cure.props is not None
    assert parse(cure.props["volume"], "volume") >= float(small.value or 0.0)
    cured = tank({"ET-1": dict(cure.props)})
    assert "is enough" in cured.words
    assert cured.chosen == ""


def test_the_cushion_of_the_size_chosen_stands_below_the_valve() -> None:
    """Second way: the gas law from the props that would be set, and the water's own density."""
    small = tank({"ET-1": {"volume": "12 L", "acceptance": "6 L"}})
    cure = next(option for option in small.options if option.name == small.chosen)
    assert cure.props is not None
    air = 101325 * (1 - 2.25577e-5 * 320) ** 5.25588
    volume, first = parse(cure.props["volume"], "volume"), parse(cure.props["precharge"], "pressure") + air
    content = float(next(w for _, w in small.working.walk() if w.symbol == "V").value)  # type: ignore[union-attr]
    water = fluid_of({"kind": "water"})
    out = content * (water.density(282.15) / water.density(338.15) - 1)
    hot = first * volume / (volume - out) - air
    assert hot == pytest.approx(cure.figures["hot_pa"], rel=0.06)  # the steel of the tubes grows too
    assert hot < 0.9 * 3e5


def test_glycol_swells_more_than_water() -> None:
    plant = sample("school_annex")
    glycol = System("heating", "closed", {"kind": "propylene_glycol", "fraction": 0.4}, "1.3 bar")
    mixed = replace(plant, systems={**plant.systems, "heating": glycol})
    more = one(size(Context(mixed)), "ET-1", "expansion_tank")
    less = one(size(context_of("school_annex")), "ET-1", "expansion_tank")
    assert float(more.value or 0) > 1.3 * float(less.value or 0)


def test_toxic_glycol_is_named() -> None:
    plant = sample("school_annex")
    toxic = System("heating", "closed", {"kind": "ethylene_glycol", "fraction": 0.4}, "1.3 bar")
    found = size(Context(replace(plant, systems={**plant.systems, "heating": toxic})))
    assert any("toxic" in text for text in one(found, "ET-1", "expansion_tank").cautions)


def test_precharge_that_is_not_the_fill_pressure_is_told() -> None:
    assert "precharged to 60.0 kPa" in tank({"ET-1": {"precharge": "60 kPa"}}).words
    assert "has no precharge given (ET-1)" in tank({"ET-1": {"precharge": None}}).words


def test_no_room_below_the_valve_is_a_contradiction_said_at_its_place() -> None:
    plant = sample("two_heater_clinic")
    high = replace(plant.systems["heating"], fill_pressure="29 psi")
    found = size(Context(replace(plant, systems={**plant.systems, "heating": high})))
    lost = one(found, "ET-2", "expansion_tank")
    assert lost.value is None
    assert "leaves no room" in lost.missing[0]
    assert one(found, "ET-3", "expansion_tank").value is not None
    recompute(found)


def test_what_is_missing_is_named_and_the_usual_taken() -> None:
    plant = changed(without(sample("potting_shed"), "ET-1"), {"RV-1": {"set_pressure": "unknown"}})
    found = one(size(Context(plant)), "B-1", "expansion_tank")
    assert "floor: no expansion tank is drawn in this body" in found.missing
    assert "RV-1: props.set_pressure is unknown" in found.missing
    assert any("30.0 psi is taken" in text for text in found.missing)
    assert found.value is not None
    assert all(option.props is None for option in found.options)


def hot_water(*before: str) -> list[Sized]:
    """A tank of hot water behind a main, these kinds of item in line before it, without an expansion tank."""
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi")
    board.item("T-1", "tank", volume="50 gal", taps={"cold": "0.1 m", "hot": "1 m"}, element="4.5 kW")
    board.item("RV-1", "relief_valve", set_pressure="150 psi")
    board.item("F-1", "fixture")
    names = [board.item(f"X-{n}", kind, **_IN_LINE[kind]) for n, kind in enumerate(before)]
    board.chain("CM-1", *names, "T-1:cold")
    board.item("J-1", "joint")
    board.chain("T-1:hot", "J-1", "F-1:hot")
    board.chain("J-1", "RV-1")
    return size(Context(from_data(board.case(tanks={"T-1": "140 degF"}).data())))


_IN_LINE: dict[str, dict[str, str]] = {
    "strainer": {},
    "check_valve": {},
    "pressure_reducer": {"set_pressure": "50 psi"},
}


def test_a_tank_open_to_the_main_needs_none_and_one_behind_a_check_does() -> None:
    """50 gal from 50 to 140 degF push out 0.84 gal (E08); a check or reducer leaves it nowhere to go."""
    assert hot_water() == []
    assert hot_water("strainer") == []
    for kind in ("check_valve", "pressure_reducer"):
        (found,) = hot_water("strainer", kind)
        assert "loop: no expansion tank is drawn in this body" in found.missing
        assert found.working is not None
        out = next(float(w.value) for _, w in found.working.walk() if w.symbol == "V_e")
        assert out / GAL == pytest.approx(expected("E08")["dV"], rel=0.12)  # less what the steel grows


def test_fill_pressure_reaches_the_top() -> None:
    found = one(size(context_of("school_annex")), "ET-1", "fill_pressure")
    assert "are enough" in found.words
    assert float(found.value or 0) == pytest.approx(999.8 * 9.80665 * 2.5 + 4 * PSI, rel=1e-3)
    plant = sample("school_annex")
    low = replace(plant.systems["heating"], fill_pressure="0.3 bar")
    short = one(
        size(Context(replace(plant, systems={**plant.systems, "heating": low}))), "ET-1", "fill_pressure"
    )
    assert "are too little" in short.words
    assert short.chosen


def cushion(name: str, volume: float, precharge: float) -> Cushion:
    return Cushion(number(f"V_{name}", volume), number(f"P_{name}", precharge, "pressure"))


@pytest.mark.parametrize(
    ("tanks", "first", "taken", "hot"),
    [
        ([(10.0, 300.0)], 300.0, 4.0, 500.0),  # charged to the pressure before heating: 300 * 10 / (10 - 4)
        ([(10.0, 200.0)], 300.0, 4.0, 750.0),  # 6.667 of air left before heating, 2.667 after
        ([(10.0, 400.0)], 300.0, 4.0, 400.0 / 0.6),  # takes nothing before 400
        ([(10.0, 200.0), (5.0, 300.0)], 300.0, 4.0, 3500.0 / (35.0 / 3.0 - 4.0)),
        ([(10.0, 300.0), (5.0, 900.0)], 300.0, 4.0, 500.0),  # the second never takes any
    ],
)
def test_hot_pressure_left_out_the_precharge(
    tanks: list[tuple[float, float]], first: float, taken: float, hot: float
) -> None:
    """Boyle's law by hand; absolute pressures, atmosphere taken as zero."""
    cushions = [cushion(str(n), *one) for n, one in enumerate(tanks)]
    zero = number("p_a", 0.0)
    got = cushion_when_hot(number("V_e", taken), number("P_1", first), cushions, zero)
    assert got is not None
    assert got.value == pytest.approx(hot)


def test_a_tank_filled_with_water_by_a_low_precharge_has_no_room() -> None:
    got = cushion_when_hot(
        number("V_e", 4.0), number("P_1", 300.0), [cushion("t", 10.0, 100.0)], number("p_a", 0.0)
    )
    assert got is None
    low = tank({"ET-1": {"precharge": "5 kPa"}})
    assert low.fails
    assert any("when hot, over" in option.verdict or "no room" in option.verdict for option in low.options)
