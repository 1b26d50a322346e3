"""Circulators: operating points, in series, in parallel, affinity; published statements rebuilt as plants."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.reference.cases import expected, given, source
from tests.support.builders import FT, GPM, PSI, Board, constant_fluid, flow, k_for, m, pa
from tests.verification.checks import Agrees

SUBJECT = "Circulators and valves"

RHO = 62.4 * 0.45359237 / FT**3


def sampled(shut_off: float, bend: float, run_out: float, points: int = 41) -> list[list[str]]:
    """Points of head = shut_off - bend Q^2 in ft and gpm."""
    flows = np.linspace(0, run_out, points)
    return [[f"{float(q)!r} gpm", f"{float(shut_off - bend * q * q)!r} ft_head"] for q in flows]


def closed_loop(arrangement: str, speed: float = 1.0) -> Board:
    """Loop losing 0.03 Q^2 (ft, gpm), circulators of 20 - 0.05 Q^2; the loss as a single `drops` point."""
    board = Board(constant_fluid(RHO))
    board.item("S-1", "strainer", drops=[["10 gpm", "3 ft_head"]])
    for name in ("P-1", "P-2"):
        board.item(name, "circulator", curve=sampled(20, 0.05, 20), speed=speed)
    if arrangement == "one":
        del board.items["P-2"]
        board.ring("P-1", "S-1")
    elif arrangement == "series":
        board.ring("P-1", "P-2", "S-1")
    else:
        for name in ("J-1", "J-2"):
            board.item(name, "joint")
        board.chain("J-1", "P-1", "J-2", "S-1", "J-1")
        board.chain("J-1", "P-2", "J-2")
    return board


@pytest.mark.parametrize(
    ("arrangement", "want", "printed"),
    [
        ("one", math.sqrt(20 / 0.08), 15.8),
        ("series", math.sqrt(40 / 0.13), 17.5),
        ("parallel", math.sqrt(20 / 0.0425), 21.7),
    ],
)
def test_two_circulators_do_not_double_the_flow(
    agrees: Agrees, arrangement: str, want: float, printed: float
) -> None:
    """Common practice, no source: 15.8 gpm becomes 17.5 in series and 21.7 in parallel, exact closed form."""
    got = closed_loop(arrangement).solve()
    gpm = got.items["S-1"]["flow_m3_s"] / GPM
    form = "closed form of curve and loop"
    agrees(f"circulators, {arrangement}: flow", gpm, want, "gpm", rel=2e-4, source=form)
    assert gpm == pytest.approx(printed, abs=0.05)
    if arrangement != "one":
        assert got.items["P-1"]["flow_m3_s"] == pytest.approx(got.items["P-2"]["flow_m3_s"], rel=1e-6)
        share = 1.0 if arrangement == "series" else 0.5
        assert got.items["P-1"]["flow_m3_s"] / GPM == pytest.approx(want * share, rel=2e-4)
    head = 20 - 0.05 * (got.items["P-1"]["flow_m3_s"] / GPM) ** 2
    assert got.items["P-1"]["head_m"] / FT == pytest.approx(head, rel=1e-3)


def test_affinity_on_a_fixed_loop(agrees: Agrees) -> None:
    """C07: half the speed gives half the flow and a quarter of the head."""
    full, half = closed_loop("one").solve(), closed_loop("one", speed=0.5).solve()
    v, want = given("C07"), expected("C07")
    ratio = v["f2"] / v["f1"]
    assert half.items["S-1"]["flow_m3_s"] == pytest.approx(ratio * full.items["S-1"]["flow_m3_s"], rel=1e-4)
    quarter = half.items["P-1"]["head_m"] / full.items["P-1"]["head_m"]
    agrees("head at half speed", quarter, want["H"] / v["H1"], rel=2e-4, source=source("C07"))


def test_affinity_of_crane_7_33(agrees: Agrees) -> None:
    """Crane 7-33: 400 gpm at 126 ft and 3500 rpm give 194.3 gpm at 29.7 ft and 1700 rpm."""
    board = Board(constant_fluid(RHO))
    board.item("P-1", "circulator", curve=sampled(200, 74 / 400**2, 600), speed=1700 / 3500)
    board.item("S-1", "strainer", drops=[["400 gpm", "126 ft_head"]])
    board.ring("P-1", "S-1")
    got = board.solve()
    crane = "Crane TP-410, Example 7-33"
    agrees(
        "flow at 1700 of 3500 rpm", got.items["P-1"]["flow_m3_s"] / GPM, 194.3, "gpm", rel=1e-3, source=crane
    )
    agrees("head at 1700 of 3500 rpm", got.items["P-1"]["head_m"] / FT, 29.7, "ft", rel=2e-3, source=crane)


def test_pump_against_a_lift(agrees: Agrees) -> None:
    """Worked example 11: 81/60/20 ft at 0/5000/7850 gpm, 30 ft of lift: 12.051 cfs, 53.285 ft.

    The published answer fits a + c Q^2 to the three points; sampled, that is our curve. K 0.160 (ft, cfs) is
    rounded in print, hence 12.057 and 53.258 here.
    """
    cfs = FT**3
    flows = np.array([0, 5000, 7850]) * GPM / cfs
    bend, shut_off = np.polyfit(flows**2, [81, 60, 20], 1)
    board = Board(constant_fluid(RHO), use="potable")
    points = [
        [flow(float(q * cfs)), f"{float(shut_off + bend * q * q)!r} ft_head"] for q in np.linspace(0, 18, 41)
    ]
    board.item("P-1", "circulator", curve=points)
    board.item("M-1", "cold_main", pressure="100 kPa")
    board.item("M-2", "cold_main", pressure="100 kPa", height="30 ft")
    loss = 0.160 * FT * RHO * 9.80665 / cfs**2
    board.pipe("M-1:at", "P-1:in", bore=1.0)
    board.pipe("P-1:out", "M-2:at", bore=0.5, k=k_for(loss, 0.5, RHO))
    got = board.solve()
    assert got.items["P-1"]["flow_m3_s"] / cfs == pytest.approx(12.057, rel=5e-4)
    book = "fluid mechanics textbook, pump of three points against 30 ft (published answer)"
    agrees(
        "pump against a lift: flow",
        got.items["P-1"]["flow_m3_s"] / cfs,
        12.051,
        "ft3/s",
        rel=2e-3,
        source=book,
    )
    agrees("pump against a lift: head", got.items["P-1"]["head_m"] / FT, 53.285, "ft", rel=2e-3, source=book)
    assert got.items["P-1"]["head_m"] / FT == pytest.approx(53.258, rel=5e-4)


@pytest.mark.parametrize(
    ("arrangement", "a", "b"), [("one", 365, 20), ("series", 730, 40), ("parallel", 365, 5)]
)
def test_pumps_between_reservoirs(agrees: Agrees, arrangement: str, a: float, b: float) -> None:
    """365 - 20 Q^2 (ft, cfs) against 290 ft, 90 ft of 10 in (f 0.022) and 4900 ft of 8 in (f 0.028) pipe.

    Problem statement published, answers computed: closed form sqrt((a - 290) / (K + b)), lengths as printed.
    """
    cfs = FT**3
    board = Board(constant_fluid(RHO), use="potable")
    curve = [[flow(float(q * cfs)), f"{float(365 - 20 * q * q)!r} ft_head"] for q in np.linspace(0, 4.2, 41)]
    board.item("M-1", "cold_main", pressure="100 kPa")
    board.item("M-2", "cold_main", pressure="100 kPa", height="290 ft")
    names = ("P-1",) if arrangement == "one" else ("P-1", "P-2")
    for name in names:
        board.item(name, "circulator", curve=curve)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.pipe("M-1:at", "J-1:at", "L-in", bore=10 / 12 * FT, k=0.022 * 90 / (10 / 12))
    board.pipe("J-2:at", "M-2:at", "L-out", bore=8 / 12 * FT, k=0.028 * 4900 / (8 / 12))
    if arrangement == "parallel":
        for name in names:
            board.chain("J-1", name, "J-2", bore=1.0)
    else:
        board.chain("J-1", *names, "J-2", bore=1.0)
    got = board.solve()
    gravity = 9.80665 / FT
    loss = 8 / (math.pi**2 * gravity) * (0.022 * 90 / (10 / 12) ** 5 + 0.028 * 4900 / (8 / 12) ** 5)
    want = math.sqrt((a - 290) / (loss + b))
    book = "published problem of pumps between reservoirs, answer in closed form"
    agrees(
        f"pumps between reservoirs, {arrangement}",
        got.flow("L-out") / cfs,
        want,
        "ft3/s",
        rel=5e-4,
        source=book,
    )


def test_head_and_power_of_crane_7_15(agrees: Agrees) -> None:
    """Crane 7-15: 100 gpm up 400 ft through 500 ft of 3 in steel; 421 ft printed, 420.4 computed."""
    inch, lb = 0.0254, 0.45359237
    rho, mu, bore = 62.298 * lb / FT**3, 0.95e-3, 3.068 * inch
    seat = (2.469 / 3.068) ** 2
    lift_check = (600 * 0.018 + 1 * (0.5 * (1 - seat) + (1 - seat) ** 2)) / seat**2  # Crane TP-410, formula 7
    board = Board(constant_fluid(rho, mu), use="potable")
    board.item("M-1", "cold_main", pressure="20 bar")
    board.item("F-1", "fixture", height="400 ft")
    extra = 1 + 8 * 0.018 + 4 * 30 * 0.018 + lift_check
    board.pipe("M-1:at", "F-1:cold", "L-1", bore=bore, roughness="0.0018 in", length="500 ft", k=extra)
    got = board.case(draws={"F-1": "100 gpm"}).solve()
    pipe = got.pipes["L-1"]
    total = (pipe["pressure_in_pa"] - pipe["pressure_out_pa"]) / rho / 9.80665 / FT
    crane, power = "Crane TP-410, Example 7-15", 100 * GPM * rho * 9.80665 * total * FT / 0.70 / 745.7
    agrees("head of a lift through steel pipe", total, 421, "ft", rel=3e-3, source=crane)
    agrees("power of that lift at 70 %", power, 15.2, "hp", rel=6e-3, source=crane)


def test_point_of_no_pressure_change(agrees: Agrees) -> None:
    """C10: 12 psi at the tank, 8 psi of head: pumped away the suction stays at 12, toward it falls to 4."""
    v, want = given("C10"), expected("C10")
    suction = {}
    for place in ("before", "after"):
        board = Board()
        board.body("loop", constant_fluid(), fill_pressure=f"{v['static']} psi")
        board.pump("P-1", v["head_psi"] * PSI * 2, 1e-3)
        board.resistance("S-1", 0.5e-3, v["head_psi"] * PSI)
        for name in ("J-1", "J-2"):
            board.item(name, "joint")
        board.item("T-1", "expansion_tank", volume="10 L", precharge="5 psi")
        pipes = board.ring("P-1", "J-1", "S-1", "J-2")
        board.pipe("J-2:at" if place == "before" else "J-1:at", "T-1:at")
        got = board.solve()
        suction[place] = got.pipes[pipes[3]]["pressure_out_pa"] / PSI
        assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    away, toward = suction["before"], suction["after"]
    agrees(
        "suction, pumped away from the tank",
        away,
        want["suction_pump_away"],
        "psi",
        within=1e-3,
        source=source("C10"),
    )
    agrees(
        "suction, pumped toward it",
        toward,
        want["suction_pump_toward"],
        "psi",
        within=1e-3,
        source=source("C10"),
    )


def test_flow_coefficient_by_definition(agrees: Agrees) -> None:
    """10 gpm at SG 1 through Cv 5 lose 4 psi; 2 m3/h through Kv 4 lose 0.25 bar (Kv = 0.865 Cv, IEC 60534).

    Specific gravity counts against 999.0 kg/m3, as the contract says.
    """
    for rho, quantity, cv, want in (
        (999.0, "10 gpm", 5.0, 4.0 * PSI),
        (999.0, "2 m3/h", 4 / 0.865, 0.25e5),
        (1050.0, "10 gpm", 5.0, 4.0 * PSI * 1050 / 999),
    ):
        board = Board(constant_fluid(rho), use="potable")
        board.item("M-1", "cold_main", pressure="400 kPa")
        board.item("V-1", "shutoff", cv=cv)
        board.item("F-1", "fixture")
        first = board.pipe("M-1:at", "V-1:a")
        second = board.pipe("V-1:b", "F-1:cold")
        got = board.case(draws={"F-1": quantity}).solve()
        lost = got.pipes[first]["pressure_out_pa"] - got.pipes[second]["pressure_in_pa"]
        iec = "definition of Cv and Kv, IEC 60534"
        agrees(f"loss of {quantity} through Cv {cv:.4g}", lost, want, "Pa", rel=1e-3, source=iec)


def test_pump_curve_in_metres_and_in_pascals_is_the_same_at_one_density() -> None:
    flows = []
    for unit, scale in (("m_head", 1.0), ("Pa", RHO * 9.80665)):
        board = Board(constant_fluid(RHO))
        curve = [[flow(q), f"{h * scale!r} {unit}"] for q, h in ((0.0, 6.0), (5e-4, 4.5), (1e-3, 1.0))]
        board.item("P-1", "circulator", curve=curve)
        board.item("S-1", "strainer", drops=[["0.5 L/s", pa(30e3)]])
        board.ring("P-1", "S-1", length=m(3.0), bore=0.026)
        flows.append(board.solve().items["P-1"]["flow_m3_s"])
    assert flows[0] == pytest.approx(flows[1], rel=1e-6)
