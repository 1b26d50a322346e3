"""Storage: the published first hour and recovery, draws against the solver, scald and Legionella said."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.families.storage import (
    SCALDS,
    first_hour,
    from_the_store,
    peak_volume,
    recovery_flow,
    recovery_time,
    size,
)
from tests.reference.cases import expected, given, source
from tests.support.builders import BTU_H, GPM, Board, constant_fluid, f
from tests.support.sizes import changed, context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

GAL, HOUR = 231 * 0.0254**3, 3600.0
MASS = 8.33 * 0.45359237 / GAL  # [kg/m3] the rule's 8.33 lb/gal
CP = 1055.056 / 0.45359237 * 1.8  # 1 Btu/lb/degF


def recovered(heat: float, cold: float, hot: float) -> float:
    got = recovery_flow(
        number("P", heat * BTU_H),
        number("ρ", MASS),
        number("c", CP),
        number("T_s", hot / 1.8),
        number("T_c", cold / 1.8),
    )
    return float(got.value) * HOUR / GAL


def test_published_recovery_rates(agrees: Agrees) -> None:
    """T01: 40,000 Btu/h at 0.8 from 50 to 120 degF make 54.88 gal/h; T02: 5.5 kW at 100 degF 22.5."""
    v = given("T01")
    got = recovered(v["Q_in"] * v["eff"], v["T1"], v["T2"])
    agrees("recovery of a gas tank", got, expected("T01")["gph"], "gal/h", rel=1e-4, source=source("T01"))
    v = given("T02")
    got = recovered(v["W"] * 3.412, 0.0, v["dT"])
    agrees(
        "recovery of an electric tank", got, expected("T02")["gph"], "gal/h", rel=5e-3, source=source("T02")
    )


def test_published_first_hour_and_heat_up(agrees: Agrees) -> None:
    """T03: 40 gal and 22.5 gal/h are 50.5 gal; T04: 80 gal from 50 to 140 degF with 60,000 Btu/h take 1 h."""
    v = given("T03")
    hour = first_hour(number("V", v["V"]), number("r", v["gph"] / HOUR))
    agrees("first hour", hour.value, expected("T03")["FHR"], "gal", rel=1e-6, source=source("T03"))
    v = given("T04")
    time = recovery_time(
        number("V", v["V"] * GAL),
        number("ρ", MASS),
        number("c", CP),
        number("T_s", v["T2"] / 1.8),
        number("T_c", v["T1"] / 1.8),
        number("P", v["Q"] * BTU_H),
    )
    hours = float(time.value) / HOUR
    agrees("heating up a tank", hours, expected("T04")["hours"], "h", rel=1e-3, source=source("T04"))


def test_published_mixing_of_stored_water(agrees: Agrees) -> None:
    """M10: 2.5 gpm at 105 of 140 and 50 degF take 1.53 gpm; M09: 10 gpm at 120 take 7.78."""
    for ident in ("M09", "M10"):
        v = given(ident)
        got = from_the_store(
            number("q_m", v["f_total"]),
            number("T_m", v["T_mix"]),
            number("T_s", v["T_hot"]),
            number("T_c", v["T_cold"]),
            "q",
        )
        want = expected(ident)["hot_gpm"]
        agrees("stored water in a mix", got.value, want, "gpm", rel=1e-5, source=source(ident))


def test_usable_share_lies_between_mixed_and_layered() -> None:
    """T07: 0.41 of a mixed tank, 0.89 of one in twenty layers; the rule's 0.70 between them."""
    assert expected("T07_N1")["fraction"] < 0.70 < expected("T07_N20")["fraction"]
    lasting = peak_volume(number("q", 4.0), number("r", 1.0), number("t_p", 10.0))
    assert lasting.value == pytest.approx(30.0 / 0.70)
    assert peak_volume(number("q", 1.0), number("r", 4.0), number("t_p", 10.0)).value == 0.0


