"""What is run, typed in the window; a sweep and its map; a year: with the real processes behind."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.time_page import TimePane
from app.pens import LIGHT
from app.widgets.sweep_map import SweepMapView
from app.window.main_window import Window
from core.diagram.geometry import Box
from core.diagram.sweep_map import MapCell, SweepChart, lay_out_map
from core.errors import Refusal
from core.files.read import from_data
from core.forms import run_rows
from core.plant.changes import apply
from tests.app.test_time_page import PATIENCE, opened
from tests.core.simulation.test_record import heater

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def shown(make_window: Callable[..., Window], tmp_path: Path) -> tuple[Window, TimePane]:
    board = heater()
    board.item("F-9", "fixture")
    data = board.data()
    data["runs"] = [{"name": "evening", "hours": 2}]
    path = tmp_path / "heater.plant.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    window = make_window(path, size=(1500, 950))
    pane = opened(window)
    pane.told.turn(4)
    return window, pane


def typed(pane: TimePane, key: str, text: str) -> None:
    field = pane.form.fields[key]
    field.editor.put(text)
    field.commit()


def test_a_run_is_set_up_in_its_form_a_step_of_undo_a_field(shown: tuple[Window, TimePane]) -> None:
    window, pane = shown
    typed(pane, "hours", "6")
    typed(pane, "weather.low", "-8 °C")
    typed(pane, "weather.high", "2 °C")
    typed(pane, "prices.fuel", "0.11")
    typed(pane, "limits.shortest_run", "5 min")
    typed(pane, "start.T-1", "50 °C")
    (run,) = window.document.plant.runs
    assert run == {
        "name": "evening",
        "hours": 6,
        "weather": {"low": "-8 degC", "high": "2 degC"},
        "prices": {"fuel": 0.11},
        "limits": {"shortest_run": "5 min"},
        "start": {"T-1": "50 degC"},
    }
    typed(pane, "weather.high", "-20 °C")
    assert "at least low" in pane.form.fields["weather.high"].error
    typed(pane, "name", "night")
    assert [run["name"] for run in window.document.plant.runs] == ["night"]
    assert pane.run.text_now() == "night"
    for _ in range(8):
        window.actions_["undo"].trigger()
    assert window.document.plant.runs == ({"name": "evening", "hours": 2},)


def test_profiles_are_added_changed_and_drawn_by(shown: tuple[Window, TimePane]) -> None:
    window, pane = shown
    QTest.mouseClick(pane.form.profile, LEFT)
    (name,) = window.document.plant.profiles
    typed(pane, f"profile.{name}.points", "00:00 0 gpm\n07:00 2 gpm\n07:10 0 gpm")
    typed(pane, f"profile.{name}.name", "shower")
    assert window.document.plant.profiles["shower"]["points"][1] == ["07:00", "2 gpm"]
    typed(pane, "draws.F-9", "shower")
    assert window.document.plant.runs[0]["draws"] == {"F-9": "shower"}
    typed(pane, "profile.shower.name", "")
    assert not window.document.plant.profiles
    assert "draws" not in window.document.plant.runs[0]


def test_points_without_a_time_are_refused_and_weeks_have_days() -> None:
    with pytest.raises(Refusal, match="a time and a flow"):
        run_rows.read_points("00:00")
    plant = from_data(
        {**heater().data(), "profiles": {"p": {"points": [["00:00", "1 gpm"], ["06:00", "0 gpm"]]}}}
    )
    rows = {row.key.rpartition(".")[2]: row for row in run_rows.profile_rows("p")}
    week = apply(plant, rows["repeat"].write(plant, "week"))
    assert rows["points"].read(week) == "mon 00:00 1 gpm\nmon 06:00 0 gpm"
    assert rows["points"].read(apply(week, rows["repeat"].write(week, "day"))) == "00:00 1 gpm\n06:00 0 gpm"


def test_a_run_is_copied_and_taken_out(shown: tuple[Window, TimePane]) -> None:
    window, pane = shown
    QTest.mouseClick(pane.form.copy, LEFT)
    assert [run["name"] for run in window.document.plant.runs] == ["evening", "evening 2"]
    assert pane.run.text_now() == "evening 2"
    QTest.mouseClick(pane.form.drop, LEFT)
    assert [run["name"] for run in window.document.plant.runs] == ["evening"]


def test_a_sweep_is_mapped_stopped_and_gone_on_with(shown: tuple[Window, TimePane], qtbot: QtBot) -> None:
    window, pane = shown
    typed(pane, "limits.starts_per_hour", "2")
    pane.what.put("sweep")
    pane.what.committed.emit()
    QTest.mouseClick(pane.go, LEFT)
    assert "a setting to vary" in window.bar.text
    pane.sweep.paths[0].put("AQ-1.differential")
    pane.sweep.values[0].put("2 K, 10 K")
    QTest.mouseClick(pane.go, LEFT)
    qtbot.waitUntil(lambda: bool(pane.sweep.made), timeout=PATIENCE)
    QTest.mouseClick(pane.halt, LEFT)
    made = dict(pane.sweep.made)
    QTest.mouseClick(pane.go, LEFT)
    qtbot.waitUntil(lambda: len(pane.sweep.made) == 2 and pane.go.isEnabled(), timeout=PATIENCE)
    assert all(pane.sweep.made[k] == summary for k, summary in made.items())
    cells = pane.sweep.map.chart.cells
    assert set(cells) == {(0, 0), (1, 0)}
    assert "keep all limits" in pane.state.whole
    pane.sweep.map.choose((0, 0))
    assert "AQ-1.differential 2 K" in pane.sweep.told.toPlainText()


def test_a_year_without_weather_of_a_year_says_what_it_needs(
    shown: tuple[Window, TimePane], qtbot: QtBot, tmp_path: Path
) -> None:
    window, pane = shown
    pane.what.put("year")
    pane.what.committed.emit()
    QTest.mouseClick(pane.go, LEFT)
    qtbot.waitUntil(lambda: "a year of rows" in window.bar.text, timeout=PATIENCE)
    pane.form.make_weather(tmp_path / "w.csv")
    assert window.document.plant.runs[0]["weather"] == {"file": "w.csv"}


def test_the_acceptable_area_is_outlined_where_it_ends() -> None:
    cells = {
        (0, 0): MapCell(True, ("OK",)),
        (0, 1): MapCell(True, ("OK",)),
        (1, 1): MapCell(False, ("wait",)),
    }
    chart = SweepChart("a", "b", ("1", "2"), ("x", "y"), cells)
    laid = lay_out_map(chart, Box(0.0, 0.0, 400.0, 200.0), lambda text, size, bold: 6.0 * len(text))
    first, second = laid.boxes[0, 0], laid.boxes[0, 1]
    assert ((first.x1, first.y0), (first.x1, first.y1)) not in laid.outline
    assert ((second.x0, second.y1), (second.x1, second.y1)) in laid.outline
    assert len(laid.outline) == 6
    assert laid.at(*second.centre) == (0, 1)


def test_keys_go_from_cell_to_cell(qtbot: QtBot) -> None:
    view = SweepMapView()
    qtbot.addWidget(view)
    view.resize(400, 200)
    view.show_chart(SweepChart("a", "b", ("1", "2"), ("x", "y"), {(1, 1): MapCell(False, ("wait",))}), LIGHT)
    view.show()
    centre = view.laid().boxes[0, 0].centre
    QTest.mouseClick(view, LEFT, pos=QPoint(int(centre[0]), int(centre[1])))
    told: list[tuple[int, int]] = []
    view.chosen.connect(lambda r, c: told.append((r, c)))
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Right, Qt.Key.Key_Right):
        QTest.keyClick(view, key)
    assert told == [(1, 0), (1, 1)]
