"""The window: board in the middle, shelf and particulars beside it, cases above, notes below.

Assembly, no logic.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

from PySide6.QtCore import QEvent, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QGuiApplication, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QMainWindow,
    QMenu,
)

from app import actions
from app.assemblies import Assemblies
from app.background import Background
from app.board.board_widget import BoardWidget, Card
from app.document import Document
from app.gestures.hand import DrawingHand
from app.panels import figures
from app.panels.cases import CaseRail, case_word
from app.panels.notes import NotesPanel
from app.panels.particulars import Particulars
from app.panels.port import Pane
from app.panels.shelf import Shelf
from app.panels.start import EMPTY, GUIDED, StartPage
from app.settings import Settings
from app.widgets import theme
from app.widgets.measure import scaled
from app.widgets.message_bar import MessageBar
from app.widgets.quick import QuickBox
from app.window import dropped, samples, tab_order
from app.window.chrome import Actions, QuantityRow, TopRow, menu_of
from app.window.commands import Commands
from app.window.files import Files
from app.window.frame import Frame, status_labels
from app.window.live import LiveSolve, Solve, warm_up
from app.window.live_review import LiveReview
from app.window.panes import Under
from app.window.port import WindowPort
from app.window.why import Why
from core.diagram.in_a_row import is_row
from core.vocabulary.trade_words import nothing_by


class Window(QMainWindow):
    """One plant under edit. `solve` is put in by tests; `file` is opened after the first paint."""

    stands = Signal()  # painted for the first time; the file asked for is on its way
    closed = Signal()
    stayed = Signal()  # it was to close, but holds changes the user wants to go on with
    look_chosen = Signal(str)
    window_asked = Signal(object)  # with a file or None
    quit_asked = Signal()

    def __init__(self, settings: Settings, file: Path | None = None, solve: Solve | None = None) -> None:
        super().__init__()
        self.settings = settings
        self.look = theme.chosen(settings.get("look"))
        self.file_asked = file
        self._painted = self._leaving = False
        self._shown: tuple[object, ...] = ()
        self.background = Background(self)
        self.document = Document(parent=self)
        self.review = LiveReview(self.document, self.background)
        self.live = LiveSolve(self.document, self.background, solve)
        self.review.begin(self.live)
        self.board = BoardWidget(self.document, self._card_of, self._figures_come, self)
        self.commands = Commands(self, self)
        self.hand = DrawingHand(self.board, self.commands.edit_in_place, self.commands.lay_assembly)
        self.why = Why(self.document, self.live, self.background, self.board)
        self.bar = MessageBar(self)
        prepare = self.board.scene.prepare
        self.files = Files(self.document, self.background, self.bar, settings, prepare, self)
        self.assemblies = Assemblies(settings.folder)
        self.actions_ = Actions(self, self.board.view, self._method)
        self.shelf = Shelf(self.look, self)
        self.rail = CaseRail(self, self.commands.edit_case)
        self.particulars = Particulars(self.document, self.look, self.board.scene.zone_of, self)
        self.port = WindowPort(self)
        self.under = Under(self.port, self)
        self.notes = cast("NotesPanel", self.under.pane("notes"))
        self.start = StartPage(self.board.view)
        self.quick = QuickBox(
            "Insert by name", self.board, nothing_by, example="boiler, or boiler > circulator > B-1"
        )
        self.top = TopRow(self.actions_, self.commands.found, self)
        self.quantities = QuantityRow(self.actions_, self)
        self.drawings = samples.Drawings(self.background, self.start, self)
        self.setAcceptDrops(True)
        self.frame = Frame(self)
        self.setCentralWidget(self.frame)
        self._solved, self._hint, self._zoom = status_labels(self.statusBar())
        self._connect()
        self._restore()

    # ---- assembly -------------------------------------------------------------------

    def _connect(self) -> None:
        document, board = self.document, self.board
        document.changed.connect(self._follow)
        document.selection_changed.connect(self._show_possible)
        document.selection_changed.connect(self.tell_panes)
        document.clean_changed.connect(self._show_title)
        document.file_changed.connect(self._show_title)
        document.stack.indexChanged.connect(self._show_possible)
        self.live.changed.connect(self._show_solution)
        self.review.changed.connect(self._show_review)
        self.shelf.taken.connect(self.take)
        self.shelf.dropped.connect(self.commands.drop_assembly)
        self.shelf.told.connect(self.say)
        self.quick.taken.connect(self.take)
        self.quick.closed.connect(board.view.setFocus)
        self.rail.chosen.connect(self.live.choose)
        self.notes.asked.connect(board.go_to)
        self.top.finder.found.connect(self.commands.take_found)
        self.top.finder.missed.connect(self._hint.setText)
        self.particulars.rests.connect(board.scene.show_resting)
        self.particulars.rests.connect(lambda _names: self._show_solution())
        self.particulars.pointed.connect(self.hand.point)
        self.particulars.left.connect(lambda: board.view.setFocus(Qt.FocusReason.OtherFocusReason))
        self.particulars.refused.connect(self.bar.show_message)
        self.particulars.asked_working.connect(lambda *place: self.open_pane("working", place))
        self.particulars.renamed_case.connect(self.live.follow_name)
        board.refused.connect(self.bar.show_message)
        board.gesture_began.connect(self._show_possible)
        board.gesture_ended.connect(self._show_possible)
        board.said.connect(self._hint.setText)
        board.view.zoomed.connect(lambda _zoom: self._show_zoom())
        board.view.resized.connect(self._place_start)
        board.view.context_asked.connect(self._show_context)
        self.hand.particulars_asked.connect(self._open_particulars)
        self.hand.value_begun.connect(self.commands.type_value)
        self.hand.kind_asked.connect(self.commands.insert)
        self.start.chosen.connect(self._start_from)
        self.files.follow_form(self.particulars)
        board.scene.work_in(self.background)
        self.files.began.connect(self._hint.setText)
        self.files.opened.connect(self._opened)
        self.files.saved.connect(self._saved)
        self.top.menus["Plant"].aboutToShow.connect(self.commands.fill_recent)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._follow_desktop)

    def _restore(self) -> None:
        self.shelf.show_last(self.settings.get("last_used"))
        for name in ("shelf", "particulars", "notes"):
            shown = bool(self.settings.get(f"{name}_shown"))
            self.actions_[f"{name}_shown"].setChecked(shown)
            self.frame.panel(name).setVisible(shown)
        self.under.show_pane("notes")
        for name in self.settings.get("quantities"):
            self.actions_[f"show_{name}"].setChecked(True)
        self.actions_[f"look_{self.settings.get('look')}"].setChecked(True)
        for name in ("stages_shown", "controls_shown", "marks_shown"):
            self.actions_[name].setChecked(self.settings.get(name))
        self.board.scene.show_stages(self.settings.get("stages_shown"))
        self.board.scene.show_controls(self.settings.get("controls_shown"))
        self.board.scene.show_quantities(self.settings.get("quantities"))
        self.document.new_length = self.settings.new_length
        self.rail.offer(menu_of(self.rail, self.actions_, actions.NEW_CASES))
        samples.offer_on(self.start, self.settings.get("recent"))
        self._show_look()
        self._follow(None)

    # ---- following ------------------------------------------------------------------

    def _follow(self, changes: object) -> None:
        plant = self.document.plant
        names = self.live.names() if plant.items or plant.cases else []
        self.rail.show_cases(names, self.live.case)
        self.actions_["si" if plant.units == "si" else "us"].setChecked(True)
        self.show_marks()
        if changes is None:
            self.start.setHidden(bool(plant.items))
        elif plant.items:
            self.start.hide()
        self._place_start()
        self._show_title()
        self._show_possible()
        self._show_solution()

    def _show_solution(self) -> None:
        plant, live = self.document.plant, self.live
        solution = self.review.without_findings(live.solution)
        if self.rail.current != live.case and live.case in self.live.names():
            self.rail.show_cases(self.live.names() if plant.items or plant.cases else [], live.case)
        if self._shown != (live.case, solution, live.waiting, self.document.revision):
            self._shown = (live.case, solution, live.waiting, self.document.revision)
            self.board.show_solution(solution if plant.pipes else None)
            self.particulars.show_solution(live.case, solution)
        self.tell_panes()
        words = {name: case_word(plant, each) for name, each in live.solutions().items()}
        self.rail.show_words(words | live.moment_words())
        self._solved.setText(self._solved_words())
        self._solved.setMinimumWidth(min(self._solved.sizeHint().width(), self.width() // 2))

    def _show_review(self) -> None:
        self.under.retitle("punch", self.review.tab())
        self.show_marks()
        self._show_solution()

    def show_marks(self) -> None:
        """Marks of findings on the board, where they are wanted."""
        self.board.overlay.show_marks(self.review.marks() if self.settings.get("marks_shown") else ())

    def _solved_words(self) -> str:
        live = self.live
        if not self.document.plant.pipes:
            return "Nothing to solve yet"
        if live.refusal():
            return f"Not solved: {live.refusal()}"
        if live.waiting or live.solution is None:
            return "Solving…"
        rests = self.particulars.rests_words()
        words = "Solved" if live.solution.converged else "Not solved: the notes say where"
        return " · ".join(filter(None, (words, rests, self.review.words())))

    def _show_title(self) -> None:
        file = self.document.file
        name = self.document.plant.title or (file.name if file is not None else "Untitled plant")
        self.setWindowTitle(f"{name}[*] – Wetside")
        self.setWindowModified(not self.document.clean)
        self.top.title.setText(name if self.document.clean else f"{name} *")

    def _show_possible(self) -> None:
        document = self.document
        chosen = document.selection
        self.actions_.enable(
            {
                "undoable": document.stack.canUndo(),
                "redoable": document.stack.canRedo(),
                "selected": bool(chosen) or self.hand.gesture is not None,
                "several": len(chosen & document.plant.items.keys()) > 1,
                "one_item": len(chosen) == 1 or self.hand.gesture is not None,
                "drawn": bool(document.plant.items),
            }
        )
        for name in ("undo", "redo"):
            text = document.stack.undoText() if name == "undo" else document.stack.redoText()
            self.actions_[name].setText(f"&{name.capitalize()} {text[:1].lower()}{text[1:]}".rstrip())

    def _show_zoom(self) -> None:
        self._zoom.setText(f"{100 * self.board.view.zoom:.0f} %")

    def _show_look(self) -> None:
        application = QApplication.instance()
        if isinstance(application, QApplication):
            theme.put_on(application, self.look)
        self.board.show_palette(self.look)
        self.shelf.show_palette(self.look)
        self.particulars.show_palette(self.look)
        self.drawings.show_palette(self.look)
        self.tell_panes()

    def _follow_desktop(self) -> None:
        if self.settings.get("look") == "system":
            self.look = theme.chosen("system")
            self._show_look()

    def _place_start(self) -> None:
        if not self.start.isHidden():
            viewport = self.board.view.viewport()
            self.start.place_over(viewport.width(), viewport.height())
            self.start.raise_()

    def _start_from(self, value: str) -> None:
        if value == GUIDED:
            self.commands.first_plant()
        elif value == EMPTY or self.commands.lay_assembly(value):
            self.start.hide()
            self.board.view.setFocus()
        else:
            self.files.read(Path(value), as_new=value not in self.start.lately)

    def _show_context(self, place: QPoint) -> None:
        if self.hand.gesture is not None:
            return
        names = actions.AT_SELECTED if self.document.selection else actions.AT_BARE_BOARD
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions([self.actions_[name] for name in self.commands.fitting(names)])
        menu.popup(place)

    def _card_of(self, name: str) -> Card:
        zone = self.board.scene.zone_of(name)
        return figures.card(self.document.plant, self.live.solution, name, zone, self.review.said(name))

    def _figures_come(self) -> bool:
        """Whether the solver will soon answer."""
        return self.live.waiting and bool(self.document.plant.pipes)

    def _open_particulars(self) -> None:
        self.show_panel("particulars", True)
        self.particulars.focus_first()

    # ---- what commands ask -------------------------------------------------------------

    def take(self, kind: str) -> None:
        """A symbol from the shelf into the hand; several in a row are laid at once."""
        if is_row(kind):
            self.commands.lay_row(kind)
            return
        if self.commands.lay_assembly(kind):
            self.start.hide()
            return
        self.settings.put_first("last_used", kind, 10)
        self.shelf.show_last(self.settings.get("last_used"))
        self.start.hide()
        self.hand.take(kind)

    def show_panel(self, name: str, on: bool) -> None:
        self.actions_[f"{name}_shown"].setChecked(on)
        self.frame.panel(name).setVisible(on)
        self.settings.set(f"{name}_shown", on)

    def _method(self, name: str) -> Callable[..., None]:
        """What an action does: a pane's action shows it, the others are methods of the commands."""
        if name.startswith("pane_"):
            return lambda: self.open_pane(name.removeprefix("pane_")).focus_first()
        return cast("Callable[..., None]", getattr(self.commands, name))

    def open_pane(self, key: str, topic: Any = None) -> Pane:
        """Bring a pane in sight; the strip grows to what it likes, the board keeps half."""
        if self.under.isHidden():
            self.show_panel("notes", True)
        pane = self.under.show_pane(key, topic)
        self.frame.make_room_below(pane.HIGH)
        return pane

    def _opened(self) -> None:
        """Keys go to the board, unless something is asked."""
        focus = self.focusWidget()
        if focus is None or not self.bar.isAncestorOf(focus):
            self.port.leave()

    def _saved(self, file: Path) -> None:
        self.say(f"Saved {file.name}")
        self.port.leave()

    def say(self, text: str) -> None:
        """Words in the status line."""
        self._hint.setText(text)

    def tell_panes(self) -> None:
        self.under.follow(self.port.sight())

    def go_pane(self, step: int) -> None:
        self.frame.go_pane(step)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes through the panes as they stand."""
        return tab_order.step(self, self.frame.in_order(), forward)

    def set_look(self, look: str) -> None:
        self.settings.set("look", look)
        self.follow_look(look)
        self.look_chosen.emit(look)

    def follow_look(self, look: str) -> None:
        """Light or dark as chosen, here or in another window."""
        self.actions_[f"look_{look}"].setChecked(True)
        self.look = theme.chosen(look)
        self._show_look()

    # ---- beginning and end ----------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.quantities.fold(self.width() < scaled(self, 1250))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            QTimer.singleShot(0, self, self._after_first_paint)

    def _after_first_paint(self) -> None:
        self.frame.share_out()
        self.shelf.draw()
        self.commands.show_assemblies()
        self.board.fit()
        self.board.view.setFocus()
        if self.file_asked is not None:
            self.start.hide()
            self.files.read(self.file_asked)
            self.background.idle.connect(self.particulars.begin)  # if it could not be read
        else:
            self.particulars.begin()
            self.background.ask("warm", warm_up)
            self.drawings.ask(self.start.files())
        self.stands.emit()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if dropped.plants_in(event.mimeData()):
            event.acceptProposedAction()
        elif event.mimeData().hasUrls():
            self.say("Plant files may be dropped here: *.plant.json")

    def dropEvent(self, event: QDropEvent) -> None:
        dropped.take(event.mimeData(), self.files.open, self.window_asked.emit)
        event.acceptProposedAction()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.files.disk.look()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._leaving:
            self.particulars.finish_typing()
        if not self._leaving and not self.files.settled:
            event.ignore()
            self.files.guarded(self._leave, self.stayed.emit)
            return
        self.hand.cancel()
        self.under.bring_back()
        self.hide()  # at once: the last solve may take a moment to end
        self.background.stop()
        self.files.close()
        event.accept()
        self.closed.emit()

    def _leave(self) -> None:
        self._leaving = True
        self.close()
