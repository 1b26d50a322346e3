"""Flows, tubes, operating points, returns and fixture demand against published and standard figures.

Sources: hydraulics/worked_examples.md and common_practice.md of the reference folder, named at each test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.files.read import from_data
from core.hydraulics.curves import Curve, head_curve, pchip_slopes
from core.media.tubes import dashed
from core.sizing.context import Context
from core.sizing.curves.operating import Control, operating_point
from core.sizing.demand.fixture_units import rows_for, units_of
from core.sizing.families.flows import size as flows_of
from core.sizing.families.pipes import size as pipes_of
from core.sizing.families.recirculation import size as returns_of
from tests.reference.cases import expected, given, source
from tests.support.builders import BTU_H, FT, GPM, PSI, Board
from tests.support.sizes import one, recompute
from tests.verification.checks import Agrees

SUBJECT = "Flows, tubes and operating points"

CFS = FT**3  # [m3/s]


def loop(
    load: str, difference: float, fluid: dict | None = None, tube: dict | None = None, at: str = "60 degC"
):
    """A boiler, a delta-T circulator and a load that is always met."""
    board = Board(fluid or {"kind": "water"})
    board.item("B-1", "boiler", capacity="2000 kW", set_temperature=at)
    senses = [["LD-1", "in"], ["LD-1", "out"]]
    board.item(
        "P-1", "circulator", curve=[["0 L/s", "60 m_head"], ["60 L/s", "1 m_head"]], control="delta_t",
        target=f"{difference!r} K", senses=senses, min_speed=0.01,
    )  # fmt: skip
    board.item("LD-1", "load", load=load)
    board.item("V-1", "shutoff", cv=4)
    board.ring("B-1", "P-1", "V-1", "LD-1")
    data = board.case("design").data()
    data["units"] = "us"
    data.setdefault("site", {})["indoor"] = "0 degC"  # a load takes nothing from water colder than its room
    for pipe in data["pipes"]:
        pipe["tube"] = tube or {"bore": "30 mm"}
        pipe["length"] = "100 ft"
    return data


@pytest.mark.parametrize(
    ("fluid", "mean", "factor", "tolerance"),
    [
        # The trade's 500 and its glycol figures, computed: Btu/h per gpm and degF at 60, 140, 180 degF.
        ({"kind": "water"}, 60.0, 500.4, 1e-3),
        ({"kind": "water"}, 140.0, 491.8, 1e-3),
        ({"kind": "water"}, 180.0, 487.1, 1e-3),
        ({"kind": "propylene_glycol", "fraction": 0.5}, 140.0, 448.4, 0.01),
        ({"kind": "ethylene_glycol", "fraction": 0.5}, 140.0, 432.2, 0.01),
    ],
)
def test_a_load_of_10000_btu_at_20_degf_wants_about_one_gpm(agrees: Agrees, fluid, mean, factor, tolerance):
    supply = f"{mean + 10.0!r} degF"
    context = Context(from_data(loop("10000 Btu/h", 20.0 / 1.8, fluid, at=supply)))
    sized = one(flows_of(context), "LD-1", "design_flow")
    liquid = f"{fluid['kind']} {fluid.get('fraction', '')}".strip().replace("_", " ")
    what = f"10,000 Btu/h at 20 degF, {liquid} at {mean:.0f} degF: flow"
    trade = f"{factor} Btu/h per gpm degF: the trade's 500, computed for the liquid"
    agrees(what, sized.value / GPM, 500.0 / factor, "gpm", rel=tolerance, source=trade)
    assert recompute([sized]) > 5


@pytest.mark.parametrize("ident", ["C05", "C06"])
def test_flow_of_a_held_difference(agrees: Agrees, ident):
    """Stored trade articles: flow = Q / (500 dT)."""
    v = given(ident)
    context = Context(from_data(loop(f"{v['Q']} Btu/h", v["dT"] / 1.8)))
    sized = one(flows_of(context), "LD-1", "design_flow")
    what = f"{v['Q']} Btu/h at {v['dT']} degF: flow"
    agrees(what, sized.value / GPM, expected(ident)["gpm"], "gpm", rel=0.02, source=source(ident))


def judged(flow: float, material: str, size: str, at: str = "60 degF", use: str = "closed"):
    """Tube options of a pipe that carries a flow [m3/s]."""
    board = Board({"kind": "water"}, use=use)
    board.item("CM-1", "cold_main", pressure="60 psi", temperature=at)
    board.item("F-1", "fixture", flow=f"{flow!r} m3/s")
    board.system = "loop"
    board.pipe("CM-1:at", "F-1:cold", "L-1", length="100 ft")
    data = board.case("design", draws={"F-1": f"{flow!r} m3/s"}).data()
    data["pipes"][0]["tube"] = {"material": material, "size": size}
    data["units"] = "us"
    return one(pipes_of(Context(from_data(data))), "L-1", "tube")


def option(sized, name):
    return next(o for o in sized.options if o.name.startswith(f"{dashed(name)} "))


@pytest.mark.parametrize(
    ("size", "gpm"),
    [
        ("1/2 in", 2.91),
        ("3/4 in", 6.03),
        ("1 in", 10.29),
        ("1 1/4 in", 15.67),
        ("1 1/2 in", 22.18),
        ("2 in", 38.58),
    ],
)
def test_type_l_copper_runs_4_ft_s_at_the_trades_flows(agrees: Agrees, size, gpm):
    """Type L at 4 ft/s: 3, 6, 10, 16, 22, 38 gpm (common practice, computed from ASTM B88 bores)."""
    found = option(judged(gpm * GPM, "copper_l", size), size)
    trade = "flows at 4 ft/s from ASTM B88 bores (common practice)"
    agrees(
        f"{size} copper L, {gpm} gpm: speed",
        found.figures["velocity_m_s"] / FT,
        4.0,
        "ft/s",
        rel=2e-3,
        source=trade,
    )


@pytest.mark.parametrize(
    ("size", "gpm", "feet"), [("2 in", 45, 4.3), ("2 1/2 in", 75, 5.0), ("3 in", 130, 5.6)]
)
def test_steel_at_its_published_greatest_flows_loses_about_4_ft_per_100_ft(agrees: Agrees, size, gpm, feet):
    """A published pump handbook's table for schedule 40 (the 4 in row is 7.6 % off and left out)."""
    found = option(judged(gpm * GPM, "steel_40", size), size)
    book, what = "published pump handbook, greatest flows in schedule 40 steel", f"{size} steel, {gpm} gpm"
    agrees(f"{what}: speed", found.figures["velocity_m_s"] / FT, feet, "ft/s", rel=0.02, source=book)
    agrees(f"{what}: loss", found.figures["loss_ft_100ft"], 4.0, "ft per 100 ft", rel=0.12, source=book)


