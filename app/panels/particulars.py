"""The particulars: who is selected, what was typed of it, what was solved. Edits go to the document as typed.

With nothing selected it shows the sheet: title, site, the case, the systems.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.document import Document
from app.panels import figures
from app.panels.editors import editor_of
from app.panels.figure_list import FigureList
from app.panels.form_parts import (
    Head,
    NotTaken,
    SystemButtons,
    Waiting,
    fold,
    heading,
    on_board,
    rule,
    swap_form,
)
from app.panels.joined import JoinedList, joined_rows
from app.panels.last_good import kept_words, resting_words
from app.pens import Palette
from app.widgets.field import Field, Line
from core.diagram.states import SolvedCase
from core.errors import Refusal
from core.forms import sheet_rows
from core.forms.as_read import as_read, reading, together, unit_of
from core.forms.many import counted, many_sections
from core.forms.pipe_rows import pipe_sections
from core.forms.rows import Row, Section, item_sections, text_sections
from core.plant import texts
from core.plant.changes import Change
from core.plant.edits import rename
from core.plant.model import Plant
from core.vocabulary import KINDS
from core.water.resting import SIGN, resting

SHEET = ""
MANY = " several"
"""Never a tag: several things at once."""


class Particulars(QWidget):
    """Follows the document's selection."""

    refused = Signal(str)
    left = Signal()
    """Escape in a field that holds nothing new: back to the board."""
    renamed_case = Signal(str, str)
    """Old and new name."""
    rests = Signal(object)
    """Ids whose figures rest on a last good value, since what was typed after it was not taken."""
    pointed = Signal(str, str)
    """Id and property for which something is to be clicked on the board."""
    asked_working = Signal(str, str)
    """Id and key of a figure whose working is wanted."""

    def __init__(
        self, document: Document, palette: Palette, zone_of: Callable[[str], str], parent: QWidget
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName("Particulars")
        self._document, self._zone_of = document, zone_of
        self._solution: SolvedCase | None = None
        self._case = ""
        self._shown: object = None
        self._rows: list[tuple[Row, Field]] = []
        self._figures: FigureList | None = None
        self._open: set[str] = set()
        self._begun = False
        self._due = False
        self.waiting = Waiting(self)
        self.waiting.wanted.connect(self.go_to)
        self.waiting.restored.connect(self._make_anew)
        self.waiting.changed.connect(self._tell_rests)
        self._head = Head(palette, self)
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._head)
        column.addWidget(rule(self))
        column.addWidget(self.waiting)
        column.addWidget(self._scroll, 1)
        document.changed.connect(self._follow)
        document.selection_changed.connect(self.refresh)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    # ---- what the window tells ------------------------------------------------------

    def show_solution(self, case: str, solution: SolvedCase | None) -> None:
        changed = self._due or case != self._case
        self._case, self._solution, self._due = case, solution, False
        if changed:
            self.refresh()
        else:
            self._show_figures()

    def begin(self) -> None:
        """Make the first form: once the window is there."""
        if not self._begun:
            self._begun = True
            self.refresh()

    def _follow(self, changes: object) -> None:
        """A whole new plant has cases of its own: its form is made when the one in sight is told."""
        if changes is None:
            self._begun = self._due = True
            self.waiting.clear()
        else:
            self.refresh()

    def show_palette(self, palette: Palette) -> None:
        self._head.picture.colours = palette
        self.update()

    def field(self, key: str) -> Field:
        """The field of a row, by its key; opened where it is folded away."""
        self._unfold(key)
        return next(field for row, field in self._rows if row.key == key)

    def _unfold(self, key: str) -> None:
        if any(row.key == key for row, _ in self._rows):
            return
        for section in self._sections():
            if section.folded and any(row.key == key for row in section.rows):
                self._open.add(section.title)
        self._make_anew()

    def _make_anew(self) -> None:
        self._shown = None
        self.refresh()

    def keys(self) -> list[str]:
        return [row.key for row, _ in self._rows]

    def focus_first(self) -> None:
        if self._rows:
            self._rows[0][1].editor.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def finish_typing(self) -> None:
        """Commit the field that has the keyboard, as leaving it would."""
        focus = self.window().focusWidget()
        field = next((field for _, field in self._rows if focus and field.isAncestorOf(focus)), None)
        if field is not None:
            field.commit()

    # ---- the form -------------------------------------------------------------------

    @property
    def subject(self) -> str:
        """Id of what is shown, `SHEET` when it is the sheet."""
        chosen = self._document.selection
        return next(iter(chosen)) if len(chosen) == 1 else SHEET

    def refresh(self) -> None:
        """Fill the fields; a new form only for another thing, so that typing is not disturbed.

        Out of sight it waits until it is seen.
        """
        if not self._begun or self.isHidden():
            return
        shape = self._shape()
        if shape != self._shown:
            self._shown = shape
            self._build()
        self.waiting.show_others(self._typed_for, self._document.knows)
        for row, field in self._rows:
            field.put(row.read(self._document.plant))
            self._show_unit(row, field)
            if row.key.startswith("system."):
                field.setVisible(sheet_rows.system_wants(row, self._document.plant))
        self._show_head()
        self._show_figures()

    def _shape(self) -> object:
        plant, name = self._document.plant, self.subject
        if len(self._document.selection) > 1:
            kinds = tuple(
                plant.items[one].kind for one in sorted(self._document.selection & plant.items.keys())
            )
            return "many", self._document.selection, kinds, tuple(plant.systems), plant.units
        if texts.number_of(name) is not None:
            return "text", name
        if name in plant.items:
            return "item", name, plant.items[name].kind, plant.units, joined_rows(plant, plant.items[name])
        if name in plant.pipes:
            return "pipe", name, tuple(plant.systems), plant.units
        cases = tuple(case.name for case in plant.cases)
        held = frozenset(pipe.system for pipe in plant.pipes.values())
        return "sheet", self._case, cases, tuple(plant.systems), held, plant.units

    def _sections(self) -> list[Section]:
        plant, name = self._document.plant, self.subject
        if len(self._document.selection) > 1:
            return many_sections(plant, sorted(self._document.selection))
        if (number := texts.number_of(name)) is not None:
            return text_sections(number)
        if name in plant.items:
            return item_sections(plant, plant.items[name])
        if name in plant.pipes:
            return pipe_sections(plant, plant.pipes[name])
        return sheet_rows.sheet_sections(plant, self._case)

    def _build(self) -> None:
        held = self._held()
        self._rows = []
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(14, 6, 8, 14)
        column.setSpacing(1)
        name = self.subject
        if self._document.knows(name) and texts.number_of(name) is None:
            column.addWidget(self._tag_field(name))
        self._figures = FigureList(inner)
        self._figures.asked.connect(lambda key: self.asked_working.emit(name, key))
        column.addWidget(self._figures)
        for section in self._sections()[:1]:
            self._add_section(column, section)
        if name in self._document.plant.items:
            plant = self._document.plant
            joined = JoinedList(joined_rows(plant, plant.items[name]), inner)
            joined.asked.connect(lambda pipe: self._document.select([pipe]))
            column.addWidget(joined)
        for section in self._sections()[1:]:
            self._add_section(column, section)
        if not name and not self._document.selection:
            column.addSpacing(8)
            column.addWidget(SystemButtons(self._document.plant, self._do))
        column.addStretch(1)
        swap_form(self._scroll, inner)
        self._hold_again(held)

    def _held(self) -> tuple[str, int] | None:
        """Key and rank of the row that has the keyboard, if one has."""
        focus = self.window().focusWidget()
        for rank, (row, field) in enumerate(self._rows):
            if focus is not None and field.isAncestorOf(focus):
                return row.key, rank
        return None

    def _hold_again(self, held: tuple[str, int] | None) -> None:
        """The keyboard stays in the same row of another form: a new tag must not throw it out of here."""
        if held is None or not self._rows:
            return
        key, rank = held
        same = next((field for row, field in self._rows if row.key == key), None)
        field = same or self._rows[min(rank, len(self._rows) - 1)][1]
        field.editor.setFocus(Qt.FocusReason.OtherFocusReason)

    def _tag_field(self, name: str) -> Field:
        row = Row("id", "Tag", lambda _plant: name, lambda plant, text: rename(plant, name, text.strip()))

        def take(text: str) -> None:
            other, plant = text.strip(), self._document.plant
            if other != name and self._document.knows(other):
                what = KINDS[plant.items[other].kind].title if other in plant.items else "a pipe"
                where = f" at {zone}" if (zone := self._zone_of(other)) else ""
                raise Refusal("", f'"{other}"', "a tag that is free", f"{other} is in use: {what}{where}.")
            self._document.do(f"Rename {name}", row.write(self._document.plant, text))
            self.waiting.moved(name, text.strip())
            self._document.select([text.strip()])

        field = Field("Tag", Line(), take, hint="Its name in lists, on the board and on paper.")
        self._rows.append((row, field))
        return field

    def _add_section(self, column: QVBoxLayout, section: Section) -> None:
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(1)
        if section.title:
            column.addSpacing(6)
            column.addWidget(rule(self))
            if section.folded:
                column.addWidget(self._fold(section, body))
            else:
                column.addWidget(heading(section.title))
        column.addWidget(body)
        if section.folded and section.title not in self._open:
            body.hide()
        else:
            self._fill(body, section)

    def _fold(self, section: Section, body: QWidget) -> QWidget:
        def show(on: bool) -> None:
            if on:
                self._fill(body, section)
            body.setVisible(on)
            (self._open.add if on else self._open.discard)(section.title)

        return fold(section.title, section.title in self._open, show)

    def _fill(self, body: QWidget, section: Section) -> None:
        """Fields are made only once they are to be seen: selecting a thing must be quick."""
        inner = body.layout()
        if inner is not None and not inner.count():
            for row in section.rows:
                field = self._field(row)
                inner.addWidget(field)
                if row.shape in ("ticks", "pick") and row.pointed and self._typed_for == self.subject:
                    inner.addWidget(on_board(partial(self.pointed.emit, self.subject, row.key)))
                field.put(row.read(self._document.plant))
                self._restore(row, field)

    @property
    def _typed_for(self) -> str:
        """The thing for which refused texts are kept; several things together have a name of their own."""
        chosen = self._document.selection
        return self.subject if len(chosen) < 2 else MANY

    def _restore(self, row: Row, field: Field) -> None:
        """What was refused of this row before stands in it again."""
        self._show_unit(row, field)
        kept = self.waiting.of(self._typed_for, row.key)
        if kept is not None:
            field.restore(kept.text, kept.reason)

    def _show_unit(self, row: Row, field: Field) -> None:
        if isinstance(field.editor, Line) and row.dimensions:
            field.editor.unit = unit_of(row, self._document.plant)

    def words_not_taken(self) -> str:
        """What was typed and no field took; empty where all was taken."""
        return self.waiting.words(self._document.knows)

    def go_to_not_taken(self) -> None:
        for one in self.waiting.all(self._document.knows)[:1]:
            self.go_to(one.subject, one.key)

    def go_to(self, subject: str, key: str) -> None:
        """Select a thing and put the keyboard in one of its fields."""
        self._document.select([subject] if subject else [])
        self._unfold(key)
        held = {row.key: field for row, field in self._rows}
        if key in held:
            held[key].editor.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _field(self, row: Row) -> Field:
        editor = editor_of(row, self._document.plant.units)
        document, subject = self._document, self._typed_for
        field = Field(
            row.name,
            editor,
            lambda text: self._take(row, text),
            lambda text: row.by_plant(document.plant, text) or row.beside(text),
            row.hint,
            reading=(lambda text: reading(row, document.plant, text)) if row.dimensions else None,
        )

        if subject != MANY:
            field.refused.connect(
                lambda text, why: self.waiting.keep(NotTaken(subject, row.key, row.name, text, why))
            )
        field.mended.connect(lambda: self.waiting.drop(subject, row.key))
        self._rows.append((row, field))
        return field

    def _take(self, row: Row, text: str) -> None:
        """Store a typed text; fields that wait with an error are tried again, together if need be.

        So a control that wants a target may be chosen before the target is typed.
        """
        waiting = [(other, field) for other, field in self._rows if field.error and other.key != row.key]
        typed = [(row, text), *((other, field.editor.text_now()) for other, field in waiting)]
        words = f"Change {row.name.lower()} of {self._called()}"
        case = self._case
        try:
            plant = self._document.plant
            self._document.do(words, row.write(plant, as_read(row, plant, text)))
        except Refusal as alone:
            if not waiting:
                raise
            try:
                self._document.do(words, together(self._document.plant, typed))
            except Refusal:
                raise alone from None
            return
        if row.key == "case.name":
            self.renamed_case.emit(case, text.strip())
        for _, field in waiting:
            field.commit()

    def _called(self) -> str:
        """What is shown, as an undo step names it."""
        many = len(self._document.selection)
        if many > 1:
            return f"{many} things"
        return "a text" if texts.number_of(self.subject) is not None else self.subject or "the sheet"

    def _do(self, words: str, make: Callable[[Plant], list[Change]]) -> None:
        try:
            self._document.do(words, make(self._document.plant))
        except Refusal as refusal:
            self.refused.emit(str(refusal))

    # ---- head and figures -----------------------------------------------------------

    def _show_head(self) -> None:
        plant, name = self._document.plant, self.subject
        many = len(self._document.selection)
        if many > 1:
            self._head.tell("", f"{many} selected", counted(plant, sorted(self._document.selection)))
        elif texts.number_of(name) is not None:
            self._head.tell("", "Text", "Words of your own on the board")
        elif name:
            kind = plant.items[name].kind if name in plant.items else ""
            self._head.tell(kind, name, figures.remark(plant, name, self._zone_of(name)))
        else:
            counts = f"{len(plant.items)} items, {len(plant.pipes)} pipes"
            self._head.tell("", plant.title or "Untitled plant", f"The sheet: {counts}")

    def figure_rows(self) -> figures.Keyed:
        plant, name = self._document.plant, self.subject
        if name in plant.items:
            return figures.item_figures(plant, plant.items[name], self._solution)
        if name in plant.pipes:
            return figures.pipe_figures(plant, plant.pipes[name], self._solution)
        return []

    def _show_figures(self) -> None:
        if self._figures is not None and not self.isHidden():
            waiting = self.waiting.all(self._document.knows)
            said = resting_words(self._document.plant, self._case, waiting, self.subject) if waiting else ""
            self._figures.show_rows(self._case, self.figure_rows(), said)

    def _tell_rests(self) -> None:
        waiting = self.waiting.all(self._document.knows)
        self.rests.emit(resting(self._document.plant, [one.subject for one in waiting]))
        self._show_figures()

    def rests_words(self) -> str:
        """What the sign at figures on the board means; empty where none has it."""
        told = [
            kept_words(self._document.plant, self._case, one)
            for one in self.waiting.all(self._document.knows)
        ]
        more = f" and {len(told) - 1} more" if len(told) > 1 else ""
        return f"{SIGN} on the last good {told[0]}{more}" if told else ""
