"""Plant, "Papers": every paper is seen in the window before it is saved, on the sheet wanted."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from app.paper.marks import Graph
from app.window.papers_page import KINDS, PapersPage
from core.files.read import load
from tests.app.pencil import Pencil
from tests.plants.edits import SAMPLES


def opened(pencil: Pencil, qtbot: QtBot) -> PapersPage:
    menus = [m for m in pencil.window.findChildren(QMenu) if m.title().replace("&", "") == "Plant"]
    (entry,) = [a for menu in menus for a in menu.actions() if a.text().replace("&", "") == "Papers…"]
    entry.trigger()
    (page,) = pencil.window.findChildren(PapersPage)
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    return page


@pytest.fixture
def page(pencil: Pencil, qtbot: QtBot) -> PapersPage:
    pencil.place("circulator", (300, 200))
    return opened(pencil, qtbot)


@pytest.mark.parametrize("kind", list(KINDS))
def test_each_paper_is_shown_and_saved(page: PapersPage, qtbot: QtBot, tmp_path: Path, kind: str) -> None:
    page.kind.setCurrentIndex(page.kind.findData(kind))
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    assert not page.page.pixmap().isNull()
    out = tmp_path / f"{kind}.pdf"
    page.write(out)
    assert out.read_bytes().startswith(b"%PDF")
    assert page.place.text() == f"Saved {kind}.pdf"
    page.close()


def test_the_sheet_wanted_is_the_sheet_shown_and_pages_turn(page: PapersPage, qtbot: QtBot) -> None:
    page.kind.setCurrentIndex(page.kind.findData("start-up"))
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    page.sheet.setCurrentIndex(page.sheet.findData("a5" if page.sheet.findData("a5") >= 0 else "letter"))
    shown = page.page.pixmap()
    assert shown.width() / shown.height() == pytest.approx(215.9 / 279.4, abs=0.01)
    assert not page.before.isEnabled()
    page.after.click()
    assert page.place.text().startswith("2 of ")
    assert page.before.isEnabled()
    page.close()


def test_what_cannot_be_saved_is_said_in_the_page(page: PapersPage, tmp_path: Path) -> None:
    page.write(tmp_path / "my.plant.json")
    assert "never overwritten" in page.place.text()
    page.close()


def test_the_handbook_for_a_phone_is_written_from_here(
    page: PapersPage, qtbot: QtBot, tmp_path: Path
) -> None:
    out = tmp_path / "mine.html"
    page.round.setChecked(True)
    page.write_handbook(out)
    qtbot.waitUntil(lambda: page.place.text() == "Written mine.html", timeout=20000)
    assert 'id="remark-add"' in out.read_text(encoding="utf-8")
    page.write_handbook(tmp_path / "no folder" / "mine.html")
    qtbot.waitUntil(lambda: page.place.text().startswith("Not written."), timeout=20000)
    page.close()


def test_a_cut_diagram_is_put_on_one_sheet_or_fitted_with_one_click(pencil: Pencil, qtbot: QtBot) -> None:
    pencil.window.document.replace(load(SAMPLES / "orchard_packhouse.plant.json"), None)
    page = opened(pencil, qtbot)
    assert page.told.text().startswith("Cut over ")
    assert page.whole.isVisibleTo(page)
    page.whole.click()
    assert page.told.text() == ""
    assert page.sheet.currentData() == "arch_c"
    page.sheet.setCurrentIndex(0)
    page.fitted.click()
    assert "less than 2.5 mm" in page.told.text()
    page.tiled.click()
    assert page.told.text().startswith("Cut over ")
    page.close()


def test_the_report_in_the_window_has_its_curves_and_the_takeoff_its_costs(
    pencil: Pencil, qtbot: QtBot, tmp_path: Path
) -> None:
    pencil.window.document.replace(load(SAMPLES / "potting_shed.plant.json"), None)
    page = opened(pencil, qtbot)
    page.kind.setCurrentIndex(page.kind.findData("report"))
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    assert page._pages is not None
    assert any(isinstance(mark, Graph) for each in page._pages.pages for mark in each.marks)
    prices = tmp_path / "prices.csv"
    prices.write_text("what,size,unit,price\nshut-off valve,,ea,12.50\n", encoding="utf-8")
    page.kind.setCurrentIndex(page.kind.findData("takeoff"))
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    page.prices.take(prices)
    qtbot.waitUntil(page.save.isEnabled, timeout=20000)
    out = tmp_path / "takeoff.csv"
    page.write(out)
    assert "12.5," in out.read_text(encoding="utf-8-sig")
    page.write(tmp_path / "takeoff.xlsx")
    assert page.place.text() == "Saved takeoff.xlsx"
    page.close()
