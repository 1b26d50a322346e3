"""Exchangers against `ht` and the textbook cases X01 to X10, as formulas and as plants."""

from __future__ import annotations

import math
from typing import Any

import ht
import pytest
from scipy.optimize import brentq

from core.thermal.exchanger import effectiveness
from tests.reference.cases import CASES, expected, given, source, tolerance
from tests.support.builders import BTU_H, GPM, Board, Solved, c, constant_fluid, f, flow
from tests.verification.checks import Agrees

SUBJECT = "Exchangers"

ARRANGEMENTS = {"counter": "counterflow", "parallel": "parallel"}


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("cr", [0.0, 0.1, 0.5, 0.9, 0.999999, 1.0])
@pytest.mark.parametrize("ntu", [0.0, 0.01, 0.5, 1.0, 3.0, 10.0])
def test_effectiveness_is_the_librarys(agrees: Agrees, arrangement: str, cr: float, ntu: float) -> None:
    want = ht.effectiveness_from_NTU(ntu, cr, ARRANGEMENTS[arrangement]) if ntu else 0.0
    what = f"effectiveness, {arrangement}, NTU {ntu}, ratio {cr}"
    agrees(
        what, effectiveness(ntu, cr, arrangement), want, rel=1e-8, source="package ht, effectiveness_from_NTU"
    )


def test_effectiveness_stays_finite_at_great_size() -> None:
    assert float(effectiveness(1e4, 0.5, "counter")) == pytest.approx(1.0)
    assert float(effectiveness(1e4, 1.0, "counter")) == pytest.approx(1e4 / (1e4 + 1))
    assert float(effectiveness(1e4, 1.0, "parallel")) == pytest.approx(0.5)


@pytest.mark.parametrize("ident", [one for one in CASES if one.startswith("X07")])
def test_counterflow_table(agrees: Agrees, ident: str) -> None:
    values = given(ident)
    got = float(effectiveness(values["NTU"], values["Cr"], "counter"))
    what = f"effectiveness, counter, NTU {values['NTU']}, ratio {values['Cr']}"
    agrees(what, got, expected(ident)["eps"], rel=tolerance(ident), source=source(ident))


def rating_plant(
    hot: tuple[float, float, float], cold: tuple[float, float, float], **exchanger: Any
) -> Solved:
    """Both sides once through: (mass flow [kg/s], cp, inlet [degC]) of the hot side a and the cold side b."""
    board = Board(use="potable")
    exchanger_item = board.item("HX-1", "exchanger", **exchanger)
    draws = {}
    for side, (mass, cp, inlet) in (("a", hot), ("b", cold)):
        board.body(side, constant_fluid(1000.0, 1e-3, cp), "potable")
        board.item(f"M-{side}", "cold_main", pressure="300 kPa", temperature=c(inlet))
        board.item(f"F-{side}", "fixture")
        board.pipe(f"M-{side}:at", f"{exchanger_item}:{side}_in", f"{side}-in")
        board.pipe(f"{exchanger_item}:{side}_out", f"F-{side}:cold", f"{side}-out")
        draws[f"F-{side}"] = flow(mass / 1000.0)
    del board.systems["loop"]
    return board.case(draws=draws).solve()


def outlets(got: Solved) -> tuple[float, float, float]:
    return float(got.items["HX-1"]["duty_w"]), got.warm("a-out"), got.warm("b-out")


def test_incropera_11_1(agrees: Agrees) -> None:
    """X01 and X02: 8524 W, 60 and 40.2 degC; the log-mean difference times UA is the same heat."""
    v, want = given("X02"), expected("X02")
    got = rating_plant((v["mh"], v["cph"], v["Thi"]), (v["mc"], v["cpc"], v["Tci"]), ua=f"{v['UA']} W/K")
    duty, hot_out, cold_out = outlets(got)
    agrees("duty", duty, want["q"], "W", rel=1e-3, source=source("X02"))
    agrees("hot side out", hot_out, want["Tho"], "degC", within=0.05, source=source("X02"))
    agrees("cold side out", cold_out, want["Tco"], "degC", within=0.05, source=source("X02"))
    log_mean = ht.LMTD(v["Thi"], hot_out, v["Tci"], cold_out)
    agrees("log-mean difference", log_mean, expected("X01")["LMTD"], "K", rel=2e-3, source=source("X01"))
    assert v["UA"] * log_mean == pytest.approx(duty, rel=1e-5)


