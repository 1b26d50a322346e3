"""A second circulator asked for by command: places or why none, and the length that is not known yet."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.gestures.preview import Preview
from app.panels.second_circulator import SHORT, SecondCirculatorPane
from app.window.main_window import Window
from core.plant.changes import SetPlant
from tests.app.pencil import type_words

SAMPLES = Path(__file__).parents[2] / "sample_plants"
SHED = SAMPLES / "potting_shed.plant.json"
PATIENCE = 60_000
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def weak(tmp_path: Path) -> Path:
    """The potting shed with floors that want more, behind a circulator that is too weak."""
    data = json.loads(SHED.read_text(encoding="utf-8"))
    for item in data["items"]:
        if item["id"] == "P-1":
            item["props"]["curve"] = [
                ["0 gpm", "1.5 ft_head"],
                ["2 gpm", "0.8 ft_head"],
                ["3 gpm", "0 ft_head"],
            ]
    path = tmp_path / "shed.plant.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def opened(window: Window, qtbot: QtBot) -> SecondCirculatorPane:
    qtbot.waitUntil(lambda: not window.live.waiting and window.live.solution is not None, timeout=PATIENCE)
    window.actions_["second_circulator"].trigger()
    pane = window.open_pane("second")
    assert isinstance(pane, SecondCirculatorPane)
    return pane


def asked(pane: SecondCirculatorPane, qtbot: QtBot) -> None:
    QTest.mouseClick(pane.ask, LEFT)
    qtbot.waitUntil(lambda: pane.answer is not None, timeout=PATIENCE)


def test_nothing_short_of_heat_gets_no_second_circulator_and_hears_why(
    make_window: Callable[..., Window], qtbot: QtBot
):
    pane = opened(make_window(SHED, size=(1300, 900)), qtbot)
    assert pane.wanted.currentText() == SHORT
    asked(pane, qtbot)
    assert pane.words.text().startswith("None, because no circuit is short of heat")
    assert not pane.put.isEnabled()
    assert not pane.room.isVisible()


def test_a_short_circuit_gets_places_with_what_they_do_a_length_is_asked_for_and_one_is_put_in(
    make_window: Callable[..., Window], weak: Path, qtbot: QtBot
):
    window = make_window(weak, size=(1300, 900))
    pane = opened(window, qtbot)
    asked(pane, qtbot)
    assert pane.answer is not None
    offers = pane.answer.offers
    assert 1 <= len(offers) <= 3
    assert all(offer.after > 1.05 * offer.before for offer in offers)
    first = pane.places.topLevelItem(0)
    assert first is not None
    assert first.text(1) != first.text(2)
    assert window.document.selection  # framed on the board
    pane.places.itemClicked.emit(first, 0)
    assert isinstance(window.hand.gesture, Preview)
    assert "→" in window.board.beside.shown.words[pane.answer.at]
    QTest.keyClick(pane.places, Qt.Key.Key_Escape)
    assert window.hand.gesture is None
    assert not window.board.scene.trying
    while pane._unknown() is not None:
        unknown = pane._unknown()
        assert pane.room.isVisible()
        type_words(pane.room, "30 in" if unknown.key == "straight" else "6 in")
        pane.answer = None
        QTest.keyClick(pane.room, Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: pane.answer is not None, timeout=PATIENCE)
        assert unknown != pane._unknown()
    before = window.document.plant
    QTest.mouseClick(pane.put, LEFT)
    pumps = [i.id for i in window.document.plant.items.values() if i.kind == "circulator"]
    assert len(pumps) == 2
    window.actions_["undo"].trigger()
    assert window.document.plant.items == before.items


def test_the_context_menu_offers_it_for_pumps_and_pipes_alone(make_window: Callable[..., Window]):
    window = make_window(SHED)
    for name, offered in (("P-1", True), ("L-2", True), ("B-1", False)):
        window.document.select([name])
        assert ("second_circulator" in window.commands.fitting(("turn", "second_circulator"))) is offered


def test_asked_from_a_thing_it_turns_to_more_flow_there_and_keeps_asking_that_and_return_asks(
    make_window: Callable[..., Window], weak: Path, qtbot: QtBot
):
    window = make_window(weak, size=(1300, 900))
    qtbot.waitUntil(lambda: not window.live.waiting and window.live.solution is not None, timeout=PATIENCE)
    window.document.select(["FC-2"])
    window.actions_["second_circulator"].trigger()
    pane = window.open_pane("second")
    assert isinstance(pane, SecondCirculatorPane)
    assert window.focusWidget() is pane.wanted
    assert pane.wanted.currentText() == "More flow at FC-2"
    QTest.keyClick(pane.wanted, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: pane.answer is not None, timeout=PATIENCE)
    assert pane.answer is not None
    assert pane.answer.at == "FC-2"
    assert window.document.selection != {"FC-2"}, "the place is framed"
    window.document.do("title", [SetPlant({"title": "x"})])  # what was found is of the plant before
    assert pane.answer is None
    assert pane.wanted.currentText() == "More flow at FC-2"
