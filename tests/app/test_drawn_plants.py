"""The same plant from a file, drawn by mouse events only, and by key events only: the same figures."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from app.board.pointer import Place
from app.gestures.insert import Insert
from app.panels.cells import Cells
from app.widgets.field import Compound
from app.window.main_window import Window
from core.files.read import from_data, load
from core.plant.model import Plant
from core.solve import solve_case
from core.vocabulary import KINDS
from tests.app.pencil import CTRL, NONE, Pencil

TUBE = {"material": "copper_l", "size": "1 in"}
PUMP = [["0 gpm", "18 ft_head"], ["8 gpm", "12 ft_head"], ["14 gpm", "2 ft_head"]]
PUMP_TYPED = "0 gpm, 18 ft_head\n8 gpm, 12 ft_head\n14 gpm, 2 ft_head"

# Kind, place on the board, mirrored where keys draw; in the order that gives the tags of the file.
PLACES: tuple[tuple[str, Place, bool], ...] = (
    ("boiler", (250, 300), False),
    ("circulator", (400, 280), False),
    ("tank", (560, 300), True),
    ("circulator", (700, 260), False),
    ("floor_circuit", (900, 300), False),
    ("expansion_tank", (400, 460), False),
    ("thermostat", (700, 460), False),
)
PULLS = (
    ("B-1 out", "P-1 in"),
    ("P-1 out", "T-1 supply"),
    ("T-1 return", "B-1 in"),
    ("T-1 hot", "P-2 in"),
    ("P-2 out", "FC-1 in"),
    ("FC-1 out", "T-1 cold"),
)
TYPED: dict[str, dict[str, str]] = {
    "B-1": {"capacity": "40 kBtu/h", "set_temperature": "140 degF"},
    "P-1": {"curve": PUMP_TYPED},
    "P-2": {"curve": PUMP_TYPED, "speed": "0.8", "run_when": "TH-1"},
    "T-1": {"volume": "50 gal"},
    "FC-1": {"output_per_degree": "300 Btu/h/degF"},
    "ET-1": {"volume": "4 gal", "precharge": "12 psi"},
    "TH-1": {"set_temperature": "68 degF"},
    "CV-1": {"cv": "9"},
    "L-1": {"tube": "1 in Type L copper", "length": "7 ft"},
    "L-3": {"length": "6 ft"},
    "L-7": {"length": "5 ft"},
    "L-5": {"length": "40 ft"},
    "L-9": {"length": "11 ft"},
}


UNTYPED = {"guess": "6 ft", "within": 0.5}  # what a pipe is drawn with


def item(name: str, kind: str, at: Place, **props: Any) -> dict[str, Any]:
    return {"id": name, "kind": kind, "at": list(at), "props": props}


def pipe(name: str, start: str, end: str, length: Any = UNTYPED, tube: Any = None) -> dict[str, Any]:
    tube = tube or {"material": "copper_l", "size": "3/4 in"}
    return {
        "id": name, "from": start.split(), "to": end.split(), "system": "heating",
        "tube": tube, "length": length,
    }  # fmt: skip


def from_file() -> Plant:
    """The plant as one would write it by hand: its places on the board are others, its figures the same."""
    items = [
        item("B-1", "boiler", (0, 0), capacity="40 kBtu/h", set_temperature="140 degF"),
        item("P-1", "circulator", (100, 0), curve=PUMP),
        item("T-1", "tank", (300, 0), volume="50 gal"),
        item("P-2", "circulator", (500, 0), curve=PUMP, speed=0.8, run_when="TH-1"),
        item("FC-1", "floor_circuit", (700, 0), output_per_degree="300 Btu/h/degF"),
        item("ET-1", "expansion_tank", (100, 300), volume="4 gal", precharge="12 psi"),
        item("TH-1", "thermostat", (500, 300), set_temperature="68 degF"),
        item("CV-1", "check_valve", (600, 0), cv=9),
        item("J-1", "joint", (100, 200)),
    ]
    pipes = [
        pipe("L-1", "B-1 out", "P-1 in", "7 ft", TUBE),
        pipe("L-2", "P-1 out", "T-1 supply"),
        pipe("L-3", "T-1 return", "J-1 at", "6 ft"),
        pipe("L-7", "J-1 at", "B-1 in", "5 ft"),
        pipe("L-4", "T-1 hot", "P-2 in"),
        pipe("L-5", "P-2 out", "CV-1 in", "40 ft"),
        pipe("L-9", "CV-1 out", "FC-1 in", "11 ft"),
        pipe("L-6", "FC-1 out", "T-1 cold"),
        pipe("L-8", "ET-1 at", "J-1 at"),
    ]
    systems = {"heating": {"use": "closed"}, "potable": {"use": "potable"}}
    return from_data(
        {"format": "wetside-plant", "version": 2, "systems": systems, "items": items, "pipes": pipes}
    )


def assert_same(drawn: Plant, shown: Any) -> None:
    """Drawn piece by piece as the file says, and solved to its figures."""
    wanted = from_file()
    assert {i.id: (i.kind, dict(i.props)) for i in drawn.items.values()} == {
        i.id: (i.kind, dict(i.props)) for i in wanted.items.values()
    }
    for name, there in wanted.pipes.items():
        here = drawn.pipes[name]
        assert {here.start, here.end} == {there.start, there.end}, name
        assert (here.system, here.tube, here.length) == (there.system, there.tube, there.length), name
    assert drawn.pipes.keys() == wanted.pipes.keys()
    figures = solve_case(wanted, wanted.solve_cases[0])
    assert figures.converged
    assert figures.items["FC-1"].delivered_w > 3000
    assert abs(figures.pipes["L-1"].flow_m3_s) > 1e-4
    for solution in (shown, solve_case(drawn, drawn.solve_cases[0])):
        for part in ("pipes", "items"):
            theirs, ours = getattr(figures, part), getattr(solution, part)
            assert theirs.keys() == ours.keys()
            for name, values in theirs.items():
                turned = part == "pipes" and drawn.pipes[name].start != wanted.pipes[name].start
                if not turned:
                    assert ours[name].as_data() == pytest.approx(values.as_data(), rel=1e-6, abs=1e-6), name


def settled(window: Window, qtbot: QtBot, tmp_path: Path) -> Plant:
    """Wait for the window's answer; the plant as it is saved and read again."""
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    assert window.live.refusal() == ""
    assert window.files.save_to(tmp_path / "drawn.plant.json")
    return load(tmp_path / "drawn.plant.json")


