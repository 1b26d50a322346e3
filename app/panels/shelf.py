"""The shelf: every kind as a small drawing and its name, in groups, the recently used on top; assemblies.

Search as you type. Takes; places nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from PySide6.QtCore import QMimeData, QSize, Qt, Signal
from PySide6.QtGui import QDrag, QIcon, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.board.view import KIND_MIME
from app.pens import Palette
from app.symbols import group_icon, icon
from app.widgets.measure import scaled
from core.vocabulary import GROUPS, KINDS
from core.vocabulary.trade_words import named_by, nothing_by

ICON, ROW = 22, 25
DRAWN = QSize(52, 34)
"""Of an assembly."""
LAST_USED = 3
LAST, ASSEMBLIES = "recently used", "assemblies"
KIND = Qt.ItemDataRole.UserRole


_ICONS: dict[tuple[str, int, int], QIcon] = {}


def shelf_icon(value: str, palette: Palette, size: int = ICON) -> QIcon:
    """Of a kind or an assembly; painted once for each look, for the shelf is filled several times."""
    key = (value if value in KINDS else ASSEMBLIES, palette.ink.rgb(), size)
    if key not in _ICONS:
        _ICONS[key] = icon(value, palette, size) if value in KINDS else group_icon(palette, size)
    return _ICONS[key]


class Entry(NamedTuple):
    """One thing on the shelf: what is taken, its name, what it is for."""

    value: str
    title: str
    hint: str


def _of_kind(kind: str, called: str = "") -> Entry:
    """A kind; `called` is the word of the trade by which it was found."""
    title = KINDS[kind].title
    return Entry(kind, f"{title} · {called}" if called else title, KINDS[kind].help)


class _ShelfList(QListWidget):
    """Small drawings, each with its name beside it."""

    taken = Signal(str)
    dropped = Signal(str)
    """Delete was pressed on it."""
    told = Signal(str)
    """Name of what the pointer or the keyboard is on."""

    def __init__(self, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.empty = QLabel(self)
        """What stands in it while it holds nothing."""
        self.empty.setObjectName("soft")
        self.empty.setWordWrap(True)
        self.empty.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._icon = scaled(self, ICON)
        self.setIconSize(QSize(self._icon, self._icon))
        self._high = scaled(self, ROW)
        self.least = 0  # symbols that there is room for, even while it holds fewer
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setDragEnabled(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragOnly)
        self.itemClicked.connect(self._take)
        self.setMouseTracking(True)
        self.itemEntered.connect(self._tell)
        self.currentItemChanged.connect(lambda row, _before: self._tell(row) if self.hasFocus() else None)

    def make_room_for(self, drawing: QSize) -> None:
        """Rows as high as drawings of this size, their names in as many lines as there is room for."""
        self.setIconSize(QSize(scaled(self, drawing.width()), scaled(self, drawing.height())))
        self._high = self.iconSize().height() + 8
        self.setWordWrap(True)

    def show_entries(self, entries: Iterable[Entry], palette: Palette | None) -> None:
        """Rows of these; without a palette their symbols are not painted yet."""
        held = self.current()
        self.clear()
        for entry in entries:
            row = QListWidgetItem(entry.title)
            if palette is not None:
                row.setIcon(shelf_icon(entry.value, palette, self._icon))
            row.setData(KIND, entry.value)
            row.setData(Qt.ItemDataRole.AccessibleTextRole, entry.title)
            row.setToolTip(f"{entry.title}: {entry.hint}" if entry.hint else entry.title)
            row.setSizeHint(QSize(60, self._high))
            self.addItem(row)
            if entry.value == held:
                self.setCurrentItem(row)
        self.empty.setVisible(not self.count())
        self.fit_height()

    def fit_height(self) -> None:
        """As high as its rows: the shelf scrolls as a whole."""
        rows = max(self.count(), self.least, 1)
        self.setFixedHeight(rows * self._high + 4)

    def resizeEvent(self, event: object) -> None:
        super().resizeEvent(event)  # type: ignore[arg-type]
        self.empty.setGeometry(self.contentsRect().adjusted(2, 0, -2, 0))
        self.fit_height()

    def current(self) -> str:
        row = self.currentItem()
        return str(row.data(KIND)) if row is not None else ""

    def focusInEvent(self, event: object) -> None:
        super().focusInEvent(event)  # type: ignore[arg-type]
        if self.currentItem() is None and self.count():
            self.setCurrentRow(0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current():
            self.taken.emit(self.current())
        elif event.key() == Qt.Key.Key_Delete and self.current():
            self.dropped.emit(self.current())
        else:
            super().keyPressEvent(event)

    def startDrag(self, supported: Qt.DropAction) -> None:
        if self.current():
            drag = QDrag(self)
            drag.setMimeData(kind_mime(self.current()))
            drag.setPixmap(self.currentItem().icon().pixmap(self.iconSize()))
            drag.exec(Qt.DropAction.CopyAction)

    def _tell(self, row: QListWidgetItem | None) -> None:
        if row is not None:
            self.told.emit(row.toolTip())

    def show_drawing(self, value: str, drawing: QIcon) -> None:
        """A drawing of its own for one of the rows."""
        for number in range(self.count()):
            if self.item(number).data(KIND) == value:
                self.item(number).setIcon(drawing)

    def _take(self, row: QListWidgetItem) -> None:
        kind = str(row.data(KIND))
        self.clearSelection()  # it is in the hand now, and only there
        self.setCurrentRow(-1)
        self.taken.emit(kind)


def kind_mime(kind: str) -> QMimeData:
    """What a drag from the shelf carries."""
    data = QMimeData()
    data.setData(KIND_MIME, kind.encode())
    return data


class Shelf(QWidget):
    """Emits `taken` with the kind or assembly that was clicked, or chosen with Return.

    `dropped` asks for an assembly to be taken off the shelf.
    """

    taken = Signal(str)
    dropped = Signal(str)
    told = Signal(str)
    """What the pointer is on, for the status line."""

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Shelf")
        self._palette = palette
        self._last: list[str] = []
        self._assemblies: tuple[Entry, ...] = ()
        self._drawings: dict[str, QIcon] = {}
        self._drawn = False
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Search the shelf")
        self.search.setAccessibleName("Search the shelf")
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._refresh)
        self.search.returnPressed.connect(self._take_first)
        inner = QWidget(self)
        self._column = QVBoxLayout(inner)
        self._column.setContentsMargins(10, 2, 4, 10)
        self._column.setSpacing(2)
        self._groups: dict[str, tuple[QLabel, _ShelfList]] = {}
        for name in ("found", LAST, *GROUPS, ASSEMBLIES):
            self._add_group(inner, name)
        self._nothing = QLabel(inner)
        self._nothing.setObjectName("soft")
        self._nothing.setWordWrap(True)
        self._column.addWidget(self._nothing)
        self._column.addStretch(1)
        scroll = QScrollArea(self)
        scroll.setWidget(inner)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 10, 0, 0)
        search_row = QVBoxLayout()
        search_row.setContentsMargins(12, 0, 10, 0)
        search_row.addWidget(self.search)
        column.addLayout(search_row)
        column.addWidget(scroll, 1)
        self._refresh()

    def _add_group(self, inner: QWidget, name: str) -> None:
        heading = QLabel(name[:1].upper() + name[1:], inner)
        heading.setObjectName("heading")
        heading.setContentsMargins(2, 6, 0, 0)
        heading.setWordWrap(True)
        kinds = _ShelfList(heading.text(), inner)
        if name == LAST:  # its room stays the same from the first symbol used to the last
            kinds.least = LAST_USED
            kinds.empty.setText("Symbols you have used are listed here.")
        kinds.taken.connect(self.taken)
        kinds.dropped.connect(self.dropped)
        kinds.told.connect(self.told)
        if name == ASSEMBLIES:
            kinds.make_room_for(DRAWN)
        self._column.addWidget(heading)
        self._column.addWidget(kinds)
        self._groups[name] = (heading, kinds)

    def show_palette(self, palette: Palette) -> None:
        self._palette = palette
        if self._drawn:
            self._refresh()

    def draw(self) -> None:
        """Paint the symbols: once the window is there, for that takes longer than all else on the shelf."""
        self._drawn = True
        self._refresh()

    def show_last(self, kinds: Sequence[str]) -> None:
        last = [kind for kind in kinds if kind in KINDS][:LAST_USED]
        if last != self._last:
            self._last = last
            self._refresh()

    def show_assemblies(self, entries: Sequence[Entry]) -> None:
        """What stands under the assemblies."""
        if tuple(entries) != self._assemblies:
            self._assemblies = tuple(entries)
            self._refresh()

    def show_drawing(self, value: str, drawing: QIcon) -> None:
        """How an assembly looks, once it is drawn."""
        self._drawings[value] = drawing
        for _, kinds in self._groups.values():
            kinds.show_drawing(value, drawing)

    def search_for(self, words: str) -> list[Entry]:
        """Kinds and assemblies that have all the words."""
        wanted = words.lower().split()
        alike = [one for one in self._assemblies if all(w in one.title.lower() for w in wanted)]
        return [*(_of_kind(*one) for one in named_by(words)), *alike]

    def list_of(self, group: str) -> QListWidget:
        return self._groups[group][1]

    def _refresh(self) -> None:
        words = self.search.text().strip()
        found = self.search_for(words) if words else []
        shown: dict[str, Sequence[Entry]] = {"found": found}
        shown[LAST] = [] if words else [_of_kind(kind) for kind in self._last]
        for group in GROUPS:
            kinds_of = (kind for kind, its in KINDS.items() if its.group == group)
            shown[group] = [] if words else list(map(_of_kind, kinds_of))
        shown[ASSEMBLIES] = [] if words else self._assemblies
        for name, (heading, kinds) in self._groups.items():
            kinds.show_entries(shown[name], self._palette if self._drawn else None)
            for entry in shown[name]:
                if entry.value in self._drawings:
                    kinds.show_drawing(entry.value, self._drawings[entry.value])
            # The row of the last used has its place from the start, so that taking moves nothing.
            seen = bool(shown[name]) or (name == LAST and not words)
            heading.setVisible(seen)
            kinds.setVisible(seen)
        self._nothing.setText(nothing_by(words))
        self._nothing.setVisible(bool(words) and not found)

    def _take_first(self) -> None:
        words = self.search.text().strip()
        found = self.search_for(words) if words else []
        if found:
            self.taken.emit(found[0].value)
            self.search.clear()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        found = self._groups["found"][1]
        if event.key() == Qt.Key.Key_Down and self.search.hasFocus() and found.count():
            found.setFocus()
        else:
            super().keyPressEvent(event)
