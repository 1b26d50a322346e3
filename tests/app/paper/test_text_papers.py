"""Papers of text on pages: nothing clipped or over anything, headings kept, PDF marks, strangers' words."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from app.paper.binder import bound, paper_sheet, usual_sheet
from app.paper.marks import Text
from app.paper.pager import SIZE, Sheets
from app.paper.text_papers import made_of, make, run
from core.diagram.geometry import Field
from core.errors import Refusal
from core.files.read import load
from core.papers.blocks import Blank, Caution, Contents, Grid, Heading, Paper, Said
from core.plant.model import Plant
from tests.plants.edits import SAMPLES

needs_poppler = pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext (poppler)")
LONG = "words that go on " * 30


def faults(pages: Sheets) -> list[str]:
    """Texts over one another, or beyond the paper."""
    out = []
    for number, page in enumerate(pages.pages, 1):
        texts = Field()
        for mark in page.marks:
            if not isinstance(mark, Text) or not mark.text.strip():
                continue
            box = mark.box
            out += [f"page {number}: {mark.text!r} on {other!r}" for _, other in texts.hits(box.grown(-0.05))]
            texts.add(box, mark.text)
            sheet = pages.sheet
            if box.x0 < 10 or box.x1 > sheet.width - 10 or box.y0 < 4 or box.y1 > sheet.height - 4:
                out.append(f"page {number}: {mark.text!r} leaves the page")
    return out


def strange() -> Paper:
    """Blocks with everything that can be too long."""
    rows = tuple((f"A-{k}", LONG if k == 3 else "x", "1.0 gpm") for k in range(60))
    return Paper(
        "Strange",
        (
            Heading(LONG), Contents(), Said(LONG * 20, links=(("to 2", "two"),)), Caution(LONG),
            Blank(LONG, write="by"), Heading("Second", anchor="two", new_page=True),
            Grid("A table", ("tag", "what", "flow"), rows, frozenset({2}), anchors=("",) * 5 + ("a5",)),
            Grid("", ("a", "a"), (("w" * 300, LONG * 40),)),
        ),
    )  # fmt: skip


@pytest.mark.parametrize("sheet", ["letter", "a4", "tabloid", "arch_d"])
def test_nothing_is_over_anything_whatever_stands_in_it(qapp: QApplication, sheet: str) -> None:
    pages = bound(Plant(title=LONG), strange(), paper_sheet(sheet), "1 Jan 2030")
    assert faults(pages) == []
    assert len(pages.pages) > 2 or sheet != "letter"


def test_the_measure_of_faults_sees_them(qapp: QApplication) -> None:
    pages = bound(Plant(title="x"), strange(), paper_sheet("a4"), "1 Jan 2030")
    first = next(mark for mark in pages.pages[0].marks if isinstance(mark, Text))
    pages.pages[0].add([replace(first, text="over it")])
    pages.pages[0].add([Text("beyond", 205.0, 100.0)])
    found = " ".join(faults(pages))
    assert "over it" in found
    assert "leaves the page" in found


def test_table_headings_are_repeated_and_no_heading_ends_a_page(qapp: QApplication) -> None:
    pages = bound(Plant(title="x"), strange(), paper_sheet("letter"), "1 Jan 2030")
    with_rows = [p for p in pages.pages if any(isinstance(m, Text) and m.text == "1.0 gpm" for m in p.marks)]
    assert len(with_rows) > 1
    for page in with_rows:
        assert any(isinstance(m, Text) and m.text == "flow" and m.bold for m in page.marks)
    for page in pages.pages:
        body = [m for m in page.marks if isinstance(m, Text) and m.y < pages.sheet.height - 15]
        assert max(body, key=lambda mark: mark.y).level == 0


@pytest.mark.parametrize("name", ["potting_shed", "bakery_loft"])
@pytest.mark.parametrize("paper", ["wiring", "start-up", "service"])
def test_papers_of_samples_have_no_fault_in_either_system(qapp: QApplication, name: str, paper: str) -> None:
    plant = load(SAMPLES / f"{name}.plant.json")
    from core.solve import solve_plant

    solutions = solve_plant(plant)
    for units in ("us", "si"):
        shown = replace(plant, units=units)
        pages = bound(shown, made_of(shown, solutions, paper), paper_sheet(usual_sheet(shown)), "1 Jan 2030")
        assert faults(pages) == []
        words = " ".join(m.text for p in pages.pages for m in p.marks if isinstance(m, Text))
        # Trade sizes are names: inches and millimeters of tube stay.
        foreign = {"us": r"\d (kPa|kW|L/s|°C)\b", "si": r"\d (gpm|psi|kBtu/h|ft|°F)\b"}[units]
        assert not re.findall(foreign, words)
        assert "CAUTION" in words
        assert min(m.size for p in pages.pages for m in p.marks if isinstance(m, Text)) >= SIZE  # 9 pt


@needs_poppler
def test_the_pdf_is_searchable_with_bookmarks_links_and_metadata(qapp: QApplication, tmp_path: Path) -> None:
    plant = load(SAMPLES / "potting_shed.plant.json")
    plant = replace(plant, sheet={"number": "M-1", "drawn_by": "A. Hand", "owner": "The shed"})
    out = tmp_path / "start.pdf"
    make(plant, (), "start-up", out)
    info = _tool("pdfinfo", str(out))
    assert re.search(r"Author:\s+A. Hand", info)
    assert re.search(r"Subject:\s+start-up sheet · M-1", info)
    assert "612 x 792" in info
    text = _tool("pdftotext", "-layout", str(out), "-")
    assert "1 Gate: before any water or heat" in text
    content = out.read_bytes()
    assert b"/Outlines" in content
    assert content.count(b"/Parent") > 10
    fonts = _tool("pdffonts", str(out)).splitlines()[2:]
    assert fonts
    assert all(line.split()[-5] == "yes" for line in fonts), "embedded"


def _tool(*words: str) -> str:
    return subprocess.run(words, check=True, capture_output=True, text=True).stdout


def test_a_strangers_words_come_out_as_plain_text(qapp: QApplication) -> None:
    plant = load(SAMPLES / "potting_shed.plant.json")
    odd = "<b>x</b>\u202e\x07"
    plant = replace(
        plant, title=odd, items={k: replace(i, label=odd, note=odd) for k, i in plant.items.items()}
    )
    for name in ("wiring", "start-up", "service"):
        pages = bound(plant, made_of(plant, (), name), paper_sheet("a4"), "1 Jan 2030")
        words = " ".join(m.text for p in pages.pages for m in p.marks if isinstance(m, Text))
        assert "\u202e" not in words
        assert "\x07" not in words
        assert "<b>x</b>\\u202e\\u0007" in words


def test_commands_write_and_refuse(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shed = str(SAMPLES / "potting_shed.plant.json")
    out = tmp_path / "s.pdf"
    assert run([shed, "-o", str(out), "--sheet", "a4"], "service") == 0
    assert capsys.readouterr().out == f"{out}\n"
    assert out.read_bytes().startswith(b"%PDF")
    with pytest.raises(Refusal, match="never overwritten"):
        run([shed, "-o", shed], "service")
    with pytest.raises(Refusal, match="one of a4"):
        run([shed, "-o", str(out), "--sheet", "b17"], "start-up")
