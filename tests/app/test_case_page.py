"""Cases: usual ones added from the menu, a double-click on a tab, calls and fixtures as ticks."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.case_page import CasePage
from app.window.main_window import Window
from core.plant.usual_cases import USUAL
from tests.app.pencil import type_words
from tests.plants.edits import file_of

LEFT = Qt.MouseButton.LeftButton
PATIENCE = 60_000


@pytest.fixture
def clinic(make_window: Callable[..., Window]) -> Window:
    return make_window(file_of("two_heater_clinic"), size=(1300, 900))


def page_of(window: Window) -> CasePage:
    button = window.rail.button("Mild day")
    QTest.mouseDClick(button, LEFT)
    page = window.open_pane("case")
    assert isinstance(page, CasePage)
    return page


def case_of(window: Window, name: str = "Mild day"):
    return next(case for case in window.document.plant.cases if case.name == name)


def test_the_button_at_the_end_of_the_cases_offers_the_usual_ones(clinic: Window):
    menu = clinic.rail.add.menu()
    words = [action.text().replace("&", "") for action in menu.actions()]
    assert [w for w in words if w.startswith("Add: ")] == [
        f"Add: {one.name[0].lower()}{one.name[1:]}" for one in USUAL.values()
    ]
    before = len(clinic.document.plant.cases)
    next(action for action in menu.actions() if "power cut" in action.text().replace("&", "")).trigger()
    assert [case.name for case in clinic.document.plant.cases][before:] == ["Power cut"]
    assert clinic.under.in_sight()[0].TITLE == "Case"


def test_a_double_click_on_a_tab_edits_its_case(clinic: Window):
    page = page_of(clinic)
    assert clinic.live.case == "Mild day"
    assert page.isVisible()
    assert page.name.text() == "Mild day"
    assert page.outdoor.text() == "40 °F"
    assert page.calls["TH-1"].checkState() == Qt.CheckState.Checked
    assert page.calls["TH-2"].checkState() == Qt.CheckState.Unchecked
    assert page.fixtures["F-1"].isChecked()
    assert not page.fixtures["F-2"].isChecked()


def test_ticks_set_calls_and_draws_and_each_is_undone_at_once(clinic: Window):
    page = page_of(clinic)
    before = case_of(clinic)
    QTest.mouseClick(page.fixtures["F-2"], LEFT, pos=page.fixtures["F-2"].rect().center() * 0.2)
    assert case_of(clinic).draws == {**before.draws, "F-2": "1.5 gpm"}
    assert page.flows["F-2"].text() == "1.5 gpm"
    page.flows["F-2"].clear()
    page.flows["F-2"].setFocus()
    type_words(page.flows["F-2"], "2.2 gpm")
    QTest.keyClick(page.flows["F-2"], Qt.Key.Key_Return)
    assert case_of(clinic).draws["F-2"] == "2.2 gpm"
    QTest.keyClick(page.calls["TH-2"], Qt.Key.Key_Space)  # from off to as it senses
    assert "TH-2" not in case_of(clinic).signals
    QTest.keyClick(page.calls["TH-2"], Qt.Key.Key_Space)
    assert case_of(clinic).signals["TH-2"] is True
    for _ in range(4):
        clinic.actions_["undo"].trigger()
    assert case_of(clinic) == before


def test_a_temperature_that_is_none_is_refused_with_words_and_kept_in_its_field(clinic: Window):
    page = page_of(clinic)
    page.outdoor.setFocus()
    page.outdoor.selectAll()
    type_words(page.outdoor, "5 psi")
    QTest.keyClick(page.outdoor, Qt.Key.Key_Return)
    assert case_of(clinic).outdoor == "40 degF"
    assert page.outdoor.text() == "5 psi"


def test_each_usual_case_is_added_shown_and_solved(clinic: Window, qtbot: QtBot):
    flows = {"F-1": "2.5 gpm", "F-2": "1.5 gpm", "F-3": "3 gpm", "F-4": "3 gpm", "F-5": "3 gpm"}
    pumps = [i.id for i in clinic.document.plant.items.values() if i.kind == "circulator"]
    for key, usual in USUAL.items():
        clinic.actions_[f"case_{key}"].trigger()
        case = clinic.document.plant.cases[-1]
        assert clinic.live.case == case.name
        assert case.name.startswith(usual.name)
        assert case.draws == (flows if key == "morning_showers" else {})
    added = [case.name for case in clinic.document.plant.cases[-len(USUAL) :]]
    qtbot.waitUntil(lambda: set(added) <= set(clinic.live.solutions()), timeout=PATIENCE)
    found = clinic.live.solutions()
    assert all(found[name].converged for name in added)
    assert not any(found["Power cut"].running(pump) for pump in pumps)
    assert any(found["Snowfall"].running(pump) for pump in pumps)