@pytest.mark.parametrize(("at", "limit"), [("50 degF", 8.0), ("130 degF", 5.0), ("160 degF", 3.0)])
def test_copper_keeps_its_published_velocities_by_temperature(at, limit):
    """8 ft/s cold, 5 ft/s to 140 degF, 2 to 3 ft/s above (published for ASTM B88 tube)."""
    bore = 1.025 * 0.0254
    for share, serves in ((0.99, True), (1.01, False)):
        flow = share * limit * FT * math.pi / 4.0 * bore**2
        sized = judged(flow, "copper_l", "1 in", at, use="potable")
        assert option(sized, "1 in").serves is serves
        assert (sized.chosen == "1 in Type L copper") is serves


def falling(top: float, square: float, last: float, points: int = 40) -> Curve:
    """H = top - square Q^2 as points."""
    flows = [last * k / points for k in range(points + 1)]
    return head_curve([(q, top - square * q * q) for q in flows])


def rising(static: float, square: float, last: float, points: int = 60) -> Curve:
    x = [last * k / points for k in range(points + 1)]
    y = [static + square * q * q for q in x]
    return Curve(tuple(x), tuple(y), tuple(pchip_slopes(x, y)), "straight")


def test_published_pump_and_system_meet_where_the_book_says(agrees: Agrees):
    """Worked example 11: 81/60/20 ft at 0/5000/7850 gpm, 30 ft static, K 0.160: 12.051 cfs, 53.285 ft.

    The published answer fits a - c Q2 to the three points.
    """
    flows = np.array([0, 5000, 7850]) * GPM
    bend, shut_off = np.polyfit(flows**2, np.array([81, 60, 20]) * FT, 1)
    system = rising(30 * FT, 0.160 * FT / CFS**2, 20 * CFS)
    found = operating_point(falling(shut_off, -bend, 18 * CFS), system, Control(), 0.0)
    book = "fluid mechanics textbook, pump of three points against 30 ft (published answer)"
    agrees("operating point: flow", found.flow / CFS, 12.051, "ft3/s", rel=2e-3, source=book)
    agrees("operating point: head", found.head / FT, 53.285, "ft", rel=2e-3, source=book)


