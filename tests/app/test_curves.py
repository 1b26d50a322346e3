"""The curves under the board: live, with a second circulator put in from there; the user's own curves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QImage, QPainter, QPen
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import sample_plants
from app.panels.curve_picture import PictureWindow
from app.panels.curves import CurvesPane
from app.panels.curves_yours import YoursPage
from app.window.main_window import Window
from core import units
from core.files.read import load
from core.plant import edits
from core.solve import solve_case

SHED = Path(sample_plants.__file__).parent / "potting_shed.plant.json"
MILD = "Mild day"


def opened(make_window: Callable[..., Window], qtbot: QtBot, wait: bool = True) -> tuple[Window, CurvesPane]:
    """The shed with P-1 selected, and its curves worked out unless nobody needs them."""
    window = make_window(plant=load(SHED))
    window.live.choose(MILD)
    window.document.select(["P-1"])
    pane = cast("CurvesPane", window.open_pane("curves"))
    if wait:
        worked_out(qtbot, pane)
    return window, pane


def worked_out(qtbot: QtBot, pane: CurvesPane) -> None:
    def ready() -> bool:
        return pane._study is not None and pane._system is not None

    qtbot.waitUntil(ready, timeout=60000)
    sight = pane._sight
    assert sight is not None
    qtbot.waitUntil(lambda: pane._sight is not None and not pane._sight.waiting, timeout=20000)


def names(pane: CurvesPane) -> set[str]:
    return {trace.name for trace in pane.plot.chart.traces}


def test_curves_of_the_selected_circulator(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot)
    assert pane.pump.currentData() == "P-1"
    assert {"P-1", "system", "two in series", "two in parallel"} <= names(pane)
    plant = window.document.plant
    case = next(case for case in plant.solve_cases if case.name == MILD)
    figures = solve_case(plant, case).items["P-1"]
    gpm, feet = units.to_unit(figures.flow_m3_s, "gpm"), units.to_unit(figures.head_m, "ft_head")
    spot = next(spot for spot in pane.plot.chart.spots if spot.shape == "disc")
    assert spot.at == pytest.approx((gpm, feet), rel=1e-6)
    system = next(t for t in pane.plot.chart.traces if t.name == "system").points
    nearest = min(system, key=lambda p: abs(p[0] - gpm))
    assert nearest[1] == pytest.approx(feet, rel=0.15)
    assert "gpm" in pane.plot.accessibleDescription()


def test_put_in_is_one_step_of_undo(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot)
    before = window.document.plant
    one = pane._found()
    assert one is not None
    steps = window.document.stack.count()
    qtbot.mouseClick(pane.put, Qt.MouseButton.LeftButton)
    after = window.document.plant
    assert sum(i.kind == "circulator" for i in after.items.values()) == 2
    assert window.document.stack.count() == steps + 1
    case = next(case for case in after.solve_cases if case.name == MILD)
    solution = solve_case(after, case)
    promised = one.flows["FC-1"][1]
    assert solution.items["FC-1"].flow_m3_s == pytest.approx(promised, rel=1e-3)
    window.document.stack.undo()
    assert window.document.plant == before


def test_curves_follow_an_edit(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot)
    top = max(y for t in pane.plot.chart.traces if t.name == "P-1" for _, y in t.points)
    window.document.do("slower", edits.set_props(window.document.plant, "P-1", {"speed": 0.8}))
    worked_out(qtbot, pane)
    slower = next(t for t in pane.plot.chart.traces if t.name.startswith("P-1"))
    assert slower.name == "P-1 at 80% speed"
    assert max(y for _, y in slower.points) == pytest.approx(0.64 * top, rel=1e-3)


def test_display_switches_to_si(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot, wait=False)
    assert pane.plot.chart.x == "flow, gpm"
    pane.follow(cast("Any", _si(pane)))
    assert pane.plot.chart.x == "flow, L/s"
    assert pane.plot.chart.y == "head, m"
    del window


def _si(pane: CurvesPane) -> Any:

    assert pane._sight is not None
    return pane._sight._replace(display="si")


def test_everything_is_reached_by_keyboard(make_window: Callable[..., Window], qtbot: QtBot):
    _, pane = opened(make_window, qtbot)
    pane.focus_first()
    seen = set()
    for turned in (False, True):
        pane.turn.setChecked(turned)  # where the strip is narrow, plot and places take turns
        pane.focus_first()
        for _ in range(20):
            focus = QApplication.focusWidget()
            if focus is not None and pane.isAncestorOf(focus):
                seen.add(focus.accessibleName() or focus.property("text"))
            qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    for words in ("Circulator whose curves are shown", "Where a second one is tried", "Curves",
                  "Places for a second circulator, best first"):  # fmt: skip
        assert words in seen, (words, seen)
    assert any("Insert" in str(name) for name in seen)


def test_no_circulator_says_what_to_do(make_window: Callable[..., Window], qtbot: QtBot):
    window = make_window()
    pane = cast("CurvesPane", window.open_pane("curves"))
    assert pane.plot.chart.empty == "Pick a circulator to see its curve."
    assert not pane.put.isEnabled()


def test_nothing_lies_over_anything_at_any_width(make_window: Callable[..., Window], qtbot: QtBot):
    _, pane = opened(make_window, qtbot)
    pane.setParent(None)
    pane.show()
    for wide, turned in ((420, False), (420, True), (500, False), (1000, False)):
        pane.resize(wide, 330)
        pane.turn.setChecked(turned)
        QApplication.processEvents()
        parts = [pane.plot, pane.table, pane.places, pane.put, pane.why, pane.working, pane.yours, pane.pump]
        placed = [
            (part, QRect(part.mapTo(pane, QPoint(0, 0)), part.size())) for part in parts if part.isVisible()
        ]
        for k, (part, box) in enumerate(placed):
            assert pane.rect().contains(box), (part.accessibleName(), box)
            for other, lies in placed[k + 1 :]:
                assert not box.intersects(lies), (part.accessibleName(), other.accessibleName())
    pane.close()
    pane.deleteLater()


def page_of(pane: CurvesPane, qtbot: QtBot) -> YoursPage:
    qtbot.mouseClick(pane.yours, Qt.MouseButton.LeftButton)
    page = pane.findChild(YoursPage)
    assert page is not None
    return page


def test_pasted_table_is_kept_and_given(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot, wait=False)
    page = page_of(pane, qtbot)
    page.text.setPlainText("Flow (gpm)\tHead (ft)\n0\t22\n4\t17\n8\t6")
    page.name.setText("from the shelf")
    assert page.error.text() == ""
    assert page.keep.isEnabled()
    qtbot.mouseClick(page.keep, Qt.MouseButton.LeftButton)
    assert [c["name"] for c in window.document.plant.curves] == ["from the shelf"]
    qtbot.mouseClick(page.give, Qt.MouseButton.LeftButton)
    points = window.document.plant.items["P-1"].props["curve"]
    assert points == [["0 gpm", "22 ft_head"], ["4 gpm", "17 ft_head"], ["8 gpm", "6 ft_head"]]
    assert pane.pages.currentIndex() == 0


def test_wrong_table_is_said_beside_it(make_window: Callable[..., Window], qtbot: QtBot):
    _, pane = opened(make_window, qtbot, wait=False)
    page = page_of(pane, qtbot)
    page.name.setText("rises")
    page.text.setPlainText("0 gpm\t10 ft\n4 gpm\t12 ft")
    assert page.error.text().startswith("⊠")
    assert not page.keep.isEnabled()
    page.text.setPlainText("0\t12\n4\t10")
    assert "unit" in page.error.text()
    page.flow_unit.setCurrentIndex(page.flow_unit.findData("gpm"))
    page.head_unit.setCurrentIndex(page.head_unit.findData("ft_head"))
    assert page.error.text() == ""


def test_invented_curve_stays_marked_when_given(make_window: Callable[..., Window], qtbot: QtBot):
    window, pane = opened(make_window, qtbot, wait=False)
    page = page_of(pane, qtbot)
    row = next(k for k in range(page.list.count()) if "invented" in page.list.itemText(k))
    page.list.setCurrentIndex(row)
    page.list.activated.emit(row)
    assert not page.keep.isEnabled()  # a name of the program's own
    qtbot.mouseClick(page.give, Qt.MouseButton.LeftButton)
    assert window.document.plant.items["P-1"].props["invented"] is True
    heard: list[str] = []
    pane.remarked.connect(heard.append)
    pane._show()
    assert "invented curve, not a product" in heard[-1]


# A picture: flow 0 to 10 gpm from x 80 to 480, head 0 to 20 ft from y 340 to 40.
def place(flow: float, head: float) -> QPointF:
    return QPointF(80.0 + 40.0 * flow, 340.0 - 15.0 * head)


def drawn(folder: Path) -> Path:
    image = QImage(560, 400, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setPen(QPen(Qt.GlobalColor.black, 2))
    painter.drawLine(place(0, 0), place(10, 0))
    painter.drawLine(place(0, 0), place(0, 20))
    painter.drawPolyline([place(q / 4, 18.0 - 0.15 * (q / 4) ** 2) for q in range(41)])
    painter.end()
    path = folder / "curve of a pump.png"
    assert image.save(str(path))
    return path


def click(qtbot: QtBot, window: PictureWindow, spot: QPointF) -> None:
    x, y = window.sheet.shown((spot.x(), spot.y()))
    qtbot.mouseClick(window.sheet, Qt.MouseButton.LeftButton, pos=QPoint(round(x), round(y)))


def picture_window(qtbot: QtBot, folder: Path) -> PictureWindow:
    window = PictureWindow("us")
    window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(window)
    window.show()
    window.open_picture(drawn(folder))
    return window


def test_curve_is_picked_off_a_picture_by_mouse(qtbot: QtBot, tmp_path: Path):
    window = picture_window(qtbot, tmp_path)
    for spot in (place(0, 0), place(10, 0), place(0, 0), place(0, 20)):
        click(qtbot, window, spot)
    assert "Type the four numbers" in window.error.text()
    for field, text in zip(window.values, ("0", "10", "0", "20"), strict=True):
        qtbot.keyClicks(field, text)
    for flow in (0.0, 3.0, 6.0, 9.0):
        click(qtbot, window, place(flow, 18.0 - 0.15 * flow**2))
    heard: list[list[list[str]]] = []
    window.picked.connect(heard.append)
    qtbot.mouseClick(window.use, Qt.MouseButton.LeftButton)
    (points,) = heard
    assert len(points) == 4
    for (flow, head), want in zip(points, (0.0, 3.0, 6.0, 9.0), strict=True):
        assert units.to_unit(units.parse(flow, "flow"), "gpm") == pytest.approx(want, abs=0.05)
        assert float(head.split()[0]) == pytest.approx(18.0 - 0.15 * want**2, abs=0.15)


def test_curve_is_picked_by_keyboard_alone(qtbot: QtBot, tmp_path: Path):
    window = picture_window(qtbot, tmp_path)
    sheet = window.sheet

    def go(spot: QPointF) -> None:
        for axis, (back, on) in enumerate(
            ((Qt.Key.Key_Left, Qt.Key.Key_Right), (Qt.Key.Key_Up, Qt.Key.Key_Down))
        ):
            off = round((spot.x(), spot.y())[axis] - sheet.cross[axis])
            key = on if off > 0 else back
            for _ in range(abs(off) // 10):
                qtbot.keyClick(sheet, key, Qt.KeyboardModifier.ShiftModifier)
            for _ in range(abs(off) % 10):
                qtbot.keyClick(sheet, key)
        qtbot.keyClick(sheet, Qt.Key.Key_Return)

    for spot in (
        place(0, 0),
        place(10, 0),
        place(0, 0),
        place(0, 20),
        place(0, 18),
        place(5, 1),
        place(8, 8.4),
    ):
        go(spot)
    for field, text in zip(window.values, ("0", "10", "0", "20"), strict=True):
        field.setText(text)
    assert window.error.text().startswith("⊠")  # it rises
    qtbot.keyClick(sheet, Qt.Key.Key_Backspace)
    qtbot.keyClick(sheet, Qt.Key.Key_Backspace)
    go(place(8, 8.4))
    points = window.points()
    assert points is not None
    assert [float(text.split()[0]) for pair in points for text in pair] == pytest.approx(
        [0, 18, 8, 8.4], abs=0.01
    )


def test_file_that_is_no_picture_is_said(qtbot: QtBot, tmp_path: Path):
    window = PictureWindow("us")
    window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(window)
    path = tmp_path / "notes.png"
    path.write_text("no picture")
    window.show()
    window.open_file()
    qtbot.keyClick(window.paths.field, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClicks(window.paths.field, str(path))
    qtbot.keyClick(window.paths.field, Qt.Key.Key_Return)
    assert window.paths.isHidden()
    assert "notes.png is no picture" in window.error.text()
    assert not window.use.isEnabled()
