"""On a large board only what a hand touches is drawn anew; at rest it is what drawing all would give."""

from __future__ import annotations

import random
import threading
from collections.abc import Callable

import pytest
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.board import scene as scenes
from app.board import trial
from app.pens import LIGHT
from app.window.main_window import Window
from core.diagram.geometry import Polyline
from core.diagram.picture import Detail, compose
from core.diagram.routes import route
from core.plant import edits
from core.plant.changes import apply
from core.plant.model import Plant
from tests.app.pencil import Pencil
from tests.benchmarks.boards import made_up, wide_board
from tests.core.diagram.test_picture import _wide


@pytest.fixture
def large(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    """A board of 240 items that counts as large."""
    window = make_window(solve=made_up)
    plant = wide_board(12, 20)
    window.document.replace(plant, None)
    qtbot.waitUntil(lambda: window.board.scene.up_to_date and not window.live.waiting, timeout=30000)
    return window


@pytest.fixture(autouse=True)
def soon_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scenes, "LARGE", 100)


def test_words_come_from_the_background_and_are_those_of_drawing_all(large: Window, qtbot: QtBot) -> None:
    scene, plant = large.board.scene, large.document.plant
    qtbot.waitUntil(lambda: bool(scene.picture and scene.picture.labels), timeout=30000)
    picture = scene.picture
    assert picture is not None
    assert {name: pipe.line for name, pipe in picture.pipes.items()} == route(plant)
    assert picture.tags.keys() >= {name for name in plant.items if name.startswith("V")} - set(picture.hidden)


@pytest.mark.parametrize("step", [(20.0, 0.0), (0.0, 40.0), (300.0, 210.0)])
def test_what_a_hand_moves_looks_as_drawn_anew(step: tuple[float, float]) -> None:
    known = wide_board(8, 12)
    settled = route(known)
    before = compose(known, None, _wide, Detail(), settled)
    plant = apply(known, edits.move(known, ["V-3-5", "J-4-6"], *step))
    tried = trial.tried(plant, known, settled)
    picture = trial.round_about(before, plant, known, None, tried)
    whole = compose(plant, None, _wide, Detail(tags=False, labels=False), tried.lines)
    assert {n: p.line for n, p in picture.pipes.items()} == {n: p.line for n, p in whole.pipes.items()}
    assert picture.states == whole.states
    assert picture.open_ends == whole.open_ends
    assert {n: p.weight for n, p in picture.pipes.items()} == {n: p.weight for n, p in whole.pipes.items()}
    assert not {"V-3-5"} & picture.tags.keys()
    assert "V-7-11" in picture.tags


def test_deleting_leaves_nothing_of_it_in_the_picture() -> None:
    known = wide_board(8, 12)
    settled = route(known)
    before = compose(known, None, _wide, Detail(), settled)
    plant = apply(known, edits.delete(known, ["V-3-5"]))
    tried = trial.tried(plant, known, settled)
    picture = trial.round_about(before, plant, known, None, tried)
    assert picture.states.keys() == plant.items.keys()
    assert picture.pipes.keys() == plant.pipes.keys()
    assert tried.lines.keys() == plant.pipes.keys()
    assert "V-3-5" not in picture.tags


def test_a_drag_that_is_given_up_leaves_the_board_as_it_was(large: Window) -> None:
    board = large.board
    lines = {name: graphic.picture for name, graphic in board.scene.pipes.items()}
    assert board.tentative(edits.move(large.document.plant, ["V-3-5"], 40.0, 60.0))
    assert board.scene.symbols["V-3-5"].item.at == (540.0, 360.0)
    board.clear_shown()
    assert board.scene.symbols["V-3-5"].item.at == (500.0, 300.0)
    assert {name: graphic.picture for name, graphic in board.scene.pipes.items()} == lines


def test_after_a_drop_lines_are_those_of_the_plant_alone(large: Window, qtbot: QtBot) -> None:
    assert large.board.commit("Move", edits.move(large.document.plant, ["V-3-5"], 40.0, 60.0))
    qtbot.waitUntil(lambda: large.board.scene.up_to_date and not large.live.waiting, timeout=30000)
    assert dict(large.board.scene.lines) == route(large.document.plant)
    large.document.stack.undo()
    qtbot.waitUntil(lambda: large.board.scene.up_to_date and not large.live.waiting, timeout=30000)
    assert dict(large.board.scene.lines) == route(large.document.plant)


