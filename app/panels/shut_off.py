"""The shut-off plan of an item or pipe: the section on the board, the steps here; printed as a card."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QTextBrowser, QVBoxLayout, QWidget

from app.board.overlay import NO_SECTION, Section
from app.panels.port import Pane, PanePort, Sight

if TYPE_CHECKING:
    from core.isolation.plan import ShutOff
    from core.plant.model import Plant
    from core.water.ways import WaterGraph

NOTHING = "Select an item or pipe and choose “Shut it off” (Ctrl+Alt+O), here or with the right button."


class ShutOffPane(Pane):
    """What is shown follows the plant; the board is clean again once the pane is closed."""

    TITLE = "Shut-off"
    HIGH = 300

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._target = ""
        self._made_of: tuple[object, str] = (None, "")
        self.plan: ShutOff | None = None
        self.text = QTextBrowser(self)
        self.text.setAccessibleName("Steps of the shut-off")
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.viewport().setAutoFillBackground(False)
        self.show_selected = QPushButton("Shut off selected", self)
        self.show_selected.clicked.connect(self._take_selected)
        self.card = QPushButton("Print the card…", self)
        self.card.setToolTip("The steps on a card to carry, as PDF")
        self.card.clicked.connect(lambda: self.port.print_card(self._target))
        self.done = QPushButton("Done", self)
        self.done.setToolTip("Take it off the board")
        self.done.clicked.connect(lambda: self.about(""))
        line = QHBoxLayout()
        for button in (self.show_selected, self.card, self.done):
            line.addWidget(button)
        line.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addWidget(self.text, 1)
        column.addLayout(line)

    @property
    def target(self) -> str:
        """What is shut off; empty where nothing is."""
        return self._target

    def about(self, topic: Any) -> None:
        """Plan the shut-off of an id; none for an empty one."""
        self._target = str(topic)
        self._show()

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        self._show()

    def focus_first(self) -> None:
        self.text.setFocus()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.port.show_section(NO_SECTION)
        self._made_of = (None, "")

    def _take_selected(self) -> None:
        if self._sight is not None:
            self.about(next(iter(sorted(self._sight.selection)), ""))

    def _show(self) -> None:
        sight = self._sight
        if sight is None:
            return
        self.show_selected.setEnabled(len(sight.selection) == 1)
        self.show_selected.setVisible(sight.selection != {self._target})
        if self._made_of == (sight.plant, self._target):
            return
        self._made_of = (sight.plant, self._target)
        if self._target not in sight.plant.items and self._target not in sight.plant.pipes:
            self._target, self.plan = "", None
        elif not self._plan(sight.plant):
            self.plan = None
        self.card.setVisible(self.plan is not None)
        self.done.setVisible(self.plan is not None)
        if self.plan is None:
            wet = f"No water in {self._target}: nothing to shut off." if self._target else NOTHING
            self.text.setPlainText(wet)
            self.port.show_section(NO_SECTION)
            return

    def _plan(self, plant: Plant) -> bool:
        """Make and show the plan; False where water does not wet it."""
        from core.isolation.plan import shut_off
        from core.water.shut_off import zone_of
        from core.water.ways import water_graph

        graph = water_graph(plant)
        if not graph.places_of.get(self._target):
            return False
        self.plan = shut_off(plant, self._target, graph)
        if self.plan.possible:
            zone = zone_of(graph, self._target, frozenset(self.plan.close))
            inside = {one.id for one in graph.items_at(zone)} | {self._target}
            inside |= {way.key for way in graph.ways if way.is_pipe and way.start in zone and way.end in zone}
            self.port.show_section(Section(frozenset(inside - set(self.plan.close)), self.plan.close))
        else:
            self.port.show_section(Section(frozenset({self._target, *self.plan.missing}), ()))
        self.text.setHtml("".join(_html(plant, graph, self.plan)))
        self.remarked.emit(f"{len(self.plan.close)} valves" if self.plan.possible else "not possible")
        return True


def _html(plant: Plant, graph: WaterGraph, plan: ShutOff) -> Iterator[str]:
    """The plan, flushing, purging and cautions as they are read beside the board."""
    from core.isolation.flushing import flushings
    from core.papers.plant_words import listed, parts_of
    from core.papers.purging import loop_words, way_words
    from core.papers.shut_off_card import lacking_words, refilled

    if not plan.possible:
        reason = plan.reason[:1].upper() + plan.reason[1:]
        yield f"<p><b>{escape(plan.target)} cannot be shut off.</b> {escape(reason)}.</p>"
        if plan.missing:
            yield _paragraph(f"A valve in {listed(plan.missing)} would make it possible.")
    else:
        yield f"<p><b>Shut-off of {escape(plan.target)}</b></p>"
        yield _numbered(plan.steps)
        if dead := parts_of(plant, plan.also_dead):
            yield _paragraph(f"Dry or cold meanwhile: {listed(dead)}.")
    for one in flushings(graph, plan.target):
        yield f"<p><b>Flushing {escape(one.at)} from {escape(one.ports[0])} to {escape(one.ports[1])}</b></p>"
        yield _numbered(one.steps) if one.steps else _paragraph(lacking_words(one))
    for purge in refilled(plant, graph, plan):
        way, back = way_words(purge)
        yield f"<p><b>Purging after it is filled again.</b> {escape(way)}</p>"
        yield _numbered([*map(loop_words, purge.loops), f"Every valve open again; {back}."])
    yield from (_paragraph(f"Caution: {text}") for text in plan.cautions)


def _paragraph(text: str) -> str:
    return f"<p style='margin:4px 0'>{escape(text)}</p>"


def _numbered(steps: tuple[str, ...] | list[str]) -> str:
    rows = "".join(f"<li style='margin:2px 0'>{escape(step)}</li>" for step in steps)
    return f"<ol style='margin:0'>{rows}</ol>"
