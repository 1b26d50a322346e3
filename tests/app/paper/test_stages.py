"""The stage of the work and the user's texts on the printed sheet, with their key."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import QApplication

import sample_plants
from app.paper.layout import laid_out
from app.paper.marks import Text
from core.diagram.zones import A3
from core.files.read import load
from core.plant import texts
from core.plant.changes import fitted
from core.plant.model import Plant

FILE = Path(sample_plants.__file__).parent / "potting_shed.plant.json"


def words(plant: Plant) -> list[str]:
    papers = laid_out(plant, None, A3, "us", "1 Jan 2026")
    marks = [mark.text for page in papers.pages for mark in page.marks if isinstance(mark, Text)]
    return marks + [row.text for placed in papers.picture.written for row in placed.rows]


def test_a_plant_only_drawn_carries_no_letters(qapp: QApplication) -> None:
    assert not [text for text in words(load(FILE)) if "‹" in text]


def test_letters_and_their_key_stand_on_the_sheet(qapp: QApplication) -> None:
    plant = load(FILE)
    bought = {name: replace(item, stage="bought") for name, item in plant.items.items() if name == "P-1"}
    pipes = {name: replace(pipe, stage="joined") for name, pipe in plant.pipes.items()}
    plant = replace(plant, items={**plant.items, **bought}, pipes=pipes)
    found = words(plant)
    assert "P-1 ‹B›" in found
    assert "B-1 ‹D›" in found
    key = " ".join(found)
    assert "Stage of the work: ‹D› drawn, ‹B› bought, ‹J› joined." in key
    papers = laid_out(plant, None, A3, "us", "1 Jan 2026")
    letters = [mark.text for pipe in papers.picture.pipes.values() for mark in pipe.letters]
    assert letters.count("‹J›") > 10


def test_texts_are_printed_with_their_lines_and_leader(qapp: QApplication) -> None:
    plant = replace(load(FILE), texts=())
    plant = fitted(plant, texts.add(plant, (300.0, 600.0), "Left free\nfor a second pump", "P-1"))
    papers = laid_out(plant, None, A3, "us", "1 Jan 2026")
    placed = papers.picture.texts["0"]
    assert [row.text for row in placed.rows] == ["Left free", "for a second pump"]
    assert placed.leader is not None
    assert any(page.tile and page.tile.source.holds(placed.box) for page in papers.pages)
