"""Small parts of the particulars: the symbol at the head, a thin line, what was typed and not taken."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.pens import Palette
from app.symbols import paint_kind
from core.plant import systems
from core.plant.changes import Change
from core.plant.model import Plant


class Picture(QWidget):
    """The symbol of the selected item."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.kind = ""
        self.colours: Palette | None = None
        self.setFixedSize(40, 40)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.kind and self.colours is not None:
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint_kind(painter, self.kind, QRectF(3, 3, 34, 34), self.colours)
            painter.end()


class Head(QWidget):
    """What is shown: its symbol, its name, a remark."""

    def __init__(self, palette: Palette, parent: QWidget) -> None:
        super().__init__(parent)
        self.picture = Picture(self)
        self.picture.colours = palette
        self._title = QLabel(self)
        self._title.setObjectName("title")
        font = self._title.font()
        font.setPointSizeF(font.pointSizeF() * 1.25)
        self._title.setFont(font)
        self._remark = QLabel(self)
        self._remark.setObjectName("soft")
        self._remark.setWordWrap(True)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self._title)
        words.addWidget(self._remark)
        line = QHBoxLayout(self)
        line.setContentsMargins(14, 10, 14, 8)
        line.setSpacing(10)
        line.addWidget(self.picture)
        line.addLayout(words, 1)

    def tell(self, kind: str, title: str, remark: str) -> None:
        """A kind's symbol (none for ""), a title, what is said beside it."""
        self.picture.kind = kind
        self.picture.setVisible(bool(kind))
        self.picture.update()
        self._title.setText(title)
        self._remark.setText(remark)


def rule(parent: QWidget) -> QFrame:
    """A thin line across."""
    line = QFrame(parent)
    line.setObjectName("rule")
    line.setFixedHeight(1)
    return line


def heading(title: str) -> QLabel:
    """The words over a section."""
    label = QLabel(title)
    label.setObjectName("heading")
    label.setContentsMargins(0, 5, 0, 2)
    return label


def fold(title: str, opened: bool, show: Callable[[bool], None]) -> QToolButton:
    """The words over a section that opens and closes on a click."""
    button = QToolButton()
    button.setText(title)
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
    button.setArrowType(Qt.ArrowType.DownArrow if opened else Qt.ArrowType.RightArrow)
    button.setCheckable(True)
    button.setChecked(opened)
    button.setAccessibleName(f"{title}, show or hide")
    button.setToolTip("Show or hide")

    def turn(on: bool) -> None:
        button.setArrowType(Qt.ArrowType.DownArrow if on else Qt.ArrowType.RightArrow)
        show(on)

    button.toggled.connect(turn)
    return button


def on_board(point: Callable[[], None]) -> QWidget:
    """The button below a field whose value may be clicked on the board instead."""
    button = QToolButton()
    button.setObjectName("figure")
    button.setText("Click it on the board")
    button.setToolTip("Then click it there; Tab goes to the next one, Return takes it, Escape leaves")
    button.clicked.connect(lambda _=False: point())
    body = QWidget()
    line = QHBoxLayout(body)
    line.setContentsMargins(0, 0, 0, 2)
    line.addStretch(1)
    line.addWidget(button)
    return body


class NotTaken(NamedTuple):
    """A text that a field refused."""

    subject: str
    key: str
    name: str
    """Of the field."""
    text: str
    reason: str

    @property
    def words(self) -> str:
        where = f" of {self.subject}" if self.subject else ""
        return f'{self.name}{where}: "{" ".join(self.text.split())}"'


class Waiting(QWidget):
    """Typed texts that were refused, of things no longer in sight too: kept, listed, one click away."""

    wanted = Signal(str, str)
    """Subject and key of the field to go to."""

    changed = Signal()
    """Others wait than before."""
    restored = Signal()
    """Some came back that were kept elsewhere."""

    MOST = 3

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._texts: dict[tuple[str, str], NotTaken] = {}
        self._shown: list[NotTaken] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(14, 0, 8, 6)
        self._column.setSpacing(2)
        self.hide()

    def keep(self, one: NotTaken) -> None:
        self._texts[one.subject, one.key] = one
        self.changed.emit()

    def restore(self, refused: Iterable[tuple[str, str, str, str, str]]) -> None:
        """Keep these, as read from a journal."""
        for row in refused:
            self.keep(NotTaken(*row))
        self.restored.emit()

    def drop(self, subject: str, key: str) -> None:
        if self._texts.pop((subject, key), None) is not None:
            self.changed.emit()

    def clear(self) -> None:
        self._texts.clear()
        self.changed.emit()

    def of(self, subject: str, key: str) -> NotTaken | None:
        return self._texts.get((subject, key))

    def moved(self, old: str, new: str) -> None:
        """A thing has another tag."""
        self._texts = {
            (new if name == old else name, key): one._replace(subject=new) if name == old else one
            for (name, key), one in self._texts.items()
        }
        self.changed.emit()

    def all(self, knows: Callable[[str], bool] = lambda _name: True) -> list[NotTaken]:
        """Those of things that are there, and of the sheet."""
        return [one for one in self._texts.values() if not one.subject or knows(one.subject)]

    def words(self, knows: Callable[[str], bool]) -> str:
        """All of it in one sentence; empty where there is none."""
        said = [one.words for one in self.all(knows)]
        more = f" and {len(said) - 2} more" if len(said) > 2 else ""
        return f"Typed and not taken: {'; '.join(said[:2])}{more}." if said else ""

    def show_others(self, subject: str, knows: Callable[[str], bool]) -> None:
        """List those that are not in the form in sight."""
        others = [one for one in self.all(knows) if one.subject != subject]
        self.setVisible(bool(others))
        if others == self._shown:
            return
        self._shown = others
        while self._column.count():
            widget = self._column.takeAt(0).widget()  # type: ignore[union-attr]
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        heading = QLabel("Typed and not taken", self)
        heading.setObjectName("heading")
        self._column.addWidget(heading)
        for one in others[: self.MOST]:
            button = QPushButton(one.words, self)
            button.setToolTip(f"{one.reason} Click to go there.")
            button.clicked.connect(lambda _=False, one=one: self.wanted.emit(one.subject, one.key))
            self._column.addWidget(button)
        if len(others) > self.MOST:
            self._column.addWidget(QLabel(f"and {len(others) - self.MOST} more", self))


class SystemButtons(QWidget):
    """Add a system; delete those that no pipe belongs to."""

    def __init__(self, plant: Plant, do: Callable[[str, Callable[[Plant], list[Change]]], None]) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        add = QPushButton("Add a system")
        add.clicked.connect(lambda: do("Add a system", systems.add))
        left = Qt.AlignmentFlag.AlignLeft
        column.addWidget(add, 0, left)
        held = {pipe.system for pipe in plant.pipes.values()}
        idle = [name for name in plant.systems if name not in held]
        for name in idle if len(plant.systems) > 1 else ():
            short = self.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, 150)
            drop = QPushButton(f"Delete {short}")
            drop.setToolTip(f"No pipe belongs to {name}.")
            drop.clicked.connect(
                lambda _=False, name=name: do(f"Delete {name}", lambda p: systems.delete(p, name))
            )
            column.addWidget(drop, 0, left)


def swap_form(scroll: QScrollArea, form: QWidget) -> None:
    """Show another form; the old one goes only after its signals are done."""
    old = scroll.takeWidget()
    if old is not None:
        old.hide()
        old.deleteLater()
    scroll.setWidget(form)
