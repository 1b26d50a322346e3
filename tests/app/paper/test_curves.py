"""Circulators' curves on paper: inside their column, in words that can be searched, through the command."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import print_plant
from app.paper.command import run
from app.paper.curves import CurveSheet, curve_blocks, curve_sheets
from app.paper.marks import Graph, Text
from core.files.read import load
from core.plant.model import Plant
from core.solve import solve_case

FILE = Path(__file__).parents[3] / "sample_plants" / "potting_shed.plant.json"


@pytest.fixture(scope="module")
def sheets() -> tuple[Plant, list[CurveSheet]]:
    plant = load(FILE)
    return plant, curve_sheets(plant, plant.solve_cases[1], "us")


def test_table_is_that_of_the_solved_case(sheets: tuple[Plant, list[CurveSheet]]):
    plant, (sheet,) = sheets
    figures = solve_case(plant, plant.solve_cases[1]).items["P-1"]
    one = sheet.curves.rows[0]
    assert (one.flow, one.head) == pytest.approx((figures.flow_m3_s, figures.head_m), rel=1e-9)
    assert [row.words for row in sheet.curves.rows] == ["one", "two in series", "two in parallel"]
    assert any("series" in text for text in sheet.told)


@pytest.mark.parametrize("wide", [115.0, 180.0])
def test_nothing_reaches_past_its_column(
    qapp: QApplication, sheets: tuple[Plant, list[CurveSheet]], wide: float
):
    for build in curve_blocks(sheets[1], "us"):
        (strip,) = build(wide).body
        texts = [mark for mark in strip.marks if isinstance(mark, Text)]
        (graph,) = [mark for mark in strip.marks if isinstance(mark, Graph)]
        for mark in texts:
            assert mark.box.x1 <= wide + 0.3, mark.text
            assert mark.box.y1 <= strip.high, mark.text
            assert not mark.box.overlaps(graph.box), mark.text
        assert graph.box.y1 <= strip.high
        drawn = graph.plot.frame
        assert drawn.x1 * graph.scale <= graph.box.width
        assert drawn.y1 * graph.scale <= graph.box.height


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext (poppler)")
def test_names_on_curves_are_text_in_the_pdf(
    qapp: QApplication, sheets: tuple[Plant, list[CurveSheet]], tmp_path: Path
):
    plant, curves = sheets
    out = tmp_path / "curves.pdf"
    print_plant(plant, solve_case(plant, plant.solve_cases[1]), out, curves=curves, date="1 Jan 2030")
    done = subprocess.run(["pdftotext", "-layout", str(out), "-"], check=True, capture_output=True, text=True)
    for words in ("CURVES OF P-1", "two in series", "two in parallel", "system", "flow, gpm", "head, ft"):
        assert words in done.stdout, words


def test_command_prints_them_when_asked(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    plain, more = tmp_path / "plain.svg", tmp_path / "more.svg"
    assert run([str(FILE), "-o", str(plain)]) == 0
    assert run([str(FILE), "-o", str(more), "--curves"]) == 0
    capsys.readouterr()
    text = "".join(path.read_text() for path in tmp_path.glob("more*.svg"))
    assert "CURVES OF P-1" in text
    assert "CURVES OF P-1" not in "".join(path.read_text() for path in tmp_path.glob("plain*.svg"))
