"""Asks for a file across the window, without a dialog: a path to type, with completion; errors beside it.

The desktop's own dialog is one button away. Knows folders and names, not what is in the files.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, QStringListModel, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCompleter,
    QFileDialog,
    QFrame,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QWidget,
)

MOST = 300
"""Names of a folder that are offered."""


@dataclass(frozen=True)
class Question:
    """What is asked for.

    `start` stands in the field first; `endings` are what a name may end in, the first is put to one that has
    none; `known` are paths offered while the field is empty. `take` gets the file, and whether the desktop's
    dialog has asked about writing over it; `left` is called where none is named.
    """

    words: str
    verb: str
    start: str
    endings: tuple[str, ...]
    kinds: str
    take: Callable[[Path, bool], object]
    opens: bool = False
    known: Sequence[str] = ()
    left: Callable[[], object] = lambda: None


class PathBar(QFrame):
    """Hidden until `ask`; its widgets are made then, as nobody needs them to see the window."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("messageBar")
        self._question: Question | None = None
        self._before: QWidget | None = None
        self.hide()

    def _make(self) -> None:
        self.setAccessibleName("File")
        self._words = QLabel(self)
        self.field = QLineEdit(self)
        self._words.setBuddy(self.field)
        self.go = QPushButton(self)
        self.browse = QPushButton("Browse…", self)
        self.browse.setToolTip("The system's file dialog")
        self.leave = QPushButton("Cancel", self)
        self.error = QLabel(self)
        self.error.setTextFormat(Qt.TextFormat.PlainText)
        self.error.setWordWrap(True)
        grid = QGridLayout(self)
        grid.setContentsMargins(14, 6, 10, 6)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        for column, widget in enumerate((self._words, self.field, self.go, self.browse, self.leave)):
            grid.addWidget(widget, 0, column)
        grid.addWidget(self.error, 1, 1, 1, 4)
        grid.setColumnStretch(1, 1)
        self.field.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._names = QStringListModel(self)
        completer = QCompleter(self._names, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setMaxVisibleItems(12)
        self.field.setCompleter(completer)
        self.field.textEdited.connect(self._offer)
        self.field.installEventFilter(self)
        self.field.returnPressed.connect(self._take)  # where the list of names is open, which has the keys
        self.go.clicked.connect(self._take)
        self.browse.clicked.connect(self._browse)
        self.leave.clicked.connect(self.cancel)
        for button in (self.go, self.browse, self.leave):
            button.setAutoDefault(True)

    # ---- asking -------------------------------------------------------------------------

    def ask(self, question: Question) -> None:
        """Ask for a file; what was asked before is left."""
        if self._question is not None:
            self._question.left()
        elif not self.children():
            self._make()
        if self.isHidden():
            self._before = self.window().focusWidget()
        self._question = question
        self._words.setText(question.words)
        self.field.setAccessibleName(question.words)
        self.go.setText(question.verb)
        start = _whole(question.start)
        self.field.setText(start)
        stem = Path(start).name.split(".")[0]
        if question.opens:
            self.field.selectAll()
        elif stem and not start.endswith(os.sep):
            self.field.setSelection(len(start) - len(Path(start).name), len(stem))
        self._say("")
        self._offer(question.start)
        self.show()
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def asking(self) -> bool:
        return self._question is not None

    def focus_first(self) -> None:
        """The keyboard to the path."""
        if self._question is not None:
            self.field.setFocus(Qt.FocusReason.TabFocusReason)

    def cancel(self) -> None:
        """Close; no file is named."""
        question = self._close()
        if question is not None:
            question.left()

    def _close(self) -> Question | None:
        question, self._question = self._question, None
        self._close_list()
        focus = self.window().focusWidget()
        held = focus is not None and self.isAncestorOf(focus)
        if held and self._before is not None:
            self._before.setFocus(Qt.FocusReason.OtherFocusReason)
        self._before = None
        self.hide()
        return question

    def _take(self) -> None:
        question, typed = self._question, self.field.text().strip()
        if question is None:
            return
        file = _full(typed, question.start)
        if file.is_dir() or typed.endswith(os.sep):
            if not file.is_dir():
                self._say(f"There is no folder {typed}")
                return
            self.field.setText(_shown(file))
            self._offer(self.field.text())
            self._say("That is a folder: go on to a file in it" if question.opens else "Type a name too")
            return
        if not typed:
            self._say("Type the name of a file")
            return
        if not question.opens and not file.name.lower().endswith(question.endings):
            file = file.with_name(file.name + question.endings[0])
        if question.opens and not file.is_file():
            near = file.with_name(file.name + question.endings[0])
            if not near.is_file():
                self._say(f"There is no file {file.name} in {file.parent}")
                return
            file = near
        if not file.parent.is_dir():
            self._say(f"There is no folder {file.parent}")
            return
        self._close()
        question.take(file, False)

    def _browse(self) -> None:
        question = self._question
        if question is None:
            return
        typed = str(_full(self.field.text().strip(), question.start))
        dialog = QFileDialog.getOpenFileName if question.opens else QFileDialog.getSaveFileName
        name, _ = dialog(self.window(), question.words, typed, question.kinds)
        if name:
            file, asked = Path(name), True
            if not question.opens and not name.lower().endswith(question.endings):
                file, asked = Path(name + question.endings[0]), False  # it has asked about another name
            self._close()
            question.take(file, asked)

    def _say(self, text: str) -> None:
        self.error.setText(f"⊠ {text}." if text else "")
        self.error.setVisible(bool(text))
        self.field.setProperty("wrong", bool(text))
        self.field.style().unpolish(self.field)
        self.field.style().polish(self.field)
        self.field.setAccessibleDescription(text or "Tab completes, Return takes it, Escape leaves")

    # ---- completing ---------------------------------------------------------------------

    def _offer(self, typed: str) -> None:
        question = self._question
        if question is not None:
            folder = os.path.dirname(_whole(question.start))
            found = names_after(typed, question.endings, folder) if typed else list(question.known)
            self._names.setStringList(found)
            if self.field.property("wrong"):
                self._say("")

    def _complete(self) -> bool:
        """Type on for the user as far as all offered names agree; whether there was anything to type."""
        typed = self.field.text()
        names = [name for name in self._names.stringList() if name.lower().startswith(typed.lower())]
        letters = zip(*(name.lower() for name in names), strict=False)
        common = len(list(takewhile(lambda each: len(set(each)) == 1, letters)))
        if common <= len(typed):
            return False
        self.field.setText(names[0][:common])
        self._offer(self.field.text())
        self._close_list()
        return True

    def _close_list(self) -> None:
        if (completer := self.field.completer()) is not None and (popup := completer.popup()) is not None:
            popup.hide()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = event.key()
            if key == Qt.Key.Key_Tab and not event.modifiers():
                return self._complete()
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._take()
                return True
            if key == Qt.Key.Key_Escape:
                self.cancel()
                return True
            if key == Qt.Key.Key_Down:
                self.field.completer().setCompletionPrefix(self.field.text())
                self.field.completer().complete()
                return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.cancel()
        else:
            super().keyPressEvent(event)


def names_after(typed: str, endings: Sequence[str], base: str = "") -> list[str]:
    """What may stand in the field: folders first, then files of these endings, each as the user began it.

    What has no folder of its own lies in `base`.
    """
    folder, slash, stub = typed.rpartition(os.sep)
    try:
        with os.scandir(Path(base) / Path(folder + slash).expanduser()) as entries:
            found = [
                (not entry.is_dir(), entry.name)
                for entry in entries
                if entry.name.lower().startswith(stub.lower()) and (stub or not entry.name.startswith("."))
            ]
    except OSError:
        return []
    kept = [one for one in sorted(found) if not one[0] or one[1].lower().endswith(tuple(endings))]
    return [f"{folder}{slash}{name}{'' if plain else os.sep}" for plain, name in kept[:MOST]]


def _full(typed: str, start: str) -> Path:
    """A path without a folder lies in the folder one started from."""
    file = Path(typed).expanduser()
    return file if file.is_absolute() else Path(os.path.dirname(_whole(start))) / file


def _whole(path: str) -> str:
    """A path from the root, so that nobody need guess where a name lies; a folder keeps its slash."""
    return path if os.path.isabs(path) else os.path.join(os.getcwd(), path)


def _shown(folder: Path) -> str:
    return str(folder).rstrip(os.sep) + os.sep