def test_oil_cooler_of_cengel(agrees: Agrees) -> None:
    """X03: U 152.6 Btu/h/ft2/degF on 200 ft of 5 in tube; water leaves at 240.6 degF."""
    v, want = given("X03"), expected("X03")
    surface = math.pi * v["D_in"] / 12 * v["L_ft"]
    lb, per_lb = 0.45359237, 1055.056 / 0.45359237 * 1.8
    hot = (v["mh"] * lb, v["cph"] * per_lb, (v["Thi"] - 32) / 1.8)
    cold = (v["mc"] * lb, v["cpc"] * per_lb, (v["Tci"] - 32) / 1.8)
    got = rating_plant(hot, cold, ua=f"{want['U'] * surface} Btu/h/degF")
    _, hot_out, cold_out = outlets(got)
    agrees("oil out", hot_out * 1.8 + 32, v["Tho"], "degF", within=0.4, source=source("X03"))
    agrees("water out", cold_out * 1.8 + 32, want["Tco"], "degF", within=0.4, source=source("X03"))


def test_fouled_oil_cooler_of_incropera(agrees: Agrees) -> None:
    """X04: clean U 38, fouled 34.21 W/m2/K on 5 m2; `fouling` f takes that share off UA."""
    v, want = given("X04"), expected("X04")
    share = 1 - want["U"] / v["Ud"]
    hot, cold = (v["mh"], v["cph"], v["Thi"]), (v["mc"], v["cpc"], v["Tci"])
    got = rating_plant(hot, cold, ua=f"{v['Ud'] * v['A']} W/K", fouling=share)
    _, hot_out, cold_out = outlets(got)
    agrees("fouled: oil out", hot_out, v["Tho"], "degC", within=0.05, source=source("X04"))
    agrees("fouled: water out", cold_out, want["Tco"], "degC", within=0.05, source=source("X04"))
    plate = given("X10")  # 1/U = 1/Uc + Rf as a share taken off
    assert plate["U_clean"] * (1 - 1 / 6) == pytest.approx(expected("X10")["U"], rel=1e-4)


def test_oil_to_water(agrees: Agrees) -> None:
    """X05: 548.8 kW, water leaves at 117.4 degC with UA 21781 W/K."""
    v, want = given("X05"), expected("X05")
    hot, cold = (v["mh"], v["cph"], v["Thi"]), (v["mc"], v["cpc"], v["Tci"])
    duty, hot_out, cold_out = outlets(rating_plant(hot, cold, ua=f"{want['UA']} W/K"))
    agrees("oil to water: duty", duty, want["q"], "W", rel=1e-3, source=source("X05"))
    agrees("oil out", hot_out, v["Tho"], "degC", within=0.1, source=source("X05"))
    agrees("water out", cold_out, want["Tco"], "degC", within=0.1, source=source("X05"))


