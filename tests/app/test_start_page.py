"""The start page: files opened lately with pictures, samples with a sentence, rows that have room."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.window.main_window import Window
from app.window.samples import gist, lately, template_files
from core.files.read import load
from core.plant.model import Plant
from tests.app.pencil import still_water

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 30_000


def test_a_file_opened_lately_is_drawn_told_and_opened_as_itself(
    make_window: Callable[..., Window], qtbot: QtBot, tmp_path: Path
):
    own = tmp_path / "wash_house.plant.json"
    shutil.copy(FILE, own)
    window = make_window(solve=still_water)
    window.start.offer([FILE], lately([str(tmp_path / "gone.plant.json"), str(own)]))
    assert window.start.files() == [own, FILE]
    window.drawings.ask(window.start.files())
    button = window.start.buttons()[str(own)]
    qtbot.waitUntil(
        lambda: "1 boiler, 2 floor circuits." in " ".join(button.text().split()), timeout=PATIENCE
    )
    assert button.text().startswith("Recent: Wash house")
    assert not button.icon().isNull()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(window.document.plant.items), timeout=PATIENCE)
    assert window.document.file == own


def test_rows_without_room_are_left_out_and_come_back(make_window: Callable[..., Window], tmp_path: Path):
    files = [tmp_path / f"plant_{k}.plant.json" for k in range(5)]
    window = make_window(solve=still_water)
    window.start.offer(files[2:], files[:3])
    window.start.place_over(700, 250)
    shown = [button for button in window.start.buttons().values() if not button.isHidden()]
    assert len(shown) == 3
    assert window.start.height() <= 250
    window.start.place_over(700, 900)
    assert not any(button.isHidden() for button in window.start.buttons().values())


def test_a_gist_names_what_is_drawn():
    assert gist(load(FILE)) == "1 boiler, 2 floor circuits."
    assert gist(Plant()) == ""


def test_a_template_opens_as_a_plant_without_a_file_and_stays_as_it_was(
    make_window: Callable[..., Window], qtbot: QtBot
):
    window = make_window(solve=still_water)
    files = template_files()
    assert len(files) == 5
    assert list(window.start.templates()) == [str(file) for file in files]
    before = files[1].read_bytes()
    QTest.mouseClick(window.start.templates()[str(files[1])], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(window.document.plant.items), timeout=PATIENCE)
    assert window.document.plant.title == "On-demand heater with tank"
    assert window.document.file is None
    assert window.start.isHidden()
    assert files[1].read_bytes() == before


def test_templates_stay_in_sight_where_pictures_have_no_room(
    make_window: Callable[..., Window], tmp_path: Path
):
    window = make_window(solve=still_water)
    window.start.offer([tmp_path / f"plant_{k}.plant.json" for k in range(5)])
    window.start.place_over(434, 300)
    assert not any(button.isHidden() for button in window.start.templates().values())
    assert window.start.width() <= 434
    assert window.start.height() <= 300
