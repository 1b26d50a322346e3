"""What is written at a thing, edited where it is: a length, a size, a set temperature, a tag.

Return takes it and goes on to what else of the thing nobody has typed yet, Tab to the same of the next thing,
Up and Down to another value of this one.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout

from app.board.board_widget import BoardWidget
from app.board.pointer import Place
from app.document import Document
from app.panels.form_parts import NotTaken, Waiting
from app.widgets.field import Field, Line
from app.widgets.measure import scaled
from core.diagram.annotations import short_tube
from core.errors import Refusal
from core.forms.as_read import as_read, reading, unit_of
from core.forms.pipe_rows import pipe_sections
from core.forms.rows import Row, item_sections, spoken
from core.plant.changes import Change
from core.plant.curve_rules import CURVE_PROPS
from core.plant.edits import rename, set_props
from core.plant.model import Plant
from core.sizing.curves import catalogue
from core.sizing.curves.catalogue import Choice
from core.vocabulary import Trait

PIPE_KEYS: tuple[str, ...] = ("length", "tube")
ITEM_KEYS: tuple[str, ...] = (
    "curve",
    "set_pressure",
    "flow",
    "set_temperature",
    "size",
    "capacity",
    "precharge",
)
OPTIONAL = ("target", "acceptance", "cv", "speed", "temperature", "size", "opens_at")
"""With units, and typed only where one knows them."""
TAG = "id"
WIDE = 330


def rows_of(plant: Plant, name: str) -> list[Row]:
    """What can be edited at a thing, in the order of Down; the tag last."""
    if name in plant.pipes:
        sections, keys = pipe_sections(plant, plant.pipes[name]), PIPE_KEYS
        keys = () if plant.pipes[name].joined else keys
    elif name in plant.items:
        sections = item_sections(plant, plant.items[name])
        keys = (*ITEM_KEYS, *(row.key for row in sections[0].rows if row.key != "label"))
    else:
        return []
    by_key = {row.key: row for section in sections for row in section.rows if row.shape in ("line", "pick")}
    if name in plant.items and plant.items[name].has(Trait.DRIVES):
        by_key["curve"] = _curve_row(name)
    tag = Row(TAG, "Tag", lambda _plant: name, lambda now, text: rename(now, name, text.strip()))
    return [*(by_key[key] for key in dict.fromkeys(keys) if key in by_key), tag]


def _curve_row(name: str) -> Row:
    """A circulator's curve by its name: one of the plant's own, or an invented size."""

    def choices(plant: Plant) -> list[Choice]:
        return [*catalogue.users(plant), *catalogue.generic()]

    def read(plant: Plant) -> str:
        curve = plant.items[name].props.get("curve")
        same = (one.name for one in choices(plant) if one.props.get("curve") == curve)
        return next(same, "points of its own") if curve else ""

    def write(plant: Plant, text: str) -> list[Change]:
        said = text.strip().lower()
        if said == read(plant).lower():
            return []
        named = [one for one in choices(plant) if said in (one.name.lower(), one.name.lower().split()[-1])]
        if not named:
            known = ", ".join(one.name for one in choices(plant))
            raise Refusal(f"{name}.curve", f"`{text.strip()}`", f"one of {known}")
        values = {key: named[0].props.get(key) for key in CURVE_PROPS if key in named[0].props}
        invented = True if named[0].invented else None
        return set_props(plant, name, {**values, "invented": invented})

    hint = "A name: small, medium … are invented sizes, no products; your own stand under Curves."
    return Row("curve", "Curve", read, write, hint=hint)


def first_empty(plant: Plant, name: str, after: str = "") -> str:
    """The first value with a unit of a thing, after one, that nobody has typed; empty where all are."""
    rows = rows_of(plant, name)
    keys = [row.key for row in rows]
    rows = rows[keys.index(after) + 1 :] if after in keys else rows
    return next((row.key for row in rows if _wanted(row) and not row.read(plant)), "")


def _wanted(row: Row) -> bool:
    """Whether a value is one that a plant is hardly solved without."""
    return row.key == "curve" or (bool(row.dimensions) and row.key not in OPTIONAL)


class InPlace(QFrame):
    """One field over the board; made when first wanted."""

    def __init__(self, board: BoardWidget, document: Document, waiting: Waiting) -> None:
        super().__init__(board)
        self.setObjectName("messageBar")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._board, self._document, self._waiting = board, document, waiting
        self._name: str = ""
        self._at: Place = (0.0, 0.0)
        self._through = False  # whether Return goes on to what the next thing lacks
        self._row: Row | None = None
        self.field: Field | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(8, 6, 8, 6)
        self._column.setSpacing(2)
        self._keys = QLabel(self)
        self._keys.setObjectName("soft")
        self._column.addWidget(self._keys)
        self.hide()

    def edit_all(self) -> bool:
        """Begin with the first thing that lacks a value, then all others that do; False if none does."""
        self._through = True
        return self._go_on(after="")

    def _go_on(self, after: str) -> bool:
        """To the next item, in the order of the plant, that lacks a value."""
        plant = self._document.plant
        names = list(plant.items)
        start = names.index(after) + 1 if after in names else 0
        name = next((one for one in names[start:] if first_empty(plant, one)), "")
        box = self._board.scene.box_round(name)
        if box is None:
            return False
        self._document.select([name])
        self._board.reveal(box.centre)
        return self._begin(name, box.centre, first_empty(plant, name))

    def edit(self, name: str, at: Place, key: str = "") -> bool:
        """Begin, with what is written at that place; False where only a tag could be and none is there."""
        self._through = False
        return self._begin(name, at, key)

    def _begin(self, name: str, at: Place, key: str = "") -> bool:
        rows = rows_of(self._document.plant, name)
        key = key or self._written(name, at)
        row = next((row for row in rows if row.key == key), rows[0] if rows else None)
        if row is None or (row.key == TAG and not key):
            return False
        self._name, self._at = name, at
        self._show(row, [one.name.lower() for one in rows if one is not row])
        return True

    def _written(self, name: str, at: Place) -> str:
        """Key of the value whose words are at a place: a tag or a pipe's size; else empty."""
        plant, said = self._document.plant, self._board.scene.words_at(name, at)
        if said == name:
            return TAG
        size = short_tube(plant.pipes[name]) if name in plant.pipes else ""
        return "tube" if size and size in said else ""

    def _show(self, row: Row, others: Sequence[str]) -> None:
        old, self.field = self.field, None
        if old is not None:
            self._column.removeWidget(old)
            old.hide()
            old.deleteLater()
        name, document = self._name, self._document
        self._row, editor = row, Line()
        editor.unit = unit_of(row, document.plant)
        field = Field(
            f"{row.name} of {name}",
            editor,
            lambda text: self._take(name, row, text),
            row.beside,
            row.hint,
            self,
            reading=(lambda text: reading(row, document.plant, text)) if row.dimensions else None,
        )
        field.refused.connect(
            lambda text, why: self._waiting.keep(NotTaken(name, row.key, row.name, text, why))
        )
        field.mended.connect(lambda: self._waiting.drop(name, row.key))
        field.put(row.read(document.plant))
        editor.installEventFilter(self)
        self._column.insertWidget(0, field)
        self.field = field
        empty = first_empty(document.plant, name, row.key)
        down = (
            f"; Return: on to {spoken(empty).lower()}" if empty else f"; Down: {others[0]}" if others else ""
        )
        self._keys.setText(f"Tab: the next {'pipe' if name in document.plant.pipes else 'item'}{down}")
        self.setFixedWidth(scaled(self, WIDE))
        field.show()
        self.show()
        self._place()
        editor.setFocus(Qt.FocusReason.PopupFocusReason)
        editor.selectAll()

    def _place(self) -> None:
        self.adjustSize()
        spot = self._board.view.mapFromScene(*self._at)
        x = max(4, min(spot.x() - 20, self._board.width() - self.width() - 4))
        y = max(4, min(spot.y() + 14, self._board.height() - self.height() - 4))
        self.move(x, y)
        self.raise_()

    def _take(self, name: str, row: Row, text: str) -> None:
        plant = self._document.plant
        changes = row.write(plant, as_read(row, plant, text))
        self._document.do(f"Change {row.name.lower()} of {name}", changes)
        if row.key == TAG:
            self._name = text.strip()
            self._waiting.moved(name, self._name)
            self._document.select([self._name])
        if self.field is not None:
            self.field.put(self._name if row.key == TAG else row.read(self._document.plant))

    def _done(self) -> bool:
        """Take what is written; whether it was taken."""
        if self.field is None:
            return True
        self.field.commit()
        if self.field.error:
            self._place()
        return not self.field.error

    def _close(self) -> None:
        self.hide()
        self._board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _next_empty(self) -> None:
        """On to what of the thing is not typed yet, in the order of Down; else done."""
        here = self._row.key if self._row is not None else ""
        key = first_empty(self._document.plant, self._name, here) if here != TAG else ""
        if key and self._begin(self._name, self._at, key):
            return
        if not (self._through and self._go_on(self._name)):
            self._close()

    def _along(self, step: int) -> None:
        """The same value of the next thing of its sort."""
        key = self._row.key if self._row is not None else ""
        plant = self._document.plant
        names = list(plant.pipes if self._name in plant.pipes else plant.items)
        start = names.index(self._name) if self._name in names else 0
        order = (names[(start + step * place) % len(names)] for place in range(1, len(names)))
        name = next((one for one in order if any(row.key == key for row in rows_of(plant, one))), "")
        box = self._board.scene.box_round(name)
        if box is None:
            return
        self._document.select([name])
        at = box.centre
        if name in plant.pipes and (line := self._board.line(name)):
            at = line[len(line) // 2]
        self._board.reveal(at)
        self._begin(name, at, key)

    def _other(self, step: int) -> None:
        """Another value of the same thing."""
        keys = [row.key for row in rows_of(self._document.plant, self._name)]
        here = keys.index(self._row.key) if self._row is not None and self._row.key in keys else 0
        self._begin(self._name, self._at, keys[(here + step) % len(keys)])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if self.isHidden() or self.field is None or watched is not self.field.editor:
            return False
        if event.type() == QEvent.Type.FocusOut:
            self.field.commit()
            self.hide()
            return False
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        key = Qt.Key(event.key())
        along = {Qt.Key.Key_Tab: 1, Qt.Key.Key_Backtab: -1}
        turn = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}
        if key == Qt.Key.Key_Escape:
            self.field.editor.put(self.field.stored)
            self.field.commit()
            self._close()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self._done():
                self._next_empty()
        elif key in along:
            if self._done():
                self._along(along[key])
        elif key in turn:
            if self._done():
                self._other(turn[key])
        else:
            return False
        return True
