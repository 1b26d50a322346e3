"""The editor of a row: a line, several, a pick from a list, ticks."""

from __future__ import annotations

from app.panels import typed
from app.panels.rows import Row
from app.widgets.field import Choice, Editor, Line, Lines, Pick
from app.widgets.ticks import Ticks


def editor_of(row: Row) -> Editor:
    """A fresh editor for what a row takes."""
    editor: Editor
    if row.shape == "choice":
        return Choice([words for words, _ in row.choices], [value for _, value in row.choices])
    if row.shape == "pick":
        editor = Pick([words for words, _ in row.choices])
    elif row.shape == "lines":
        editor = Lines()
    elif row.shape == "ticks":
        editor = Ticks([name for name, _ in row.choices], typed.ticks_of, typed.text_of_ticks)
    else:
        editor = Line()
    if row.empty:
        editor.setPlaceholderText(row.empty)
    return editor
