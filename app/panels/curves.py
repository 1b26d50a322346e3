"""A circulator's curves under the board, live, with a second one ghosted and the places it could have.

What takes longer than a blink is worked out in a process beside the window
(`core.sizing.second_circulator.worker`).
"""

from __future__ import annotations

from typing import Any, cast

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.panels.curves_parts import PairTable, PlaceList, found_of
from app.panels.drafts import EntryDraft
from app.panels.port import Pane, PanePort, Sight
from app.widgets.picks import Arrowed
from app.widgets.plot import PlotView
from app.worker_process import WorkerProcess
from core.diagram.routes import route
from core.errors import WetsideError
from core.sizing.curves.system import SystemCurve
from core.sizing.second_circulator import chart
from core.sizing.second_circulator.available import at_hand
from core.sizing.second_circulator.edit import put_in
from core.sizing.second_circulator.found import Found
from core.sizing.second_circulator.study import Study
from core.sizing.second_circulator.worker import Answer, Question, Where
from core.vocabulary import Trait

MODULE = "core.sizing.second_circulator.worker"
SAME = "same curve"
WIDE = 900  # [px] from which the places stand beside the table, not under it
NARROW = 490  # [px] below which plot and places take turns


class CurvesPane(Pane):
    """Plot at the left; table, places and what they promise at the right."""

    TITLE = "Curves"
    HIGH = 360

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: tuple[object, ...] = ()
        self._ticket = 0
        self._system: tuple[str, SystemCurve] | None = None
        self._ghosts: dict[str, Found] = {}
        self._study: Study | None = None
        self._filling = False
        self.process = WorkerProcess(MODULE, self)
        self.process.answered.connect(self._take)
        self.process.broken.connect(self._lament)
        port.background.stopping.connect(self.process.stop)
        self._make_parts()
        self._lay_out()

    def _make_parts(self) -> None:
        self.pump = _combo(self, "Circulator whose curves are shown")
        self.where = _combo(self, "Where a second one is tried")
        self.curve = _combo(self, "Curve of the second one")
        for combo in (self.pump, self.where, self.curve):
            combo.currentIndexChanged.connect(self._chosen)
        self.plot = PlotView("Curves", self)
        self.plot.read.connect(self._read)
        self.table = PairTable(self)
        self.places = PlaceList(self)
        self.places.chosen.connect(self._show_place)
        self.words = _label(self)
        self.cautions = _label(self, soft=True)
        self.put = QPushButton("Insert", self)
        self.put.setToolTip("Put the circulator in at this place: one step of undo")
        self.put.clicked.connect(self.put_in)
        self.why = QPushButton("Why…", self)
        self.why.setToolTip("Write down why, in the logbook")
        self.why.setAccessibleName("Write down why")
        self.why.clicked.connect(self._write_down)
        self.working = QPushButton("Working", self)
        self.working.setToolTip("How the gain came about")
        self.working.clicked.connect(self._explain)
        self.turn = QPushButton("Second one", self)
        self.turn.setCheckable(True)
        self.turn.setToolTip("Plot, or the places for a second one")
        self.turn.toggled.connect(self._share_room)
        self.yours = QPushButton("Your curves…", self)
        self.yours.setToolTip("Paste a curve from a table, or pick it off a picture")
        self.yours.clicked.connect(self.open_yours)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(6)
        for part in (self.pump, self.where, self.curve, self.turn, self.yours):
            top.addWidget(part)
        top.addStretch(1)
        reading = QWidget(self)
        column = QVBoxLayout(reading)
        column.setContentsMargins(0, 0, 6, 0)
        column.setSpacing(4)
        column.addWidget(self.words)
        column.addWidget(self.cautions)
        column.addStretch(1)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setAccessibleName("What the place promises")
        scroll.setWidget(reading)
        buttons = QHBoxLayout()
        for button in (self.put, self.why, self.working):
            buttons.addWidget(button)
        buttons.addStretch(1)
        left = _column(self, self.table, (scroll, 1), buttons)
        right = QSplitter(Qt.Orientation.Horizontal, self)
        right.addWidget(left)
        right.addWidget(self.places)
        right.setChildrenCollapsible(False)
        right.setStretchFactor(0, 45)
        right.setStretchFactor(1, 55)
        self._right = right
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(self.plot)
        split.addWidget(right)
        split.setChildrenCollapsible(False)
        split.setStretchFactor(0, 42)
        split.setStretchFactor(1, 58)
        split.setSizes([420, 580])
        main = _column(self, top, (split, 1))
        self.pages = QStackedWidget(self)
        self.pages.addWidget(main)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 8, 6)
        whole.addWidget(self.pages)

    def resizeEvent(self, event: Any) -> None:
        super().resizeEvent(event)
        under = self.width() < WIDE
        self._right.setOrientation(Qt.Orientation.Vertical if under else Qt.Orientation.Horizontal)
        self._share_room()

    def _share_room(self) -> None:
        """Plot and places beside each other; in a narrow strip one of them at a time."""
        narrow = self.width() < NARROW
        places = self.turn.isChecked()
        self.turn.setVisible(narrow)
        self.plot.setVisible(not narrow or not places)
        self._right.setVisible(not narrow or places)
        for combo in (self.where, self.curve):
            combo.setVisible(not narrow or places)
        self.yours.setVisible(not narrow or not places)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        before = self._sight
        self._sight = sight
        self._fill_choices(sight, before)
        if self.pages.currentIndex() > 0:
            cast("Any", self.pages.currentWidget()).follow(sight)
        self._ask()
        self._show()

    def about(self, topic: Any) -> None:
        """Turn to a circulator by its id."""
        if isinstance(topic, str) and (place := self.pump.findData(topic)) >= 0:
            self.pump.setCurrentIndex(place)

    def focus_first(self) -> None:
        self.pump.setFocus(Qt.FocusReason.TabFocusReason)

    def _fill_choices(self, sight: Sight, before: Sight | None) -> None:
        pumps = [i.id for i in sight.plant.with_trait(Trait.DRIVES)]
        selected = [name for name in pumps if name in sight.selection]
        moved = before is None or before.selection != sight.selection
        wanted = selected[0] if len(selected) == 1 and moved else self._data(self.pump)
        givers = [n for n in sorted(sight.selection) if n in sight.plant.items and _gives(sight, n)]
        circuit = givers[0] if givers else self._circuit_of(sight)
        self._filling = True
        _fill(self.pump, [(name, name) for name in pumps], wanted or (pumps[0] if pumps else ""))
        places = [("beside it", "beside"), ("the whole plant", "all")]
        if circuit:
            places.insert(1, (f"for {circuit}", f"circuit {circuit}"))
        where = f"circuit {circuit}" if givers and moved else self._data(self.where)
        _fill(self.where, places, where or "beside")
        if before is None or before.plant is not sight.plant:
            curves = [(SAME, ""), *((pump.title, pump.name) for pump in at_hand(sight.plant))]
            _fill(self.curve, curves, self._data(self.curve))
        self._filling = False

    def _circuit_of(self, sight: Sight) -> str:
        """The circuit chosen before, as long as it is there."""
        word, _, name = self._data(self.where).partition(" ")
        return name if word == "circuit" and name in sight.plant.items else ""

    @staticmethod
    def _data(combo: QComboBox) -> str:
        return str(combo.currentData() or "")

    def _chosen(self) -> None:
        if not self._filling and self._sight is not None:
            self._ask()
            self._show()

    def _ask(self) -> None:
        """Ask for the curve and the places, unless that is asked already."""
        sight = self._sight
        name = self._data(self.pump)
        if sight is None or not sight.plant.items:
            return
        where, _, circuit = self._data(self.where).partition(" ")
        key = (sight.revision, sight.case, name, where, circuit, self._data(self.curve))
        if key == self._asked:
            return
        if key[2] != (self._asked[2] if self._asked else ""):
            self._system = None
        self._asked = key
        self._ticket += 1
        self._ghosts, self._study = {}, None
        self.places.show_places([], sight.display)
        if not name and where == "beside":
            return
        asked = cast("Where", where or "beside")
        question = Question(
            self._ticket,
            sight.revision,
            sight.plant,
            sight.case,
            name,
            asked,
            circuit,
            self._data(self.curve),
        )
        self.process.ask(question)

    def _take(self, answer: object) -> None:
        if not isinstance(answer, Answer) or answer.ticket != self._ticket or self._sight is None:
            return
        if answer.what == "system":
            name = self._data(self.pump)
            self._system = None if answer.load is None else (name, answer.load)
        elif answer.what in ("ghosts", "study"):
            found: Study = answer.load
            pump = self._data(self.pump)
            beside = {one.place.how: one for one in found.found if one.place.at == pump}
            self._ghosts = {how: one for how, one in beside.items() if how in chart.WORDS} or self._ghosts
            if answer.what == "study":
                self._study = found
                self.places.show_places(found.found, self._sight.display)
        elif answer.what == "refused":
            self.words.setText(str(answer.load))
        self._show(working=answer.what not in ("done", "refused"))

    def _lament(self, text: str) -> None:
        self._asked = ()
        self.words.setText(text)

    # ---- showing --------------------------------------------------------------------

    def _show(self, working: bool = True) -> None:
        sight = self._sight
        if sight is None:
            return
        name = self._data(self.pump)
        curves = chart.empty(sight.display)
        if name in sight.plant.items:
            system = self._system[1] if self._system is not None and self._system[0] == name else None
            figures = sight.solution.items.get(name) if sight.solution is not None else None
            curves = chart.curves_of(sight.plant, name, figures, sight.display, system, self._ghosts)
        self.plot.show_chart(curves.chart, sight.palette, curves.spoken)
        title = f"second {name}" if name else ""
        self.table.show_rows(title, curves.rows, sight.display, sight.palette, curves.spoken)
        parts = [f"{name}, {sight.case}" if name else "", curves.said, "working…" if working and name else ""]
        self.remarked.emit(" · ".join(part for part in parts if part))
        self._show_place(self._found())

    def _found(self) -> Found | None:
        return found_of(self.places.currentItem())

    def _show_place(self, found: object) -> None:
        one = found if isinstance(found, Found) else None
        if one is None:
            self.words.setText("" if self._study is None else self._study.summary)
            self.cautions.setText("")
        else:
            self.words.setText(self._told(one))
            cautions = [*one.cautions, *((self._study.cautions if self._study is not None else ())[:1])]
            self.cautions.setText("\n".join(f"Caution: {text[:1].upper()}{text[1:]}" for text in cautions))
        can = one is not None and one.state != "blocked"
        self.put.setEnabled(can)
        self.put.setText({"series": "Insert in series", "parallel": "Insert in parallel"}.get(
            one.place.how if one is not None else "", "Insert"))  # fmt: skip
        self.why.setEnabled(one is not None)
        self.working.setEnabled(one is not None and one.gained is not None)

    def _told(self, one: Found) -> str:
        lines = [f"{one.verdict}.", f"Room: {one.fit.words}."]
        if one.opened:
            lines.append(f"To open: {', '.join(one.opened)}.")
        if one.checks:
            lines.append(f"Check valves: {'; '.join(one.checks)}.")
        if one.margin is not None and self._sight is not None:
            lines.append(f"Suction: {one.margin.shown(self._sight.display)} above boiling.")
        if self._study is not None and not self._study.worth:
            lines.append(self._study.summary)
        return "\n".join(lines)

    def _read(self, at: object) -> None:
        if isinstance(at, tuple) and self._sight is not None:
            x, y = self.plot.chart.x.split(", "), self.plot.chart.y.split(", ")
            self.port.say(f"{at[0]:.1f} {x[-1]} · {at[1]:.1f} {y[-1]}")

    # ---- acting ---------------------------------------------------------------------

    def put_in(self) -> None:
        """Put the circulator in at the place chosen, and offer to write down why."""
        one = self._found()
        if one is None or one.state == "blocked":
            return
        plant = self.port.document.plant
        try:
            edit = put_in(plant, one.place, one.spot, one.pump, route(plant))
        except (WetsideError, KeyError) as refusal:
            self.port.warn(f"The plant has changed meanwhile; this place is no longer there ({refusal}).")
            return
        if self.port.commit(f"Put {edit.pump} {one.title}", edit.changes):
            self.port.go_to(edit.pump)
            self._offer(one, edit.pump)

    def _write_down(self) -> None:
        one = self._found()
        if one is not None:
            self._offer(one, "")

    def _offer(self, one: Found, pump: str) -> None:
        """An entry of the logbook with what was weighed: the other places."""
        others = self._study.found if self._study is not None else ()
        weighed = tuple(f"{o.title}: {o.verdict}" for o in others if o is not one)[:6]
        at = tuple(name for name in (pump, one.place.at) if name in self.port.document.plant.items)
        choice = f"second circulator {one.title}, {one.pump.title}"
        self.port.open_pane("logbook", EntryDraft(at or (one.place.near,), choice, weighed))

    def _explain(self) -> None:
        one = self._found()
        if one is not None and one.gained is not None:
            self.port.open_pane("working", one.per_flow or one.gained)

    def open_yours(self) -> None:
        """The page of the user's own curves."""
        from app.panels.curves_yours import YoursPage

        page = self.findChild(YoursPage)
        if page is None:
            page = YoursPage(self.port, self)
            page.left.connect(self._close_yours)
            self.pages.addWidget(page)
        if self._sight is not None:
            page.open_for(self._data(self.pump), self._sight)
        self.pages.setCurrentWidget(page)
        page.focus_first()

    def _close_yours(self) -> None:
        self.pages.setCurrentIndex(0)
        self.yours.setFocus(Qt.FocusReason.OtherFocusReason)


