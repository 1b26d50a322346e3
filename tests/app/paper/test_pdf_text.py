"""The text boxes of the PDF itself, on samples and sheets: nothing over anything, nothing off the page."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import print_plant
from app.paper.text_papers import make
from core.diagram.geometry import Box, Field
from core.files.read import load
from core.solve import solve_case, solve_plant
from tests.plants.edits import SAMPLES

needs_poppler = pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext (poppler)")
PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)
WORD = re.compile(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>')
# pdftotext gives each word the height of its font: capitals take the middle of it.
CAPITALS = 0.22


def faults(pdf: Path) -> list[str]:
    done = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], check=True, capture_output=True, text=True)
    out = []
    pages = PAGE.findall(done.stdout)
    assert pages
    for number, (wide, high, words) in enumerate(pages, 1):
        seen = Field()
        found = WORD.findall(words)
        assert found
        for x0, y0, x1, y1, text in found:
            box = Box(float(x0), float(y0), float(x1), float(y1))
            trim = CAPITALS * box.height
            core = Box(box.x0 + 0.3, box.y0 + trim, box.x1 - 0.3, box.y1 - trim)
            if core.x0 < 0 or core.y0 < 0 or core.x1 > float(wide) or core.y1 > float(high):
                out.append(f"page {number}: {text} leaves the page")
            if core.width <= 0:
                continue
            out += [f"page {number}: {text} on {other}" for _, other in seen.hits(core)]
            seen.add(core, text)
    return out


@needs_poppler
@pytest.mark.parametrize(
    ("name", "sheet", "units"),
    [
        ("potting_shed", "letter", "us"),
        ("orchard_packhouse", "tabloid", "us"),
        ("bakery_loft", "a4", "si"),
        ("kennel_clinic", "arch_d", "si"),
        ("school_annex", "a1", "us"),
    ],
)
def test_no_text_of_a_drawing_is_over_another(
    qapp: QApplication, tmp_path: Path, name: str, sheet: str, units: str
) -> None:
    plant = replace(load(SAMPLES / f"{name}.plant.json"), units=units)
    out = tmp_path / "out.pdf"
    print_plant(plant, solve_case(plant, plant.solve_cases[0]), out, sheet, date="1 Jan 2030")
    assert faults(out) == []


@needs_poppler
@pytest.mark.parametrize("paper", ["start-up", "service", "wiring"])
def test_no_text_of_a_paper_is_over_another(qapp: QApplication, tmp_path: Path, paper: str) -> None:
    plant = load(SAMPLES / "orchard_packhouse.plant.json")
    out = tmp_path / "out.pdf"
    make(plant, solve_plant(plant), paper, out)
    assert faults(out) == []
