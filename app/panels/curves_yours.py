"""The user's own curves: pasted from a table or picked off a picture, kept, given to circulators."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import PanePort, Sight
from app.widgets.picks import Arrowed
from app.widgets.plot import PlotView
from core import units
from core.diagram.axes import Chart, Spot, Trace
from core.errors import Refusal, WetsideError
from core.plant import edits
from core.plant.curve_rules import CURVE_PROPS, check_curve
from core.sizing.curves import catalogue
from core.sizing.curves.system import pump_line
from core.sizing.curves.text import parse_curve
from core.sizing.second_circulator.available import Pump
from core.sizing.second_circulator.chart import Scale

TIP = Qt.ItemDataRole.ToolTipRole
FLOW_UNITS = ("", "gpm", "L/s", "L/min", "L/h", "m3/h")
HEAD_UNITS = ("", "ft_head", "m_head", "psi", "kPa")
HINT = "Paste two columns, flow and head, with their units:\nflow gpm\thead ft\n0\t19\n8\t15\n16\t6"


class YoursPage(QWidget):
    """A curve as text at the left and as it looks at the right; kept ones are opened by name."""

    left = Signal()

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.port = port
        self._pump = ""
        self._sight: Sight | None = None
        self._points: list[list[str]] | None = None
        self.setAccessibleName("Your curves")
        self._make_parts()
        self._lay_out()

    def _make_parts(self) -> None:
        self.list = Arrowed(self)
        self.list.setAccessibleName("Curves kept in the plant, and the invented sizes")
        self.list.setToolTip("Curves kept in the plant, and the invented sizes")
        self.list.activated.connect(self._open_chosen)
        self.name = _field("Name of the curve", "a name of yours", self)
        self.watts = _field("Electric power", "such as 80 W", self)
        self.text = QPlainTextEdit(self)
        self.text.setAccessibleName("Points of the curve: flow and head, one row a point")
        self.text.setPlaceholderText(HINT)
        self.text.setTabChangesFocus(True)
        self.flow_unit = _units(FLOW_UNITS, "Unit of flow where the table has none", self)
        self.head_unit = _units(HEAD_UNITS, "Unit of head where the table has none", self)
        self.error = QLabel("", self)
        self.error.setWordWrap(True)
        self.error.setTextFormat(Qt.TextFormat.PlainText)
        self.plot = PlotView("The curve being made", self)
        self.picture = _button("From a picture…", "Pick the points off a picture of a curve", self)
        self.keep = _button("Keep", "Keep the curve in the plant under its name", self)
        self.give = _button("Give it", "Let the circulator have this curve", self)
        self.drop = _button("Forget", "Take the kept curve out of the plant", self)
        self.back = _button("Back", "Back to the curves of the circulator (Esc)", self)
        self.text.textChanged.connect(self._read)
        self.flow_unit.currentIndexChanged.connect(self._read)
        self.head_unit.currentIndexChanged.connect(self._read)
        self.name.textChanged.connect(self._read)
        self.watts.textChanged.connect(self._read)
        self.picture.clicked.connect(self.pick)
        self.keep.clicked.connect(self.keep_it)
        self.give.clicked.connect(self.give_it)
        self.drop.clicked.connect(self.drop_it)
        self.back.clicked.connect(self.left)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self.back)
        top.addWidget(self.list, 1)
        top.addWidget(self.drop)
        who = QHBoxLayout()
        who.addWidget(self.name, 2)
        who.addWidget(self.watts, 1)
        said = QHBoxLayout()
        said.addWidget(QLabel("no unit:", self))
        said.addWidget(self.flow_unit)
        said.addWidget(self.head_unit)
        said.addWidget(self.picture)
        said.addStretch(1)
        acts = QHBoxLayout()
        acts.addWidget(self.keep)
        acts.addWidget(self.give)
        acts.addStretch(1)
        left = QWidget(self)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(4)
        column.addLayout(top)
        column.addLayout(who)
        column.addWidget(self.text, 1)
        column.addLayout(said)
        column.addWidget(self.error)
        column.addLayout(acts)
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(left)
        split.addWidget(self.plot)
        split.setChildrenCollapsible(False)
        split.setSizes([500, 440])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(split)

    # ---- what is shown --------------------------------------------------------------

    def open_for(self, pump: str, sight: Sight) -> None:
        """Open with a circulator's own curve in hand, if it has one."""
        self._pump = pump
        self.follow(sight)
        item = sight.plant.items.get(pump)
        if item is not None and item.props.get("curve"):
            self._put(f"as {pump}", item.props)
        else:
            self._put("", {})

    def follow(self, sight: Sight) -> None:
        """Keep the list as the plant has it."""
        self._sight = sight
        choices = [*catalogue.users(sight.plant), *catalogue.generic()]
        titles = ["Open a curve…", *(choice.title for choice in choices)]
        if [self.list.itemText(k) for k in range(self.list.count())] != titles:
            self.list.clear()
            self.list.addItem(titles[0])
            for choice in choices:
                self.list.addItem(choice.title, choice)
                self.list.setItemData(self.list.count() - 1, choice.note or choice.origin, TIP)
        self._read()

    def focus_first(self) -> None:
        self.text.setFocus(Qt.FocusReason.TabFocusReason)

    def keyPressEvent(self, event: Any) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _open_chosen(self) -> None:
        choice: catalogue.Choice | None = self.list.currentData()
        if choice is not None:
            self._put(choice.name, choice.props)

    def _put(self, name: str, props: Mapping[str, Any]) -> None:
        self.name.setText(name)
        self.watts.setText(str(props.get("watts", "")))
        self.text.setPlainText("\n".join(f"{flow}\t{head}" for flow, head in props.get("curve", ())))
        self._read()

    def take_points(self, points: list[list[str]]) -> None:
        """Points picked elsewhere, as text."""
        self.text.setPlainText("\n".join(f"{flow}\t{head}" for flow, head in points))

    def _read(self) -> None:
        """Read the text; what is wrong is said beside it, and what was typed stays."""
        self._points, said = None, ""
        text = self.text.toPlainText()
        try:
            if text.strip():
                points = parse_curve(
                    text, str(self.flow_unit.currentData()), str(self.head_unit.currentData())
                )
                record = self._record("unnamed", points)
                check_curve(record)
                self._points = points
        except WetsideError as refusal:
            said = str(refusal)
        self.error.setText(f"⊠ {said}" if said else "")
        self.text.setProperty("wrong", bool(said))
        self.text.style().polish(self.text)
        self._draw()
        self._allow()

    def _record(self, name: str, points: list[list[str]]) -> dict[str, Any]:
        record: dict[str, Any] = {"name": name, "curve": points}
        if self.watts.text().strip():
            record["watts"] = self.watts.text().strip()
        return record

    def _draw(self) -> None:
        sight = self._sight
        if sight is None:
            return
        scale = Scale(sight.display)
        chart = Chart(*scale.axes, empty="No points yet.")
        spoken = "No points yet."
        if self._points is not None:
            pump = Pump(self.name.text() or "curve", {"curve": self._points})
            curve, end = pump.curve, pump.run_out
            if curve is not None and end is not None:
                line = scale.line(pump_line(curve, 1.0))
                spots = tuple(Spot(scale.point((q, curve.at(q)))) for q in curve.x)
                chart = Chart(*scale.axes, (Trace(line, "solid", self.name.text().strip()),), spots)
                low = units.show(curve.at(0.0), "head", sight.display)
                high = units.show(end, "flow", sight.display)
                spoken = f"{len(curve.x)} points; {low} at no flow, run-out {high}."
        self.plot.show_chart(chart, sight.palette, spoken)

    def _allow(self) -> None:
        name, good = self.name.text().strip(), self._points is not None
        own = name.casefold() in (one.casefold() for one in catalogue.GENERIC)
        self.keep.setEnabled(good and bool(name) and not own)
        self.give.setText(f"Give it to {self._pump}" if self._pump else "Give it")
        self.give.setEnabled(good and bool(self._pump))
        kept = self._sight is not None and any(c.name == name for c in catalogue.users(self._sight.plant))
        self.drop.setEnabled(kept)

    # ---- acting ---------------------------------------------------------------------

    def keep_it(self) -> None:
        """Keep the curve in the plant: one step of undo."""
        if self._points is None:
            return
        name = self.name.text().strip()
        try:
            changes = catalogue.kept(self.port.document.plant, self._record(name, self._points))
        except Refusal as refusal:
            self.error.setText(f"⊠ {refusal}")
            return
        if self.port.commit(f"Keep the curve {name}", changes):
            self.port.say(f"Kept: {name}.")

    def give_it(self) -> None:
        """Let the circulator have the curve: one step of undo; an invented one stays marked so."""
        plant = self.port.document.plant
        if self._points is None or self._pump not in plant.items:
            return
        name = self.name.text().strip()
        known = {choice.name: choice.props for choice in (*catalogue.users(plant), *catalogue.generic())}
        props = known.get(name, {})
        same = props.get("curve") == self._points
        values: dict[str, Any] = {key: props[key] for key in CURVE_PROPS if same and key in props}
        values |= {"curve": self._points, "invented": True if same and props.get("invented") else None}
        if self.watts.text().strip():
            values["watts"] = self.watts.text().strip()
        try:
            changes = edits.set_props(plant, self._pump, values)
        except Refusal as refusal:
            self.error.setText(f"⊠ {refusal}")
            return
        if self.port.commit(f"Give {self._pump} the curve {name or 'pasted'}", changes):
            self.left.emit()

    def drop_it(self) -> None:
        name = self.name.text().strip()
        try:
            changes = catalogue.dropped(self.port.document.plant, name)
        except Refusal as refusal:
            self.error.setText(f"⊠ {refusal}")
            return
        self.port.commit(f"Forget the curve {name}", changes)

    def pick(self) -> None:
        """Open the window in which a curve is picked off a picture."""
        from app.panels.curve_picture import PictureWindow

        display = self._sight.display if self._sight is not None else "us"
        window = PictureWindow(display, self)
        window.picked.connect(self.take_points)
        window.show()
        window.open_file()


def _field(words: str, hint: str, parent: QWidget) -> QLineEdit:
    field = QLineEdit(parent)
    field.setAccessibleName(words)
    field.setToolTip(words)
    field.setPlaceholderText(hint)
    return field


def _button(words: str, tip: str, parent: QWidget) -> QPushButton:
    button = QPushButton(words, parent)
    button.setToolTip(tip)
    button.setAccessibleDescription(tip)
    return button


def _units(names: tuple[str, ...], words: str, parent: QWidget) -> QComboBox:
    combo = Arrowed(parent)
    combo.setAccessibleName(words)
    combo.setToolTip(words)
    for name in names:
        combo.addItem(units.sign_of(name) if name else "–", name)
    return combo
