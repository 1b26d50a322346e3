"""The design report: every size is on paper with its reason, and its working goes down to what was typed."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import print_plant
from app.paper.marks import Text
from app.paper.report import report_blocks
from core.files.read import load
from core.sizing.everything import size
from core.solve import solve_plant

FILE = Path(__file__).parents[3] / "sample_plants" / "potting_shed.plant.json"


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext (poppler)")
def test_every_answer_and_what_it_rests_on_is_printed(qapp: QApplication, tmp_path: Path) -> None:
    plant = load(FILE)
    solutions = {s.case: s for s in solve_plant(plant)}
    sized = size(plant, None, solutions)
    out = tmp_path / "report.pdf"
    print_plant(plant, next(iter(solutions.values())), out, sized=sized, date="1 Jan 2030")
    done = subprocess.run(["pdftotext", "-layout", str(out), "-"], check=True, capture_output=True, text=True)
    words = set(done.stdout.split())
    assert {one.at for one in sized if one.what != "tube"} <= {w.rstrip(":,.") for w in words}
    assert "WORKING:" in words
    loads = {str(i.props["load"]) for i in plant.items.values() if "load" in i.props}
    printed = re.sub(r"\s+", " ", done.stdout)
    assert loads
    assert all(f"(typed {load})" in printed for load in loads)


def test_nothing_in_a_block_reaches_past_its_column() -> None:
    plant = load(FILE)
    sized = size(plant)
    for wide in (110.0, 180.0):
        for build in report_blocks(sized, "us"):
            for strip in build(wide).body:
                for mark in strip.marks:
                    if isinstance(mark, Text):
                        assert mark.box.x1 <= wide + 0.3, mark.text
                        assert mark.box.y1 <= strip.high + 1.2, mark.text
