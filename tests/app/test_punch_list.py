"""The punch list in the window: live, framed on the board, accepted and cured by one step of undo each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton, QTreeWidgetItem
from pytestqt.qtbot import QtBot

from app.panels.accepting import AcceptForm
from app.panels.punch_list import PunchListPane
from app.window.main_window import Window
from core.plant import edits
from core.plant.model import Plant
from core.review import Finding, Found, Rule, Severity, Study
from core.review import rules as every
from core.vocabulary import UNKNOWN, Trait

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 30_000
LEFT = Qt.MouseButton.LeftButton


def no_relief(study: Study) -> Iterator[Found]:
    """Sources without a relief valve, whatever the rules of the program say."""
    for item in study.items(Trait.MAKES_HEAT):
        if not study.protection(item).relief:
            yield Found((item.id,), f"{item.id} has no relief valve.")


def cold_flow(study: Study) -> Iterator[Found]:
    """Circulators that move water in some case."""
    for solution in study.solutions:
        for item in study.items(Trait.DRIVES):
            if solution.running(item.id):
                yield Found((item.id,), f"{item.id} runs.", case=solution.case)


RULES = (
    Rule(
        "no-relief-here",
        "No relief",
        Severity.STOP,
        "It can burst.",
        "from memory",
        "Add one.",
        no_relief,
        ask="Ask a licensed plumber.",
        insert="relief",
    ),
    Rule("it-runs", "It runs", Severity.CONSIDER, "Why.", "from memory", "None.", cold_flow, solved=True),
)


@pytest.fixture
def rules(monkeypatch: pytest.MonkeyPatch) -> None:
    from core.review import installed

    monkeypatch.setattr(every, "RULES", (*RULES, *installed.RULES))


@pytest.fixture
def window(rules: None, make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    window = make_window(FILE, size=(1300, 900))
    until_checked(window, qtbot)
    return window


def until_checked(window: Window, qtbot: QtBot) -> None:
    """The review of the plant as it is now has come."""
    qtbot.waitUntil(
        lambda: window.live.all_answered and window.review.now.rules > 0 and not window.review.now.checking,
        timeout=PATIENCE,
    )


def take_relief_away(window: Window, qtbot: QtBot) -> None:
    plant = window.document.plant
    (relief,) = (item.id for item in plant.with_trait(Trait.RELIEVES))
    window.document.do("Delete", edits.delete(plant, [relief]))
    qtbot.waitUntil(lambda: bool(stops(window)), timeout=PATIENCE)
    until_checked(window, qtbot)


def stops(window: Window) -> list[Finding]:
    return [one for one in window.review.open_findings() if one.severity is Severity.STOP]


def page(window: Window) -> PunchListPane:
    pane = window.open_pane("punch")
    assert isinstance(pane, PunchListPane)
    return pane


def row_of(pane: PunchListPane, severity: Severity) -> QTreeWidgetItem:
    return next(r for r in pane.rows() if (f := pane.finding(r)) is not None and f.severity is severity)


def click(pane: PunchListPane, row: QTreeWidgetItem) -> None:
    QTest.mouseClick(pane.list.viewport(), LEFT, pos=pane.list.visualItemRect(row).center())


def button(pane: PunchListPane, start: str) -> QPushButton:
    return next(b for b in pane.findChildren(QPushButton) if b.text().startswith(start))


def test_a_finding_is_there_after_the_edit_and_gone_after_undo(window: Window, qtbot: QtBot) -> None:
    assert stops(window) == []
    take_relief_away(window, qtbot)
    assert "1 stop" in window._solved.text()
    assert window.under._strips[0]._buttons["punch"].text() == "Punch list 2"
    window.document.stack.undo()
    qtbot.waitUntil(lambda: not stops(window), timeout=PATIENCE)
    until_checked(window, qtbot)
    assert "stop" not in window._solved.text()


def test_findings_of_cases_stay_while_they_are_checked(window: Window, qtbot: QtBot) -> None:
    before = [one.key for one in window.review.now.findings]
    assert before, "a circulator runs"
    heard: list[tuple[bool, list[str]]] = []
    window.review.changed.connect(
        lambda: heard.append((window.review.now.checking, [one.key for one in window.review.now.findings]))
    )
    pipe = next(name for name, one in window.document.plant.pipes.items() if not one.joined)
    window.document.do("longer", edits.set_pipe(window.document.plant, pipe, length="50 ft"))
    qtbot.waitUntil(lambda: bool(heard) and not heard[-1][0], timeout=PATIENCE)
    assert all(keys == before for _, keys in heard)


def test_moving_a_symbol_asks_no_rule(window: Window, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    monkeypatch.setattr(
        "core.review.punch_list.gathered",
        lambda *_args: asked.append("asked") or {},  # type: ignore[func-returns-value]
    )
    plant = window.document.plant
    window.document.do("move", edits.move(plant, [next(iter(plant.items))], 10.0, 0.0))
    qtbot.waitUntil(lambda: window.live.all_answered and not window.background.busy, timeout=PATIENCE)
    assert asked == []
    assert window.review.now.findings


def test_a_click_on_a_row_frames_its_place(window: Window, qtbot: QtBot) -> None:
    take_relief_away(window, qtbot)
    pane = page(window)
    (found,) = stops(window)
    window.board.view.set_zoom(1.5)
    window.board.view.centerOn(5000, 5000)
    click(pane, row_of(pane, Severity.STOP))
    place = window.board.scene.box_round(found.at[0])
    assert place is not None
    assert window.board.shown_box().contains(*place.centre)
    assert window.document.selection == {found.at[0]}
    assert pane.list.hasFocus()
    text = pane.text.toPlainText()
    for words in ("It can burst.", "from memory", "Add one.", "Ask a licensed plumber."):
        assert words in text


def test_a_mark_stands_beside_the_place_on_nothing_else(window: Window, qtbot: QtBot) -> None:
    take_relief_away(window, qtbot)
    (found,) = stops(window)
    overlay = window.board.overlay
    (mark,) = (mark for mark in overlay.marks if mark.at == found.at[0])
    assert (mark.severity, mark.number) == ("stop", "1")
    x, y = overlay.places[mark.at]
    scene = window.board.scene
    box = scene.box_round(mark.at)
    assert box is not None
    assert not box.has((x, y))
    assert scene.picture is not None
    assert not any(text.box.grown(8.9).has((x, y)) for text in scene.picture.written)
    dark = window.board.view.mapFromScene(x, y - 6.0)  # inside the octagon, above its number
    assert window.board.view.grab().toImage().pixelColor(dark).lightness() < 80
    window.actions_["marks_shown"].trigger()
    assert overlay.marks == ()


def accept(pane: PunchListPane, because: str, checked: str) -> AcceptForm:
    click(pane, row_of(pane, Severity.STOP))
    QTest.mouseClick(button(pane, "Accept…"), LEFT)
    assert pane.form.isVisible()
    QTest.keyClicks(pane.form.because, because)
    QTest.keyClicks(pane.form.by, "me")
    QTest.keyClicks(pane.form.checked_with, checked)
    QTest.mouseClick(button(pane, "Accept it"), LEFT)
    return pane.form


def test_accepting_is_one_step_of_undo_and_is_opened_again(window: Window, qtbot: QtBot) -> None:
    take_relief_away(window, qtbot)
    pane = page(window)
    steps = window.document.stack.count()
    accept(pane, "the valve is built in", "the inspector")
    assert window.document.stack.count() == steps + 1
    (record,) = window.document.plant.accepted
    assert (record["because"], record["by"], record["checked_with"]) == (
        "the valve is built in",
        "me",
        "the inspector",
    )
    assert record["date"]
    qtbot.waitUntil(lambda: not stops(window), timeout=PATIENCE)
    assert "stop" not in window._solved.text()
    row = row_of(pane, Severity.STOP)
    assert row.font(2).strikeOut()
    assert "the valve is built in" in row.text(2)
    click(pane, row)
    QTest.mouseClick(button(pane, "Open again"), LEFT)
    assert window.document.plant.accepted == ()
    qtbot.waitUntil(lambda: bool(stops(window)), timeout=PATIENCE)
    window.document.stack.undo()
    assert len(window.document.plant.accepted) == 1


@pytest.mark.parametrize(("because", "checked"), [("", "the inspector"), ("built in", "")])
def test_a_stop_without_reason_or_whom_it_was_checked_with_is_not_accepted(
    window: Window, qtbot: QtBot, because: str, checked: str
) -> None:
    take_relief_away(window, qtbot)
    pane = page(window)
    form = accept(pane, because, checked)
    assert window.document.plant.accepted == ()
    assert form.trouble.isVisible()
    assert form.because.toPlainText() == because
    QTest.mouseClick(button(pane, "Leave it open"), LEFT)
    assert not form.isVisible()


def test_a_cure_is_inserted_by_one_step_and_undone(window: Window, qtbot: QtBot) -> None:
    take_relief_away(window, qtbot)
    pane = page(window)
    before: Plant = window.document.plant
    click(pane, row_of(pane, Severity.STOP))
    qtbot.waitUntil(lambda: pane.cure.isEnabled(), timeout=PATIENCE)
    assert pane.cure.text().startswith("Insert relief valve")
    steps = window.document.stack.count()
    QTest.mouseClick(pane.cure, LEFT)
    assert window.document.stack.count() == steps + 1
    (fresh,) = (item for item in window.document.plant.with_trait(Trait.RELIEVES))
    assert fresh.props["capacity"] == UNKNOWN
    qtbot.waitUntil(lambda: not stops(window), timeout=PATIENCE)
    until_checked(window, qtbot)
    assert any(one.rule.id == "only-on-paper" and one.at == (fresh.id,) for one in window.review.now.findings)
    window.document.stack.undo()
    assert window.document.plant == before


def test_a_cure_that_brings_a_stop_is_not_offered(
    window: Window, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_relief_away(window, qtbot)

    def bad_relief(study: Study) -> Iterator[Found]:
        yield from (Found((item.id,), f"{item.id} is wrong here.") for item in study.items(Trait.RELIEVES))

    bad = Rule("bad-relief", "Wrong", Severity.STOP, "Why.", "from memory", "Cure.", bad_relief)
    monkeypatch.setattr(every, "RULES", (*RULES, bad))
    pane = page(window)
    click(pane, row_of(pane, Severity.STOP))
    qtbot.waitUntil(lambda: "raise a stop" in pane.cure.toolTip(), timeout=PATIENCE)
    assert not pane.cure.isEnabled()
