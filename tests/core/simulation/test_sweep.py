"""Sweeps: the same digits whoever makes the runs, killed workers, kept runs, what conflicts."""

from __future__ import annotations

from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from core.errors import Refusal
from core.files.read import from_data
from core.simulation.limits import Broken, conflicts_of
from core.simulation.sweep import Sweep, read_varied
from tests.support.builders import Board


def plant(limits: dict[str, Any] | None = None) -> Any:
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "TH-1"
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.item("R-1", "room", loss="150 W/K", mass="1 MJ/K", wanted="20 degC")
    board.item("RA-1", "radiator", ua="300 W/K", serves="R-1")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="21 degC", differential="2 K")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    board.case(outdoor="-5 degC")
    data = board.data()
    data["runs"] = [{"name": "cold", "hours": 3, "limits": limits or {}}]
    return from_data(data)


def varied(of: Any) -> list[Any]:
    texts = ("TH-1.differential=0.5 K,2 K", "B-1.set_temperature=50 degC,60 degC")
    return [read_varied(of, text) for text in texts]


def threads() -> Executor:
    return ThreadPoolExecutor(2)


class AtOnce(Executor):
    """Makes every run where it is asked for it; its worker is killed at the first `killed` runs."""

    killed = 0

    def submit(self, call: Any, /, *args: Any, **more: Any) -> Future[Any]:
        future: Future[Any] = Future()
        if AtOnce.killed > 0:
            AtOnce.killed -= 1
            future.set_exception(BrokenExecutor("killed"))
        else:
            future.set_result(call(*args, **more))
        return future


def test_runs_stand_in_row_order_and_are_the_same_whoever_makes_them() -> None:
    of = plant()
    first = Sweep(of, varied(of)).go(threads)
    AtOnce.killed = 1
    second = Sweep(of, varied(of)).go(AtOnce)
    assert first == second
    assert [row["values"] for row in first["runs"]] == [
        ["0.5 K", "50 degC"],
        ["0.5 K", "60 degC"],
        ["2 K", "50 degC"],
        ["2 K", "60 degC"],
    ]
    assert first["vary"][0] == {"path": "TH-1.differential", "values": ["0.5 K", "2 K"]}
    starts = [row["summary"]["items"]["P-1"]["starts"] for row in first["runs"]]
    assert starts[0] > 2 * starts[2]
    assert first["runs"][0]["summary"]["plant"] != first["runs"][1]["summary"]["plant"]


def test_kept_runs_are_not_made_again(tmp_path: Path) -> None:
    of = plant()
    kept = tmp_path / "kept"
    first = Sweep(of, varied(of), keep=kept).go(AtOnce)
    kept.write_text(kept.read_text() + '{"key": "half a li', encoding="utf-8")

    class Nobody(Executor):
        def submit(self, call: Any, /, *args: Any, **more: Any) -> Future[Any]:
            raise AssertionError("made again")

    assert Sweep(of, varied(of), keep=kept).go(Nobody) == first


def test_a_cancelled_sweep_keeps_what_is_made() -> None:
    of = plant()
    many = read_varied(of, "TH-1.differential=1 K,2 K,3 K,4 K,5 K,6 K")
    sweep = Sweep(of, [many], hours=0.1)
    data = sweep.go(AtOnce, lambda done, total: sweep.cancel())
    assert 1 <= len(data["runs"]) < 6


def test_runs_are_judged_by_the_limits_of_the_run() -> None:
    of = plant({"starts_per_hour": 8.0})
    data = Sweep(of, varied(of)).go(AtOnce)
    assert [row["ok"] for row in data["runs"]] == [False, False, True, True]
    (conflict,) = data["conflicts"]
    assert "TH-1.differential 0.5 K fails" in conflict["text"]
    assert "starts" in conflict["text"]


def test_settings_that_only_fail_together_are_named_together() -> None:
    broken = [Broken("shortest_run", "B-1", 60.0, "B-1 runs for only 40 s, at least 100 s is wanted")]
    runs = [(["a", "x"], broken), (["a", "y"], []), (["b", "x"], []), (["b", "y"], [])]
    (conflict,) = conflicts_of(["P-1.target", "AQ-1.differential"], runs)
    assert conflict["text"] == "P-1.target a with AQ-1.differential x: " + broken[0].words


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("TH-1.differential", "a setting such as"),
        ("TH-9.differential=1 K", "the id of an item"),
        ("TH-1.width=1 K", "a property of TH-1"),
        ("TH-1.differential=1 gpm", "difference of temperature"),
        ("TH-1.differential=1 K,", "a number and a unit"),
    ],
)
def test_what_cannot_be_varied_is_refused(text: str, found: str) -> None:
    with pytest.raises(Refusal, match=found):
        read_varied(plant(), text)
