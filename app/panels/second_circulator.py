"""A second circulator: what is wanted; at most three places that bring it and keep every limit, or why none.

Solved in the background, given up for whatever is wanted sooner, and asked again by itself. A place that is
clicked shows the circulator on the board as proposed, until it is put in or left.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.board.beside import Beside
from app.panels.drafts import EntryDraft
from app.panels.patient import KeepOn, OnProgress, Patient
from app.panels.port import Pane, PanePort, Sight
from app.widgets.picks import Arrowed
from app.widgets.table import Table, TableRow
from core import units
from core.errors import Refusal, WetsideError, escaped
from core.questions.headlines import pair

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.sizing.second_circulator.best import Best, Offer
    from core.sizing.second_circulator.edit import Edit
    from core.sizing.second_circulator.found import Found

LANE = "second circulator"
OFFER = Qt.ItemDataRole.UserRole
SHORT = "A circuit is short of heat"
HEAD = ("Place", "Flow before", "Flow after", "Power", "Fits")
START = "Say what is wanted and ask. Nothing is put in before you take a place."
CHANGED = "The plant changed: ask again."
WORKING = "Solving the plant with a circulator at every place…"
FITS = {"yes": "yes", "no": "no", "unknown": "not known"}


class SecondCirculatorPane(Pane):
    """The question, the places, and for the one chosen what it does, whether it fits, and what it opens."""

    TITLE = "Second circulator"
    HIGH = 330

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._plant: Plant | None = None
        self._patient = Patient(port.background, LANE, self)
        self.answer: Best | None = None
        self._topic: str | None = None  # what is to be turned to once there are figures
        self._framed: frozenset[str] = frozenset()  # selected by this page, not by a hand
        self.wanted = Arrowed(self)
        self.wanted.setAccessibleName("What is wanted")
        self.wanted.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.wanted.addItem(SHORT, "")
        self.ask = QPushButton("Ask", self)
        self.ask.setToolTip("Look for places (Return)")
        self.ask.clicked.connect(self.ask_now)
        self.places = Table("Places, best first", HEAD, (250, 90, 90, 70, 80), self)
        self.places.itemClicked.connect(lambda *_: self._preview())
        self.places.itemActivated.connect(lambda *_: self._preview())
        self.places.currentItemChanged.connect(lambda *_: self._show())
        self.words = QLabel(START, self)
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.room_words = QLabel("", self)
        self.room = QLineEdit(self)
        self.room.setAccessibleName("Length that is not known yet")
        self.room.setMaximumWidth(120)
        self.room.returnPressed.connect(self.set_room)
        self.put = QPushButton("Put it in", self)
        self.put.setToolTip("Put the circulator in at the place chosen: one step of undo")
        self.put.clicked.connect(self.put_in)
        self._lay_out()
        self._patient.came.connect(self._came)
        self._patient.failed.connect(self._failed)
        self._show()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.wanted)
        head.addWidget(self.ask)
        head.addStretch(1)
        told = QScrollArea(self)
        told.setWidgetResizable(True)
        told.setFrameShape(QFrame.Shape.NoFrame)
        told.setAccessibleName("The answer in words")
        told.setWidget(self.words)
        foot = QHBoxLayout()
        foot.addWidget(self.room_words)
        foot.addWidget(self.room)
        foot.addStretch(1)
        foot.addWidget(self.put)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addLayout(head)
        column.addWidget(self.places, 3)
        column.addWidget(told, 4)
        column.addLayout(foot)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        if self._topic is not None and sight.solution is not None:
            self._turn_to(self._topic)
            self._topic = None
        if len(sight.selection) == 1 and self.answer is None and sight.selection != self._framed:
            self._offer_place(next(iter(sight.selection)))
        if self._plant is not None and self._plant is not sight.plant:
            self._forget(CHANGED)

    def about(self, topic: Any) -> None:
        """Turn to an item or pipe that is to have more flow; "" turns to the circuit that is short."""
        if isinstance(topic, str):
            self._topic = topic

    def _turn_to(self, topic: str) -> None:
        if topic:
            self._offer_place(topic)
        self.wanted.setCurrentIndex(max(self.wanted.findData(topic), 0))

    def focus_first(self) -> None:
        self.wanted.setFocus(Qt.FocusReason.TabFocusReason)

    def _offer_place(self, name: str) -> None:
        """The second thing that can be wanted: more flow at what is selected."""
        from core.sizing.second_circulator.found import flow_at

        sight = self._sight
        if self.wanted.findData(name) >= 0 or sight is None or sight.solution is None:
            return
        if flow_at(sight.plant, sight.solution, name) is None:
            return
        if self.wanted.count() == 1:
            self.wanted.addItem("", "")
        self.wanted.setItemText(1, f"More flow at {name}")
        self.wanted.setItemData(1, name)

    def _forget(self, words: str) -> None:
        self._plant, self.answer = None, None
        self._patient.forget()
        self.port.leave_preview()
        self.places.clear()
        self.words.setText(words)
        self._show()

    # ---- asking ---------------------------------------------------------------------

    def ask_now(self) -> None:
        """Look for places, for what is wanted, in the case in sight."""
        sight = self._sight
        if sight is None or not sight.plant.pipes:
            return
        at = str(self.wanted.currentData() or "")
        self._forget(WORKING)
        plant = self._plant = sight.plant
        case = next((one for one in plant.solve_cases if one.name == sight.case), plant.solve_cases[0])

        def work(keep_on: KeepOn, _on_progress: OnProgress) -> object:
            from core.sizing.second_circulator.best import best_places

            return best_places(plant, case, at, keep_on)

        self._patient.ask(work)

    def _came(self, result: object) -> None:
        if self._plant is None or self._sight is None:
            return
        self.answer = cast("Best", result)
        for offer in self.answer.offers:
            found = offer.found
            watts = f"{found.power:.0f} W" if found.power is not None else "not known"
            flows = (units.show(flow, "flow", self._sight.display) for flow in (offer.before, offer.after))
            row = TableRow([found.title, *flows, watts, FITS[found.fit.fits]])
            row.setData(0, OFFER, offer)
            row.setToolTip(0, f"{found.title}, {found.pump.title}")
            row.setToolTip(4, found.fit.words)
            self.places.addTopLevelItem(row)
        first = self.places.topLevelItem(0)
        if first is not None:
            self.places.setCurrentItem(first)
        self._show()
        if self.answer.offers:
            self._frame()

    def _failed(self, error: object) -> None:
        self._forget(escaped(str(error)) if isinstance(error, WetsideError) else "This failed.")

    # ---- the answer -----------------------------------------------------------------

    def _offer(self) -> Offer | None:
        row = self.places.currentItem()
        return cast("Offer", row.data(0, OFFER)) if row is not None else None

    def _frame(self) -> None:
        offer = self._offer()
        if offer is not None:
            self._framed = frozenset({_place(offer.found)})
            self.port.frame(sorted(self._framed))

    def _preview(self) -> None:
        """Show on the board where the circulator would stand, and what flows then."""
        offer, sight = self._offer(), self._sight
        self._frame()
        edit = self._edit(offer) if offer is not None else None
        if offer is None or sight is None or edit is None or self.answer is None:
            return
        self.port.leave_preview()
        if self.port.preview(edit.changes, self.put_in):
            flows = pair(offer.before, offer.after, "flow", sight.display)
            words = {self.answer.at: flows, edit.pump: f"{flows} at {self.answer.at}"}
            self.port.show_beside(Beside(changed=frozenset({edit.pump}), words=words))

    def hideEvent(self, event: QHideEvent) -> None:
        self.port.leave_preview()
        super().hideEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.port.leave_preview()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.wanted.hasFocus():
            self.ask_now()
        else:
            super().keyPressEvent(event)

    def _show(self) -> None:
        offer = self._offer()
        self.places.setVisible(bool(self.answer is not None and self.answer.offers))
        self.put.setEnabled(offer is not None)
        unknown = self._unknown()
        self.room_words.setVisible(unknown is not None)
        self.room.setVisible(unknown is not None)
        self.room_words.setText(unknown.words if unknown is not None else "")
        self.room.clear()
        if self._sight is not None:
            self.room.setPlaceholderText("e.g. 12 in" if self._sight.display == "us" else "e.g. 300 mm")
        if self.answer is None:
            return
        cautions = [f"Caution: {words}" for words in self.answer.cautions]
        if offer is None:
            self.words.setText("\n".join([self.answer.none, *cautions]))
            return
        found = offer.found
        lines = [f"{self.answer.case}: {found.verdict}.", f"Room: {found.fit.words}."]
        if found.opened:
            lines.append(f"To open: {', '.join(found.opened)}.")
        if found.checks:
            lines.append(f"Check valves: {'; '.join(found.checks)}.")
        lines += [f"Left out: {words}." for words in self.answer.refused]
        lines += [f"Caution: {words}" for words in (*found.cautions, *self.answer.cautions)]
        self.words.setText("\n".join(lines))

    # ---- acting ---------------------------------------------------------------------

    def _unknown(self) -> _Unknown | None:
        offer = self._offer()
        return None if offer is None else _unknown(offer.found, self.port.document.plant)

    def set_room(self) -> None:
        """Write the length that was not known to its pipe or item, and ask again."""
        from core.plant import edits
        from core.vocabulary import spellings

        unknown, plant = self._unknown(), self.port.document.plant
        if unknown is None or self._sight is None:
            return
        bare = "in" if self._sight.display == "us" else "mm"
        try:
            values = {unknown.key: spellings.quantity(self.room.text(), "length", bare=bare)}
            if unknown.at in plant.pipes:
                changes = edits.set_pipe(plant, unknown.at, **values)
            else:
                changes = edits.set_props(plant, unknown.at, values)
        except Refusal as refusal:
            self.port.warn(str(refusal))
            return
        self.wanted.setFocus(Qt.FocusReason.OtherFocusReason)  # the field goes while places are looked for
        if self.port.commit(unknown.words.removesuffix(":"), changes):
            self.ask_now()

    def put_in(self) -> None:
        """Put the circulator in at the place chosen, and offer to write down why."""
        offer = self._offer()
        if offer is None or self.answer is None:
            return
        found = offer.found
        others = [f"{one.found.title}: {one.found.verdict}" for one in self.answer.offers if one is not offer]
        edit = self._edit(offer)
        if edit is None:
            return
        self.port.leave_preview()
        if self.port.commit(f"Put {edit.pump} {found.title}", edit.changes):
            choice = f"second circulator {found.title}, {found.pump.title}"
            self.port.open_pane("logbook", EntryDraft((edit.pump,), choice, tuple(others)))

    def _edit(self, offer: Offer) -> Edit | None:
        """What puts an offer into the plant; None where its place is no longer there."""
        from core.diagram.routes import route
        from core.sizing.second_circulator.edit import put_in

        found, plant = offer.found, self.port.document.plant
        try:
            return put_in(plant, found.place, found.spot, found.pump, route(plant))
        except (WetsideError, KeyError) as refusal:
            self.port.warn(f"The plant has changed meanwhile; this place is no longer there ({refusal}).")
            return None


def _place(found: Found) -> str:
    return found.spot.at if found.spot is not None else found.place.at


class _Unknown(NamedTuple):
    """A length that must be known to say whether it fits: where, which property, and its label."""

    at: str
    key: str
    words: str


def _unknown(found: Found, plant: Plant) -> _Unknown | None:
    """The length asked for; None where all are known, or the room is not in the file at all."""
    like = found.pump.name.removeprefix("as ")
    if found.fit.fits != "unknown":
        return None
    if found.fit.needed is None:
        words = f"Flange to flange of {like}:"
        return _Unknown(like, "face_to_face", words) if like in plant.items else None
    if found.spot is None:
        return None
    if found.spot.spacer:
        return _Unknown(found.spot.spacer, "face_to_face", f"Flange to flange of {found.spot.spacer}:")
    return _Unknown(found.spot.pipe, "straight", f"Straight length of {found.spot.pipe}:")
