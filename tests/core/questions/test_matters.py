"""Which guess matters: spans and shares against linear theory on small plants."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest

from core import commands
from core.files.read import from_data
from core.plant.guesses import plant_guesses
from core.questions.matters import Answer, matters, ranking, straight_fit
from core.questions.sampling import Guessing, latin_hypercube
from tests.support.builders import CP, RHO, Board

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * RHO * CP  # [W/K]


def guess(text: Any, within: Any) -> dict[str, Any]:
    return {"guess": text, "within": within}


def radiator(**props: Any) -> Board:
    """A boiler and a radiator whose heat is UA e (T - room) with flow far above what it needs."""
    board = Board()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature=guess("60 degC", "4 K"))
    board.drive()
    board.item("RA-1", "radiator", **{"ua": guess("10 W/K", 0.2), "room_temperature": "20 degC", **props})
    board.ring("P-1", "S-1", "B-1", "RA-1")
    return board


def answer(board: Board, at: str = "RA-1", what: str = "delivered_w") -> Answer:
    found = matters(from_data(board.data()))
    return next(one for one in found.answers if (one.at, one.what) == (at, what))


def test_shares_and_span_of_a_product_of_two_guesses():
    """Heat = UA (T - 20): to first order the parts are (20 %)² and (4 K / 40 K)², variances of even spans."""
    found = answer(radiator())
    assert found.value == pytest.approx(10.0 * 40.0, rel=0.01)
    parts = {(one.at, one.property): one.share for one in found.guesses}
    whole = 0.2**2 + 0.1**2
    assert parts["RA-1", "ua"] == pytest.approx(0.2**2 / whole, abs=0.02)
    assert parts["B-1", "set_temperature"] == pytest.approx(0.1**2 / whole, abs=0.02)
    assert found.guesses[0].at == "RA-1"
    assert found.r2 > 0.99
    # The sum of two even spans of 80 W and 40 W: its 5th percentile lies where the corner's area is 1/20.
    corner = math.sqrt(2 * 0.05 * 160.0 * 80.0)
    assert found.low == pytest.approx(found.value - 120.0 + corner, abs=5.0)
    assert found.high == pytest.approx(found.value + 120.0 - corner, abs=5.0)


def test_a_guess_that_nothing_rests_on_has_no_share():
    board = radiator()
    board.items["RA-1"]["props"]["water_content"] = guess("2 L", 0.5)
    found = answer(board)
    assert next(one.share for one in found.guesses if one.property == "water_content") < 0.02


def test_a_bent_answer_says_so():
    """A fan coil gives no more than is wanted: half the span of its UA is flat."""
    board = Board()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.drive()
    board.item("FN-1", "fan_coil", ua="2000 W/K", load=guess("30 kW", 0.02), room_temperature="20 degC")
    board.ring("P-1", "S-1", "B-1", "FN-1")
    straight = answer(board, "FN-1")
    assert straight.r2 > 0.99
    x = np.linspace(-1.0, 1.0, 201)[:, None]
    r2, _ = straight_fit(x, np.abs(x[:, 0]))
    assert r2 < 0.01


def test_the_same_each_time_and_every_span_is_filled():
    plant = from_data(radiator().data())
    one, other = matters(plant, samples=20), matters(plant, samples=20)
    assert one.answers == other.answers
    guesses = plant_guesses(plant)
    drawn = latin_hypercube(guesses, 50)
    for k, found in enumerate(guesses):
        spread = found.spread
        cells = np.floor((drawn[:, k] - spread.low) / (spread.high - spread.low) * 50)
        assert sorted(cells) == list(range(50))


def test_guesses_deep_inside_and_beyond_a_range_are_put():
    board = radiator()
    board.items["P-1"]["props"]["curve"] = [["0 m3/s", guess("60000 Pa", 0.1)], ["1e-3 m3/s", "0 Pa"]]
    board.items["P-1"]["props"]["min_speed"] = guess(0.95, 0.1)
    board.pipes[0]["length"] = guess("2 m", 0.3)
    board.site["indoor"] = guess("20 degC", "2 K")
    plant = from_data(board.data())
    guesses = plant_guesses(plant)
    guessing = Guessing(plant, guesses)
    low, taken = guessing.put(np.array([g.spread.low for g in guesses]))
    by_place = {(g.at, g.spread.path): value for g, value in zip(guesses, taken, strict=True)}
    assert by_place["P-1", "curve[0][1]"] == pytest.approx(54e3)
    assert low.items["P-1"].si["curve"][0][1].value == pytest.approx(54e3)
    assert low.pipes["L-1"].si.length == pytest.approx(1.4)
    assert low.site_si.indoor == pytest.approx(291.15)
    high, taken = guessing.put(np.array([g.spread.high for g in guesses]))
    assert high.items["P-1"].si["min_speed"] <= 1.0  # 1.045 is beyond its range


def test_ranking_and_command(tmp_path, capsys):
    path = tmp_path / "one.plant.json"
    path.write_text(json.dumps(radiator().data()))
    found = matters(from_data(radiator().data()), samples=50)
    assert [one.at for one in ranking(found)] == ["RA-1", "B-1"]
    assert commands.main(["matters", str(path)]) == 0
    assert "Measure first: RA-1 heat transfer UA" in capsys.readouterr().out
    assert commands.main(["matters", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["samples"] >= 200
    assert {"what", "at", "case", "value", "low", "high", "unit", "r2", "guesses"} == set(told["answers"][0])
    path.write_text(json.dumps(Board().data()))
    assert commands.main(["matters", str(path)]) == 0
    assert "Nothing in this file is typed as a guess" in capsys.readouterr().out


def test_a_case_of_hours_is_asked_at_its_end():
    """A room without heat: T = T_out + (T_0 - T_out) exp(-L t / M), M evenly within 10 %."""
    board = Board()
    board.item("R-1", "room", loss="200 W/K", wanted="20 degC", mass={"guess": "4 MJ/K", "within": 0.1})
    board.item("RA-1", "radiator", ua="100 W/K", serves="R-1")
    board.item("SW-1", "switch")
    board.pump("P-1", 60e3, 1e-3, run_when="SW-1")
    board.ring("P-1", "RA-1")
    board.case("night", outdoor="-20 degC", lasts="3 h", signals={"SW-1": False})
    found = matters(from_data(board.data()))
    (one,) = [a for a in found.answers if (a.at, a.what) == ("R-1", "temperature_c")]

    def then(mass: float) -> float:
        return -20.0 + 40.0 * math.exp(-200.0 * 3 * 3600.0 / mass)

    assert found.solved == {"night": 200}
    assert one.value == pytest.approx(then(4e6), abs=0.05)
    assert (one.low, one.high) == pytest.approx((then(3.64e6), then(4.36e6)), abs=0.1)
    assert one.guesses[0].share == pytest.approx(1.0, abs=0.02)
