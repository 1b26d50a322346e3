"""Timers, delays, least times, lock-outs and priority, by the times at which things go on and off."""

from __future__ import annotations

from typing import Any

import pytest

from core.plant.run_rules import read_profile
from core.simulation.clock import profile_next, profile_value, timer_next, timer_on
from core.vocabulary.timetables import DAY
from tests.support.builders import Board
from tests.support.in_time import Ran, simulated

H = 3600.0


def switched(hours: float = 3.0, timer: dict[str, Any] | None = None, **device: Any) -> Ran:
    """A pump that a timer runs: by default on from 1:00 to 1:10 and from 1:15 to 2:00."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "TM-1", **device}
    board.item("B-1", "boiler", capacity="5 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="100 W/K")
    board.item("TM-1", "timer", **(timer or {"on": [["01:00", "01:10"], ["01:15", "02:00"]]}))
    board.ring("P-1", "S-1", "B-1", "RA-1")
    return simulated(board.case(), hours)


def on_at(got: Ran) -> list[float]:
    return [round(t / 60.0, 3) for t in got.seen.items["P-1"].starts]


def test_a_timer_runs_what_it_runs() -> None:
    got = switched()
    assert on_at(got) == [60, 75]
    assert got.items["P-1"]["on_h"] == pytest.approx(55 / 60)
    assert got.items["P-1"]["shortest_run_s"] == pytest.approx(600.0)


@pytest.mark.parametrize(
    ("device", "starts", "on"),
    [
        ({"delay": "2 min"}, [62, 77], 51),
        ({"delay": "11 min"}, [86], 34),  # the first call ends before it starts
        ({"post_run": "3 min"}, [60, 75], 61),
        ({"post_run": "6 min"}, [60], 66),
        ({"min_on": "12 min"}, [60, 75], 57),
        ({"min_off": "8 min"}, [60, 78], 52),
        ({"lock_out": "20 min"}, [60, 80], 50),
        ({"lock_out": "5 min"}, [60, 75], 55),
    ],
)
def test_devices_wait_and_stay_as_their_times_say(
    device: dict[str, str], starts: list[float], on: float
) -> None:
    got = switched(**device)
    assert on_at(got) == pytest.approx(starts, abs=0.01)
    assert got.items["P-1"]["on_h"] == pytest.approx(on / 60, abs=1e-3)


def test_power_comes_before_least_times() -> None:
    assert switched(min_on="12 min", powered_by="TM-1").items["P-1"]["on_h"] == pytest.approx(55 / 60)


def test_what_runs_at_time_0_is_no_start() -> None:
    got = switched(timer={"on": [["00:00", "00:30"]]}, hours=1.0)
    assert got.items["P-1"]["starts"] == 0
    assert got.items["P-1"]["shortest_run_s"] is None
    assert got.items["P-1"]["on_h"] == pytest.approx(0.5)


def test_a_pulse_comes_every_so_often() -> None:
    got = switched(timer={"every": "30 min", "for": "5 min"}, hours=2.0)
    assert on_at(got) == [30, 60, 90]


def test_intervals_may_pass_midnight_and_belong_to_the_day_they_begin_on() -> None:
    si = {"on": ((22 * H, 6 * H),), "days": (4,)}
    assert [timer_on(si, t) for t in (4 * DAY + 21 * H, 4 * DAY + 23 * H, 5 * DAY + 5 * H)] == [
        False,
        True,
        True,
    ]
    assert not timer_on(si, 5 * DAY + 23 * H)
    assert timer_next(si, 4 * DAY + 23 * H) == 5 * DAY


def test_a_profile_holds_a_value_until_the_next_point() -> None:
    raw = {"points": [["mon 00:00", "0 gpm"], ["tue 06:00", "2 gpm"]], "repeat": "week"}
    profile = read_profile(raw)
    assert profile_value(profile, 5 * H) == 0.0
    assert profile_value(profile, DAY + 6 * H) > 0.0
    assert profile_next(profile, 0.0) == DAY + 6 * H
    assert profile_next(profile, 2 * DAY) == 7 * DAY


@pytest.mark.parametrize(("limit", "off"), [(None, True), ("20 min", False)])
def test_a_tank_with_priority_holds_heating_off_for_no_longer_than_its_limit(
    limit: str | None, off: bool
) -> None:
    """The boiler warms the tank in about 50 minutes; meanwhile the pump of the radiator waits."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="80 degC")
    board.item("BT-1", "buffer", volume="200 L")
    board.pump("P-2", 60e3, 1e-3, run_when="SW-1")
    board.resistance("S-2", 0.5e-3, 30e3)
    board.item("RA-1", "radiator", ua="10 W/K")
    more = {"priority_limit": limit} if limit else {}
    board.item("AQ-1", "aquastat", senses=["BT-1", "a_in"], set_temperature="60 degC", differential="5 K",
               priority=["SW-1"], **more)  # fmt: skip
    board.item("SW-1", "switch", on=True)
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.ring("P-2", "S-2", "RA-1", "BT-1:b_in>b_out")
    got = simulated(board.case(), 0.7, start={"BT-1": "25 degC"})
    assert got.items["P-2"]["on_h"] == pytest.approx(0.0 if off else 0.7 - 1 / 3, abs=0.01)
