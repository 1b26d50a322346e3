"""Writes laid-out sheets as PDF, SVG or PNG: to a file beside the wanted one first, then in its place."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QRect, QSize, QSizeF, Qt
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtSvg import QSvgGenerator

from app.paper.layout import Papers
from app.paper.marks import Text
from app.paper.pager import Sheets
from app.paper.painting import paint_page
from app.paper.pdf_marks import PdfMarks, Spot, marked
from core.errors import Refusal, escaped
from core.files.places import spare_plants
from core.files.save import put, why

FORMATS = ("pdf", "svg", "png")
PDF_DPI, PNG_DPI = 1200, 200
INCH = 25.4  # [mm]


def check_out(out: Path) -> str:
    """The format of the wanted file, refused in one line where it cannot be written."""
    suffix = out.suffix.lower().removeprefix(".")
    try:
        _check_place(out, suffix)
    except OSError as error:
        raise _cannot(out, error) from None
    return suffix


def _cannot(out: Path, error: OSError) -> Refusal:
    return Refusal("", f"{out}: {why(error, out)}", "a file that can be written")


def _check_place(out: Path, suffix: str) -> None:
    spare_plants(out, "a file to print to")
    if suffix not in FORMATS:
        raise Refusal("", str(out), f"a file ending in {', '.join(f'.{f}' for f in FORMATS)}")
    if out.is_dir():
        raise Refusal("", f"a folder {out}", "a file to print to")
    if not out.parent.is_dir():
        raise Refusal("", str(out), "a file in a folder that exists", f"There is no folder {out.parent}.")
    out.exists()  # a name too long is an error of the system


def write(papers: Papers | Sheets, out: Path) -> list[Path]:
    """Write all sheets; PDF holds them all, SVG and PNG are one file a sheet. Gives the files written.

    The file that was named is written anew, through a link if it is one; no other file is.

    Raises
    ------
    Refusal
        Where the file cannot be written, with what the system says; where a further sheet would take
        the place of a file that nobody named
    """
    suffix = check_out(out)
    try:
        if suffix == "pdf":
            put(_pdf(papers), out.resolve())
            return [out]
        further = [out.with_name(f"{out.stem}-{n + 1}{out.suffix}") for n in range(1, len(papers.pages))]
        for target in further:
            if target.exists() or target.is_symlink():
                hint = "Delete it, name another file, or print one .pdf"
                raise Refusal("", f"{target} already there", "no file where a further sheet goes", hint)
        for number, target in enumerate([out, *further]):
            content = svg_of(papers, number) if suffix == "svg" else png_of(papers, number)
            put(content, target.resolve())
        return [out, *further]
    except OSError as error:
        raise _cannot(out, error) from None


def _marks(papers: Papers | Sheets) -> PdfMarks:
    """Bookmarks, anchors and links of the pages, and what the file says of itself."""
    out = PdfMarks(papers.sheet.height)
    for number, page in enumerate(papers.pages):
        for mark in page.marks:
            if not isinstance(mark, Text):
                continue
            spot = Spot(number, mark.x, mark.y)
            if mark.anchor:
                out.anchors.setdefault(mark.anchor, spot)
            if mark.level:
                out.bookmarks.append((mark.level, mark.text, spot))
            if mark.link:
                box = mark.box
                out.links.append((Spot(number, box.x0, box.y0), box.x1, box.y1, mark.link))
    out.info = {name: escaped(text) for name, text in papers.info.items() if text}
    return out


def _pdf(papers: Papers | Sheets) -> bytes:
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(PDF_DPI)
    writer.setTitle(escaped(papers.title))
    writer.setCreator("Wetside")
    size = QSizeF(papers.sheet.width, papers.sheet.height)
    # Qt keeps a page on its short side and turns it: the long side comes by the orientation.
    lying = size.width() > size.height()
    upright = size.transposed() if lying else size
    turn = QPageLayout.Orientation.Landscape if lying else QPageLayout.Orientation.Portrait
    page = QPageSize(upright, QPageSize.Unit.Millimeter, papers.sheet.name)
    layout = QPageLayout(page, turn, QMarginsF(0, 0, 0, 0))
    layout.setMode(QPageLayout.Mode.FullPageMode)
    writer.setPageLayout(layout)
    painter = QPainter(writer)
    for number, sheet in enumerate(papers.pages):
        if number:
            writer.newPage()
        painter.save()
        painter.scale(PDF_DPI / INCH, PDF_DPI / INCH)
        paint_page(painter, papers, sheet)
        painter.restore()
    painter.end()
    buffer.close()
    return marked(bytes(data.data()), _marks(papers))


def svg_of(papers: Papers | Sheets, number: int) -> bytes:
    """At 2540 dots an inch a dot is 0.01 mm, so that the sheet's size comes out exact."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setResolution(2540)
    wide, high = round(papers.sheet.width * 100), round(papers.sheet.height * 100)
    generator.setSize(QSize(wide, high))
    generator.setViewBox(QRect(0, 0, wide, high))
    generator.setTitle(escaped(papers.title))
    painter = QPainter(generator)
    painter.scale(100, 100)
    paint_page(painter, papers, papers.pages[number])
    painter.end()
    buffer.close()
    return bytes(data.data())


def png_of(papers: Papers | Sheets, number: int) -> bytes:
    scale = PNG_DPI / INCH
    image = QImage(
        round(papers.sheet.width * scale), round(papers.sheet.height * scale), QImage.Format.Format_RGB32
    )
    image.setDotsPerMeterX(round(scale * 1000))
    image.setDotsPerMeterY(round(scale * 1000))
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(scale, scale)
    paint_page(painter, papers, papers.pages[number])
    painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    buffer.close()
    return bytes(data.data())
