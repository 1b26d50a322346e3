"""Accepted stops stand on every paper: the sheet, papers of text, cards."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import print_plant
from app.paper.binder import bound, paper_sheet, usual_sheet
from app.paper.marks import Text
from core.files.read import load
from core.papers.shut_off_card import shut_off_card
from core.plant.model import Plant
from tests.plants.edits import SAMPLES

RECORD = {
    "key": "no-relief@B-1",
    "because": "it is built into the boiler",
    "by": "me",
    "checked_with": "the inspector",
    "date": "2026-03-01",
}


@pytest.fixture
def plant() -> Plant:
    return replace(load(SAMPLES / "potting_shed.plant.json"), accepted=(RECORD,))


def test_on_papers_of_text(qapp: QApplication, plant: Plant) -> None:
    pages = bound(plant, shut_off_card(plant, "P-1"), paper_sheet(usual_sheet(plant)), "1 Mar 2026")
    said = " ".join(mark.text for page in pages.pages for mark in page.marks if isinstance(mark, Text))
    assert "it is built into the boiler" in said
    assert "checked with the inspector" in said


def test_on_the_sheet(qapp: QApplication, plant: Plant, tmp_path: Path) -> None:
    (file, *_more) = print_plant(plant, None, tmp_path / "sheet.svg")
    sheets = "".join(one.read_text(encoding="utf-8") for one in (file, *_more))
    assert "ACCEPTED STOPS" in sheets
    assert "inspector" in sheets
