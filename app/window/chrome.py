"""What frames the window: the row of menus with title, find box and units; the row of quantities."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import (
    QCompleter,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMenu,
    QMenuBar,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from app import actions
from app.settings import QUANTITIES
from app.widgets.measure import scaled

FOUND = 40
"""Most that the find box lists."""


class Actions:
    """The `QAction`s of the table, made once; menus, buttons and keys share them."""

    def __init__(
        self, window: QWidget, board: QWidget, methods: Callable[[str], Callable[..., None]]
    ) -> None:
        self._by_id: dict[str, QAction] = {}
        groups: dict[str, QActionGroup] = {}
        for spec in actions.TABLE:
            action = QAction(spec.words, window)
            action.setObjectName(spec.id)
            action.setShortcuts([QKeySequence(key) for key in spec.keys])
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            action.setToolTip(f"{spec.hint} ({keys})" if keys else spec.hint)
            action.setStatusTip(spec.hint)
            method = methods(spec.id)
            if spec.checked:
                action.setCheckable(True)
                action.triggered.connect(lambda on, method=method: method(on))
                if spec.group:
                    groups.setdefault(spec.group, QActionGroup(window)).addAction(action)
            else:
                action.triggered.connect(lambda _checked=False, method=method: method())
            if spec.where == "board":
                # Plain letters work only where the board has the keyboard: never while a field is typed into.
                action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
                board.addAction(action)
            else:
                window.addAction(action)
            self._by_id[spec.id] = action

    def __getitem__(self, name: str) -> QAction:
        return self._by_id[name]

    def enable(self, facts: dict[actions.When, bool]) -> None:
        """Grey out what is not possible now."""
        for spec in actions.TABLE:
            self._by_id[spec.id].setEnabled(facts.get(spec.when, True))


def fill_menus(bar: QMenuBar, table: Actions) -> dict[str, QMenu]:
    """Menus of the table, in its order."""
    menus: dict[str, QMenu] = {}
    for title in actions.MENUS:
        menu = menus[title] = bar.addMenu(actions.MENU_WORDS.get(title, f"&{title}"))
        menu.setAccessibleName(title)
        for spec in actions.TABLE:
            if spec.menu == title:
                if spec.id in actions.BREAK_BEFORE:
                    menu.addSeparator()
                menu.addAction(table[spec.id])
    return menus


Found = tuple[str, str]
"""What is done or gone to, and the words that say so."""


def menu_of(parent: QWidget, table: Actions, names: Sequence[str]) -> QMenu:
    """A menu of some actions."""
    menu = QMenu(parent)
    menu.addActions([table[name] for name in names])
    return menu


class FindBox(QLineEdit):
    """Type a few letters: a tag, a note, a command, a heading of Help; Return takes the first, arrows others.

    Emits `found` with what was chosen, or `missed` with words about it.
    """

    found = Signal(str)
    missed = Signal(str)

    def __init__(self, search: Callable[[str], Sequence[Found]], parent: QWidget) -> None:
        super().__init__(parent)
        self._search = search
        self.setPlaceholderText("Find anything")
        self.setAccessibleName("Find a tag, note, command or help")
        self.setToolTip("Find a tag, label, note, command or heading of Help; Return goes there (Ctrl+F)")
        self.setFixedWidth(scaled(self, 150))
        self._values: dict[str, str] = {}
        self._model = QStringListModel(self)
        completer = QCompleter(self._model, self)
        completer.setCompletionMode(QCompleter.CompletionMode.UnfilteredPopupCompletion)
        completer.setMaxVisibleItems(12)
        completer.activated.connect(self._go)
        if (popup := completer.popup()) is not None:
            popup.setMinimumWidth(scaled(self, 420))
        self.setCompleter(completer)
        self.textEdited.connect(self._offer)
        self.returnPressed.connect(lambda: self._go(self.text()))

    def _offer(self, text: str) -> None:
        """What there is for the letters so far."""
        found = list(self._search(text))[:FOUND] if text.strip() else []
        self._values = {words: value for value, words in found}
        self._model.setStringList(list(self._values))
        if found and self.hasFocus():
            self.completer().complete()

    def _go(self, text: str) -> None:
        if not (value := self._values.get(text, "")):
            value = next((value for value, _ in self._search(text)), "") if text.strip() else ""
        if value:
            self.clear()
            self.found.emit(value)
        elif text.strip():
            self.missed.emit(f"No tag, note, command or help like {text.strip()}")
            self.selectAll()


class TopRow(QWidget):
    """Menus on the left, the plant's title in the middle, find box and units on the right."""

    def __init__(self, table: Actions, search: Callable[[str], Sequence[Found]], parent: QWidget) -> None:
        super().__init__(parent)
        self.bar = QMenuBar(self)
        self.bar.setNativeMenuBar(False)
        self.bar.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        self.menus = fill_menus(self.bar, table)
        self.title = QLabel(self)
        self.title.setObjectName("title")
        self.title.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.finder = FindBox(search, self)
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 3, 10, 3)
        row.addWidget(self.bar)
        row.addWidget(self.title, 1)
        row.addWidget(self.finder)
        for name, words in (("us", "US"), ("si", "SI")):
            row.addWidget(choice_button(table[name], words, f"Units: {words}", self))


def choice_button(action: QAction, words: str, name: str, parent: QWidget) -> QToolButton:
    """A flat button of a checkable action; bold while it is on."""
    button = QToolButton(parent)
    button.setDefaultAction(action)
    button.setText(words)
    button.setAccessibleName(name)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    # The button takes the action's text back whenever the action changes.
    action.changed.connect(lambda: button.setText(words))
    return button


class QuantityRow(QWidget):
    """The quantities that are written beside the pipes, at the right end of the cases' rail."""

    def __init__(self, table: Actions, parent: QWidget) -> None:
        super().__init__(parent)
        self._buttons: list[QToolButton] = []
        for name in QUANTITIES:
            words = "size" if name == "tube" else name.replace("_", " ")
            action = table[f"show_{name}"]
            self._buttons.append(choice_button(action, words, f"Show {words} beside the pipes", self))
        self.all = QToolButton(self)
        self.all.setText("Figures")
        self.all.setAccessibleName("Figures beside the pipes")
        self.all.setToolTip("Which figures stand beside the pipes")
        self.all.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.all.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.all.setMenu(QMenu(self.all))
        self.all.menu().addActions([table[f"show_{name}"] for name in QUANTITIES])
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 8, 2)
        row.setSpacing(0)
        for button in [*self._buttons, self.all]:
            row.addWidget(button)
        self.fold(False)

    def fold(self, on: bool) -> None:
        """One button with a menu in a narrow window: the cases come first. Else side by side."""
        for button in self._buttons:
            button.setVisible(not on)
        self.all.setVisible(on)


def line_across(parent: QWidget) -> QFrame:
    """A thin rule."""
    line = QFrame(parent)
    line.setObjectName("rule")
    line.setFixedHeight(1)
    return line
