"""The page Time: run and stop, lines, cursor, zoom, moments on the board, what is kept and written."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.panels.time_page import NONE, TimePane
from app.panels.time_told import fresh, version_words
from app.window.main_window import Window
from core.files.read import from_data
from core.files.write import dumps
from core.plant.changes import ReplaceItem
from tests.core.simulation.test_record import heater

PATIENCE = 60_000
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def file(tmp_path: Path) -> Path:
    data = heater().data()
    data["runs"] = [{"name": "evening", "hours": 6}]
    path = tmp_path / "heater.plant.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def opened(window: Window) -> TimePane:
    pane = window.open_pane("time")
    assert isinstance(pane, TimePane)
    QApplication.processEvents()
    return pane


@pytest.fixture
def ran(make_window: Callable[..., Window], file: Path, qtbot: QtBot) -> tuple[Window, TimePane]:
    """A window on a run of six hours that is over."""
    window = make_window(file, size=(1300, 900))
    pane = opened(window)
    assert pane.lines.chart.empty == NONE
    QTest.mouseClick(pane.go, LEFT)
    assert pane.halt.isEnabled()
    qtbot.waitUntil(lambda: pane.record is not None, timeout=PATIENCE)
    qtbot.waitUntil(lambda: window.live.all_answered, timeout=PATIENCE)
    return window, pane


def test_a_run_draws_lines_and_bars_and_is_kept_as_one_step(ran: tuple[Window, TimePane]) -> None:
    window, pane = ran
    assert pane.go.isEnabled()
    assert "T-1" in [course.name for band in pane.lines.chart.bands for course in band.courses]
    assert "AQ-1" in [bar.name for bar in pane.lines.chart.bars]
    kept = window.document.plant.runs[0]["summary"]
    assert kept["hours"] == 6.0
    assert kept["items"]["B-1"]["starts"] > 0
    assert fresh(window.document.plant, kept)
    assert from_data(json.loads(dumps(window.document.plant))).runs == window.document.plant.runs
    window.actions_["undo"].trigger()
    assert "summary" not in window.document.plant.runs[0]
    assert pane.record is not None
    assert not window.document.stack.canUndo()


def test_a_moment_is_clicked_and_the_board_shows_its_figures(ran: tuple[Window, TimePane]) -> None:
    window, pane = ran
    steady = window.live.solution
    row = next(n for n, r in enumerate(pane.told.moments.texts()) if "coldest tank" in r[1])
    assert "called" in pane.told.moments.texts()[row][2]
    rect = pane.told.moments.visualRect(pane.told.moments.model().index(row, 0))
    QTest.mouseClick(pane.told.moments.viewport(), LEFT, pos=rect.center())
    shown = window.live.solution
    assert shown is not None
    assert shown is not steady
    record, moment = (
        pane.record,
        next(m for m in pane.summary["moments"] if m["what"].startswith("coldest t")),
    )
    assert record is not None
    assert shown.value("T-1", "temperature_c") == pytest.approx(moment["value"], abs=0.2)
    assert window.document.selection == {"T-1"}
    assert window.rail.current == "Moment in time"
    QTest.mouseClick(pane.off, LEFT)
    assert window.live.solution is steady
    assert window.rail.current == window.document.plant.solve_cases[0].name


def test_the_slider_moves_the_figures_and_an_edit_takes_them_away(
    ran: tuple[Window, TimePane], qtbot: QtBot
) -> None:
    window, pane = ran
    pane.slider.setFocus()
    QTest.keyClick(pane.slider, Qt.Key.Key_PageUp)
    qtbot.waitUntil(lambda: pane.lines.moment_at == 3600.0)
    record = pane.record
    assert record is not None
    shown = window.live.solution
    assert shown is not None
    assert shown.value("T-1", "temperature_c") == record.columns["T-1.temperature_c"][record.at(3600.0)]
    assert window.live.moment_words() == {"Moment in time": "Mon 01:00"}
    tank = window.document.plant.items["T-1"]
    window.board.commit("Turn", [ReplaceItem(replace(tank, label="larger"))])
    assert window.live.case == window.document.plant.solve_cases[0].name
    assert "earlier version" in version_words(window.document.plant, record.summary)
    QTest.keyClick(pane.slider, Qt.Key.Key_PageUp)
    qtbot.waitUntil(lambda: window.live.moment_words() != {})
    assert "earlier plant" in window.live.moment_words()["Moment in time"]


def test_wheel_drag_and_keys_zoom_and_the_cursor_reads_values(ran: tuple[Window, TimePane]) -> None:
    _window, pane = ran
    lines = pane.lines
    whole = lines.chart.span
    plot = lines.plot()
    at = QPoint(int(plot.x_at(7200.0)), int(plot.frame.y0 + 20))
    wheel = QWheelEvent(
        QPointF(at), QPointF(lines.mapToGlobal(at)), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(lines, wheel)
    low, high = lines.chart.span
    assert high - low == pytest.approx(0.8 * (whole[1] - whole[0]))
    assert low < 7200.0 < high
    a, b = (QPoint(int(lines.plot().x_at(t)), at.y()) for t in (6000.0, 9000.0))
    QTest.mousePress(lines, LEFT, pos=a)
    QTest.mouseMove(lines, b)
    QTest.mouseRelease(lines, LEFT, pos=b)
    assert lines.chart.span == pytest.approx((6000.0, 9000.0), abs=60.0)
    lines.setFocus()
    QTest.keyClick(lines, Qt.Key.Key_Home)
    assert lines.chart.span == whole
    QTest.mouseMove(lines, at)
    assert lines.cursor_at == pytest.approx(7200.0, abs=120.0)
    assert "Mon 01:5" in pane.values.text() or "Mon 02:0" in pane.values.text()
    assert "T-1 " in pane.values.text()
    before = lines.cursor_at
    QTest.keyClick(lines, Qt.Key.Key_Right)
    assert lines.cursor_at == pytest.approx(before + 0.01 * whole[1])
    QTest.keyClick(lines, Qt.Key.Key_Return)
    assert lines.moment_at == lines.cursor_at


def test_a_flow_ticked_gets_a_band_of_its_own(ran: tuple[Window, TimePane]) -> None:
    _window, pane = ran
    QTest.mouseClick(pane.told.tabs.button(2), LEFT)
    pane.picker.row("P-1.flow_m3_s").setCheckState(0, Qt.CheckState.Checked)
    assert [band.words.split(",")[0] for band in pane.lines.chart.bands] == ["temperature", "flow"]
    QTest.keyClicks(pane.picker.finder, "p-1")
    assert pane.picker.row("T-1.temperature_c").isHidden()
    assert not pane.picker.row("P-1.flow_m3_s").isHidden()
    for key in [k for k, one in pane.picker.known.items() if one.dimension == "flow"][:9]:
        pane.picker.row(key).setCheckState(0, Qt.CheckState.Checked)
    flows = pane.lines.chart.bands[1].courses
    assert len(flows) <= 5


def test_lines_and_figures_are_written(ran: tuple[Window, TimePane], tmp_path: Path, qtbot: QtBot) -> None:
    window, pane = ran
    QTest.mouseClick(pane.write, LEFT)
    bar = window.files.asks.bar
    bar.field.setText(str(tmp_path / "run.csv"))
    QTest.keyClick(bar.field, Qt.Key.Key_Return)
    with (tmp_path / "run.csv").open(encoding="utf-8") as source:
        rows = list(csv.DictReader(source))
    assert pane.record is not None
    assert len(rows) == len(pane.record.times)
    pane.write_to(tmp_path / "run.svg")
    assert "<svg" in (tmp_path / "run.svg").read_text(encoding="utf-8")
    pane.write_to(tmp_path / "run.png")
    assert not QImage(str(tmp_path / "run.png")).isNull()


def test_stop_ends_a_long_run_and_wrong_hours_are_told(
    make_window: Callable[..., Window], file: Path, qtbot: QtBot
) -> None:
    window = make_window(file, size=(1300, 900))
    pane = opened(window)
    pane.hours.setText("no")
    QTest.mouseClick(pane.go, LEFT)
    assert "not more than 0" in window.bar.text
    assert pane.go.isEnabled()
    pane.hours.setText("8000")
    QTest.mouseClick(pane.go, LEFT)
    QTest.mouseClick(pane.halt, LEFT)
    assert pane.state.text() == "Stopped."
    pane.hours.setText("1")
    QTest.mouseClick(pane.go, LEFT)  # the process is free again at once
    qtbot.waitUntil(lambda: pane.record is not None, timeout=PATIENCE)
    assert pane.record is not None
    assert pane.record.times[-1] == 3600.0


def test_what_the_file_keeps_is_told_before_any_run(
    make_window: Callable[..., Window], ran: tuple[Window, TimePane], tmp_path: Path
) -> None:
    window, _ = ran
    again = tmp_path / "again.plant.json"
    again.write_text(dumps(window.document.plant), encoding="utf-8")
    pane = opened(make_window(again, size=(1100, 700)))
    assert "6 h: heat" in pane.told.energy.text()
    assert any(row[0] == "B-1" for row in pane.told.answers.texts())
    assert pane.lines.chart.empty.startswith("Run it again")
    assert not pane.write.isEnabled()


def test_a_case_without_a_run_gets_one_and_a_click_on_the_lines_takes_its_moment(
    make_window: Callable[..., Window], tmp_path: Path, qtbot: QtBot
) -> None:
    path = tmp_path / "plain.plant.json"
    path.write_text(json.dumps(heater().case("Winter", outdoor="-5 degC").data()), encoding="utf-8")
    window = make_window(path, size=(1300, 900))
    pane = opened(window)
    assert pane.run.currentText() == "case Winter"
    pane.hours.setText("3")
    QTest.mouseClick(pane.go, LEFT)
    qtbot.waitUntil(lambda: pane.record is not None, timeout=PATIENCE)
    (run,) = window.document.plant.runs
    assert (run["name"], run["case"], run["hours"]) == ("Winter", "Winter", 3.0)
    assert pane.run.currentText() == "run Winter"
    assert fresh(window.document.plant, run["summary"])
    plot = pane.lines.plot()
    spot = QPoint(int(plot.x_at(5400.0)), int(plot.frame.y0 + 15))
    QTest.mouseClick(pane.lines, LEFT, pos=spot)
    assert pane.slider.value() == pytest.approx(5400, abs=60)
    assert window.rail.current == "Moment in time"
    QTest.mouseDClick(pane.lines, LEFT, pos=spot)
    assert pane.lines.chart.span == (0.0, 10800.0)
    window.actions_["undo"].trigger()
    assert window.document.plant.runs == ()
