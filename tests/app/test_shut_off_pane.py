"""Shut it off: the section on the board, the steps, the card; and the page before the next joint."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.board.overlay import NO_SECTION
from app.panels.next_joint import NextJointPane
from app.panels.shut_off import ShutOffPane
from app.window.main_window import Window
from core.isolation.plan import shut_off
from core.plant import edits
from core.plant.changes import ReplaceItem
from tests.app.pencil import still_water
from tests.plants.edits import file_of

FILE = file_of("two_heater_clinic")
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    window = make_window(FILE, solve=still_water, size=(1500, 950))
    qtbot.waitUntil(lambda: window.review.now.rules > 0 and not window.review.now.checking, timeout=30_000)
    return window


def shut(window: Window, name: str) -> ShutOffPane:
    window.document.select([name])
    window.board.view.setFocus()
    window.actions_["shut_off"].trigger()
    pane = window.under.pane("shut_off")
    assert isinstance(pane, ShutOffPane)
    assert pane.isVisible()
    return pane


def test_the_section_is_hatched_and_its_valves_lit(window: Window) -> None:
    pane = shut(window, "HX-1")
    plan = shut_off(window.document.plant, "HX-1")
    section = window.board.overlay.section
    assert section.closed == plan.close
    assert "HX-1" in section.inside
    assert not section.inside & set(plan.close)
    assert "SV-7" in pane.text.toPlainText()
    box = window.board.scene.box_round("SV-7")
    assert box is not None
    corner = window.board.view.mapFromScene(box.x0 - 5.0, box.centre[1])
    accent = window.look.accent
    seen = window.board.view.grab().toImage().pixelColor(corner)
    assert abs(seen.blue() - accent.blue()) < 40
    assert abs(seen.red() - accent.red()) < 60


def test_it_follows_edits_and_goes_when_the_side_is_closed(window: Window) -> None:
    pane = shut(window, "P-1")
    assert pane.plan is not None
    assert "V-2" in pane.plan.close
    window.document.do("Delete", edits.delete(window.document.plant, ["V-2"]))
    assert pane.plan is not None
    assert "V-2" not in pane.plan.close
    assert window.board.overlay.section != NO_SECTION
    window.under._strips[1].closed.emit()
    assert window.board.overlay.section == NO_SECTION


def test_what_cannot_be_shut_off_says_why(window: Window) -> None:
    assert shut_off(window.document.plant, "V-4").missing
    pane = shut(window, "V-4")
    text = pane.text.toPlainText()
    assert "cannot be shut off" in text
    assert "A valve in" in text
    assert not window.board.overlay.section.closed


def test_the_menu_of_what_is_selected_offers_it(window: Window) -> None:
    from app import actions

    assert "shut_off" in actions.AT_SELECTED
    window.document.select(["HX-1", "P-1"])
    assert not window.actions_["shut_off"].isEnabled()


def test_the_card_is_printed_from_the_window(window: Window, qtbot: QtBot, tmp_path: Path) -> None:
    pane = shut(window, "HX-1")
    QTest.mouseClick(pane.card, LEFT)
    field = window.files.asks.bar.field
    assert "shut-off-HX-1" in field.text()
    card = tmp_path / "card.pdf"
    field.setText(str(card))
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert card.read_bytes().startswith(b"%PDF")


def test_the_page_before_the_next_joint_lists_by_stage_and_frames(window: Window) -> None:
    plant = window.document.plant
    window.document.do("Stage", [ReplaceItem(replace(plant.items["HX-2"], stage="dry_fitted"))])
    pane = window.open_pane("joint")
    assert isinstance(pane, NextJointPane)
    heads = [pane.list.topLevelItem(k).text(0) for k in range(pane.list.topLevelItemCount())]
    assert heads[0].startswith("Dry-fitted")
    assert heads[-1].startswith("Still to buy")
    rows = pane.rows()
    assert rows
    assert {group.split(":")[0] for _, group, _ in rows} <= {"Settle first", "Can wait"}
    head = pane.list.topLevelItem(len(heads) - 1)
    row = head.child(0).child(0)
    pane.list.scrollToItem(row)
    QTest.mouseClick(pane.list.viewport(), LEFT, pos=pane.list.visualItemRect(row).center())
    assert row.text(1) in window.document.selection
