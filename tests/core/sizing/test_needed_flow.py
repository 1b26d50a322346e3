"""What circuits need decides: not what flows as drawn; draws part as solved; heads are shared. By hand."""

from __future__ import annotations

from typing import Any

import pytest

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.demand.flows import design_flow
from core.sizing.everything import size
from core.sizing.result import Sized
from tests.support.builders import BTU_H, FT, GPM, Board, constant_fluid, f
from tests.support.sizes import one, recompute

CP, MASS = 4186.8, 500 * BTU_H * 1.8 / 4186.8  # so that 1 gpm carries 500 Btu/h per degF
RULE = constant_fluid(MASS / GPM, 1e-3, CP)


def ring(pumps: dict[str, list[list[str]]], load: str = "100 kBtu/h", bore: float = 0.05) -> list[Sized]:
    """Circulators in line, a boiler, and a load that loses 3 ft of head at 10 gpm."""
    board = Board(RULE)
    for name, curve in pumps.items():
        board.item(name, "circulator", curve=curve)
    board.item("B", "boiler", set_temperature=f(160.0), capacity="200 kBtu/h")
    board.item("LD", "load", load=load, drops=[["10 gpm", "3 ft_head"]])
    board.ring(*pumps, "B", "LD", length="0.01 m", bore=bore)
    return size(imperial(board))


def imperial(board: Board) -> Any:
    return from_data({**board.data(), "units": "us"})


@pytest.mark.parametrize("top", ["4 ft_head", "12 ft_head", "60 ft_head"])
def test_a_circulator_too_large_confirmed_itself_and_enlarged_the_tube(top: str) -> None:
    """100 kBtu/h at the usual 20 degF are 10 gpm, whatever the circulator drawn moves."""
    found = ring({"P": [["0 gpm", top], ["60 gpm", "0 ft_head"]]})
    recompute(found)
    for name in ("P", "B", "LD"):
        sized = one(found, name, "design_flow")
        assert sized.value == pytest.approx(10.0 * GPM, rel=1e-6)
    assert "10.0 gpm" in one(found, "L-1", "tube").words
    assert "must carry 10.0 gpm" in one(found, "P", "design_flow").words
    assert "flows as drawn" in one(found, "P", "design_flow").words
    assert one(found, "P", "circulator").words.startswith("P must move 10.0 gpm against")


def test_each_of_two_circulators_in_line_was_asked_the_whole_head() -> None:
    """3 ft at 10 gpm: 1.5 ft each of two alike, 2 and 1 ft where one gives twice the head."""
    alike = ring(
        {"P": [["0 gpm", "6 ft_head"], ["20 gpm", "2 ft_head"]]}
        | {"Q": [["0 gpm", "6 ft_head"], ["20 gpm", "2 ft_head"]]}
    )
    uneven = ring(
        {"P": [["0 gpm", "12 ft_head"], ["20 gpm", "4 ft_head"]]}
        | {"Q": [["0 gpm", "6 ft_head"], ["20 gpm", "2 ft_head"]]}
    )
    for found, p, q in ((alike, 1.5, 1.5), (uneven, 2.0, 1.0)):
        recompute(found)
        for name, feet in (("P", p), ("Q", q)):
            assert one(found, name, "circulator").value == pytest.approx(feet * FT, rel=2e-3)


def test_a_circulator_or_tube_drawn_too_small_ended_with_0() -> None:
    weak = [["0 gpm", "0.5 ft_head"], ["20 gpm", "0 ft_head"]]
    strong = [["0 gpm", "9 ft_head"], ["30 gpm", "0 ft_head"]]
    assert one(ring({"P": weak}), "P", "circulator").fails
    assert not one(ring({"P": strong}), "P", "circulator").fails