@pytest.mark.parametrize("ident", ["X08", "X09"])
@pytest.mark.parametrize("as_rated", [False, True])
def test_hot_water_plate(agrees: Agrees, ident: str, as_rated: bool) -> None:
    """X08, X09: 175,000 Btu/h from 140 degF at 10 and at 5 gpm, by UA or by the rated point."""
    v, want = given(ident), expected(ident)
    cp, mass = 4186.8, 500 * BTU_H * 1.8 / 4186.8  # of one gpm, so that 1 gpm carries 500 Btu/h per degF
    rho = mass / GPM
    board = Board(constant_fluid(rho, 1e-3, cp), use="potable")
    if as_rated:
        rated = {
            "a_flow": f"{v['gpm_h']} gpm",
            "a_in": f(v["Thi"]),
            "a_out": f(want["Tho"]),
            "b_flow": f"{v['gpm_c']} gpm",
            "b_in": f(v["Tci"]),
            "b_out": f(v["Tco"]),
        }
        board.item("HX-1", "exchanger", rated=rated)
    else:
        board.item("HX-1", "exchanger", ua=f"{want['UA']} Btu/h/degF")
    for side, warm in (("a", v["Thi"]), ("b", v["Tci"])):
        board.body(side, constant_fluid(rho, 1e-3, cp), "potable")
        board.item(f"M-{side}", "cold_main", pressure="300 kPa", temperature=f(warm))
        board.item(f"F-{side}", "fixture")
        board.pipe(f"M-{side}:at", f"HX-1:{side}_in")
        board.pipe(f"HX-1:{side}_out", f"F-{side}:cold", f"{side}-out")
    del board.systems["loop"]
    got = board.case(draws={"F-a": f"{v['gpm_h']} gpm", "F-b": f"{v['gpm_c']} gpm"}).solve()
    duty, hot_out, cold_out = outlets(got)
    by = "by its rated point" if as_rated else "by UA"
    share = got.items["HX-1"]["effectiveness"]
    agrees(f"plate {by}: duty", duty / BTU_H, want["q"], "Btu/h", rel=1e-3, source=source(ident))
    agrees(f"plate {by}: hot out", hot_out * 1.8 + 32, want["Tho"], "degF", within=0.1, source=source(ident))
    agrees(f"plate {by}: cold out", cold_out * 1.8 + 32, v["Tco"], "degF", within=0.1, source=source(ident))
    agrees(f"plate {by}: effectiveness", share, want["eps"], rel=1e-3, source=source(ident))


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("masses", [(0.3, 0.3), (0.2, 0.5), (0.6, 0.1)])
def test_plants_agree_with_the_library(agrees: Agrees, arrangement: str, masses: tuple[float, float]) -> None:
    got = rating_plant(
        (masses[0], 4000.0, 80.0), (masses[1], 3500.0, 20.0), ua="1500 W/K", arrangement=arrangement
    )
    want = ht.effectiveness_NTU_method(
        mh=masses[0],
        mc=masses[1],
        Cph=4000.0,
        Cpc=3500.0,
        subtype=ARRANGEMENTS[arrangement],
        Thi=80.0,
        Tci=20.0,
        UA=1500.0,
    )
    duty, hot_out, cold_out = outlets(got)
    library, what = "package ht, effectiveness_NTU_method", f"{arrangement}, {masses[0]} and {masses[1]} kg/s"
    agrees(f"{what}: duty", duty, want["Q"], "W", rel=1e-5, source=library)
    agrees(f"{what}: hot out", hot_out, want["Tho"], "degC", within=1e-3, source=library)
    agrees(f"{what}: cold out", cold_out, want["Tco"], "degC", within=1e-3, source=library)


def test_heat_may_pass_from_b_to_a() -> None:
    """The duty's size does not depend on which side is the hot one."""
    forth = rating_plant((0.3, 4000.0, 80.0), (0.2, 4000.0, 20.0), ua="900 W/K")
    back = rating_plant((0.2, 4000.0, 20.0), (0.3, 4000.0, 80.0), ua="900 W/K")
    assert abs(back.items["HX-1"]["duty_w"]) == pytest.approx(forth.items["HX-1"]["duty_w"], rel=1e-6)
    assert back.warm("a-out") == pytest.approx(forth.warm("b-out"), abs=1e-4)


def test_rated_point_gives_a_constant_size(agrees: Agrees) -> None:
    """UA from the rating by the log-mean difference; at other flows that UA stays."""
    rated = {
        "a_flow": "0.3 L/s",
        "a_in": "70 degC",
        "a_out": "55 degC",
        "b_flow": "0.45 L/s",
        "b_in": "35 degC",
    }
    got = rating_plant((0.2, 4000.0, 80.0), (0.6, 4000.0, 15.0), rated=rated)
    heat, cold_rise = 0.3 * 4000 * 15, 15 * 0.3 / 0.45
    ua = heat / ht.LMTD(70.0, 55.0, 35.0, 35.0 + cold_rise)
    cr = 0.2 / 0.6
    size = ua / (0.2 * 4000)
    share = (1 - math.exp(-size * (1 - cr))) / (1 - cr * math.exp(-size * (1 - cr)))
    duty, hot_out, _ = outlets(got)
    library = "package ht, LMTD, and the counter-flow formula"
    agrees("rated point at other flows: duty", duty, share * 0.2 * 4000 * 65, "W", rel=1e-4, source=library)
    assert hot_out == pytest.approx(80 - share * 65, abs=0.01)
    size_of = brentq(lambda n: float(effectiveness(n, cr, "counter")) - share, 1e-6, 50)
    assert size_of == pytest.approx(size, rel=1e-6)