def test_one_pump_of_the_closed_loop_example(agrees: Agrees):
    """Common practice, computed: 20 - 0.05 Q2 in a loop of 0.03 Q2 (ft, gpm): 15.8 gpm."""
    pump = falling(20 * FT, 0.05 * FT / GPM**2, 20 * GPM)
    system = rising(0.0, 0.03 * FT / GPM**2, 30 * GPM)
    found = operating_point(pump, system, Control(), 0.0)
    form = "closed form of curve and loop"
    agrees("one pump in a closed loop: flow", found.flow / GPM, 15.81, "gpm", rel=2e-3, source=form)


def test_slower_by_the_affinity_laws(agrees: Agrees):
    """Worked example 15 (Crane 7-33): 400 gpm, 126 ft at 3500 rpm become 194.3 gpm, 29.7 ft at 1700."""
    share = 1700 / 3500
    pump = falling(160 * FT, 34 * FT / (400 * GPM) ** 2, 700 * GPM)
    system = rising(0.0, 126 * FT / (400 * GPM) ** 2, 700 * GPM)
    found = operating_point(pump, system, Control(speed=share), 0.0)
    crane = "Crane TP-410, Example 7-33"
    agrees("slower pump on the same system: flow", found.flow / GPM, 194.3, "gpm", rel=2e-3, source=crane)
    agrees("slower pump on the same system: head", found.head / FT, 29.7, "ft", rel=2e-3, source=crane)


def test_a_held_difference_runs_at_half_speed_on_half_the_load(agrees: Agrees):
    """C07, affinity laws on a fixed system curve: half the flow at half speed asks a quarter of the head."""
    v = given("C07")
    system = rising(0.0, v_head(v) / (v["f1"] * GPM) ** 2, 10 * GPM)
    pump = falling(1.5 * v_head(v), 0.5 * v_head(v) / (v["f1"] * GPM) ** 2, 8 * GPM)
    full = operating_point(pump, system, Control("delta_t"), v["f1"] * GPM)
    half = operating_point(pump, system, Control("delta_t"), v["f2"] * GPM)
    assert half.speed / full.speed == pytest.approx(0.5, rel=1e-3)
    agrees("head at half speed", half.head / FT, expected("C07")["H"], "ft", rel=1e-3, source=source("C07"))


def v_head(v):
    return 12.0 * FT


@pytest.mark.parametrize(("drop", "gpm"), [(5.0, 4.8), (10.0, 2.4)])
def test_return_flow_of_the_published_example(agrees: Agrees, drop, gpm):
    """US Army Corps of Engineers ETL 1110-3-489, eq. 3 and 4: 400 ft that lose 30 Btu/h a foot."""
    v = {"length": 400, "loss": 30, "dT": drop}
    around, supply = 70.0, 140.0
    mean = supply - v["dT"] / 2.0
    per_metre = v["loss"] * BTU_H / FT / ((mean - around) / 1.8)
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature=f"{supply!r} degF")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("F-1", "fixture", flow="2 gpm")
    board.item("P-1", "circulator", curve=[["0 gpm", "8 ft_head"], ["9 gpm", "1 ft_head"]])
    board.item("H-1", "heater", set_temperature=f"{supply!r} degF", capacity="200 kBtu/h")
    board.pipe("CM-1:at", "J-1:at", "L-0")
    board.pipe("J-1:at", "H-1:in", "L-1")
    lossy = {"insulation": {"loss": f"{per_metre!r} W/m/K"}, "around": f"{around!r} degF"}
    board.pipe("H-1:out", "J-2:at", "L-2", length=f"{v['length']} ft", **lossy)
    board.pipe("J-2:at", "F-1:hot", "L-3")
    board.pipe("J-2:at", "P-1:in", "L-4")
    board.pipe("P-1:out", "J-1:at", "L-5")
    data = board.case("design").data()
    data["units"] = "us"
    data.setdefault("site", {})["indoor"] = "0 degC"  # a load takes nothing from water colder than its room
    sized = one(returns_of(Context(from_data(data))), "P-1", "recirculation")
    at = next(o for o in sized.options if o.figures["difference_k"] == pytest.approx(v["dT"] / 1.8))
    army = "US Army Corps of Engineers ETL 1110-3-489, eq. 3 and 4 (its 500 against true water)"
    found = at.figures["flow_m3_s"] / GPM
    agrees(f"return flow at a drop of {drop:.0f} degF", found, gpm, "gpm", rel=0.025, source=army)
    assert recompute([sized]) > 5


