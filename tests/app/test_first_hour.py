"""From a blank board to a sized, named, printed plant with real events, each gesture counted.

No template, sample or paste: a boiler, a plate exchanger, two floor circuits with circulators and check
valves, a storage tank, two taps behind a mixing valve, expansion tanks and relief valves. A click, a drag, a
key chord and a value typed in one go count one each. Each test is a whole evening's work, so it takes long.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.board.pointer import Place
from app.panels.shelf import kind_mime
from app.panels.size_all import FIGURES, SOLVING, SizeAllPane
from app.window.main_window import Window
from core.plant.model import Plant, PortRef
from core.review import Severity, review
from tests.app.pencil import CTRL, LEFT, NONE, Pencil, type_words

MOST = 110  # 120 are wanted at most
PATIENCE = 30_000


class Counted(Pencil):
    """A hand that counts its gestures."""

    def __init__(self, window: Window, qtbot: QtBot) -> None:
        super().__init__(window)
        self.qtbot = qtbot
        self.gestures = 0

    @property
    def plant(self) -> Plant:
        return self.window.document.plant

    def put(self, kind: str, at: Place) -> str:
        """Drag a symbol off the shelf; gives its tag."""
        self.gestures += 1
        before = set(self.plant.items)
        data, viewport = kind_mime(kind), self.board.view.viewport()
        point = self.board.view.mapFromScene(*at)
        arguments = (Qt.DropAction.CopyAction, data, LEFT, NONE)
        QApplication.sendEvent(viewport, QDragEnterEvent(point, *arguments))
        QApplication.sendEvent(viewport, QDragMoveEvent(point, *arguments))
        QApplication.sendEvent(viewport, QDropEvent(QPointF(point), *arguments))
        (name,) = {new for new in set(self.plant.items) - before if self.plant.items[new].kind == kind}
        return name

    def pull(self, start: str, end: str | Place) -> None:
        """Pull a pipe from `item port` to another, or to a place on a pipe."""
        self.gestures += 1
        before = len(self.plant.pipes)
        there = self.port(*end.split()) if isinstance(end, str) else end
        self.drag(self.port(*start.split()), there)
        assert len(self.plant.pipes) > before, f"{start} to {end}: {self.window.bar.text}"

    def beside(self, port: str, off: float = 30.0) -> Place:
        """A place on the pipe at a port, a little off it."""
        item, name = port.split()
        (pipe,) = (one for one in self.plant.pipes.values() if PortRef(item, name) in (one.start, one.end))
        line = self.board.line(pipe.id)
        line = line if PortRef(item, name) == pipe.start else line[::-1]
        (ax, ay), (bx, by) = line[0], line[1]
        far = abs(bx - ax) + abs(by - ay)
        return ax + (bx - ax) * min(off / far, 0.9), ay + (by - ay) * min(off / far, 0.9)

    def chord(self, key: Qt.Key | str, held: Qt.KeyboardModifier = NONE, to: QWidget | None = None) -> None:
        self.gestures += 1
        QTest.keyClick(to or self.window.focusWidget() or self.board.view, key, held)
        QApplication.processEvents()

    def typed(self, words: str) -> None:
        self.gestures += 1
        for letter in words:  # the first may bring up the field for the others
            widget = self.window.focusWidget()
            assert widget is not None
            type_words(widget, letter)
        QApplication.processEvents()

    def clicked(self, at: Place) -> None:
        self.gestures += 1
        self.click(at)

    def values(self, *words: str) -> None:
        """What the selected thing still wants, typed where it stands, one after the other."""
        if not words[0][:1].isdigit():  # a digit begins by itself
            self.chord(Qt.Key.Key_F2, to=self.board.view)
        for word in words:
            if word:
                self.typed(word)
            self.chord(Qt.Key.Key_Return)
        if self.window.focusWidget() is not self.board.view:
            self.chord(Qt.Key.Key_Escape)

    def size_all(self) -> None:
        """Take what is proposed, all at once; by keys alone."""
        self.chord("a", CTRL | Qt.KeyboardModifier.AltModifier, to=self.board.view)
        pane = self.window.open_pane("size_all")
        assert isinstance(pane, SizeAllPane)
        self.qtbot.waitUntil(
            lambda: bool(pane._lines) and all(one.text(FIGURES) != SOLVING for one in pane._lines.values()),
            timeout=PATIENCE,
        )
        self.chord("t", CTRL)
        assert pane.picked()
        self.qtbot.waitUntil(pane.take.isEnabled, timeout=PATIENCE)
        self.chord(Qt.Key.Key_Return, CTRL)
        assert not pane.picked()

    def print_to(self, path: Path) -> None:
        self.chord("p", CTRL, to=self.board.view)
        bar = self.window.files.asks.bar
        assert bar.asking
        self.typed(path.stem)
        self.chord(Qt.Key.Key_Return)
        self.qtbot.waitUntil(path.exists, timeout=PATIENCE)


@pytest.fixture
def size() -> tuple[int, int]:
    return 1600, 1000


@pytest.fixture
def counted(make_window: Callable[..., Window], qtbot: QtBot, size: tuple[int, int]) -> Counted:
    window = make_window(size=size)
    hand = Counted(window, qtbot)
    window.board.view.setFocus()
    return hand


def finished(hand: Counted, qtbot: QtBot, sheet: Path) -> None:
    """Solved in its case, sized, named, printed, reviewed without a stop, in few gestures."""
    window, plant = hand.window, hand.plant
    qtbot.waitUntil(lambda: not window.live.waiting and bool(window.live.solutions()), timeout=PATIENCE)
    solutions = dict(window.live.solutions())
    assert all(solution.converged for solution in solutions.values())
    kinds = sorted(item.kind for item in plant.items.values())
    for kind, number in {
        "boiler": 1, "exchanger": 1, "floor_circuit": 2, "check_valve": 2, "expansion_tank": 2, "tank": 1,
        "fixture": 2,
    }.items():  # fmt: skip
        assert kinds.count(kind) == number
    assert kinds.count("circulator") >= 2
    assert all(pipe.joined or (pipe.tube or {}).get("size") for pipe in plant.pipes.values())
    assert sheet.stat().st_size > 1000
    stops = [found for found in review(plant, tuple(solutions.values())) if found.severity is Severity.STOP]
    assert [(found.rule.id, found.at) for found in stops] == []
    assert hand.gestures <= MOST


@pytest.mark.parametrize(("size", "zoom"), [((1600, 1000), 0.75), ((900, 600), 0.36)], ids=["large", "small"])
def test_the_first_plant_by_mouse(
    counted: Counted, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zoom: float
) -> None:
    monkeypatch.chdir(tmp_path)
    hand = counted
    hand.board.view.set_zoom(zoom)
    hand.board.view.centerOn(760, 520)
    hand.put("boiler", (200, 500))
    hand.values("150", "80 kBtu/h")
    for y, load in ((300, "12 kBtu/h"), (420, "9 kBtu/h")):
        hand.put("circulator", (380, y))
        hand.put("floor_circuit", (620, y))
        hand.values("", load)
    hand.put("mixing_valve", (320, 400))
    hand.values("110")
    hand.put("circulator", (380, 560))
    hand.values("medium")
    hand.put("exchanger", (620, 580))
    hand.values("2500")
    hand.put("tank", (960, 480))
    hand.values("60")
    hand.put("circulator", (800, 620))
    hand.values("small")
    hand.put("mixing_valve", (1100, 340))
    hand.values("120")
    for y in (300, 460):
        hand.put("fixture", (1300, y))
        hand.values("2")
    hand.put("cold_main", (820, 760))
    hand.values("55")
    # The closed side: the boiler's main, three branches off it and back.
    hand.pull("B-1 out", "MV-1 hot")
    hand.pull("MV-1 mixed", "P-1 in")
    hand.pull("P-1 out", "FC-1 in")
    hand.pull("FC-1 out", "B-1 in")
    hand.pull("P-2 in", hand.beside("P-1 in"))
    hand.pull("P-3 in", hand.beside("B-1 out"))
    hand.pull("P-2 out", "FC-2 in")
    hand.pull("P-3 out", "HX-1 a_in")
    for port, off in (("FC-2 out", 90.0), ("MV-1 cold", 60.0), ("HX-1 a_out", 30.0)):
        hand.pull(port, hand.beside("B-1 in", off))
    # Drinking water: main, tank, mixing valve, taps, and the tank's own loop over the exchanger.
    hand.pull("CM-1 at", "T-1 cold")
    hand.pull("T-1 hot", "MV-2 hot")
    hand.pull("MV-2 mixed", "F-1 hot")
    hand.pull("F-2 hot", hand.beside("F-1 hot"))
    for port in ("MV-2 cold", "F-1 cold", "F-2 cold"):
        hand.pull(port, hand.beside("CM-1 at"))
    hand.pull("T-1 bottom", "P-4 in")
    hand.pull("P-4 out", "HX-1 b_in")
    hand.pull("HX-1 b_out", "T-1 supply")
    for floor in ("FC-1 in", "FC-2 in"):
        hand.put("check_valve", hand.beside(floor, 60.0))
    for kind, place, values in (
        ("expansion_tank", "B-1 in", ("12",)),
        ("relief_valve", "B-1 out", ("30",)),
        ("expansion_tank", "CM-1 at", ("55",)),
        ("relief_valve", "T-1 top", ("150", "210")),
    ):
        x, y = hand.port(*place.split())
        name = hand.put(kind, (x - 60, y + (60 if kind == "expansion_tank" else -70)))
        hand.values(*values)
        hand.pull(f"{name} at", place if place == "T-1 top" else hand.beside(place, 20.0))
    hand.size_all()
    hand.size_all()
    sheet = tmp_path / "sheet.pdf"
    hand.print_to(sheet)
    finished(hand, qtbot, sheet)


ROWS = (
    "boiler > mixing valve > circulator > check valve > floor circuit > B-1",
    "MV-1 > circulator > check valve > floor circuit > B-1",
    "FC-1 > MV-1 cold",
    "B-1 > circulator > exchanger > B-1",
    "cold supply > storage tank > mixing valve > fixture",
    "MV-2 > fixture",
    "CM-1 > MV-2",
    "CM-1 > F-1",
    "CM-1 > F-2",
    "T-1 bottom > circulator > HX-1 B in",
    "HX-1 B out > T-1 supply",
    "FC-1 > expansion tank",
    "B-1 > relief valve",
    "T-1 top > relief valve",
    "CM-1 > expansion tank",
)
"""Lines typed into the box that inserts by name."""

VALUES = {
    "Set temperature of B-1": "150", "Capacity of B-1": "80 kBtu/h", "Set temperature of MV-1": "110",
    "Curve of P-3": "medium", "Curve of P-4": "small",
    "Load of FC-1": "12 kBtu/h", "Load of FC-2": "9 kBtu/h", "Heat transfer UA of HX-1": "2500",
    "Volume of T-1": "60", "Set temperature of MV-2": "120", "Pressure of CM-1": "55",
    "Flow of F-1": "2", "Flow of F-2": "2", "Precharge of ET-1": "12", "Precharge of ET-2": "55",
    "Set pressure of RV-1": "30", "Set pressure of RV-2": "150", "Set temperature of RV-2": "210",
}  # fmt: skip
"""What is typed where it is asked; the sizes of the rest are left to Size all."""


def test_the_first_plant_by_keyboard(
    counted: Counted, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hand = counted
    for row in ROWS:
        before = len(hand.plant.pipes)
        hand.chord("i", to=hand.board.view)
        hand.typed(row)
        hand.chord(Qt.Key.Key_Return)
        assert len(hand.plant.pipes) > before, hand.window.bar.text
    hand.chord(Qt.Key.Key_Escape, to=hand.board.view)
    hand.chord(Qt.Key.Key_F2, to=hand.board.view)
    asked = hand.window.commands._in_place
    assert asked is not None
    while asked.isVisible():
        assert asked.field is not None
        if words := VALUES.get(asked.field.name):
            hand.typed(words)
        hand.chord(Qt.Key.Key_Return)
    hand.size_all()
    hand.size_all()
    sheet = tmp_path / "sheet.pdf"
    hand.print_to(sheet)
    finished(hand, qtbot, sheet)
