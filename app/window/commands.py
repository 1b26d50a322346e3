"""What each action of the table does: one method an id. Asks the window's parts; has no widgets itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partialmethod
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtCore import Qt, SignalInstance
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QLineEdit, QWidget

from app.background import Background
from app.board.pointer import Place
from app.panels.cases import CaseRail
from app.panels.particulars import Particulars
from app.panels.shelf import shelf_icon
from app.pens import Palette
from app.settings import QUANTITIES
from app.widgets.quick import Entry, QuickBox
from app.window import printing
from app.window.chrome import Actions, TopRow
from app.window.edit_commands import EditCommands, EditPort
from app.window.files import Files
from app.window.fitting import fitting
from app.window.live import LiveSolve
from core.diagram.in_a_row import in_a_row, is_row
from core.errors import Refusal
from core.forms.sheet_rows import add_case, delete_case
from core.plant.changes import Change
from core.plant.usual_cases import add_usual
from core.vocabulary import KINDS

if TYPE_CHECKING:
    from app.panels.guide import Guide
    from app.panels.port import Pane
    from app.window.about_page import AboutPage
    from app.window.counts_page import CountsPage
    from app.window.everything import Everything
    from app.window.frame import Frame
    from app.window.in_place import InPlace
    from app.window.keys_page import KeysPage
    from app.window.panes import Under
    from app.window.papers_page import PapersPage


class WindowPort(EditPort, Protocol):
    """The window as commands see it: its parts, and what concerns it as a whole."""

    live: LiveSolve
    background: Background
    files: Files
    rail: CaseRail
    quick: QuickBox
    top: TopRow
    actions_: Actions
    particulars: Particulars
    frame: Frame
    under: Under
    look: Palette

    window_asked: SignalInstance
    quit_asked: SignalInstance

    def close(self) -> bool: ...
    def say(self, text: str) -> None: ...
    def set_look(self, look: str) -> None: ...
    def show_panel(self, name: str, on: bool) -> None: ...
    def go_pane(self, step: int) -> None: ...
    def show_marks(self) -> None: ...
    def open_pane(self, key: str, topic: Any = None) -> Pane: ...


class Commands(EditCommands):
    """Methods are named as `app.actions.TABLE` names its actions; checkable ones get the state."""

    _window: WindowPort

    def __init__(self, window: WindowPort, above: QWidget) -> None:
        self._window, self._above = window, above
        self._keys: KeysPage | None = None
        self._palette: Everything | None = None
        self._in_place: InPlace | None = None
        self._counts: CountsPage | None = None
        self._papers: PapersPage | None = None
        self._guide: Guide | None = None
        self._about: AboutPage | None = None

    def new(self) -> None:
        self._window.files.new()

    def open(self) -> None:
        self._window.files.ask_open()

    def save(self) -> None:
        self._window.files.save()

    def save_as(self) -> None:
        self._window.files.save_as()

    def save_copy(self) -> None:
        self._window.files.save_copy()

    def new_window(self) -> None:
        self._window.window_asked.emit(None)

    def open_beside(self) -> None:
        def beside(file: Path) -> None:
            if not self._window.files.elsewhere(file):
                self._window.window_asked.emit(file)

        self._window.files.asks.to_open(beside)

    def quit(self) -> None:
        self._window.quit_asked.emit()

    def print_sheet(self) -> None:
        self._window.files.asks.to_print(lambda file: printing.to_file(self._window, file))

    def print_paper(self) -> None:
        printing.on_paper(self._window, self._above)

    def copy_drawing(self) -> None:
        printing.on_clipboard(self._window)

    def close(self) -> None:
        self._window.close()

    def undo(self) -> None:
        self._window.document.stack.undo()

    def redo(self) -> None:
        self._window.document.stack.redo()

    def turn(self) -> None:
        self._window.hand.turn()

    def mirror(self) -> None:
        self._window.hand.mirror()

    def delete(self) -> None:
        self._window.hand.delete()

    def select_all(self) -> None:
        self._window.document.select([*self._window.document.plant.items, *self._window.document.plant.pipes])

    def find(self) -> None:
        self._window.top.finder.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self._window.top.finder.selectAll()

    def insert(self) -> None:
        def search(text: str) -> list[Entry]:
            look = self._window.look
            if is_row(text):
                return [(text, f"Lay and pipe in a row: {text.strip()}", None)]
            if text.strip():
                found = self._window.shelf.search_for(text)
                return [(one.value, one.title, shelf_icon(one.value, look)) for one in found]
            names = dict.fromkeys([*self._window.settings.get("last_used"), *KINDS])
            return [(name, KINDS[name].title, shelf_icon(name, look)) for name in names if name in KINDS]

        self._window.quick.ask(search)

    def lay_row(self, words: str) -> None:
        """Lay and pipe what a line such as `boiler > circulator` names."""
        document, board = self._window.document, self._window.board
        try:
            draft, fresh = in_a_row(document.plant, words, board.middle(), length=document.new_length)
        except Refusal as refusal:
            self._window.bar.show_message(f"Not laid: {refusal}")
            return
        self._window.start.hide()
        if board.commit(f"Lay {words}", draft.changes):
            board.frame(fresh or list(draft.plant.pipes)[-1:])

    def pull(self) -> None:
        self._window.hand.pull()

    def edit_here(self) -> None:
        """The first value of what is selected that is not typed yet, else its first one, over the board.

        With nothing or several things selected all that no item can do without, one after the other.
        """
        chosen = self._window.document.selection
        name = next(iter(chosen), "")
        box = self._window.board.scene.box_round(name)
        if len(chosen) != 1 or box is None:
            if not self._place_field.edit_all():
                self._window.board.say("Nothing that is asked here is missing")
            return
        from app.window.in_place import first_empty, rows_of

        plant = self._window.document.plant
        key = first_empty(plant, name) or next((row.key for row in rows_of(plant, name)), "")
        if not key or not self.edit_in_place(name, box.centre, key):
            self._window.board.say(f"Nothing of {name} is edited here")

    def type_value(self, digit: str) -> None:
        """As `edit_here`, with the first digit typed already."""
        from app.window.in_place import TAG, first_empty, rows_of

        plant, name = self._window.document.plant, next(iter(self._window.document.selection), "")
        key = first_empty(plant, name) or next((row.key for row in rows_of(plant, name)), TAG)
        box = self._window.board.scene.box_round(name)
        if key == TAG or box is None or not self.edit_in_place(name, box.centre, key):
            self._window.board.say(f"Nothing of {name} is typed as a number")
        elif (field := self._place_field.field) is not None and isinstance(field.editor, QLineEdit):
            field.editor.insert(digit)

    def first_plant(self) -> None:
        """The guide beside the board; it goes on where it was left."""
        if self._guide is None:
            from app.panels.guide import Guide

            self._guide = Guide(self._window.document, Guided(self._window, self))
            self._guide.left.connect(self._leave_guide)
        self._window.start.hide()
        self._window.frame.stand_beside(self._guide)
        self._guide.resume()

    def _leave_guide(self) -> None:
        if self._guide is not None:
            self._guide.hide()
        self._window.show_panel("shelf", bool(self._window.settings.get("shelf_shown")))
        self._window.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def previous_case(self) -> None:
        self._window.rail.step(-1)

    def next_case(self) -> None:
        self._window.rail.step(1)

    def add_case(self) -> None:
        changes, name = add_case(self._window.document.plant, self._window.live.case)
        if self._window.board.commit(f"Add case {name}", changes):
            self._window.live.choose(name)

    def _usual(self, key: str) -> None:
        """Add one of the usual cases, show it, and open its page."""
        changes, name = add_usual(self._window.document.plant, key)
        if self._window.board.commit(f"Add case {name}", changes):
            self._window.live.choose(name)
            self.edit_case()

    def edit_case(self) -> None:
        """Open the page of the case in sight."""
        self._window.open_pane("case").focus_first()

    case_design_night = partialmethod(_usual, "design_night")
    case_mild_day = partialmethod(_usual, "mild_day")
    case_summer = partialmethod(_usual, "summer")
    case_snowfall = partialmethod(_usual, "snowfall")
    case_morning_showers = partialmethod(_usual, "morning_showers")
    case_power_cut = partialmethod(_usual, "power_cut")

    def delete_case(self) -> None:
        name = self._window.live.case
        if any(case.name == name for case in self._window.document.plant.cases):
            self._window.board.commit(f"Delete case {name}", delete_case(self._window.document.plant, name))

    def fill_recent(self) -> None:
        """Files opened or saved lately, at the top of the first menu, each with a digit to press."""
        menu = self._window.top.menus["Plant"]
        for action in [a for a in menu.actions() if a.property("recent")]:
            menu.removeAction(action)
            action.deleteLater()
        first, names = menu.actions()[0], self._window.settings.get("recent")
        for number, name in enumerate(names, start=1):
            there = Path(name).is_file()
            words = Path(name).name.replace("&", "&&") + ("" if there else " (not there)")
            action = QAction(f"&{number}  {words}", menu)
            action.setToolTip(name if there else f"{name}: moved, renamed or deleted")
            action.setEnabled(there)
            action.setProperty("recent", True)
            action.triggered.connect(lambda _checked=False, name=name: self._window.files.open(Path(name)))
            menu.insertAction(first, action)
        if names:
            menu.insertSeparator(first).setProperty("recent", True)

    def fit(self) -> None:
        self._window.board.fit()

    def zoom_in(self) -> None:
        self._window.board.view.set_zoom(self._window.board.view.zoom * 1.25)

    def zoom_out(self) -> None:
        self._window.board.view.set_zoom(self._window.board.view.zoom / 1.25)

    def full_size(self) -> None:
        self._window.board.view.set_zoom(1.0)

    def _quantities(self) -> None:
        names = [name for name in QUANTITIES if self._window.actions_[f"show_{name}"].isChecked()]
        self._window.settings.set("quantities", names)
        self._window.board.scene.show_quantities(names)

    def show_flow(self, _on: bool) -> None:
        self._quantities()

    show_tube = show_velocity = show_temperature = show_head_loss = show_flow

    def us(self, _on: bool) -> None:
        self._show_units("us")

    def si(self, _on: bool) -> None:
        self._show_units("si")

    def _show_units(self, units: str) -> None:
        self._window.document.show_units(units)
        self._window.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def look_system(self, _on: bool) -> None:
        self._window.set_look("system")

    def look_light(self, _on: bool) -> None:
        self._window.set_look("light")

    def look_dark(self, _on: bool) -> None:
        self._window.set_look("dark")

    def shelf_shown(self, on: bool) -> None:
        self._window.show_panel("shelf", on)

    def particulars_shown(self, on: bool) -> None:
        self._window.show_panel("particulars", on)

    def notes_shown(self, on: bool) -> None:
        self._window.show_panel("notes", on)

    def marks_shown(self, on: bool) -> None:
        self._window.settings.set("marks_shown", on)
        self._window.show_marks()

    def shut_off(self) -> None:
        for name in self._window.document.selection:
            self._window.open_pane("shut_off", name)

    def why(self) -> None:
        for name in self._window.document.selection:
            self._window.board.why_asked.emit(name)

    def second_circulator(self) -> None:
        """Ask for places: for what is selected, where that carries water, else for the shortest circuit."""
        selected = sorted(self._window.document.selection)
        self._window.open_pane("second", selected[0] if len(selected) == 1 else "").focus_first()

    def fitting(self, names: Sequence[str]) -> list[str]:
        """Those of some actions that fit what is selected."""
        document = self._window.document
        return fitting(names, document.plant, document.selection)

    def size_it(self) -> None:
        """The sizes of what is selected: the page follows the selection."""
        self._window.open_pane("sizes").focus_first()

    def who_robs(self) -> None:
        self._ask_question("why")

    def cure_it(self) -> None:
        self._ask_question("cures")

    def left_for_more(self) -> None:
        self._ask_question("spare")

    def if_it_fails(self) -> None:
        self._ask_question("failures")

    def guess_matters(self) -> None:
        self._ask_question("matters")

    def _ask_question(self, key: str) -> None:
        from app.panels.questions import Topic

        for name in self._window.document.selection:
            self._window.open_pane("questions", Topic(key, name)).focus_first()

    def pull_out(self) -> None:
        """The page under the board into a window of its own, or back."""
        self._window.under.pull_out()

    def next_pane(self) -> None:
        self._window.go_pane(1)

    def previous_pane(self) -> None:
        self._window.go_pane(-1)

    def papers(self) -> None:
        if self._papers is None:
            from app.window.papers_page import PapersPage

            window = self._window
            asks = window.files.asks
            parts = (
                window.document,
                window.live,
                window.background,
                asks.to_print,
                asks.to_export,
                asks.to_read,
                window.settings,
            )
            self._papers = PapersPage(self._above, *parts)
        self._papers.bring()
        _bring_up(self._papers)

    def edit_in_place(self, name: str, at: Place, key: str = "") -> bool:
        """Length, size, set temperature or tag of a thing, edited on the board."""
        return self._place_field.edit(name, at, key)

    @property
    def _place_field(self) -> InPlace:
        """The field over the board, made when first wanted."""
        if self._in_place is None:
            from app.window.in_place import InPlace

            window = self._window
            self._in_place = InPlace(window.board, window.document, window.particulars.waiting)
        return self._in_place

    def everything(self) -> None:
        """A box of all commands with their keys; a few letters find tags, notes and help too."""
        self._all().ask()

    def _all(self) -> Everything:
        if self._palette is None:
            from app.window.everything import Everything

            self._palette = Everything(self._window, self.how_counted_at)
        return self._palette

    def found(self, text: str) -> list[tuple[str, str]]:
        """What the find box lists for some letters: what is on the sheet first, then commands and help."""
        return [(value, words) for value, words, _ in self._all().search(text, sheet_first=True)]

    def take_found(self, value: str) -> None:
        """Do or go to what was chosen in the find box."""
        self._all().take(value)

    def how_counted_at(self, heading: str) -> None:
        """Help, at one of its headings."""
        self.how_counted()
        if self._counts is not None:
            self._counts.go_to(heading)

    def shortcuts(self) -> None:
        if self._keys is None:
            from app.window.keys_page import KeysPage

            self._keys = KeysPage(self._above)
        _bring_up(self._keys)

    def about(self) -> None:
        if self._about is None:
            from app.window.about_page import AboutPage

            self._about = AboutPage(self._above)
        _bring_up(self._about)

    def how_counted(self) -> None:
        if self._counts is None:
            from app.window.counts_page import CountsPage

            self._counts = CountsPage(self._above)
        _bring_up(self._counts)


class Guided:
    """The window, as the guided first plant sees it."""

    def __init__(self, window: WindowPort, commands: Commands) -> None:
        self._window, self._commands = window, commands

    def commit(self, words: str, changes: Sequence[Change]) -> bool:
        return self._window.board.commit(words, changes)

    def fit(self) -> None:
        self._window.board.fit()

    def open_page(self, key: str) -> None:
        self._window.open_pane(key)

    def run(self, command: str) -> None:
        getattr(self._commands, command)()


def _bring_up(page: QDialog) -> None:
    page.show()
    page.raise_()
    page.activateWindow()
