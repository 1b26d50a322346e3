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
from core.diagram.runs import run_tags
from core.files.read import load
from core.plant.model import Item, Plant

SAMPLES = ("potting_shed", "kennel_clinic", "school_annex")
# Second way to the units: factors written out here, none of core.units.
GPM, FT, BTU_H, PSI = 231 * 0.0254**3 / 60, 0.3048, 1055.056 / 3600, 0.45359237 * 9.80665 / 0.0254**2
FACTORS = {
    "gpm": GPM, "L/s": 1e-3, "ft/s": FT, "m/s": 1.0, "°C": 1.0, "ft": FT, "m": 1.0, "kBtu/h": 1000 * BTU_H,
    "kW": 1000.0, "W": 1.0, "psi": PSI, "kPa": 1000.0, "gal": 231 * 0.0254**3, "L": 1e-3, "%": 0.01,
}  # fmt: skip
UNITS = "|".join(sorted((*FACTORS, "°F"), key=len, reverse=True))
FIGURE = re.compile(rf"(-?\d[\d,]*(?:\.\d+)?) ({UNITS})(?![\w/])")
SHARED = re.compile(rf"(-?\d[\d,]*(?:\.\d+)?) of (-?\d[\d,]*(?:\.\d+)?) ({UNITS})")
EMITTERS = ("floor_circuit", "melt_circuit", "radiator", "fan_coil", "load")
KELVIN = 273.15


def in_si(number: float, unit: str) -> float:
    """Figures of the JSON: degrees Celsius, everything else SI."""
    return (number - 32) / 1.8 if unit == "°F" else number * FACTORS[unit]


def half_a_digit(text: str, unit: str) -> float:
    """What rounding may have taken off, in SI."""
    step = 0.5 * 10.0 ** -(len(text.partition(".")[2]))
    return abs(in_si(step, unit) - in_si(0.0, unit)) * 1.0001


def agrees(text: str, unit: str, value: float) -> bool:
    number = float(text.replace(",", ""))
    return abs(in_si(number, unit) - value) <= half_a_digit(text, unit)


def figures_in(text: str) -> list[tuple[str, str]]:
    """Number and unit of each figure; `24 of 25 kBtu/h` are two."""
    return FIGURE.findall(SHARED.sub(r"\1 \3 \2 \3", text))


