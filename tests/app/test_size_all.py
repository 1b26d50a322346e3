"""Size all in the window: the table, what taking does, ticks, one step of undo with one reason."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTreeWidgetItem
from pytestqt.qtbot import QtBot

from app.panels.size_all import COST, FIGURES, NOTHING, SOLVING, SizeAllPane
from app.panels.sizes import SizesPane
from app.window.main_window import Window
from tests.app.pencil import name_file, type_words

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 60_000
TUBES = {"3/8": 1.0, "1/2": 2.0, "3/4": 4.0, "1": 7.0, "1-1/4": 11.0}
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def thin(tmp_path: Path) -> Path:
    """The potting shed with two pipes of its boiler loop too thin."""
    data = json.loads(FILE.read_text(encoding="utf-8"))
    for pipe in data["pipes"]:
        if pipe["id"] in ("L-2", "L-3"):
            pipe["tube"] = {"material": "copper_l", "size": "3/8 in"}
    path = tmp_path / "shed.plant.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def opened(window: Window, qtbot: QtBot) -> SizeAllPane:
    window.actions_["pane_size_all"].trigger()
    pane = window.open_pane("size_all")
    assert isinstance(pane, SizeAllPane)
    settled(pane, qtbot)
    return pane


def settled(pane: SizeAllPane, qtbot: QtBot) -> None:
    """Every row and neighbour solved."""
    qtbot.waitUntil(
        lambda: bool(pane._lines) and all(one.text(FIGURES) != SOLVING for one in pane._lines.values()),
        timeout=PATIENCE,
    )


def row_of(pane: SizeAllPane, name: str, what: str = "tube") -> QTreeWidgetItem:
    return next(line for line in pane._rows() if name in _row(line).ids and _row(line).sized.what == what)


def _row(line: QTreeWidgetItem):
    return line.data(0, Qt.ItemDataRole.UserRole)


def click(pane: SizeAllPane, line: QTreeWidgetItem, tick: bool) -> None:
    pane.table.scrollToItem(line)
    box = pane.table.visualItemRect(line)
    at = QPoint(box.left() + 9, box.center().y()) if tick else QPoint(box.left() + 60, box.center().y())
    QTest.mouseClick(pane.table.viewport(), LEFT, pos=at)


def test_what_is_over_a_limit_comes_first_and_the_filter_hides_what_fits(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot
):
    pane = opened(make_window(thin, size=(1300, 900)), qtbot)
    standings = [_row(line).standing for line in pane._rows()]
    assert standings[0] == "over"
    assert standings == sorted(standings, key=("over", "open", "differs", "lacks", "roomy", "fits").index)
    shown = {_row(line).standing for line in pane._rows() if not line.isHidden()}
    assert shown <= {"over", "open", "differs", "lacks"}
    assert row_of(pane, "L-2").text(1).startswith("over")
    QTest.mouseClick(pane.only, LEFT, pos=QPoint(8, pane.only.height() // 2))
    assert not any(line.isHidden() for line in pane._rows())


def test_clicking_a_row_frames_its_places_and_selecting_a_place_finds_its_row(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot
):
    window = make_window(thin, size=(1300, 900))
    pane = opened(window, qtbot)
    line = row_of(pane, "L-2")
    click(pane, line, tick=False)
    assert window.document.selection == set(_row(line).ids) >= {"L-2", "L-3"}
    window.document.select(["BV-1"])
    assert "BV-1" in _row(pane.table.currentItem()).ids


def test_ticked_rows_are_solved_together_taken_in_one_step_with_one_reason_and_undone(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot
):
    window = make_window(thin, size=(1300, 900))
    pane = opened(window, qtbot)
    assert not pane.take.isEnabled()
    before = window.document.plant
    flow = window.live.solutions()["Design night"].pipes["L-2"].flow_m3_s
    line = row_of(pane, "L-2")
    size = line.text(3)
    click(pane, line, tick=True)
    qtbot.waitUntil(pane.take.isEnabled, timeout=PATIENCE)
    assert "Design night: heat" in pane.together.text()
    assert pane._joint is not None
    promised = pane._joint.solutions["Design night"].pipes["L-2"].flow_m3_s
    assert abs(promised) > abs(flow)
    type_words(pane.reason, "they were thin")
    QTest.mouseClick(pane.take, LEFT)
    after = window.document.plant
    assert size.startswith(str(after.pipes["L-2"].tube["size"]))
    assert after.pipes["L-3"].tube == after.pipes["L-2"].tube
    assert len(after.logbook) == len(before.logbook) + 1
    assert window.focusWidget() is window.board.view, "keys go to the board after taking sizes"
    assert after.logbook[-1]["because"] == "they were thin"
    assert size in after.logbook[-1]["choice"]
    qtbot.waitUntil(lambda: len(window.live.solutions()) == len(after.solve_cases), timeout=PATIENCE)
    assert window.live.solutions()["Design night"].pipes["L-2"].flow_m3_s == pytest.approx(promised, rel=1e-6)
    window.actions_["undo"].trigger()
    assert window.document.plant.pipes == before.pipes
    assert window.document.plant.logbook == before.logbook


def test_a_neighbour_ticked_lets_go_of_the_one_proposed(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot
):
    pane = opened(make_window(thin, size=(1300, 900)), qtbot)
    line = row_of(pane, "L-2")
    click(pane, line, tick=True)
    line.setExpanded(True)
    child = line.child(line.childCount() - 1)
    click(pane, child, tick=True)
    assert [(row.ids, option.name) for row, option in pane.picked()] == [(_row(line).ids, child.text(3))]
    click(pane, child, tick=True)
    assert pane.picked() == []
    assert pane.together.text() == NOTHING


def test_all_shown_are_ticked_by_one_button_and_hidden_ones_are_not(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot
):
    pane = opened(make_window(thin, size=(1300, 900)), qtbot)
    QTest.mouseClick(pane.all, LEFT)
    assert pane.picked()
    assert all(row.needs_change for row, _ in pane.picked())
    qtbot.waitUntil(pane.take.isEnabled, timeout=PATIENCE)


def test_with_a_price_list_each_row_has_its_cost_the_table_sorts_by_it_and_the_sizes_page_has_it_too(
    make_window: Callable[..., Window], thin: Path, qtbot: QtBot, tmp_path: Path
):
    window = make_window(thin, size=(1300, 900))
    pane = opened(window, qtbot)
    assert pane.table.isColumnHidden(COST)
    prices = tmp_path / "prices.csv"
    names = ("90° elbow", "tee", "union connection", "reducer or adapter at a valve", "reducer")
    free = "".join(f"{name},,ea,0\n" for name in (*names, "union or adapter to equipment"))
    free += '"pipe insulation",,ft,0\n"pipe insulation, 0.5 in thick",,ft,0\n'
    tubes = "".join(f"Type L copper tube,{size} in,ft,{price}\n" for size, price in TUBES.items())
    prices.write_text(f"what,size,unit,price\n{tubes}{free}", encoding="utf-8")
    QTest.mouseClick(pane.costs, LEFT, pos=QPoint(8, pane.costs.height() // 2))
    name_file(window, prices)
    assert not pane.table.isColumnHidden(COST)
    qtbot.waitUntil(lambda: pane._weighing is not None, timeout=PATIENCE)
    settled(pane, qtbot)
    line = row_of(pane, "L-2")
    feet = sum(window.document.plant.pipes[name].si.length for name in _row(line).ids) / 0.3048
    more = TUBES[line.text(3).split(" in")[0]] - TUBES["3/8"]  # the thin one is not bought yet
    assert float(line.text(COST)) == pytest.approx(feet * 1.1 * more, abs=0.01)  # 10 % waste
    pane.table.sort_by(COST)
    known = [float(row.text(COST)) for row in pane._rows() if row.text(COST)[:1].isdigit()]
    assert known == sorted(known)
    pane.table.sort_by(COST)
    assert [float(row.text(COST)) for row in pane._rows() if row.text(COST)[:1].isdigit()] == known[::-1]
    click(pane, line, tick=True)
    qtbot.waitUntil(pane.take.isEnabled, timeout=PATIENCE)
    assert f"Parts more than drawn: {line.text(COST)}" in pane.together.text()
    window.document.select(["L-2"])
    sizes = window.open_pane("sizes")
    assert isinstance(sizes, SizesPane)
    qtbot.waitUntil(lambda: bool(sizes.answers()), timeout=PATIENCE)
    heads = [sizes.options.headerItem().text(k) for k in range(sizes.options.columnCount())]
    assert heads[-2:] == ["cost", "verdict"]
    QTest.mouseClick(sizes.costs, LEFT, pos=QPoint(8, sizes.costs.height() // 2))
    assert not window.settings.get("price_list")
