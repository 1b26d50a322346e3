"""The editor of a row: a line, several, a pick from a list, ticks, a table of cells."""

from __future__ import annotations

from app.panels.cells import Cells
from app.widgets.field import Editor, Line, Lines
from app.widgets.picks import Choice, Pick
from app.widgets.ticks import Ticks
from core.forms.as_read import bare_of, reading_of_cell
from core.forms.rows import Row
from core.forms.typed import names_of, text_of_names, text_of_ticks, ticks_of


def editor_of(row: Row, system: str) -> Editor:
    """A fresh editor for what a row takes; `system` is that of the plant's units."""
    editor: Editor
    if row.table is not None:
        return Cells(
            row.table,
            lambda column, unit, text: reading_of_cell(column, system, unit, text),
            lambda column, texts: bare_of(column, texts, system),
        )
    if row.shape == "choice":
        return Choice([words for words, _ in row.choices], [value for _, value in row.choices])
    if row.shape == "pick":
        editor = Pick([words for words, _ in row.choices])
    elif row.shape == "lines":
        editor = Lines()
    elif row.shape == "ticks":
        editor = Ticks([name for name, _ in row.choices], ticks_of, text_of_ticks)
    elif row.shape == "names":
        editor = Ticks([name for name, _ in row.choices], names_of, text_of_names, only_names=True)
    else:
        editor = Line()
    if row.empty:
        editor.setPlaceholderText(row.empty)
    return editor
