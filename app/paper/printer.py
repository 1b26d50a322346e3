"""Sheets on a printer of the system, and the first sheet as pieces for the clipboard."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QMarginsF, QMimeData
from PySide6.QtGui import QImage, QPageLayout, QPainter

from app.paper.layout import Papers
from app.paper.output import png_of, svg_of
from app.paper.painting import paint_page

SVG_MIME = "image/svg+xml"


def print_on(papers: Papers, printer: Any) -> bool:
    """Paint all sheets on a `QPrinter`, each as large as its page lets it; whether the printer took them.

    The page lies as the sheet lies. What is larger than the paper is made smaller, never larger.
    """
    lying = papers.sheet.width > papers.sheet.height
    turn = QPageLayout.Orientation.Landscape if lying else QPageLayout.Orientation.Portrait
    printer.setPageOrientation(turn)
    printer.setPageMargins(QMarginsF(0, 0, 0, 0))
    printer.setDocName(papers.title)
    painter = QPainter()
    if not painter.begin(printer):
        return False
    dots = printer.resolution() / 25.4
    area = printer.pageLayout().paintRectPixels(printer.resolution())
    fit = min(area.width() / (papers.sheet.width * dots), area.height() / (papers.sheet.height * dots), 1.0)
    for number, sheet in enumerate(papers.pages):
        if number:
            printer.newPage()
        painter.save()
        painter.scale(dots * fit, dots * fit)
        paint_page(painter, papers, sheet)
        painter.restore()
    return painter.end()


def pieces(papers: Papers, words: str) -> QMimeData:
    """The first sheet as SVG and PNG, and words: whoever pastes takes what it can."""
    data = QMimeData()
    data.setText(words)
    data.setData(SVG_MIME, svg_of(papers, 0))
    png = png_of(papers, 0)
    data.setImageData(QImage.fromData(png))
    data.setData("image/png", png)
    return data