@pytest.fixture
def pen(make_window: Callable[..., Window]) -> Pencil:
    """An empty board with the real solver."""
    window = make_window()
    window.start.hide()
    window.board.view.set_zoom(1.0)
    window.board.view.centerOn(600, 380)
    return Pencil(window)


def test_drawn_by_the_mouse(pen: Pencil, qtbot: QtBot, tmp_path: Path) -> None:
    window = pen.window
    for kind, at, _ in PLACES:
        pen.take(kind)
        pen.click(at)
    for start, end in PULLS:
        pen.drag(pen.port(*start.split()), pen.port(*end.split()))
    on_return = middle(pen, "L-3")
    pen.drag(pen.port("ET-1", "at"), on_return)
    pen.take("check_valve")
    pen.click(middle(pen, "L-5"))
    for name, values in TYPED.items():
        if name in window.document.plant.items:
            pen.click(window.document.plant.items[name].at)
        else:
            pen.click(middle(pen, name))
        assert window.document.selection == {name}
        for key, text in values.items():
            editor = window.particulars.field(key).editor
            window.particulars._scroll.ensureWidgetVisible(editor)
            QTest.mouseClick(typing_in(editor), Qt.MouseButton.LeftButton)
            write(text)
    assert_same(settled(window, qtbot, tmp_path), window.live.solution)


def middle(pen: Pencil, name: str) -> Place:
    """A place on a pipe away from other pipes."""
    hit = pen.board.scene.middle_of(name)
    assert hit is not None
    return hit.place


def typing_in(editor: QWidget) -> QWidget:
    if isinstance(editor, Compound):
        return editor.line
    if isinstance(editor, Cells):
        return editor.rows[0][0]
    return editor