def heaters(ends: int, charged: bool = False) -> Context:
    """A cold main, heaters side by side, a draw of 5 gpm; or the same charging a tank by a circulator."""
    board = Board(RULE, use="potable", cold_water=f(50.0))
    board.item("CM", "cold_main", pressure="300 kPa", temperature=f(50.0))
    board.item("J", "joint")
    board.item("K", "joint")
    for number in range(ends):
        board.item(f"H{number}", "heater", capacity="70 kBtu/h", set_temperature=f(135.0),
                   drops=[["5 gpm", "4 psi"]])  # fmt: skip
        board.chain("J", f"H{number}", "K", length="0.1 m", bore=0.02)
    board.item("F", "fixture", flow="5 gpm")
    if charged:
        board.item("I", "joint")
        board.item("P", "circulator", curve=[["0 gpm", "20 ft_head"], ["12 gpm", "4 ft_head"]])
        board.item("T", "tank", volume="75 gal", tall="48 in",
                   taps={"in": "40 in", "hot": "46 in", "low": "4 in"})  # fmt: skip
        board.pipe("CM:at", "I:at", "cold", length="0.1 m", bore=0.02)
        board.chain("I", "P", "J", length="0.1 m", bore=0.02)
        board.pipe("K:at", "T:in", "to_tank", length="0.1 m", bore=0.02)
        board.pipe("T:low", "I:at", "back", length="0.1 m", bore=0.02)
        board.pipe("T:hot", "F:hot", "hot", length="0.1 m", bore=0.02)
    else:
        board.pipe("CM:at", "J:at", "cold", length="0.1 m", bore=0.02)
        board.pipe("K:at", "F:hot", "hot", length="0.1 m", bore=0.02)
    tanks = {"T": f(115.0)} if charged else {}
    board.case("idle", tanks=tanks)
    return Context(imperial(board.case("draw", draws={"F": "5 gpm"}, tanks=tanks)))


@pytest.mark.parametrize("ends", [1, 2, 3, 4])
def test_each_of_two_heaters_side_by_side_was_given_the_whole_draw(ends: int) -> None:
    context = heaters(ends)
    for number in range(ends):
        flow = design_flow(context, f"H{number}")
        assert flow is not None
        assert flow.value == pytest.approx(5.0 / ends * GPM, rel=1e-3)
    for pipe in ("cold", "hot"):
        flow = design_flow(context, pipe)
        assert flow is not None
        assert flow.value == pytest.approx(5.0 * GPM, rel=1e-9)


@pytest.mark.parametrize("ends", [1, 2])
def test_a_circulator_that_charges_a_tank_had_no_size(ends: int) -> None:
    """70 kBtu/h a heater at 20 degF are 7 gpm each; what is drawn passes instead of it, not besides."""
    context = heaters(ends, charged=True)
    found = size(context.plant)
    recompute(found)
    for name, gpm in (("P", 7.0 * ends), ("H0", 7.0), ("to_tank", 7.0 * ends), ("cold", 5.0), ("hot", 5.0)):
        flow = design_flow(context, name)
        assert flow is not None
        assert flow.value == pytest.approx(gpm * GPM, rel=1e-3), name
    sized = one(found, "P", "circulator")
    assert f"P must move {7.0 * ends:.1f} gpm" in sized.words
    assert sized.fails  # a heater alone takes 4 (7 / 5)^2 = 7.8 psi, 18 ft: its curve gives 10.7 ft there


@pytest.mark.parametrize(("kind", "needed"), [("floor_circuit", 10.0 * 20 / 15), ("load", 10.0)])
def test_a_separator_is_given_as_much_water_as_is_drawn_behind_it(kind: str, needed: float) -> None:
    """100 kBtu/h: a floor draws them at 15 degF, 13.3 gpm; 10 gpm of 20 degF would cool its supply."""
    board = Board(RULE)
    curve = [["0 gpm", "20 ft_head"], ["40 gpm", "0 ft_head"]]
    for pump in ("P", "Q"):
        board.item(pump, "circulator", curve=curve)
    board.item("B", "boiler", set_temperature=f(120.0), capacity="200 kBtu/h")
    board.item("S", "separator")
    board.item("LD", kind, load="100 kBtu/h")
    board.ring("P", "B", "S:a_in>a_out", length="1 m", bore=0.05)
    board.ring("Q", "LD", "S:b_in>b_out", length="1 m", bore=0.05)
    found = size(imperial(board))
    recompute(found)
    assert one(found, "P", "design_flow").value == pytest.approx(needed * GPM, rel=1e-5)
    assert one(found, "Q", "design_flow").value == pytest.approx(needed * GPM, rel=1e-5)
