"""What a desktop gives and takes: dropped files, a place remembered, printers, clipboard, menus."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, QRect, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app import actions
from app.paper import SIZES, Sheet, sheets_of
from app.paper.printer import SVG_MIME, print_on
from app.settings import Settings
from app.window import place
from app.window.main_window import Window
from core.files.read import load
from tests.app.pencil import Pencil, still_water, type_words

SHED = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 20_000


def drag(window: Window, *files: Path) -> bool:
    """Drop files in the middle of the board, as the desktop would; whether they were taken."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(file)) for file in files])
    at, none = QPoint(400, 300), Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(at, Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, none)
    QApplication.sendEvent(window, enter)
    if enter.isAccepted():
        drop = QDropEvent(QPointF(at), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, none)
        QApplication.sendEvent(window, drop)
    return enter.isAccepted()


def test_plants_dropped_on_the_window_open(
    make_window: Callable[..., Window], qtbot: QtBot, tmp_path: Path
) -> None:
    one, two, other = tmp_path / "one.plant.json", tmp_path / "two.plant.json", tmp_path / "list.csv"
    for file in (one, two, other):
        shutil.copy(SHED, file)
    window = make_window(solve=still_water)
    assert not drag(window, other)
    assert "*.plant.json" in window._hint.text()
    asked: list[object] = []
    window.window_asked.connect(asked.append)
    assert drag(window, one, two)
    qtbot.waitUntil(lambda: window.document.file == one, timeout=PATIENCE)
    assert asked == [two]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (QRect(100, 50, 1400, 900), QRect(0, 0, 1280, 760)),
        (QRect(3000, 2000, 600, 400), QRect(680, 360, 600, 400)),
        (QRect(1400, 100, 800, 600), QRect(1400, 100, 800, 600)),
    ],
)
def test_a_window_fits_the_screen_it_is_on(wanted: QRect, found: QRect) -> None:
    screens = [QRect(0, 0, 1280, 800), QRect(1280, 0, 1920, 1080)]
    assert place.fitted(wanted, screens[:1] if wanted.width() != 800 else screens) == found


def test_a_window_is_put_where_the_last_one_was_left(make_window: Callable[..., Window]) -> None:
    settings = Settings()
    first, second = make_window(solve=still_water), make_window(solve=still_water)
    first.resize(700, 500)
    first.move(0, 20)  # the screen of tests is 800 pixels wide
    place.keep(first, settings)
    place.put(second, settings)
    assert (second.size(), second.pos()) == (first.size(), first.pos())


def test_the_drawing_is_copied_as_svg_png_and_text_at_once(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(SHED)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60_000)
    QTest.keyClick(
        window.board.view,
        Qt.Key.Key_C,
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier,
    )
    data = QGuiApplication.clipboard().mimeData()
    assert b"<svg" in bytes(data.data(SVG_MIME).data())
    assert QImage.fromData(data.data("image/png")).width() > 1000
    assert data.hasImage()
    assert "P-1" in data.text()
    assert "gpm" in data.text()


def test_a_printer_gets_the_sheet_as_large_as_its_paper(qapp: QApplication, tmp_path: Path) -> None:
    """A printer that writes a file stands for one of the system."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "out.pdf"))
    assert print_on(sheets_of(load(SHED), None, Sheet("a3", *SIZES["a3"])), printer)
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")
    assert printer.pageLayout().orientation() == printer.pageLayout().Orientation.Landscape


def test_no_two_entries_of_a_menu_share_a_letter() -> None:
    for menu in actions.MENUS:
        letters = Counter(
            spec.words.partition("&")[2][:1].lower() for spec in actions.TABLE if spec.menu == menu
        )
        assert all(letters), menu
        assert [letter for letter, count in letters.items() if count > 1] == [], menu


def test_about_tells_versions_and_licenses(pencil: Pencil) -> None:
    pencil.window.actions_["about"].trigger()
    page = pencil.window.commands._about
    assert page is not None
    said = page.text.toPlainText()
    for words in ("numpy", "LGPL", "Qt", "Python", "crash reports"):
        assert words in said
    page.close()


def test_the_path_bar_shows_the_whole_folder_selected(pencil: Pencil, tmp_path: Path, monkeypatch) -> None:
    shutil.copy(SHED, tmp_path / "shed.plant.json")
    monkeypatch.chdir(tmp_path)
    window, bar = pencil.window, pencil.window.files.asks.bar
    window.actions_["open"].trigger()
    assert bar.field.text() == f"{tmp_path}/"
    assert bar.field.selectedText() == bar.field.text()
    type_words(bar.field, "sh")
    assert bar._names.stringList() == ["shed.plant.json"], "a bare name lies in the folder shown"
    QTest.keyClick(bar.field, Qt.Key.Key_Escape)
    window.actions_["save_as"].trigger()
    assert bar.field.text() == f"{tmp_path}/plant.plant.json"
    assert bar.field.selectedText() == "plant"
    QTest.keyClick(bar.field, Qt.Key.Key_Escape)
