"""Several stats over one water: in stages, alike, with boilers too small, in every order of the file."""

from __future__ import annotations

import random

import pytest

from tests.support.balance import si
from tests.support.builders import Board, c, solve_data, w
from tests.support.standing_alone import order_matters


@pytest.mark.parametrize("several", [False, True])
def test_a_boiler_too_small_for_its_loads_is_on_all_the_time_and_its_water_stands_in_the_band(several):
    """15 kW wanted of 10 kW: the stat of 60 degC, 4 K apart, holds 58 degC and cuts the load by a third."""
    board = Board()
    board.drive()
    boilers = ["B-1", "B-2"] if several else ["B-1"]
    for key in boilers:
        board.item(key, "boiler", capacity=w(10e3 / len(boilers)), set_temperature="80 degC", run_when="AQ-1")
    board.item("AQ-1", "aquastat", senses=["SUP"], set_temperature="60 degC", differential="4 K")
    board.item("LD-1", "load", load="15 kW")
    board.chain("P-1", "S-1", *boilers)
    board.pipe(f"{boilers[-1]}:out", "LD-1:in", "SUP")
    board.chain("LD-1", "P-1")
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.warm("SUP") == pytest.approx(58.0, abs=1e-3)
    assert solved.items["LD-1"]["delivered_w"] == pytest.approx(10e3, rel=1e-5)
    assert solved.items["AQ-1"]["duty_share"] == pytest.approx(1.0, abs=1e-5)
    assert solved.noted("AQ-1", "on all the time")
    assert solved.noted("B-1", "loads behind it are cut")


def test_two_stats_alike_cycle_as_one() -> None:
    """Each with a boiler of its own: 10 kW and 20 kW give 9 kW together, each for 30 % of the time."""
    board = Board()
    board.drive()
    for k, most in ((1, 10e3), (2, 20e3)):
        board.item(f"B-{k}", "boiler", capacity=w(most), set_temperature="80 degC", run_when=f"AQ-{k}")
        props = {"senses": ["SUP"], "set_temperature": "60 degC", "differential": "4 K"}
        board.item(f"AQ-{k}", "aquastat", **props)
    board.item("RA-1", "radiator", ua=f"{9e3 / (58 - 9e3 / 2000 / 2 - 20)} W/K")
    board.chain("P-1", "S-1", "B-1", "B-2")
    board.pipe("B-2:out", "RA-1:in", "SUP")
    board.chain("RA-1", "P-1")
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.warm("SUP") == pytest.approx(58.0, abs=1e-3)
    shares = [solved.items[f"B-{k}"]["duty_share"] for k in (1, 2)]
    given = solved.items["RA-1"]["delivered_w"]
    assert shares == pytest.approx([given / 30e3] * 2, rel=1e-4)
    assert solved.items["B-1"]["duty_w"] == pytest.approx(given / 3, rel=1e-4)


@pytest.mark.parametrize("seed", range(24))
def test_boilers_in_stages_settle_the_same_in_every_order_of_the_file(seed):
    """Two or three, in series or side by side, over the supply, the return or their own outlets."""
    data = staged(random.Random(seed)).data()
    solved = solve_data(data)
    assert solved.converged
    assert not order_matters(data, seed)
    for key, stat in ((one["id"], one["props"]) for one in data["items"] if one["kind"] == "aquastat"):
        figures, set_at = solved.items[key], si(stat["set_temperature"], "temperature") - 273.15
        band = si(stat["differential"], "temperature_difference")
        if "duty_share" not in figures:
            assert not (figures["on"] and figures["temperature_c"] > set_at + 1e-3)
            assert not (not figures["on"] and figures["temperature_c"] < set_at - band - 1e-3)


def staged(rng: random.Random) -> Board:
    board = Board()
    board.pump("P-1", 60e3, 2e-3)
    for joint in ("J-1", "J-2", "J-3"):
        board.item(joint, "joint")
    way, place = rng.choice(["series", "side"]), rng.choice(["SUP", "SUP", "own", "RET"])
    boilers = [f"B-{k}" for k in range(rng.choice([2, 2, 3]))]
    for key in boilers:
        most, set_at = rng.choice([5e3, 10e3, 20e3]), rng.choice([70, 80])
        board.item(key, "boiler", capacity=w(most), set_temperature=c(set_at), run_when=f"AQ-{key}")
        board.item(
            f"AQ-{key}",
            "aquastat",
            senses=[key, "out"] if place == "own" else [place],
            set_temperature=c(rng.choice([50, 52, 55, 57, 60])),
            differential=f"{rng.choice([2, 4, 6, 10])} K",
        )
    if way == "series":
        board.chain("J-1", *boilers, "J-2")
    else:
        for key in boilers:
            board.chain("J-1", board.resistance(f"S-{key}", 4e-4, 10e3), key, "J-2")
    load = rng.uniform(1e3, 30e3)
    if rng.random() < 0.5:
        board.item("LD-1", "load", load=w(load))
    else:
        board.item("LD-1", "radiator", ua=f"{load / 33} W/K")
    board.pipe("J-2:at", "LD-1:in", "SUP")
    board.chain("LD-1", board.resistance("S-9", 5e-4, 10e3), "J-3")
    board.pipe("J-3:at", "P-1:in", "RET")
    board.pipe("P-1:out", "J-1:at")
    return board.case("c")
