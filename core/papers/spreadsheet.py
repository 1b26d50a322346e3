"""Tables as CSV and XLSX. Texts stay texts: no cell of a stranger's file becomes a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from core.errors import escaped

Cell = str | float | None
FORMULA = ("=", "+", "-", "@", "\t", "\r", "|", "%")


def plain_cell(text: str) -> str:
    """A text as a spreadsheet program reads it from CSV without taking it for a formula.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell("1-1/4 in")
    ("'=1+1", '1-1/4 in')
    """
    safe = escaped(text)
    return f"'{safe}" if safe.lstrip().startswith(FORMULA) else safe


def as_csv(rows: Sequence[Sequence[Cell]]) -> bytes:
    """Rows, the first of them headings, as UTF-8 CSV."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([plain_cell(cell) if isinstance(cell, str) else _number(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def _number(cell: float | None) -> str:
    return "" if cell is None else f"{round(cell, 4):.10g}"


def as_xlsx(title: str, rows: Sequence[Sequence[Cell]]) -> bytes:
    """Rows, the first of them headings, as a workbook of one sheet."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for number, row in enumerate(rows, start=1):
        for column, cell in enumerate(row, start=1):
            if cell is None:
                continue
            place = sheet.cell(number, column)
            if isinstance(cell, str):
                place.value = escaped(cell)
                place.data_type = "s"  # openpyxl takes a text that begins with = for a formula
                place.quotePrefix = cell.lstrip().startswith(FORMULA)
                place.alignment = Alignment(wrap_text=True, vertical="top")
            else:
                place.value = round(cell, 4)
            if number == 1:
                place.font = Font(bold=True)
    for column in range(1, len(rows[0]) + 1):
        widest = max(len(str(row[column - 1] or "")) for row in rows)
        sheet.column_dimensions[get_column_letter(column)].width = min(max(widest + 2, 8), 60)
    sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