def mixed_plant(**tank: Any) -> Context:
    board = Board(constant_fluid(1000.0, 1e-3, 4186.8), use="potable", cold_water=f(50.0))
    board.item("M-1", "cold_main", pressure="300 kPa", temperature=f(50.0))
    board.item("T-1", "tank", volume="50 gal", element="4.5 kW", taps={"cold": "0.1 m", "hot": "1 m"}, **tank)
    board.item("MV-1", "mixing_valve", set_temperature=f(105.0), cv=10)
    board.item("F-1", "fixture", flow="2.5 gpm", set_temperature=f(105.0))
    board.item("J-1", "joint")
    board.pipe("M-1:at", "J-1:at")
    board.pipe("J-1:at", "T-1:cold")
    board.pipe("T-1:hot", "MV-1:hot", "hot")
    board.pipe("J-1:at", "MV-1:cold")
    board.pipe("MV-1:mixed", "F-1:hot")
    return Context(from_data(board.case(draws={"F-1": "2.5 gpm"}, tanks={"T-1": f(140.0)}).data()))


def test_the_draw_from_the_store_is_what_the_solver_takes_from_the_tank() -> None:
    context = mixed_plant()
    found = size(context)
    recompute(found)
    sized = one(found, "T-1", "storage")
    assert sized.working is not None
    taken = next(w for _, w in sized.working.walk() if w.symbol == "q")
    assert float(taken.value) == pytest.approx(context.solution("case").flow("hot"), rel=0.02)
    assert float(taken.value) / GPM == pytest.approx(2.5 * 55 / 90, rel=0.02)


def test_where_no_case_draws_every_fixture_is_taken() -> None:
    context = mixed_plant()
    dry = from_data(
        {**_data(context), "cases": [{"name": "case", "tanks": {"T-1": "140 degF"}}]}  # nothing is drawn
    )
    sized = one(size(Context(dry)), "T-1", "storage")
    assert sized.missing == ("no case draws hot water; every fixture is taken to run at once",)
    assert sized.working is not None
    taken = next(w for _, w in sized.working.walk() if w.symbol == "q")
    assert float(taken.value) / GPM == pytest.approx(2.5 * 55 / 90, rel=1e-3)


def _data(context: Context) -> dict[str, Any]:
    import json

    from core.files.write import dumps

    return json.loads(dumps(context.plant))


def test_kennel_stores_enough_and_says_both_dangers() -> None:
    found = size(context_of("two_heater_clinic"))
    assert recompute(found) > 5
    sized = one(found, "T-1", "storage")
    assert sized.chosen == ""
    assert any("burns adult skin" in text for text in sized.cautions)
    assert any("Hot enough against Legionella is hot enough to scald" in text for text in sized.cautions)
    assert not any("Stored below" in text for text in sized.cautions)
    quiet = {name: {"call": False} for name in ("AQ-1", "TH-1", "TH-2", "TH-3", "SW-1")}  # the cases alone
    warm = {**quiet, "AQ-1": {"set_temperature": "120 degF", "call": False}}
    plant = sample("two_heater_clinic")
    cooler = Context(changed(plant, warm, cases=plant.cases[2:4]))
    assert any("Stored below 60" in text for text in one(size(cooler), "T-1", "first_hour").cautions)


def test_scald_times_are_the_published_ones() -> None:
    path = Path(__file__).parents[2] / "reference" / "data" / "scald.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = {float(r["T_C"]): r for r in csv.DictReader(file) if r["series"] == "moritz_henriques_based"}
    for celsius, words in SCALDS:
        low, high = (float(rows[celsius][key]) for key in ("reversible_limit_s", "full_thickness_s"))
        scale = 60.0 if "minutes" in words else 1.0
        first, last = (float(text) * scale for text in words.split()[:3:2])
        assert low == pytest.approx(first, rel=0.01)
        assert high == pytest.approx(last, rel=0.06)


@pytest.mark.parametrize(
    ("props", "missing"),
    [
        ({"volume": None}, "T-1: props.volume is not given"),
        ({"element": "0 kW"}, "T-1: nothing heats it in any case and it has no element"),
    ],
)
def test_what_lacks_is_named(props: dict[str, Any], missing: str) -> None:
    plant = changed(mixed_plant().plant, {"T-1": props})
    (sized,) = size(Context(plant))
    assert sized.value is None
    assert sized.missing[0].startswith(missing)
