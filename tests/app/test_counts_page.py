"""Help, "How Wetside counts": the menu opens it, the text is there, Escape closes it and blocks nothing."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QTextBrowser
from pytestqt.qtbot import QtBot

from app.window.counts_page import CountsPage
from core.help.how_counted import SECTIONS, TITLE, Section
from core.vocabulary import KINDS
from tests.app.pencil import Pencil


def opened(pencil: Pencil) -> CountsPage:
    """The page, opened through the entry of the Help menu."""
    menus = [m for m in pencil.window.findChildren(QMenu) if m.title().replace("&", "") == "Help"]
    (entry,) = [a for menu in menus for a in menu.actions() if a.text().replace("&", "") == TITLE]
    entry.trigger()
    (page,) = pencil.window.findChildren(CountsPage)
    return page


def test_the_help_menu_opens_the_page_and_escape_closes_it(pencil: Pencil, qtbot: QtBot) -> None:
    page = opened(pencil)
    qtbot.waitUntil(page.isVisible, timeout=5000)
    assert not page.isModal()
    QTest.keyClick(page.findChildren(QTextBrowser)[0], Qt.Key.Key_Escape)
    assert not page.isVisible()
    assert opened(pencil) is page, "opened again, it is the same page"
    assert page.isVisible()
    page.close()


def test_the_page_shows_every_section_as_it_is_written(pencil: Pencil) -> None:
    page = opened(pencil)
    shown = page.findChildren(QTextBrowser)[0].toPlainText()
    at = -1
    for section in SECTIONS:
        for words in (section.title, *section.paragraphs):
            at = shown.find(words, at + 1)
            assert at >= 0, words
    page.close()


def test_no_line_of_it_is_cut_sideways_at_its_least_useful_width(pencil: Pencil) -> None:
    page = opened(pencil)
    page.resize(360, 400)
    QApplication.processEvents()
    text = page.findChildren(QTextBrowser)[0]
    assert text.horizontalScrollBar().maximum() == 0
    assert text.verticalScrollBar().maximum() > 0
    page.close()


@pytest.mark.parametrize("section", SECTIONS, ids=lambda s: s.title)
def test_sentences_are_short_and_name_no_key_of_the_file(section: Section) -> None:
    """A person reads it: no `snake_case`, no sentence of more than forty words."""
    for paragraph in section.paragraphs:
        assert not {kind for kind in KINDS if "_" in kind and kind in paragraph}
        assert "_" not in paragraph
        for sentence in paragraph.split(". "):
            assert len(sentence.split()) <= 40, sentence


def test_where_scalding_freezing_or_bursting_is_near_the_page_says_so() -> None:
    whole = " ".join(p for section in SECTIONS for p in section.paragraphs)
    for words in ("Legionella", "scald", "Never put it into drinking water", "licensed"):
        assert words in whole
