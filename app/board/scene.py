"""The scene mirrors the document: graphics of items and pipes, made from one `Picture`. Writes nothing back.

`show_plant` may also be given a plant that the document does not hold (yet): so gestures show what a drop
would do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from enum import Enum
from typing import Any, NamedTuple, cast

from PySide6.QtCore import QObject, QRect, QRectF, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QGraphicsScene

from app.background import Background, Job
from app.board import trial
from app.board.graphics import (
    LineGraphic,
    MarkerGraphic,
    PipeGraphic,
    SymbolGraphic,
    TextGraphic,
    rect_of,
)
from app.board.hit_testing import LARGE, NO_IDS
from app.board.marked import MarkedScene
from app.board.overview import Overview
from app.board.time_sliced import TimeSliced, after
from app.board.trial import Tried, Trying
from app.pens import pen, text_width
from core.diagram import control_lines, stages
from core.diagram.control_lines import WireKind
from core.diagram.geometry import Polyline
from core.diagram.labels import GivenUp
from core.diagram.picture import Detail, Picture, compose
from core.diagram.routes import route
from core.diagram.states import NoteLike, SolvedCase, note_numbers
from core.diagram.zones import Zones, zones
from core.plant.model import Plant

FEW_PIPES = 40
"""Pipes up to which all lines are laid at once after an edit: more take longer than a hand should wait."""
WORDS_AFTER = 150
"""Milliseconds after an edit until its words are placed, where no answer of the solver comes first."""
WORDS = "words"
"""Lane of the background work that places them."""
REST = 700
"""Milliseconds of rest until labels that had no spot are tried again."""
HESITATES = 80
"""Milliseconds for which a hand must rest until what it tries is drawn with all care."""


class Words(Enum):
    """How the words on the board stand to the plant and its figures."""

    STAND = "as they should be, or nobody waits for others"
    DUE = "placed when the timer ends, or with the solver's answer before that"
    PLACING = "those of a large plant are being placed in the background"


class Shows(NamedTuple):
    """What the user chose to see; `resting`: whose figures rest on a value before one that was not taken."""

    quantities: tuple[str, ...] = ()
    wires: tuple[WireKind, ...] = ("senses",)
    stages: bool = False
    resting: frozenset[str] = NO_IDS


class _Made(NamedTuple):
    """What the background made, and of what."""

    plant: Plant
    solution: SolvedCase | None
    lines: dict[str, Polyline]
    picture: Picture
    zones: Zones
    hurried: bool
    shows: Shows


class BoardScene(MarkedScene):
    """Graphics of one plant in one case.

    What is drawn is the document's plant, or one that is only being tried in the hand (`trying`). From an
    edit on, words are `Words.DUE` until they are placed. Lines that an edit laid in a hurry (`_lines_due`)
    and words that found no spot are made anew once nothing has moved for `REST`.

    Parameters
    ----------
    figures_come : callable
        Whether the solver is still at work: its answer places the words
    parent : QObject or None
    """

    composed = Signal()
    """The picture changed: what a plan view or a card shows may be old."""

    def __init__(self, figures_come: Callable[[], bool], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.markers: list[MarkerGraphic] = []
        self.hand = LineGraphic(self.look)
        self.addItem(self.hand)
        self._worded = self.plant
        self.solution: SolvedCase | None = None
        self._shows = Shows()
        self._fresh: frozenset[str] = NO_IDS
        self._lines_due = False
        self._words = Words.STAND
        self._words_after = after(self, WORDS_AFTER, self._words_now)
        self._rest = after(self, REST, self.relabel_aside)
        self._hesitates = after(self, HESITATES, lambda: self._try(hurried=False))
        self._later = TimeSliced(self, self._show_some)
        self._tried: set[str] = set()
        self._trial: Trying | None = None
        self._prepared: tuple[Plant, dict[str, Polyline]] | None = None
        self._background: Background | None = None
        self._figures_come = figures_come
        self.overview = Overview(self.symbols, self.pipes)
        self.setSceneRect(QRectF(-20000, -20000, 40000, 40000))
        # Qt's own choice is made for few items on little room: it would look at all of them for each frame.
        self.setBspTreeDepth(12)

    # ---- off the window's thread ------------------------------------------------------

    def prepare(self, plant: Plant) -> None:
        """Lay the lines of a plant that will be shown soon; from any thread."""
        self._prepared = plant, route(plant)

    def work_in(self, background: Background) -> None:
        """Place the words of large plants there."""
        self._background = background
        background.done.connect(self._take_words)
        background.failed.connect(self._drop_words)

    def first(self) -> AbstractContextManager[None]:
        """Meanwhile nobody works in the background."""
        return nullcontext() if self._background is None else self._background.first()

    @property
    def up_to_date(self) -> bool:
        """Whether all lines and words are those of the plant and the figures as they are now."""
        return self.figures_stand and not self._lines_due

    @property
    def figures_stand(self) -> bool:
        """Whether the words are those of the figures as they are now; lines may still be laid better."""
        return self._words is Words.STAND and not self._later.busy

    def _let_words(self, words: Words) -> None:
        self._words = words
        if words is Words.DUE:
            self._words_after.start()
        else:
            self._words_after.stop()

    def relabel_aside(self) -> None:
        """As `relabel`, where nobody has to wait for it."""
        if self._background is None:
            self.relabel()
        elif not self.trying and self.figures_stand:
            self._ask_words(hurried=False)

    def _words_now(self) -> None:
        """Place the words after an edit, unless figures are about to come that place them anyway."""
        self._let_words(Words.DUE if self._figures_come() else Words.STAND)
        if self._words is Words.STAND and not self.trying:
            self._compose(self._settled, words=True, hurried=True)

    def _ask_words(self, hurried: bool) -> None:
        """Have lines and words made where nobody waits for them."""
        plant, solution, shows, before = self.plant, self.solution, self._shows, self.picture
        detail, lines = self._detail(True, hurried), None if self._lines_due else self._settled
        self._let_words(Words.PLACING if len(plant.pipes) > LARGE else Words.STAND)

        def work(job: Job) -> None:
            def keep_on() -> bool:
                return not (job.stale() or job.others_wait())

            laid = route(plant) if lines is None else lines
            trial.prepare(plant, laid)
            try:
                picture = compose(plant, solution, text_width, detail, laid, before, keep_on=keep_on)
            except GivenUp:
                job.report(None)
            else:
                job.report(_Made(plant, solution, laid, picture, zones(plant, laid), hurried, shows))

        if self._background is not None:
            self._background.ask(WORDS, work)

    def _take_words(self, lane: str, _ticket: int, result: object) -> None:
        if lane != WORDS:
            return
        made = cast("_Made | None", result)
        if made is None and self._words is Words.STAND:  # it gave way to other work, and nobody waits
            self._rest.start()
        elif made is None or not self._is_of(made):  # something else is shown by now, or in the hand
            self._let_words(Words.DUE)
        else:
            if self._words is Words.PLACING:
                self._let_words(Words.STAND)
            self._settled, self._lines_due, self._worded = made.lines, False, made.plant
            self._take_ground(self.ground.take(made.zones))
            self._show(made.picture, sliced=len(made.plant.pipes) > LARGE)
            if made.hurried and made.picture.hidden:
                self._rest.start()

    def _is_of(self, made: _Made) -> bool:
        """Whether what was made is of what is shown."""
        same = self.plant is made.plant and self.solution is made.solution
        return same and made.shows.resting == self._shows.resting

    def _drop_words(self, lane: str, _ticket: int, _error: object) -> None:
        if lane == WORDS and self._words is Words.PLACING:
            self._let_words(Words.STAND)

    # ---- mirroring ------------------------------------------------------------------

    def settle(self, plant: Plant, anew: bool = False) -> None:
        """Show a plant of the document, labels and all; `anew`: another plant.

        Lines are laid at once, of more than a few only those that the edit touches. All words follow with the
        solver's answer, or a little later where none comes. At rest, lines and words are made that follow
        from the plant alone, whatever was drawn before: as on paper and when the file is opened again.
        """
        self._later.finish()
        before, self._fresh = self._document_plant, NO_IDS
        stale = self.trying  # what is drawn
        self.plant = self._document_plant = plant
        tried: Tried | None = None
        legend = before.systems == plant.systems and stages.used(before) == stages.used(plant)
        self.ground.sheet_due |= anew or not legend
        if plant is before and not anew and self._tried and self.picture is not None:
            self._show_touched(self.picture, set())  # only what was tried and is not to be
            self._let_words(Words.DUE)  # lines, words and figures may have been due when the hand took hold
            return
        if anew:
            ready, self._prepared = self._prepared, None
            self._settled = ready[1] if ready is not None and ready[0] is plant else route(plant)
            self._lines_due = False
        elif not trial.same_lines(before, plant):
            self.ground.sheet_due = stale = True
            self._lines_due = len(plant.pipes) > FEW_PIPES
            if self._lines_due:
                last, self._trial = self._trial, None
                known = None if last is None else last.lines_for(plant, before)
                tried = known or trial.tried(plant, before, self._settled)
            self._settled = route(plant) if tried is None else tried.lines
        if anew:
            self.picture, self.solution = None, None
        only_drawing = before.units == plant.units and before.systems == plant.systems
        if anew or self.picture is None or not only_drawing:
            self._compose(self._settled, words=True)
        else:
            if tried is not None and self._one_by_one(plant):
                self.picture = trial.round_about(self.picture, plant, before, self.solution, tried)
                self._show_touched(self.picture, tried.touched_items | tried.changed)
            elif stale or not trial.same_look(before, plant, self.solution):
                self._compose(self._settled, words=False)
            self._let_words(Words.DUE)

    def show_plant(self, plant: Plant, fresh: frozenset[str] = NO_IDS) -> None:
        """Show a plant that is only being tried: the lines move, the words wait."""
        self._later.finish()
        self.plant, self._fresh = plant, fresh
        if self._words is Words.DUE:
            self._let_words(Words.STAND)
        if self.picture is not None and self._one_by_one(plant):
            self._try(hurried=len(plant.pipes) > LARGE)
        else:
            self._compose(trial.lines(plant, self._document_plant, self._settled), words=False)

    def _try(self, hurried: bool) -> None:
        """Draw what is tried of a large plant: lines in a hurry first, with all care once the hand rests."""
        known = self._document_plant
        if self.picture is None or self.plant is known:
            return  # it was let go meanwhile
        tried = trial.tried(self.plant, known, self._settled, hurried)
        self._trial = Trying(known, self.plant, tried)
        picture = trial.round_about(self.picture, self.plant, known, self.solution, tried)
        self._show_touched(picture, tried.touched_items | tried.changed)
        if tried.careful:
            self._hesitates.stop()
        else:
            self._hesitates.start()

    def _one_by_one(self, plant: Plant) -> bool:
        """Whether making the whole picture anew would be felt in the hand."""
        return len(plant.pipes) > FEW_PIPES and plant.texts is self._worded.texts

    def _show_touched(self, picture: Picture, names: set[str]) -> None:
        """Show a picture that differs from the one shown only in these things, and in those tried before."""
        names, self._tried = names | self._tried, set(names)
        self._show_symbols(picture, names)
        self._show_pipes(picture, names)
        self.overview.touch(names)
        self.composed.emit()

    def show_solution(self, solution: SolvedCase | None) -> None:
        """Show other figures; labels without a spot are tried again when the hand has come to rest."""
        before, self.solution = self.solution, solution
        if self.trying:
            return
        if self._words is not Words.DUE and not self._lines_due and trial.same_figures(before, solution):
            return
        # First figures, and those of another case, are read as a whole; after an edit one wants to go on.
        edited = before is not None and solution is not None and before.case == solution.case
        self._compose(self._settled, words=True, hurried=edited)

    def show_quantities(self, quantities: Sequence[str]) -> None:
        self._shows = self._shows._replace(quantities=tuple(quantities))
        self.relabel()

    def show_controls(self, on: bool) -> None:
        """Lines from signals and outlets besides those of sensing."""
        self._choose(wires=control_lines.KINDS if on else ("senses",))

    def show_resting(self, names: frozenset[str]) -> None:
        """Mark the figures of these: they rest on a value typed before one that was not taken."""
        self._choose(resting=names)

    def show_stages(self, on: bool) -> None:
        self._choose(stages=on)

    def _choose(self, **chosen: Any) -> None:
        before, self._shows = self._shows, self._shows._replace(**chosen)
        if self._shows != before:
            self.relabel()

    def relabel(self) -> None:
        """Choose words and spots again, as after a zoom; not while something is only being tried."""
        if not self.trying:
            self._compose(self._settled, words=True)

    def _detail(self, words: bool, hurried: bool = False) -> Detail:
        units = "si" if self.plant.units == "si" else "us"
        return Detail(
            self.look.legible(self._shows.quantities),
            units,  # type: ignore[arg-type]
            tags=words,
            second_lines=self.look.zoom >= 0.5,
            labels=words,
            markers=note_numbers(self.notes()) if words else {},
            must_runs=words and not hurried and self.look.text_scale <= 1.0,
            text_scale=self.look.text_scale,
            resting=self._shows.resting,
            stages=self._shows.stages,
            wires=self._shows.wires,
            hurried=hurried,
        )

    def _compose(self, lines: Mapping[str, Polyline], words: bool, hurried: bool = False) -> None:
        """Make the picture and hand it to the graphics; without `words` those of before stay if they can."""
        if words and self._background is not None and len(self.plant.pipes) > LARGE:
            if self.picture is None:
                self._compose(lines, words=False)
            self._ask_words(hurried)
            return
        if words and self._lines_due and not hurried:
            self._lines_due = False
            self._settled = lines = route(self.plant)
        if not self.trying:
            self._take_ground(self.ground.lay(self.plant, self._settled))
        before = self.picture
        picture = compose(self.plant, self.solution, text_width, self._detail(words, hurried), lines, before)
        self._rest.stop()
        if words:
            self._let_words(Words.STAND)
            self._worded = self.plant
        elif before is not None:
            picture = trial.with_words_of(before, picture, self._worded, self.plant, self.look.text_scale)
        self._show(picture)
        if words and hurried and (picture.hidden or self._lines_due):
            self._rest.start()

    def _show(self, picture: Picture, sliced: bool = False) -> None:
        """Hand a whole picture to the graphics; `sliced` only where it is that of the document's plant."""
        self._tried = set()
        self.look.texts = tuple(placed.box for placed in picture.written)
        if not sliced:
            self._show_symbols(picture)
            self._show_pipes(picture)
            self.overview.touch(None)
        self._show_markers(picture)
        self._show_texts(picture)
        if not self.trying:
            if self.picture is None or picture.wires is not self.picture.wires:
                self.ground.show_wires(picture.wires)
                self.show_ground()
            self.picture = picture
        self._later.begin((*self.plant.items, *self.plant.pipes) if sliced else ())
        self.composed.emit()

    def _show_some(self, names: set[str]) -> None:
        """Hand on some of the document's picture."""
        if self.picture is not None:
            self._show_symbols(self.picture, names)
            self._show_pipes(self.picture, names)
            self.overview.touch(names)

    def _take_ground(self, changed: bool) -> None:
        if changed:
            self.show_ground()

    def zone_of(self, name: str) -> str:
        """Where a thing lies, as schedules and paper say it."""
        if name in self._document_plant.items or name in self._settled:
            return self.ground.zones.of(self._document_plant, self._settled, name)
        return ""

    def _show_symbols(self, picture: Picture, only: set[str] | None = None) -> None:
        for gone in self.symbols.keys() - self.plant.items.keys():
            self.removeItem(self.symbols.pop(gone))
        items = self.plant.items
        for name in items if only is None else items.keys() & only:
            item = items[name]
            graphic = self.symbols.get(name)
            if graphic is None:
                graphic = self.symbols[name] = SymbolGraphic(item, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            graphic.show_as(
                item,
                picture.states[name],
                picture.stubs.get(name, {}),
                picture.open_ends.get(name, ()),
                picture.tags.get(name),
                name in self._fresh,
            )

    def _show_pipes(self, picture: Picture, only: set[str] | None = None) -> None:
        for gone in self.pipes.keys() - self.plant.pipes.keys():
            self.removeItem(self.pipes.pop(gone))
        for name in self.plant.pipes if only is None else self.plant.pipes.keys() & only:
            graphic = self.pipes.get(name)
            if graphic is None:
                graphic = self.pipes[name] = PipeGraphic(name, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            graphic.show_as(picture.pipes[name], picture.labels.get(name), name in self._fresh)

    # ---- the solver's notes ---------------------------------------------------------

    def notes(self) -> Sequence[NoteLike]:
        return self.solution.notes if self.solution is not None else ()

    def _show_markers(self, picture: Picture) -> None:
        if [marker.placed for marker in self.markers] == list(picture.markers.values()):
            return
        for marker in self.markers:
            self.removeItem(marker)
        self.markers = [MarkerGraphic(name, placed, self.look) for name, placed in picture.markers.items()]
        for marker in self.markers:
            self.addItem(marker)

    def _show_texts(self, picture: Picture) -> None:
        """The user's own texts, called as the document calls them."""
        wanted = {f"text {number}": placed for number, placed in picture.texts.items()}
        for gone in self.texts.keys() - wanted.keys():
            self.removeItem(self.texts.pop(gone))
        for name, placed in wanted.items():
            graphic = self.texts.get(name)
            if graphic is None:
                graphic = self.texts[name] = TextGraphic(name, placed, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            elif graphic.placed != placed:
                graphic.show_as(placed)

    # ---- painting -------------------------------------------------------------------

    def show_ground(self) -> None:
        """Sheet, lines of control or colours are others: the view keeps a picture of them."""
        self.invalidate(self.sceneRect(), QGraphicsScene.SceneLayer.BackgroundLayer)
        self.update()

    def drawBackground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        self.ground.paint(painter, QRectF(rect), self.look)

    def paint_overview(self, painter: QPainter, rect: QRectF, zoom: float) -> None:
        """The whole plant as a few paths: for when a symbol is a few pixels wide."""
        palette = self.look.palette
        self.ground.paint(painter, rect, self.look, wires=False)
        self.overview.paint(painter, rect, palette, zoom)
        painter.setPen(pen(palette.accent, 2.2 / zoom))
        for name in self._selected:
            box = self.box_round(name)
            if box is not None:
                painter.drawRect(rect_of(box.grown(4 / zoom)))
