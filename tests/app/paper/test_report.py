"""The design report: every answer with its reason, each number once, one unit system, few pages."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication

from app.paper.binder import bound, paper_sheet
from app.paper.marks import Text
from app.paper.pager import SIZE, Sheets
from app.paper.report_command import gathered
from core.files.read import load
from core.papers.blocks import Grid, Heading, Said
from core.papers.report import BY_PIPE, Facts, report_paper
from core.plant.model import Plant
from core.review.finding import Acceptance, Finding
from core.sizing.table import grouped
from core.solve import solve_plant
from tests.app.paper.test_text_papers import faults
from tests.plants.edits import SAMPLES
from tests.support.printed import foreign_units

CHAPTERS = ("What the plant must do", "What it does", "What differs from the drawing", "Dangers", "Money",
            "Open questions", "Loads", "Cases", "Curves", "Sizes", "Punch list", "Still to do", "Workings",
            "Sources")  # fmt: skip


def made(name: str, **more: object) -> tuple[Plant, Facts]:
    plant = replace(load(SAMPLES / f"{name}.plant.json"), **more)
    return plant, gathered(plant, list(solve_plant(plant)))


@pytest.fixture(scope="module")
def kennel() -> tuple[Plant, Facts]:
    return made("kennel_clinic")


@pytest.fixture(scope="module")
def shed() -> tuple[Plant, Facts]:
    return made("potting_shed")


def cells(plant: Plant, facts: Facts) -> list[str]:
    grids = [block for block in report_paper(plant, facts).blocks if isinstance(block, Grid)]
    return [cell for grid in grids for row in grid.rows for cell in row]


def words(pages: Sheets) -> str:
    return " ".join(m.text for page in pages.pages for m in page.marks if isinstance(m, Text))


def test_kennel_clinic_has_every_chapter_on_few_tabloid_pages_at_nine_points(
    qapp: QApplication, kennel: tuple[Plant, Facts]
) -> None:
    plant, facts = kennel
    pages = bound(plant, report_paper(plant, facts), paper_sheet("tabloid", True), "1 Jan 2030")
    assert faults(pages) == []
    assert len(pages.pages) <= 20
    assert min(m.size for page in pages.pages for m in page.marks if isinstance(m, Text)) >= SIZE
    heads = [m.text for page in pages.pages for m in page.marks if isinstance(m, Text) and m.level == 1]
    before = CHAPTERS.index("Still to do")
    assert tuple(heads) == (*CHAPTERS[:before], "Logbook", *CHAPTERS[before:])  # this one keeps a logbook
    begins = {m.text: n for n, page in enumerate(pages.pages, 1) for m in page.marks
              if isinstance(m, Text) and m.level == 1}  # fmt: skip
    assert (begins["Money"], begins["Open questions"], begins["Loads"]) == (1, 2, 3), (
        "two pages to read first"
    )
    printed = words(pages)
    assert {one.at for one in facts.sized} <= {word.rstrip(":,.;") for word in printed.split()}
    assert not [cell for cell in cells(plant, facts) if "as above;" in cell or cell == "as above"]


def test_every_number_stands_in_one_row_and_every_reference_leads_to_it(
    qapp: QApplication, kennel: tuple[Plant, Facts]
) -> None:
    plant, facts = kennel
    blocks = report_paper(plant, facts).blocks
    start = next(k for k, b in enumerate(blocks) if isinstance(b, Heading) and b.text == "Workings")
    grids = [block for block in blocks[start:] if isinstance(block, Grid) and block.anchors]
    anchors = [anchor for grid in grids for anchor in grid.anchors]
    assert len(anchors) == len(set(anchors))
    printed = [cell for grid in grids for row in grid.rows for cell in row]
    named = {f"w{n}" for cell in printed for n in re.findall(r"\[(\d+)\]", cell)}
    linked = {link for block in blocks if isinstance(block, Said) for _, link in block.links}
    assert named | linked <= {*anchors, "sizes", "punch list"}
    # The answers themselves are among the rows.
    rows = {row[1].split(" = ")[0] for grid in grids for row in grid.rows if len(row) > 1}
    pipes = [one for one in facts.sized if one.what in BY_PIPE]
    first = {(group.first.what, group.first.at) for group in grouped(pipes)}
    told = (one for one in facts.sized if one.what not in BY_PIPE or (one.what, one.at) in first)
    assert {one.working.words for one in told if one.working and one.working.inputs} <= rows


def test_what_was_typed_is_at_the_end_of_the_workings(shed: tuple[Plant, Facts]) -> None:
    plant, facts = shed
    loads = {str(item.props["load"]) for item in plant.items.values() if "load" in item.props}
    assert loads
    assert loads <= set(re.findall(r"[\d.]+ kBtu/h", " ".join(cells(plant, facts))))


@pytest.mark.parametrize(("name", "display"), [("bakery_loft", "si"), ("potting_shed", "us")])
def test_one_unit_system_throughout(qapp: QApplication, name: str, display: str) -> None:
    plant, facts = made(name)
    printed = words(bound(plant, report_paper(plant, facts), paper_sheet("a3", True), "1 Jan 2030"))
    found = foreign_units(printed, "si" if display == "si" else "us")
    # Inch and millimeter tubes are called by their names.
    assert [text for text in found if not text.endswith((" in", " mm"))] == []


def test_punch_list_tells_what_was_accepted_and_why(shed: tuple[Plant, Facts]) -> None:
    plant, facts = shed
    given = Acceptance("The owner wants it so.", "A. Hand", "the inspector", "2030-01-01")
    finding = next(iter(facts.findings), None)
    if finding is None:
        from core.review.finding import Found
        from core.review.rules import RULES

        finding = Finding(RULES[0], Found(("P-1",), "It is so."))
    facts = replace(facts, findings=[replace(finding, accepted=given)])
    assert "accepted: The owner wants it so. (A. Hand, the inspector and 2030-01-01)" in cells(plant, facts)


def test_each_source_is_listed_once_with_its_standing(shed: tuple[Plant, Facts]) -> None:
    plant, facts = shed
    blocks = report_paper(plant, facts).blocks
    grid = blocks[-1]
    assert isinstance(grid, Grid)
    texts = [row[1] for row in grid.rows]
    assert len(texts) == len(set(texts)) > 5
    assert {row[2] for row in grid.rows} <= {
        "published", "from memory", "common practice", "default of the program",
    }  # fmt: skip
