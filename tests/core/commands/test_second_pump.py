"""`wetside second-pump`: the contract's JSON, the table, refusals."""

from __future__ import annotations

import contextlib
import json
import math
import os
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path
from typing import Any

import pytest

import sample_plants
from core import commands
from core.errors import Refusal, WetsideError
from tests.plants.edits import file_of

SHED = str(Path(sample_plants.__file__).parent / "potting_shed.plant.json")
CLINIC = str(file_of("two_heater_clinic"))


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int | None, str]:
    code = commands.main(["second-pump", *words])
    return code, capsys.readouterr().out


def numbers(data: Any) -> list[float]:
    if isinstance(data, dict):
        return [x for value in data.values() for x in numbers(value)]
    if isinstance(data, list):
        return [x for value in data for x in numbers(value)]
    return [float(data)] if isinstance(data, (int, float)) and not isinstance(data, bool) else []


def test_json_of_the_contract(capsys: pytest.CaptureFixture[str]):
    code, out = run(capsys, SHED, "--json")
    data = json.loads(out)
    assert code == 0
    assert {place["how"] for place in data["places"]} == {"series", "parallel", "branch"}
    for place in data["places"]:
        assert {"how", "at", "fits", "flows_m3_s", "gain", "power_w", "verdict"} <= set(place)
        assert place["fits"] in ("yes", "no", "unknown")
        assert all(len(pair) == 2 for pair in place["flows_m3_s"].values())
    assert all(math.isfinite(x) for x in numbers(data))
    assert data["cautions"]


def test_table_says_gain_and_room(capsys: pytest.CaptureFixture[str]):
    code, out = run(capsys, SHED, "--beside", "P-1", "--case", "Mild day")
    assert code == 0
    assert "in series with P-1" in out
    assert "Room: 8 in straight in L-9" in out
    assert "gpm" in out
    assert "licensed" in out


def test_spacer_left_for_a_second_pump_is_found(capsys: pytest.CaptureFixture[str]):
    _, out = run(capsys, CLINIC, "--beside", "P-1", "--json")
    series = next(p for p in json.loads(out)["places"] if p["how"] == "series")
    assert series["spot"] == "SP-1"
    assert series["fits"] == "yes"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--beside", "P-9"], "P-1"),
        (["--circuit", "nothing-like-it"], "one of B-1, J-1"),
        (["--curve", "none such"], "P-1"),
        (["--case", "Mild dy"], "Mild day"),
    ],
)
def test_refusals_name_what_is_there(words: list[str], says: str):
    with pytest.raises(Refusal, match=says):
        commands.main(["second-pump", SHED, *words])


def test_two_wheres_are_refused():
    with pytest.raises(WetsideError, match="not allowed"):
        commands.main(["second-pump", SHED, "--all", "--beside", "P-1"])


def test_an_interrupt_ends_a_study_in_one_plain_line() -> None:
    screen, keys = os.openpty()
    words = (sys.executable, "-m", "app", "second-pump", str(Path(SHED).with_name("school_annex.plant.json")))
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # also where the tests run unheard
    process = subprocess.Popen(
        words, cwd=Path(SHED).parents[1], stdout=subprocess.PIPE, stderr=keys, preexec_fn=heard
    )
    os.close(keys)
    said = b""
    while b"of 24 places" not in said:  # a terminal is told how far it is
        said += os.read(screen, 1000)
    process.send_signal(signal.SIGINT)
    with contextlib.suppress(OSError):  # how a terminal ends that nobody writes to any more
        while more := os.read(screen, 1000):
            said += more
    os.close(screen)
    out, _ = process.communicate(timeout=60)
    assert (process.returncode, out) == (130, b"")
    assert said.decode().split("places")[-1].strip() == "wetside: stopped before it was done."
