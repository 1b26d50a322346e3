"""What the board says equals what `wetside solve --json` says, for the same file and case."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

import sample_plants
from app.window.main_window import Window
from core import commands

FILE = Path(sample_plants.__file__).parent / "potting_shed.plant.json"
# Second way to the units: factors written out here, none of core.units.
GPM, FT, BTU_H = 231 * 0.0254**3 / 60, 0.3048, 1055.056 / 3600
FIGURE = re.compile(r"(-?\d[\d,]*(?:\.\d+)?) (gpm|L/s|ft/s|m/s|°F|°C|ft|m|kBtu/h|kW|W)(?![\w/])")


def in_si(number: float, unit: str) -> float:
    if unit == "°F":
        return (number - 32) / 1.8
    scale = {"gpm": GPM, "L/s": 1e-3, "ft/s": FT, "m/s": 1.0, "°C": 1.0, "ft": FT, "m": 1.0}
    return number * {**scale, "kBtu/h": 1000 * BTU_H, "kW": 1000.0, "W": 1.0}[unit]


def half_a_digit(text: str, unit: str) -> float:
    """What rounding may have taken off, in SI."""
    step = 0.5 * 10.0 ** -(len(text.partition(".")[2]))
    return abs(in_si(step, unit) - in_si(0.0, unit)) * 1.0001


def agrees(text: str, unit: str, value: float) -> bool:
    number = float(text.replace(",", ""))
    return abs(in_si(number, unit) - value) <= half_a_digit(text, unit)


@pytest.fixture
def solved(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """The command's answer, by case."""
    assert commands.main(["solve", str(FILE), "--all-cases", "--json"]) == 0
    return {case["case"]: case for case in json.loads(capsys.readouterr().out)["cases"]}


def test_every_label_equals_the_command(
    make_window: Callable[..., Window], qtbot: QtBot, solved: dict[str, Any]
) -> None:
    window = make_window(FILE)
    qtbot.waitUntil(lambda: set(window.live.solutions()) == set(solved), timeout=60000)
    window.actions_["show_head_loss"].trigger()
    window.bench.view.set_zoom(1.0)
    window.bench.scene.relabel()
    figures = 0
    for units in ("us", "si"):
        window.actions_[units].trigger()
        qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
        for name, answer in solved.items():
            window.rail.button(name).click()
            qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
            figures += check_pipes(window, answer)
            figures += check_items(window, answer)
            notes = [(note["at"], note["text"]) for note in answer["notes"]]
            assert window.notes.texts() == notes
            assert set(window.bench.scene.picture.markers) == {at for at, _ in notes}
    assert figures > 60


def check_pipes(window: Window, answer: dict[str, Any]) -> int:
    picture = window.bench.scene.picture
    assert picture is not None
    count = 0
    for name, placed in picture.labels.items():
        text = " ".join(row.text for row in placed.rows)
        pipe = answer["pipes"][name]
        if "still" in text:
            assert abs(pipe["flow_m3_s"]) < 1e-8
            continue
        entering = "temperature_in_c" if pipe["flow_m3_s"] >= 0 else "temperature_out_c"
        meant = {"gpm": abs(pipe["flow_m3_s"]), "ft/s": abs(pipe["velocity_m_s"]), "°F": pipe[entering]}
        meant |= {"L/s": meant["gpm"], "m/s": meant["ft/s"], "°C": meant["°F"]}
        for number, unit in FIGURE.findall(text):
            if unit in meant:
                assert agrees(number, unit, meant[unit]), f"{name}: {text}; the command says {pipe}"
            else:
                # Head of the fluid there: between water at 4 and at 100 degC.
                head = abs(pipe["drop_pa"]) / 9.80665
                low, high = head / 1000.0, head / 958.0
                slack = half_a_digit(number, unit)
                assert low - slack <= in_si(float(number), unit) <= high + slack
            count += 1
        arrows = picture.pipes[name].arrows
        line = picture.pipes[name].line
        forward = pipe["flow_m3_s"] >= 0
        for arrow in arrows:
            assert along(line, arrow.at, arrow.way) == forward
    return count


def along(line: Any, at: Any, way: Any) -> bool:
    """Whether a step at a place of the line leads away from the line's start."""
    for (ax, ay), (bx, by) in pairwise(line):
        if min(ax, bx) <= at[0] <= max(ax, bx) and min(ay, by) <= at[1] <= max(ay, by):
            return (bx - ax) * way[0] + (by - ay) * way[1] > 0
    raise AssertionError("the arrow is not on its line")


def check_items(window: Window, answer: dict[str, Any]) -> int:
    picture = window.bench.scene.picture
    assert picture is not None
    count = 0
    for name in ("B-1", "FC-1", "FC-2"):
        rows = picture.tags[name].rows
        text = " ".join(row.text for row in rows)
        item = answer["items"][name]
        value = item.get("delivered_w", item.get("duty_w", 0.0))
        found = FIGURE.findall(text)
        if " of " in text:
            number = re.search(r"([\d.,]+) of", text)
            assert number is not None
            found = [(number[1], found[-1][1])]
        for number_text, unit in found[:1]:
            assert agrees(number_text, unit, value), f"{name}: {text}; the command says {item}"
            count += 1
    return count


def test_the_card_and_the_particulars_say_the_same(
    make_window: Callable[..., Window], qtbot: QtBot, solved: dict[str, Any]
) -> None:
    window = make_window(FILE)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    case = solved[window.live.case]
    moving = next(name for name, pipe in case["pipes"].items() if abs(pipe["flow_m3_s"]) > 1e-6)
    title, _, rows = window._describe(moving)
    window.document.select([moving])
    assert title == moving
    assert rows == window.particulars.figure_rows()
    shown = dict(rows)
    number, unit = shown["flow"].split()
    assert agrees(number, unit, abs(case["pipes"][moving]["flow_m3_s"]))
    window.bench.hover(window.bench.scene.middle_of(moving))
    assert window.bench.card.isVisible()
    assert shown["flow"] in window.bench.card.text()
