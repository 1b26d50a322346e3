"""How a number came about: formula, values put in, source, and on down to what was typed.

Shows any `Working`: that of a solved figure (derived anew while the plant changes) or one handed over.
"""

from __future__ import annotations

from typing import Any, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QSizePolicy,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from core.working import Display, Working, lines, typeset

PART = Qt.ItemDataRole.UserRole
EMPTY = "Click any figure in the particulars to see how it came about."
ORIGINS = {
    "typed": "typed",
    "default": "default",
    "table": "from a table",
    "solved": "solved",
    "practice": "common practice, no source",
    "memory": "from memory",
}


class WorkingPane(Pane):
    """The derivation of one number as a tree."""

    TITLE = "Working"
    HIGH = 280

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._topic: tuple[str, str] | Working | None = None
        self._shown: Working | None = None
        self._display: Display = "us"
        self._head = QLabel(EMPTY, self)
        self._head.setObjectName("heading")
        self._formula = QLabel("", self)
        for label in (self._head, self._formula):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.tree = QTreeWidget(self)
        self.tree.setAccessibleName("What the number was made from")
        self.tree.setColumnCount(2)
        self.tree.setHeaderHidden(True)
        self.tree.setFrameShape(QFrame.Shape.NoFrame)
        self.tree.setUniformRowHeights(False)
        self.tree.setWordWrap(True)
        self.tree.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.tree.itemExpanded.connect(self._unfold)
        self.tree.itemActivated.connect(self._go)
        header = self.tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, header.ResizeMode.Stretch)
        header.setSectionResizeMode(1, header.ResizeMode.ResizeToContents)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 6, 8, 8)
        column.setSpacing(4)
        column.addWidget(self._head)
        column.addWidget(self._formula)
        column.addWidget(self.tree, 1)
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self)
        copy.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        copy.activated.connect(lambda: QGuiApplication.clipboard().setText(self.text()))

    # ---- what is shown --------------------------------------------------------------

    def about(self, topic: Any) -> None:
        """(id, key) of a solved figure, or a working."""
        self._topic = topic
        self._shown = None

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        self._show(self._working(sight), sight.display)

    def focus_first(self) -> None:
        self.tree.setFocus(Qt.FocusReason.TabFocusReason)

    def text(self) -> str:
        """The whole working as indented text."""
        if self._shown is None:
            return ""
        return "\n".join("  " * depth + text for depth, text in lines(self._shown, self._display))

    def _working(self, sight: Sight) -> Working | None:
        if isinstance(self._topic, Working):
            return self._topic
        if self._topic is None or sight.solution is None:
            return None
        from core.derivation import of_figure

        return of_figure(sight.plant, sight.solution, *self._topic)

    def _show(self, working: Working | None, display: Display) -> None:
        if working is not None and working == self._shown and display == self._display:
            return
        self._shown, self._display = working, display
        self.tree.clear()
        if working is None:
            said = EMPTY if self._topic is None else "This figure has no working in the case in sight."
            self._head.setText(said)
            self._formula.setText("")
            self.remarked.emit("")
            return
        self._head.setText(f"{working.words}: {working.symbol} = {working.shown(display)}")
        formula = [f"{working.symbol} = {typeset(working.formula)}"] if working.formula else []
        if working.formula:
            formula.append(f"{working.symbol} = {working.put_in(display)}")
        formula += [words for words in _remarks(working) if words]
        self._formula.setText("\n".join(formula))
        self._formula.setVisible(bool(formula))
        for part in working.inputs:
            self.tree.addTopLevelItem(self._row(part))
        case = self._sight.case if self._sight is not None and not isinstance(self._topic, Working) else ""
        self.remarked.emit(case)

    def _row(self, part: Working) -> QTreeWidgetItem:
        label = ORIGINS.get(part.origin, "")
        if part.origin == "typed" and part.typed:
            label = f"typed {part.typed}"
        row = QTreeWidgetItem(
            [f"{part.symbol}   {part.words}", f"{part.shown(self._display)}   {label}".rstrip()]
        )
        row.setData(0, PART, part)
        row.setToolTip(0, "\n".join(filter(None, (part.path, *_remarks(part)))))
        row.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        if part.inputs or part.formula or any(_remarks(part)):
            row.setChildIndicatorPolicy(QTreeWidgetItem.ChildIndicatorPolicy.ShowIndicator)
        return row

    def _unfold(self, row: QTreeWidgetItem) -> None:
        """Children are made when they are to be seen: a tree of a pipe has some hundred numbers."""
        if row.childCount():
            return
        part = cast("Working", row.data(0, PART))
        texts = []
        if part.formula:
            texts = [
                f"{part.symbol} = {typeset(part.formula)}",
                f"{part.symbol} = {part.put_in(self._display)}",
            ]
        for text in (*texts, *_remarks(part)):
            if text:
                child = QTreeWidgetItem([text])
                row.addChild(child)
                child.setFirstColumnSpanned(True)
        for each in part.inputs:
            row.addChild(self._row(each))

    def _go(self, row: QTreeWidgetItem, _column: int) -> None:
        """To the item or pipe a number was typed at."""
        part = row.data(0, PART)
        if isinstance(part, Working) and part.path:
            _group, _, rest = part.path.partition(".")
            if self._sight is not None:
                known = (*self._sight.plant.items, *self._sight.plant.pipes)
                name = max((n for n in known if rest.startswith(f"{n}.")), key=len, default="")
                if name:
                    self.port.go_to(name)


def _remarks(part: Working) -> tuple[str, ...]:
    """How it was found, source, range; what lies outside it."""
    holds = f"Holds for {part.holds}." if part.holds else ""
    outside = "Outside that range: the figure is continued, not proven." if part.within is False else ""
    source = f"Source: {part.source}" if part.source else ""
    return part.how, source, holds, outside
