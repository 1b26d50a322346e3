"""The papers of text: header, foot and cautions put round their pages, and written as a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from app.paper.blocks import Builder, Strip
from app.paper.layout import info_of
from app.paper.marks import Mark, Rule, Text, clipped
from app.paper.output import check_out, write
from app.paper.pager import BINDING, CHAPTER, FOOT, MARGIN, SIZE, Sheets, caution_strip, paged
from app.pens import text_width
from core.diagram.sheets import SIZES, Sheet, sheet_named
from core.errors import Refusal, escaped
from core.papers.accepted import accepted_blocks
from core.papers.blocks import Paper
from core.papers.one_system import in_one_system
from core.papers.plant_words import BOX, ONE_LINE, display_of
from core.plant.model import Plant


def paper_sheet(name: str, lying: bool = False) -> Sheet:
    """A sheet on its short side, or its long one.

    Raises
    ------
    Refusal
        A size that is not known
    """
    found = sheet_named(name)
    if found is None:
        raise Refusal("--sheet", name, f"one of {', '.join(SIZES)}")
    return found if lying else Sheet(found.name, found.height, found.width)


def usual_sheet(plant: Plant, large: bool = False) -> str:
    """The size a plant's papers have where none is named."""
    if plant.units == "us":
        return "tabloid" if large else "letter"
    return "a3" if large else "a4"


def bound(
    plant: Plant, paper: Paper, sheet: Sheet, date: str, drawn: Mapping[str, Sequence[Builder]] | None = None
) -> Sheets:
    """The pages of a paper with all that stands round them."""
    blocks = paper.blocks if paper.tells_accepted else (*paper.blocks, *accepted_blocks(plant))
    blocks = in_one_system(blocks, plant, display_of(plant))
    out = paged(replace(paper, blocks=blocks), sheet, first=_box(sheet).high + 1.5, drawn=drawn)
    out.info = info_of(plant, paper.title.lower())
    for number, page in enumerate(out.pages, 1):
        page.add(_header(plant, paper, sheet, date))
        page.add(_foot(sheet, number, len(out.pages)))
    out.pages[0].add(_box(sheet).marks, BINDING, out.columns[0].y0)
    return out


def write_paper(
    plant: Plant, paper: Paper, out: Path, sheet: Sheet, date: str,
    drawn: Mapping[str, Sequence[Builder]] | None = None,
) -> list[Path]:  # fmt: skip
    """Write a paper; gives the files written. Needs a QGuiApplication."""
    check_out(out)
    return write(bound(plant, paper, sheet, date, drawn), out)


def _box(sheet: Sheet) -> Strip:
    return caution_strip(BOX, sheet.width - BINDING - MARGIN)


def _header(plant: Plant, paper: Paper, sheet: Sheet, date: str) -> list[Mark]:
    """Plant and paper to the left; owner, number, people and date to the right; a line under them."""
    x0, x1 = BINDING, sheet.width - MARGIN
    said = {key: escaped(value) for key, value in plant.sheet.items() if isinstance(value, str)}
    revisions = plant.sheet.get("revisions") or ()
    names = (("drawn_by", "drawn"), ("checked_by", "checked"), ("approved_by", "approved"))
    people = [f"{words} {said[key]}" for key, words in names if said.get(key)]
    revision = f"rev. {escaped(str(revisions[-1][0]))}" if revisions else ""
    right = [
        " · ".join(part for part in (said.get("number", ""), revision, said.get("date") or date) if part),
        " · ".join(part for part in (said.get("owner", ""), *people) if part),
    ]
    marks: list[Mark] = []
    widest = 0.0
    for k, line in enumerate(right):
        short = clipped(line, 0.5 * (x1 - x0), SIZE)
        widest = max(widest, text_width(short, SIZE))
        if short:
            marks.append(Text(short, x1 - text_width(short, SIZE), 9.0 + 4.4 * k, SIZE))
    room = x1 - x0 - widest - 6.0
    marks.append(
        Text(clipped(escaped(plant.title) or "untitled plant", room, CHAPTER, True), x0, 9.4, CHAPTER, True)
    )
    marks.append(Text(clipped(escaped(paper.title), room, SIZE), x0, 13.8, SIZE))
    marks.append(Rule(x0, 15.6, x1, 15.6, 0.5))
    return marks


def _foot(sheet: Sheet, number: int, count: int) -> list[Mark]:
    x0, x1 = BINDING, sheet.width - MARGIN
    base = sheet.height - FOOT + 6.0
    page = f"{number} of {count}"
    wide = text_width(page, SIZE)
    words = clipped(ONE_LINE, x1 - x0 - wide - 6.0, SIZE)
    return [
        Rule(x0, base - 4.4, x1, base - 4.4, 0.25),
        Text(words, x0, base, SIZE),
        Text(page, x1 - wide, base, SIZE),
    ]
