"""The boxes of everything on a laid-out sheet, in mm, as the layout itself measures them."""

from __future__ import annotations

from app.paper.layout import Papers
from app.paper.marks import Page, Sign, Text
from app.pens import text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Field
from core.diagram.spots import ASCENT, DESCENT, Row


def row_box(row: Row) -> Box:
    wide = text_width(row.text, row.size, row.bold)
    return Box(row.x, row.y - ASCENT * row.size, row.x + wide, row.y + DESCENT * row.size)


def texts_on(papers: Papers, page: Page) -> list[tuple[str, Box]]:
    out = [(mark.text, mark.box) for mark in page.marks if isinstance(mark, Text)]
    if page.tile is not None:
        picture = papers.picture
        for placed in (*picture.written, *picture.markers.values()):
            if page.tile.source.has(placed.box.centre):
                out += [(row.text, page.tile.on_sheet(row_box(row))) for row in placed.rows]
        for pipe in picture.pipes.values():
            for letter in pipe.letters:
                if page.tile.source.has(letter.at):
                    out.append((letter.text, page.tile.on_sheet(letter.box)))
    return out


def symbols_on(papers: Papers, page: Page) -> list[tuple[str, Box]]:
    out = [(mark.kind, mark.box) for mark in page.marks if isinstance(mark, Sign)]
    if page.tile is not None:
        for item in papers.plant.items.values():
            area = symbols.box(item)
            if page.tile.source.has(area.centre):
                out.append((item.id, page.tile.on_sheet(area)))
    return out


def collisions(papers: Papers) -> list[str]:
    """Texts that lie on texts or symbols, or outside their sheet."""
    found: list[str] = []
    inside = {
        row.text
        for placed in papers.picture.tags.values()
        if placed.spot == ("inside",)
        for row in placed.rows
    }
    for number, page in enumerate(papers.pages, 1):
        texts, things = Field(), Field()
        for name, area in symbols_on(papers, page):
            things.add(area, name)
        for text, box in texts_on(papers, page):
            found += [f"sheet {number}: {text!r} on {other!r}" for _, other in texts.hits(box)]
            texts.add(box, text)
            if text not in inside:
                found += [f"sheet {number}: {text!r} on symbol {name}" for _, name in things.hits(box)]
            if not papers.sheet.frame.grown(5.0).holds(box):
                found.append(f"sheet {number}: {text!r} leaves the sheet")
    return found
