"""On paper every tag is nearer to its own symbol than to any other that has one, or a leader leads to it."""

from __future__ import annotations

import math

import pytest
from PySide6.QtWidgets import QApplication

from app.pens import text_width
from core.diagram import symbols
from core.diagram.control_lines import KINDS
from core.diagram.geometry import Box
from core.diagram.picture import Detail, compose
from core.files.read import load
from core.solve import solve_case
from core.vocabulary import Trait
from tests.plants.edits import SAMPLES


def apart(a: Box, b: Box) -> float:
    return math.hypot(max(a.x0 - b.x1, b.x0 - a.x1, 0.0), max(a.y0 - b.y1, b.y0 - a.y1, 0.0))


@pytest.mark.parametrize(
    "name", ["bakery_loft", "kennel_clinic", "orchard_packhouse", "potting_shed", "school_annex"]
)
def test_tags_are_nearer_their_own_symbol_than_any_other(qapp: QApplication, name: str) -> None:
    plant = load(SAMPLES / f"{name}.plant.json")
    solution = solve_case(plant, plant.solve_cases[0])
    notes = {note.at: "9" for note in solution.notes}
    detail = Detail(units="us", must_tags=True, markers=notes, stages=True, wires=KINDS)
    picture = compose(plant, solution, text_width, detail)
    boxes = {i.id: symbols.box(i) for i in plant.items.values() if not i.has(Trait.JOINS)}
    wrong = []
    for key, tag in picture.tags.items():
        if tag.leader is not None or tag.spot == ("inside",):
            continue
        own = apart(tag.box, boxes[key])
        wrong += [f"{key} beside {k}" for k, b in boxes.items() if k != key and apart(tag.box, b) <= own]
    assert wrong == []