@pytest.fixture
def solved(request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """The command's answer, by case; each asked for by name, for a case starts afresh in the window too."""
    sample = request.getfixturevalue("sample") if "sample" in request.fixturenames else SAMPLES[0]
    answers: dict[str, Any] = {}
    for case in load(file_of(sample)).solve_cases:
        assert commands.main(["solve", str(file_of(sample)), "--case", case.name, "--json"]) == 0
        (answers[case.name],) = json.loads(capsys.readouterr().out)["cases"]
    return answers


def file_of(sample: str) -> Path:
    return Path(sample_plants.__file__).parent / f"{sample}.plant.json"


@pytest.mark.parametrize("sample", SAMPLES)
def test_every_figure_on_the_board_equals_the_command(
    make_window: Callable[..., Window], qtbot: QtBot, solved: dict[str, Any], sample: str
) -> None:
    window = make_window(file_of(sample))
    qtbot.waitUntil(lambda: set(window.live.solutions()) == set(solved), timeout=60000)
    window.actions_["show_head_loss"].trigger()
    window.actions_["show_tube"].trigger()  # sizes are no figures of the case
    window.board.view.set_zoom(1.0)
    seen: set[str] = set()
    figures, written = 0, window.document.plant.units
    for units in ("us", "si"):
        window.actions_[units].trigger()
        qtbot.waitUntil(lambda: set(window.live.solutions()) == set(solved), timeout=60000)
        for name, answer in solved.items():
            window.rail.button(name).click()
            assert window.live.case == name
            figures += check_pipes(window, answer)
            figures += check_items(window, answer, seen)
            notes = [(note["at"], note["text"]) for note in answer["notes"]]
            own = units == written  # elsewhere the words are in other units
            assert [text[: None if own else 1] for text in window.notes.texts()] == [
                text[: None if own else 1] for text in notes
            ]
            known = window.document.plant.items.keys() | window.document.plant.pipes.keys()
            assert set(window.board.scene.picture.markers) == {at for at, _ in notes} & known
    assert figures > 40 * len(solved)
    assert {"circulator", "expansion_tank"} <= seen


def check_pipes(window: Window, answer: dict[str, Any]) -> int:
    picture = window.board.scene.picture
    assert picture is not None
    count = 0
    for name, placed in picture.labels.items():
        text = " ".join(row.text for row in placed.rows)
        pipe = answer["pipes"][name]
        if text in run_tags(window.document.plant).values():
            continue  # a run whose figures found no room, or that has none
        if "no flow" in text:
            assert abs(pipe["flow_m3_s"]) < 1e-8
            continue
        entering = "temperature_in_c" if pipe["flow_m3_s"] >= 0 else "temperature_out_c"
        flow, speed = abs(pipe["flow_m3_s"]), abs(pipe["velocity_m_s"])
        meant = {"gpm": flow, "L/s": flow, "ft/s": speed, "m/s": speed}
        meant |= {"°F": pipe[entering], "°C": pipe[entering]}
        found = figures_in(text)
        assert found, f"{name}: {text} says nothing"
        for number, unit in found:
            if unit in meant:
                assert agrees(number, unit, meant[unit]), f"{name}: {text}; the command says {pipe}"
            else:
                # Head of the fluid there: between glycol at its coldest and water at 100 degC.
                assert unit in ("ft", "m")
                head, slack = abs(pipe["drop_pa"]) / 9.80665, half_a_digit(number, unit)
                assert head / 1100.0 - slack <= in_si(float(number), unit) <= head / 958.0 + slack
            count += 1
        line, forward = picture.pipes[name].line, pipe["flow_m3_s"] >= 0
        for arrow in picture.pipes[name].arrows:
            assert along(line, arrow.at, arrow.way) == forward
    return count


def along(line: Any, at: Any, way: Any) -> bool:
    """Whether a step at a place of the line leads away from the line's start."""
    for (ax, ay), (bx, by) in pairwise(line):
        if min(ax, bx) <= at[0] <= max(ax, bx) and min(ay, by) <= at[1] <= max(ay, by):
            return (bx - ax) * way[0] + (by - ay) * way[1] > 0
    raise AssertionError("the arrow is not on its line")


def check_items(window: Window, answer: dict[str, Any], seen: set[str]) -> int:
    """Figures under the tags: those the case gives by kind, else settings of the plant."""
    picture, plant = window.board.scene.picture, window.document.plant
    assert picture is not None
    count = 0
    for name, placed in picture.tags.items():
        item = plant.items[name]
        text = " ".join(row.text for row in placed.rows if row.text != name)
        found = figures_in(text)
        meant = solved_figures(plant, item, answer)
        if meant is None:
            settings = [value for value in item.si.values() if isinstance(value, float)]
            for number, unit in found:
                shift = KELVIN if unit in ("°F", "°C") else 0.0
                assert any(agrees(number, unit, value - shift) for value in settings), f"{name}: {text}"
        elif text:  # else there was no room for a second line
            assert len(found) == len(meant), f"{name}: {text}; expected {meant}"
            for (number, unit), value in zip(found, meant, strict=True):
                assert agrees(number, unit, value), f"{name}: {text}; the command says {value}"
        seen.add(item.kind)
        count += len(found)
    return count


def solved_figures(plant: Plant, item: Item, answer: dict[str, Any]) -> list[float] | None:
    """What the second line must say in this case, in its order; None where it is a setting."""
    figures = answer["items"].get(item.id, {})
    if item.kind == "circulator":
        head = [figures["head_m"]] if figures["running"] else []
        return head + ([figures["speed"]] if figures["running"] and figures["speed"] != 1.0 else [])
    if item.kind in ("heater", "boiler"):
        return [figures["duty_w"]] if figures["running"] else []
    if item.kind == "exchanger":
        return [figures["duty_w"]]
    if item.kind in EMITTERS:
        given, wanted = figures["delivered_w"], figures["wanted_w"]
        if abs(given) < 0.5 and abs(wanted) < 0.5:
            return []
        return [given] if abs(wanted - given) < 0.005 * max(abs(wanted), 1.0) else [given, wanted]
    if item.kind == "room":
        return [figures["temperature_c"]]
    if item.kind == "fixture":
        flow = abs(figures["flow_m3_s"])
        return [flow, figures["temperature_c"]] if flow > 1e-9 else []
    if item.kind in ("gauge", "thermometer"):
        key = "pressure_{}_pa" if item.kind == "gauge" else "temperature_{}_c"
        for pipe in plant.pipes.values():
            for side, end in (("in", pipe.start), ("out", pipe.end)):
                if end.item == item.id:
                    return [answer["pipes"][pipe.id][key.format(side)]]
    if item.kind == "mixing_valve" and "temperature_c" in figures:
        return [figures["temperature_c"]]
    return None


def test_the_card_and_the_particulars_say_the_same(
    make_window: Callable[..., Window], qtbot: QtBot, solved: dict[str, Any]
) -> None:
    window = make_window(file_of(SAMPLES[0]))
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    case = solved[window.live.case]
    moving = next(name for name, pipe in case["pipes"].items() if abs(pipe["flow_m3_s"]) > 1e-6)
    assert window.board.describe is not None
    title, _, rows = window.board.describe(moving)
    window.document.select([moving])
    assert title == moving
    assert rows == [(word, figure) for word, figure, _ in window.particulars.figure_rows()]
    shown = dict(rows)
    number, unit = shown["flow"].split()
    assert agrees(number, unit, abs(case["pipes"][moving]["flow_m3_s"]))
    window.board.hover(window.board.scene.middle_of(moving))
    assert window.board.card.isVisible()
    assert shown["flow"] in window.board.card.text()