def test_after_a_drop_figures_stand_before_all_lines_are_laid_anew(
    make_window: Callable[..., Window], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = make_window(solve=made_up)
    window.document.replace(wide_board(6, 9), None)
    scene = window.board.scene
    assert scenes.FEW_PIPES < len(window.document.plant.pipes) < scenes.LARGE
    qtbot.waitUntil(lambda: scene.up_to_date and not window.live.waiting, timeout=30000)
    laid: list[Plant] = []

    def counted(plant: Plant) -> dict[str, Polyline]:
        if threading.current_thread() is threading.main_thread():
            laid.append(plant)
        return route(plant)

    monkeypatch.setattr(scenes, "route", counted)
    assert window.board.commit("Move", edits.move(window.document.plant, ["V-3-5"], 40.0, 60.0))
    qtbot.waitUntil(
        lambda: bool(scene.figures_stand and scene.picture is not None and scene.picture.labels),
        timeout=30000,
    )
    qtbot.waitUntil(lambda: scene.up_to_date, timeout=30000)
    assert laid == [], "the window itself laid all lines"
    assert dict(scene.lines) == route(window.document.plant)


def ink(window: Window, place: tuple[float, float]) -> bool:
    """Whether the outlines have ink at a place of the board."""
    image = QImage(40, 40, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.translate(QPointF(20 - place[0], 20 - place[1]))
    window.board.scene.paint_overview(painter, QRectF(place[0] - 20, place[1] - 20, 40, 40), 1.0)
    painter.end()
    return any(image.pixelColor(x, y) == LIGHT.ink for x in range(40) for y in range(40))


def test_outlines_follow_what_is_moved(large: Window) -> None:
    assert ink(large, (500.0, 300.0))
    assert not ink(large, (500.0, 345.0))
    assert large.board.tentative(edits.move(large.document.plant, ["V-3-5"], 0.0, 50.0))
    assert ink(large, (500.0, 345.0))
    large.board.clear_shown()
    assert not ink(large, (500.0, 345.0))


def test_a_crowd_passes_as_outlines_and_stands_in_full(
    large: Window, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    from app.board import hit_testing, view

    monkeypatch.setattr(hit_testing, "MANY", 50)
    monkeypatch.setattr(view, "CROWD", 100)
    board = large.board.view
    board.set_zoom(0.5)
    assert board._passing
    qtbot.waitUntil(lambda: not board._passing, timeout=5000)
    board.pan(5, 5)
    assert board._passing
    qtbot.waitUntil(lambda: not board._passing, timeout=5000)


def picture_of(window: Window) -> QImage:
    """The board as it is painted now."""
    return window.board.view.viewport().grab().toImage()


@pytest.mark.parametrize("seed", range(3))
def test_after_any_drags_all_is_as_drawn_anew(large: Window, qtbot: QtBot, seed: int) -> None:
    chance = random.Random(seed)
    pencil, scene, document = Pencil(large), large.board.scene, large.document
    large.board.view.set_zoom(0.9)
    large.board.view.centerOn(600, 400)
    for turn in range(5):
        name = f"V-{chance.randrange(2, 7)}-{chance.choice((3, 5, 7, 9))}"
        x, y = document.plant.items[name].at
        pencil.press((x, y))
        for _ in range(chance.randrange(2, 6)):
            pencil.move((x + 10 * chance.randrange(-18, 18), y + 10 * chance.randrange(-12, 12)))
            if chance.random() < 0.3:  # the hand hesitates
                scene._try(hurried=False)
        if turn % 3 == 1:
            large.board.setFocus()
            QTest.keyClick(large.board.view, Qt.Key.Key_Escape)
        pencil.release((x + 200, y + 130))
        if turn == 3:
            document.stack.undo()
    qtbot.waitUntil(lambda: scene.up_to_date and not large.live.waiting, timeout=30000)
    plant, picture = document.plant, scene.picture
    assert picture is not None
    assert scene.plant is plant
    fresh = compose(plant, scene.solution, _wide, Detail(tags=False, labels=False), route(plant))
    assert {name: graphic.picture for name, graphic in scene.pipes.items()} == fresh.pipes
    assert {name: graphic.label for name, graphic in scene.pipes.items() if graphic.label} == picture.labels
    assert {name: graphic.item for name, graphic in scene.symbols.items()} == plant.items
    shown = picture_of(large)
    for graphic in (*scene.pipes.values(), *scene.symbols.values()):
        scene.removeItem(graphic)
    scene.pipes.clear()
    scene.symbols.clear()
    scene._show(picture)
    assert picture_of(large) == shown


def test_words_from_the_background_are_shown_before_a_hand_moves_on(large: Window, qtbot: QtBot) -> None:
    scene = large.board.scene
    qtbot.waitUntil(lambda: bool(scene.picture and scene.picture.labels), timeout=30000)
    picture = scene.picture
    assert picture is not None
    for graphic in scene.pipes.values():
        graphic.show_as(picture.pipes[graphic.name], None, False)
    scene._show(picture, sliced=True)
    assert not scene.up_to_date
    assert large.board.tentative(edits.move(large.document.plant, ["V-3-5"], 40.0, 60.0))
    far = [name for name in picture.labels if scene.pipes[name].picture is picture.pipes[name]]
    assert far
    assert all(scene.pipes[name].label == picture.labels[name] for name in far)
    large.board.clear_shown()
    qtbot.waitUntil(lambda: scene.up_to_date, timeout=30000)
    assert {n: g.label for n, g in scene.pipes.items() if g.label} == scene.picture.labels
