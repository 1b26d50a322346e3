"""Exchangers: textbook cases by the formulas shown, and the UA promised tried in the solver."""

from __future__ import annotations

import pytest

from core.sizing.context import Context, MissingInput
from core.sizing.families.exchanger_cases import SHORT, everywhere, gap
from core.sizing.families.exchanger_least import Least, amply_served, least, tried
from core.sizing.families.exchangers import conductance, drawn_ua, log_mean_difference, size
from core.sizing.trial import with_props
from core.solve import solve_case
from core.working import Working
from tests.reference.cases import expected, given, source, tolerance
from tests.support.sizes import changed, context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"


def mean_of(hot_in: float, hot_out: float, cold_in: float, cold_out: float, counter: bool = True) -> Working:
    return log_mean_difference(
        number("T_1", hot_in),
        number("T_2", hot_out),
        number("t_1", cold_in),
        number("t_2", cold_out),
        counter,
    )


@pytest.mark.parametrize("ident", ["X01", "X06"])
def test_log_mean_of_the_textbook(agrees: Agrees, ident: str) -> None:
    v = given(ident)
    got = mean_of(v["Thi"], v["Tho"], v["Tci"], v["Tco"])
    agrees(
        "log-mean difference",
        got.value,
        expected(ident)["LMTD"],
        "K",
        rel=tolerance(ident),
        source=source(ident),
    )


@pytest.mark.parametrize("ident", ["X02", "X05", "X08", "X09"])
def test_ua_of_published_duties(agrees: Agrees, ident: str) -> None:
    v, want = given(ident), expected(ident)
    cold_out = v.get("Tco", want.get("Tco"))
    hot_out = v.get("Tho", want.get("Tho"))
    mean = mean_of(v["Thi"], hot_out, v["Tci"], cold_out)
    got = conductance(number("Q", want["q"]), mean, number("f", 0.0))
    ua = want.get("UA", v.get("UA"))
    agrees("UA of a duty", got.value, ua, rel=2e-3, source=source(ident))


def test_a_sixth_lost_to_fouling() -> None:
    """X10: 4000 W/m2/K with 5e-5 m2K/W are 3333: what is drawn clean must be larger by a fifth."""
    mean = mean_of(80.0, 60.0, 20.0, 40.0)
    fouled = conductance(number("Q", 1000.0), mean, number("f", 1 - expected("X10")["U"] / 4000))
    clean = conductance(number("Q", 1000.0), mean, number("f", 0.0))
    assert float(fouled.value) / float(clean.value) == pytest.approx(1.2, rel=1e-4)


def test_parallel_flow_and_equal_ends() -> None:
    assert mean_of(80.0, 60.0, 20.0, 40.0).value == pytest.approx(40.0)
    parallel = mean_of(80.0, 60.0, 20.0, 40.0, counter=False)
    assert parallel.value == pytest.approx(40.0 / 1.0986122886681098)
    with pytest.raises(MissingInput, match="cross"):
        mean_of(50.0, 40.0, 20.0, 55.0)


def test_the_ua_found_is_what_the_solver_wants() -> None:
    """The size promised, tried: nothing is short by 2 %, the duty is as said, and less of it is short."""
    context = context_of("two_heater_clinic")
    found = size(context)
    assert recompute(found) > 20
    for name, circuits in (("HX-1", ("FC-1", "FC-2", "RA-1")), ("HX-2", ("MC-1",))):
        sized = one(found, name, "exchanger")
        needed = sized.options[0]
        assert needed.props is not None
        case = context.case(sized.case)
        there = solve_case(with_props(sample("two_heater_clinic"), {name: needed.props}), case)
        assert there.items[name].duty_w == pytest.approx(needed.figures["duty_w"], rel=0.02)
        for circuit in circuits:
            assert there.items[circuit].short_w <= 0.02 * there.items[circuit].wanted_w
        ua = {"ua": f"{0.9 * float(sized.value or 0)!r} W/K"}
        less = solve_case(with_props(sample("two_heater_clinic"), {name: ua}), case)
        assert max(less.items[c].short_w / less.items[c].wanted_w for c in circuits) > 0.005


def test_a_small_one_is_short_and_one_without_size_says_so_the_other_still_sized() -> None:
    quiet = {name: {"call": False} for name in ("AQ-1", "TH-1", "TH-2", "TH-3", "SW-1")}  # the cases alone
    wrong = {"HX-1": {"ua": "1300 Btu/h/degF"}, "HX-2": {"ua": None}}
    plant = sample("two_heater_clinic")
    small = changed(plant, {**quiet, **wrong}, cases=plant.cases[3:4])
    found = size(Context(small))
    sized = one(found, "HX-1", "exchanger")
    assert "short: UA" in sized.words
    assert sized.fails
    cure = next(option for option in sized.options if option.name == sized.chosen)
    assert cure.serves
    assert cure.props is not None
    assert sized.cautions
    lost = one(found, "HX-2", "exchanger")
    assert lost.value is None
    assert lost.missing[0].startswith("HX-2: passes no heat in any case")


def test_a_case_that_the_formula_passes_over_is_served_when_solved() -> None:
    """Though the one drawn is three times the one needed."""
    props = {"ua": "4000 W/K", "rated": None}
    context = Context(changed(sample("two_heater_clinic"), {"HX-1": props}))
    passings = everywhere(context, "HX-1")
    found: Least = least(context, passings, drawn_ua(context, passings[0]))
    assert found.ua is not None
    over = [p for p in passings if p is not found.asks and amply_served(context, p, found.found, found.ua)]
    assert len(over) >= 5
    assert found.asks.case not in {p.case for p in over}
    for passing in over[:3]:
        again = tried(context, passing, found.ua)
        assert again is not None
        assert gap(context, again) <= SHORT