@pytest.mark.parametrize(
    ("table", "units", "gpm"),
    [
        ("IPC E103.3(3)", 10, 14.6),
        ("IPC E103.3(3)", 60, 32.0),
        ("Illinois 890 Table N", 10, 8.0),
        ("Illinois 890 Table N", 60, 32.0),
        ("NSPC B.5.4", 10, 8.0),
        ("NSPC B.5.4", 130, 51.0),  # half way between rows
    ],
)
def test_demand_by_the_codes_tables(agrees: Agrees, table, units, gpm):
    found = rows_for(table, units)
    assert found is not None
    what = f"demand of {units} fixture units"
    agrees(what, found.at(units) / GPM, gpm, "gpm", rel=1e-6, source=f"{table}, as printed")


def test_tables_are_not_bridged_nor_continued():
    assert rows_for("NSPC B.5.4", 60) is None
    assert rows_for("Illinois 890 Table N", 1) is None
    assert rows_for("IPC E103.3(3)", 5000) is None


@pytest.mark.parametrize(
    ("what", "public", "figures"),
    [
        ("lavatory", False, (0.5, 0.5, 0.7)),
        ("shower", True, (3.0, 3.0, 4.0)),
        ("water_closet", False, (2.2, 0.0, 2.2)),
    ],
)
def test_fixture_units_of_ipc_2018(agrees: Agrees, what, public, figures):
    found = units_of(what, public)
    assert found is not None
    for name, got, want in zip(
        ("cold", "hot", "total"), (found.cold, found.hot, found.total), figures, strict=True
    ):
        what_units = f"fixture units, {what.replace('_', ' ')}, {'public' if public else 'private'}, {name}"
        agrees(what_units, got, want, rel=1e-9, source="IPC 2018, Table E103.3(2)")


def test_suction_margin_by_steam_table_figures(agrees: Agrees):
    """Water of 180 degF boils at 7.51 psi absolute and weighs 60.57 lb/ft3 (steam tables); air 14.696 psi."""
    from core.sizing.families.suction import margin

    board = Board({"kind": "water"})
    board.body("loop", {"kind": "water"}, fill_pressure="12 psi")
    board.item("P-1", "circulator", curve=[["0 gpm", "8 ft_head"], ["9 gpm", "1 ft_head"]])
    board.item("B-1", "boiler", capacity="200 kBtu/h", set_temperature="180 degF")
    board.item("ET-1", "expansion_tank", precharge="12 psi", volume="2 gal")
    board.item("J-1", "joint")
    board.ring("B-1", "J-1", "P-1")
    board.pipe("J-1:at", "ET-1:at", "L-9")
    context = Context(from_data(board.case("design").data()))
    found = margin(context, "P-1", "design")
    assert found is not None
    feet = (12.0 + 14.696 - 7.51) * PSI / (60.57 * 0.45359237 / FT**3 * 9.80665) / FT
    steam = "steam tables: 7.51 psi and 60.57 lb/ft3 at 180 degF"
    agrees("suction margin", float(found.value) / FT, feet, "ft", rel=2e-3, source=steam)