def write(text: str) -> None:
    """Type over what the field with the keyboard holds, and leave it by the keyboard's way."""
    for line in text.split("\n"):
        cells = line.split(", ")
        for place, words in enumerate(cells, 1):
            focus = QApplication.focusWidget()
            assert focus is not None
            QTest.keyClick(focus, Qt.Key.Key_A, CTRL)
            QTest.keyClicks(focus, words)
            QTest.keyClick(focus, Qt.Key.Key_Tab if place < len(cells) else Qt.Key.Key_Return)


def press(key: Qt.Key | str, held: Qt.KeyboardModifier = NONE) -> None:
    """A key to whatever has the keyboard."""
    focus = QApplication.focusWidget()
    assert focus is not None
    QTest.keyClick(focus, key, held)


def go_to(window: Window, name: str) -> None:
    """By the find box."""
    press(Qt.Key.Key_F, CTRL)
    focus = QApplication.focusWidget()
    assert focus is window.top.finder
    QTest.keyClicks(focus, name)
    QTest.keyClick(focus, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert window.document.selection == {name}
    assert window.board.view.hasFocus()


def insert(window: Window, kind: str, at: Place | None, flip: bool = False) -> None:
    """By name; then by arrow keys to its place."""
    press("i")
    focus = QApplication.focusWidget()
    assert focus is not None
    QTest.keyClicks(focus, KINDS[kind].title)
    QTest.keyClick(focus, Qt.Key.Key_Return)
    gesture = window.hand.gesture
    assert isinstance(gesture, Insert)
    assert gesture.kind == kind
    if flip:
        press("m")
    if at is not None:
        for axis, (less, more) in enumerate(
            ((Qt.Key.Key_Left, Qt.Key.Key_Right), (Qt.Key.Key_Up, Qt.Key.Key_Down))
        ):
            steps = round((at[axis] - gesture._at[axis]) / 10)
            for _ in range(abs(steps)):
                press(more if steps > 0 else less)
    press(Qt.Key.Key_Return)
    assert window.hand.gesture is None


def pull(window: Window, start: str, end: str) -> None:
    """From the item's port, which P chooses, to the port that Tab comes to."""
    name, port = start.split()
    go_to(window, name)
    said = hint(window)
    for _ in range(8):
        press("p")
        if said().startswith(f"Pipe from {name} {port}:"):
            break
    for _ in range(60):
        press(Qt.Key.Key_Tab)
        if f" to {end}:" in said():
            break
    assert f" to {end}:" in said()
    press(Qt.Key.Key_Return)


def hint(window: Window) -> Callable[[], str]:
    label: QLabel = window._hint
    return label.text


def type_into(window: Window, name: str, values: dict[str, str]) -> None:
    go_to(window, name)
    press(Qt.Key.Key_Return)
    panel = window.particulars
    for key, text in values.items():
        wanted = panel.field(key)
        for _ in range(80):
            focus = QApplication.focusWidget()
            if focus is not None and wanted.isAncestorOf(focus):
                break
            press(Qt.Key.Key_Tab)
        write(text)
        assert wanted.error == "", (name, key)
    press(Qt.Key.Key_Escape)
    assert window.board.view.hasFocus()


def test_drawn_by_the_keyboard(pen: Pencil, qtbot: QtBot, tmp_path: Path) -> None:
    window = pen.window
    window.board.view.setFocus()
    for kind, at, flip in PLACES:
        insert(window, kind, at, flip)
        press(Qt.Key.Key_Escape)
    for start, end in PULLS:
        pull(window, start, end)
    go_to(window, "ET-1")
    press("p")
    for _ in range(4):
        press(Qt.Key.Key_Up, CTRL)
        if "tees into L-3" in hint(window)():
            break
    press(Qt.Key.Key_Return)
    go_to(window, "L-5")
    insert(window, "check_valve", None)
    for name, values in TYPED.items():
        type_into(window, name, values)
    assert_same(settled(window, qtbot, tmp_path), window.live.solution)


def test_the_file_says_what_the_hand_draws() -> None:
    """The reference itself is a sound file."""
    assert json.dumps([i.id for i in from_file().items.values()])
    assert len(from_file().pipes) == 9
