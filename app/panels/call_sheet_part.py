"""A circuit as its load falls, as two plots and in sentences: temperatures above, flow and speed below."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.widgets.picks import Arrowed
from app.widgets.plot import PlotView
from core import units
from core.diagram.axes import Chart, Line, Trace
from core.vocabulary import Trait

if TYPE_CHECKING:
    from app.pens import Palette
    from core.calls.part_load import LoadPoint, PartLoad
    from core.plant.model import Plant
    from core.working import Display

LOAD = "load, % of design"
EMPTY = "Pick a circulator."


class PartLoadPage(QWidget):
    """Emits `chosen` with the id of the circulator picked."""

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pick = Arrowed(self)
        self.pick.setAccessibleName("Circulator")
        self.pick.setToolTip("The circulator whose circuit is shown")
        self.pick.activated.connect(lambda _n: self.chosen.emit(self.circulator))
        self.warm = PlotView("Temperatures at part load", self)
        self.flow = PlotView("Flow and speed at part load", self)
        for plot in (self.warm, self.flow):
            plot.setMinimumSize(150, 110)
            plot.text_size = 10.0
        self.words = QLabel("", self)
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        plots = QHBoxLayout()
        plots.setSpacing(8)
        plots.addWidget(self.warm, 1)
        plots.addWidget(self.flow, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.pick)
        column.addLayout(plots, 1)
        column.addWidget(self.words)

    @property
    def circulator(self) -> str:
        """Id of the circulator picked; empty where none is drawn."""
        return str(self.pick.currentData() or "")

    def show_plant(self, plant: Plant) -> None:
        """Offer the plant's circulators, those held by a temperature difference first."""
        pumps = plant.with_trait(Trait.DRIVES)
        pumps.sort(key=lambda i: i.props.get("control") != "delta_t")
        entries = [(i.id, f"{i.id} {i.label}".strip()) for i in pumps]
        if entries == [(self.pick.itemData(n), self.pick.itemText(n)) for n in range(self.pick.count())]:
            return
        held = self.circulator
        self.pick.clear()
        for key, words in entries:
            self.pick.addItem(words, key)
        self.pick.setCurrentIndex(max(self.pick.findData(held), 0) if entries else -1)

    def show_part(self, plant: Plant, part: PartLoad | None, display: Display, palette: Palette) -> None:
        """The circuit's curves; what is not solved yet leaves them empty."""
        from core.calls.part_words import sentences

        if part is None or part.circulator != self.circulator:
            empty = "Solving…" if self.circulator else EMPTY
            self.warm.show_chart(Chart(LOAD, "", empty=empty), palette)
            self.flow.show_chart(Chart(LOAD, "", empty=empty), palette)
            self.words.setText("")
            return
        said = sentences(plant, part, display)
        self.words.setText("\n".join(said))
        points = part.points[::-1]
        self.warm.show_chart(_temperatures(points, display), palette, " ".join(said))
        self.flow.show_chart(_flow(points, display), palette, " ".join(said))


def _curve(points: tuple[LoadPoint, ...], values: list[float], line: Line, name: str) -> Trace:
    return Trace(tuple((100 * p.share, v) for p, v in zip(points, values, strict=True)), line, name)


def _temperatures(points: tuple[LoadPoint, ...], display: Display) -> Chart:
    """Supply, return and rooms against the load."""
    unit = units.unit_for("temperature", display)

    def shown(kelvin: list[float]) -> list[float]:
        return [units.to_unit(t, unit) for t in kelvin]

    traces = [
        _curve(points, shown([p.supply for p in points]), "solid", "supply"),
        _curve(points, shown([p.back for p in points]), "long_dash", "return"),
    ]
    for key in sorted(points[-1].rooms):
        rooms = [p.rooms.get(key, points[-1].rooms[key]) for p in points]
        traces.append(_curve(points, shown(rooms), "thin", key))
    values = [y for trace in traces for _, y in trace.points]
    span = max(max(values) - min(values), 5.0)
    low, high = min(values) - 0.1 * span, max(values) + 0.1 * span
    return Chart(LOAD, units.sign_of(unit), tuple(traces), (), (0.0, 100.0), (low, high))


def _flow(points: tuple[LoadPoint, ...], display: Display) -> Chart:
    """Flow and speed, both as shares of the most there can be, against the load."""
    most = max((p.flow for p in points), default=0.0)
    flow = units.show(most, "flow", display)
    traces = [
        _curve(points, [100 * p.flow / most if most > 0 else 0.0 for p in points], "solid", "flow"),
        _curve(points, [100 * p.speed for p in points], "dash_dot", "speed"),
    ]
    if any(p.called is not None for p in points):
        traces.append(_curve(points, [100 * (p.called or 0.0) for p in points], "thin", "called"))
    return Chart(LOAD, f"% (flow: of {flow})", tuple(traces), (), (0.0, 100.0), (0.0, 110.0))