def _gives(sight: Sight, name: str) -> bool:
    return sight.plant.items[name].has(Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.FIRED)


def _combo(parent: QWidget, words: str) -> QComboBox:
    combo = Arrowed(parent)
    combo.setAccessibleName(words)
    combo.setToolTip(words)
    combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
    combo.setMaximumWidth(190)
    return combo


def _fill(combo: QComboBox, entries: list[tuple[str, str]], wanted: str) -> None:
    """Put entries (words, data) into a combo, without losing the place where nothing changed."""
    shown = [(combo.itemText(k), combo.itemData(k)) for k in range(combo.count())]
    if shown != entries:
        combo.clear()
        for words, data in entries:
            combo.addItem(words, data)
    combo.setCurrentIndex(max(combo.findData(wanted), 0 if entries else -1))


def _label(parent: QWidget, soft: bool = False) -> QLabel:
    label = QLabel("", parent)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if soft:
        label.setObjectName("soft")
    return label


def _column(parent: QWidget, *parts: Any) -> QWidget:
    """Widgets and layouts one under another; (part, stretch) gives it room."""
    box = QWidget(parent)
    column = QVBoxLayout(box)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(4)
    for part in parts:
        one, stretch = part if isinstance(part, tuple) else (part, 0)
        if isinstance(one, QWidget):
            column.addWidget(one, stretch)
        else:
            column.addLayout(one, stretch)
    return box
