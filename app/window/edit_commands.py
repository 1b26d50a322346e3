"""Commands that work on what is selected: copied and laid down, arranged, staged, kept as an assembly."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from PySide6.QtGui import QGuiApplication

from app.assemblies import WORD, Assemblies, Assembly
from app.panels.shelf import Entry, Shelf
from core.diagram.arrange import Side
from core.errors import Refusal
from core.files import clip
from core.forms.guess_text import guess_or, guess_shown
from core.forms.many import counted
from core.plant.excerpt import Excerpt, systems_alike
from core.plant.gather import systems_of
from core.vocabulary import Trait, to_si
from core.vocabulary.document import PIPE
from core.vocabulary.guesses import Guess
from core.vocabulary.spellings import quantity

if TYPE_CHECKING:
    from app.board.board_widget import BoardWidget
    from app.document import Document
    from app.gestures.hand import DrawingHand
    from app.panels.start import StartPage
    from app.settings import Settings
    from app.widgets.message_bar import MessageBar
    from app.window.samples import Drawings


class EditPort(Protocol):
    """The window as these commands see it."""

    document: Document
    board: BoardWidget
    hand: DrawingHand
    settings: Settings
    shelf: Shelf
    bar: MessageBar
    start: StartPage
    assemblies: Assemblies
    drawings: Drawings


class EditCommands:
    """Methods are named as `app.actions.TABLE` names its actions."""

    _window: EditPort

    # ---- the clipboard --------------------------------------------------------------

    def copy(self) -> None:
        text = self._window.hand.selected.copied()
        if text:
            QGuiApplication.clipboard().setText(text)
            count = len(self._window.document.selection)
            self._window.board.say(f"{count} thing{'s' if count != 1 else ''} copied")

    def cut(self) -> None:
        self.copy()
        self._window.hand.selected.delete("Cut")

    def paste(self) -> None:
        """What the clipboard holds into the hand."""
        try:
            part = clip.from_text(QGuiApplication.clipboard().text())
        except Refusal as refusal:
            self._window.bar.show_message(f"Nothing to paste: found {refusal.found} on the clipboard.")
            return
        self._window.hand.lay(part, f"Paste {_counted(part)}", at=self._under_pointer())

    def duplicate(self) -> None:
        selected = self._window.hand.selected
        part = selected.excerpt()
        if part is not None:
            self._window.hand.lay(part, f"Duplicate {_counted(part)}", at=selected.beside(part))

    def _under_pointer(self) -> tuple[float, float] | None:
        """Where the mouse is, if it is over the board: there what is pasted shows first."""
        view = self._window.board.view
        if not view.viewport().underMouse():
            return None
        at = view.mapToScene(view.viewport().mapFromGlobal(view.cursor().pos()))
        return at.x(), at.y()

    # ---- selecting and arranging ----------------------------------------------------

    def select_connected(self) -> None:
        self._window.hand.selected.choose_connected()

    def select_system(self) -> None:
        self._window.hand.selected.choose_system()

    def select_kind(self) -> None:
        self._window.hand.selected.choose_kind()

    def turn_round(self) -> None:
        self._window.hand.turn_round()

    def join(self) -> None:
        self._window.hand.selected.join()

    def bend(self) -> None:
        self._window.hand.bend()

    def unpin(self) -> None:
        self._window.hand.unpin()

    def _align(self, side: Side) -> None:
        self._window.hand.selected.align(side)

    def align_left(self) -> None:
        self._align("left")

    def align_centre(self) -> None:
        self._align("centre")

    def align_right(self) -> None:
        self._align("right")

    def align_top(self) -> None:
        self._align("top")

    def align_middle(self) -> None:
        self._align("middle")

    def align_bottom(self) -> None:
        self._align("bottom")

    def spread_across(self) -> None:
        self._window.hand.selected.distribute(across=True)

    def spread_down(self) -> None:
        self._window.hand.selected.distribute(across=False)

    def write_text(self) -> None:
        self._window.hand.write()

    def new_length(self) -> None:
        """Ask for the length that pipes drawn from now on are guessed to have."""
        window = self._window
        title = "Length of new pipes, a guess until one is typed. Return keeps it, Escape does not."
        window.board.asking.ask(title, guess_shown(window.document.new_length), self._take_length)

    def _take_length(self, text: str) -> None:
        window = self._window
        si = window.document.plant.units == "si"
        old = window.document.new_length
        within = old.within if isinstance(old, Guess) else 0.5
        try:
            said = guess_or(text, lambda one: quantity(one, "length", bare="m" if si else "ft"))
            length = to_si(PIPE["length"], str(said), "length")
            within = said.within if isinstance(said, Guess) else within
            if not length > 0 or not 0 < float(within) <= 1:
                raise Refusal("", f'"{text}"', "a length over 0, and at most 100 % off")
        except (Refusal, ValueError) as refusal:
            window.bar.show_message(f"New pipes stay {guess_shown(old)}. {refusal}")
            return
        window.settings.set("new_length", str(said))
        window.settings.set("new_length_within", float(within))
        window.document.new_length = Guess(str(said), float(within))
        window.board.say(f"New pipes: {guess_shown(window.document.new_length)}")

    # ---- control lines --------------------------------------------------------------

    def controls_shown(self, on: bool) -> None:
        self._window.settings.set("controls_shown", on)
        self._window.board.scene.show_controls(on)

    # ---- stages ---------------------------------------------------------------------

    def stages_shown(self, on: bool) -> None:
        self._window.settings.set("stages_shown", on)
        self._window.board.scene.show_stages(on)

    def stage_existing(self) -> None:
        self._window.hand.selected.stage("existing")

    def stage_to_remove(self) -> None:
        self._window.hand.selected.stage("to_remove")

    def stage_drawn(self) -> None:
        self._window.hand.selected.stage("drawn")

    def stage_bought(self) -> None:
        self._window.hand.selected.stage("bought")

    def stage_dry_fitted(self) -> None:
        self._window.hand.selected.stage("dry_fitted")

    def stage_joined(self) -> None:
        self._window.hand.selected.stage("joined")

    def stage_tested(self) -> None:
        self._window.hand.selected.stage("tested")

    # ---- assemblies -----------------------------------------------------------------

    def keep_assembly(self) -> None:
        """Ask for a name, keep what is selected under it."""
        window = self._window
        part = window.hand.selected.excerpt()
        if part is None:
            return
        labels = [item.label for item in part.plant.items.values() if item.label]
        title = "A name for the assembly. Return keeps it, Escape does not."
        window.board.asking.ask(title, labels[0] if labels else "", lambda name: self._keep(name))

    def _keep(self, name: str) -> None:
        window = self._window
        part = window.hand.selected.excerpt(" ".join(name.split())[:100])
        if not name or part is None:
            return
        try:
            one = window.assemblies.keep(part, part.plant.title)
        except Refusal as refusal:
            window.bar.show_message(f"Not kept. {refusal}")
            return
        self.show_assemblies()
        window.board.say(f"{one.title} stands on the shelf, under Assemblies")

    def show_assemblies(self) -> None:
        """Put the assemblies on the shelf."""
        window = self._window
        if not window.assemblies.all():
            window.assemblies.read()
        window.shelf.show_assemblies([_entry(one) for one in window.assemblies.all()])
        window.drawings.ask_assemblies(window.assemblies.all(), window.shelf)
        window.start.offer_assemblies([(one.key, one.title) for one in window.assemblies.all() if one.own])
        if window.assemblies.refused:
            window.bar.show_message(f"An assembly is left out. {window.assemblies.refused[0]}")
            window.assemblies.refused.clear()

    def lay_assembly(self, key: str) -> bool:
        """An assembly into the hand; False where there is none called so."""
        one = self._window.assemblies.get(key) if key.startswith(WORD) else None
        if one is None:
            return False
        self._window.hand.lay(one.part, f"Lay down {one.title}", systems=self.systems_for(one.part))
        return True

    def systems_for(self, part: Excerpt) -> dict[str, str]:
        """Which of the plant's systems an assembly's are: that of what is selected first."""
        document = self._window.document
        return systems_alike(document.plant, part.plant, systems_of(document.plant, document.selection))

    def drop_assembly(self, key: str) -> None:
        """Ask, then take one of the user's own off the shelf."""
        window = self._window
        one = window.assemblies.get(key)
        if one is None:
            return
        if not one.own:
            window.board.say(f"{one.title} came with the program and stays")
            return

        def drop() -> None:
            window.assemblies.drop(key)
            self.show_assemblies()

        window.bar.show_message(f"Take {one.title} off the shelf? Its file goes.", [("Take it off", drop)])


def _entry(one: Assembly) -> Entry:
    holds = counted(
        one.part.plant, [name for name, its in one.part.plant.items.items() if not its.has(Trait.JOINS)]
    )
    return Entry(one.key, one.title, f"{holds}. Your own; Delete takes it off" if one.own else holds)


def _counted(part: Excerpt) -> str:
    """`4 items` or `P-1`: how an undo step names it."""
    names = list(part.plant.items)
    if len(names) == 1:
        return names[0]
    return f"{len(names)} items" if names else "a text"
