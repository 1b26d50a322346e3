"""Runs in time under the board: one run with lines, bars, answers, moments; a year; a sweep of two settings.

Gone through in a process beside the window. A moment of a run shows on the board. The answers of the last run
are kept in the file, with the version of the plant that they are of.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QSlider,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from app.panels.run_form import RunForm
from app.panels.time_chart import chart_of, drawables, first_chosen, values_at
from app.panels.time_sweep import SweepPart
from app.panels.time_told import ToldPages, fresh, version_words, with_run
from app.panels.time_year import YearPart
from app.widgets.field import Line, plain_words
from app.widgets.one_line import OneLine
from app.widgets.picks import Choice
from app.widgets.time_lines import TimeLines, write_picture
from app.worker_process import WorkerProcess
from core.diagram.timeline import TimeChart
from core.errors import Refusal
from core.plant.changes import SetPlant
from core.plant.run_rules import MOST_HOURS
from core.simulation.worker_process import Answer, Question

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.simulation.record import Record

MODULE = "core.simulation"
NONE = "Choose a run or a case, and press Run."
WHATS = (("One run", "run"), ("A year", "year"), ("A sweep", "sweep"))


class TimePane(Pane):
    """Lines at the left, what is told of the run at the right."""

    TITLE = "Time"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._ticket = 0
        self._asked: tuple[Plant, str, str] | None = None
        self._looked: tuple[object, ...] = ()
        self.record: Record | None = None
        self.summary: dict[str, Any] | None = None
        self._span = (0.0, 86400.0)
        self.process = WorkerProcess(MODULE, self)
        self.process.answered.connect(self._take)
        self.process.broken.connect(self._lament)
        port.background.stopping.connect(self.process.stop)
        port.document.changed.connect(self._forget)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(15)
        self._soon.timeout.connect(lambda: self.show_moment(float(self.slider.value())))
        self._lay_out()

    # ---- widgets --------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.lines = TimeLines("Lines of the run over time", self)
        self.lines.read.connect(self._read)
        self.lines.picked.connect(self.show_moment)
        self.lines.zoomed.connect(self._look)
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setAccessibleName("Moment on the board")
        self.slider.setToolTip("Drag: the board shows the figures of that moment.")
        self.slider.setSingleStep(60)
        self.slider.setPageStep(3600)
        self.slider.valueChanged.connect(lambda _t: self._soon.start())
        self.off = QToolButton(self)
        self.off.setText("Back to the case")
        self.off.setAccessibleName("Take the moment off the board")
        self.off.setToolTip("The board shows the case again.")
        self.off.clicked.connect(self.leave_moment)
        self.values = OneLine(self, soft=True)
        self.form = RunForm(self.port, self)
        self.form.renamed.connect(self._renamed)
        self.told = ToldPages(self.form, self)
        for table in (self.told.moments, self.told.answers):
            table.picked.connect(self._follow_key)
        self.picker = self.told.picker
        self.picker.changed.connect(self._draw)
        self.picker.refused.connect(self.port.say)
        left = QWidget(self)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.lines, 1)
        under = QHBoxLayout()
        under.addWidget(self.slider, 1)
        under.addWidget(self.off)
        column.addLayout(under)
        column.addWidget(self.values)
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(left)
        split.addWidget(self.told)
        split.setChildrenCollapsible(False)
        split.setStretchFactor(0, 58)
        split.setStretchFactor(1, 42)
        split.setSizes([580, 420])
        self.year, self.sweep = YearPart(self), SweepPart(self)
        self.year.table.picked.connect(lambda key: self.port.go_to(key[1]))
        self.parts = QStackedWidget(self)
        for part in (split, self.year, self.sweep):
            self.parts.addWidget(part)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 8, 6)
        whole.setSpacing(3)
        whole.addLayout(self._head())
        whole.addWidget(self.parts, 1)

    def _head(self) -> QHBoxLayout:
        self.run = Choice([], [], self)
        self.run.setAccessibleName("Run or case")
        self.run.setMinimumContentsLength(5)
        self.run.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.run.committed.connect(self._chosen)
        self.what = Choice([words for words, _ in WHATS], [key for _, key in WHATS], self)
        self.what.setAccessibleName("What is gone through")
        self.what.committed.connect(self._turn)
        self.hours = Line(self)
        self.hours.setAccessibleName("Hours")
        self.hours.setFixedWidth(66)
        self.hours.unit = "h"
        self.hours.put("24")
        self.go = QPushButton("Run", self)
        self.go.setToolTip("Go through these hours; the window stays free meanwhile.")
        self.go.clicked.connect(self.begin)
        self.halt = QPushButton("Stop", self)
        self.halt.setEnabled(False)
        self.halt.hide()
        self.halt.clicked.connect(self.stop)
        self.state = OneLine(self)
        self.keep = QCheckBox("Keep", self)
        self.keep.setToolTip(
            "Keep the answers in the file, with the version of the plant they are of: one step of undo."
        )
        self.keep.setChecked(True)
        self.write = QPushButton("Write…", self)
        self.write.setToolTip("The lines as PNG or SVG, every figure as CSV; the name's ending says which.")
        self.write.setEnabled(False)
        self.write.clicked.connect(self._ask_where)
        head = QHBoxLayout()
        head.setSpacing(6)
        head.addWidget(self.what)
        head.addWidget(self.run)
        head.addWidget(self.hours)
        for button in (self.go, self.halt):
            head.addWidget(button)
        head.addWidget(self.state, 1)
        head.addWidget(self.keep)
        head.addWidget(self.write)
        return head

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        first, self._sight = self._sight is None, sight
        looked = (sight.revision, sight.display, id(sight.palette))
        if looked == self._looked:
            return
        self._looked = looked
        self._offer(sight.plant)
        if first:
            self._chosen()
        self.form.show_run(sight.plant, self.run.text_now())
        self.sweep.offer(sight.plant)
        self._show_told()
        self._draw()

    def _offer(self, plant: Plant) -> None:
        """Runs of the file, then cases that no run is named after."""
        runs = [str(run["name"]) for run in plant.runs]
        offers = [(f"run {name}", name) for name in runs]
        offers += [(f"case {case.name}", case.name) for case in plant.solve_cases if case.name not in runs]
        if offers == [(self.run.itemText(n), self.run.itemData(n)) for n in range(self.run.count())]:
            return
        chosen = self.run.text_now()
        self.run.clear()
        for words, name in offers:
            self.run.addItem(words, name)
        self.run.setCurrentIndex(max(0, self.run.findData(chosen)))

    def _chosen(self) -> None:
        """Another run: its hours, and what its file keeps of it until it is run here."""
        sight = self._sight
        if sight is None:
            return
        raw = next((run for run in sight.plant.runs if run["name"] == self.run.text_now()), {})
        self.form.show_run(sight.plant, self.run.text_now())
        self.hours.put(f"{float(raw.get('hours', 24.0)):g}")
        if self.record is None or self.record.name != self.run.text_now():
            kept = raw.get("summary")
            self.leave_moment()
            self.record = None
            self.summary = dict(kept) if isinstance(kept, dict) and "moments" in kept else None
            self._show_told()
            self._draw()

    def _renamed(self, name: str) -> None:
        """The run in sight has another name, or another one is to be looked at."""
        if self._sight is not None:
            self._offer(self.port.document.plant)
            number = self.run.findData(name)
            self.run.setCurrentIndex(max(0, number))
            self._sight = self._sight._replace(plant=self.port.document.plant)
            self._chosen()

    def _turn(self) -> None:
        """One run, a year, or a sweep."""
        what = self.what.text_now()
        self.parts.setCurrentIndex([key for _, key in WHATS].index(what))
        self.hours.setEnabled(what != "year")
        if self._asked is None:
            self.state.put("")
        for widget in (self.keep, self.write):
            widget.setVisible(what == "run")
        self.leave_moment()
        self._draw()

    def _forget(self, changes: object) -> None:
        """Another plant altogether: nothing of the last one stays."""
        if changes is None:
            self.stop()
            self.record = self.summary = self._sight = None
            self.year.data = self.sweep.data = None
            self._looked = ()
            self.run.clear()
            self.lines.show_moment(None)

    # ---- running --------------------------------------------------------------------

    def begin(self) -> None:
        """Go through the chosen run in the process beside the window."""
        sight = self._sight
        hours = self._hours()
        if sight is None or hours is None:
            return
        if not sight.plant.pipes:
            self.port.warn("Nothing is piped yet: there is nothing to run.")
            return
        plant, name = with_run(sight.plant, self.run.text_now(), hours)
        file, what = self.port.document.file, self.what.text_now()
        folder, vary = str(file.parent) if file else "", tuple[str, ...]()
        made: Mapping[int, dict[str, Any]] = {}
        if what == "sweep":
            try:
                vary = self.sweep.vary(plant)
            except Refusal as refusal:
                self.port.warn(plain_words(refusal))
                return
            made = self.sweep.begin((plant, name, hours, vary))
        self._ticket += 1
        self._asked = (plant, name, what)
        self.process.ask(Question(self._ticket, plant, name, hours, folder, what, vary, made))
        self._busy(True)
        self.state.put(self._share_words(0.0))

    def _share_words(self, share: float) -> str:
        what = self.what.text_now() if self._asked is None else self._asked[2]
        of = {"run": f"{self.hours.text_now()} h", "year": "12 weeks", "sweep": "the runs"}[what]
        return f"{100 * share:.0f} % of {of}"

    def _hours(self) -> float | None:
        try:
            hours = float(self.hours.text_now().strip())
        except ValueError:
            hours = -1.0
        if not 0.0 < hours <= MOST_HOURS:
            self.port.warn(f"Hours: `{self.hours.text_now()}` is not more than 0 and at most {MOST_HOURS:g}.")
            self.hours.setFocus(Qt.FocusReason.OtherFocusReason)
            return None
        return hours

    def stop(self) -> None:
        """End the run under way; what was shown before stays."""
        if self._asked is not None:
            self._ticket += 1
            self._asked = None
            self.process.ask(Question(self._ticket))
            self.state.put("Stopped.")
        self._busy(False)

    def _busy(self, on: bool) -> None:
        self.go.setEnabled(not on)
        self.halt.setEnabled(on)
        self.go.setVisible(not on)
        self.halt.setVisible(on)

    def _take(self, answer: Answer) -> None:
        if answer.ticket != self._ticket or self._asked is None:
            return
        if answer.what == "share":
            self.state.put(self._share_words(answer.load))
            return
        if answer.what == "sweep":
            self._take_sweep(*answer.load)
            return
        asked, self._asked = self._asked, None
        self._busy(False)
        if answer.what == "refused":
            self.state.put("Not run.")
            self.port.warn(answer.load)
            return
        self.state.put("")
        if answer.what == "year":
            self.year.data = answer.load
            self._draw()
            return
        self.leave_moment()
        self.record, self.summary = answer.load, answer.load.summary
        self._span = (0.0, float(self.record.times[-1]))
        self.slider.blockSignals(True)
        self.slider.setRange(0, int(self._span[1]))
        self.slider.setValue(0)
        self.slider.blockSignals(False)
        self.picker.offer(
            drawables(asked[0], self.record), list(self.record.switches), first_chosen(self.record)
        )
        if self.keep.isChecked():
            self._keep(asked[0], asked[1])
        self._show_told()
        self._draw()

    def _take_sweep(self, data: dict[str, Any], made: dict[int, dict[str, Any]]) -> None:
        """What of a sweep is made; it is over once all is."""
        self.sweep.take(data, made)
        whole = math.prod(len(one["values"]) for one in data["vary"])
        if len(made) == whole:
            self._asked = None
            self._busy(False)
            good = sum(row["ok"] for row in data["runs"])
            self.state.put(f"{good} of {whole} runs keep all limits.")
        self._draw()

    def _keep(self, ran: Plant, name: str) -> None:
        """Put the summary into the file, as one step of undo; a run that went meanwhile is left alone."""
        sight, record = self._sight, self.record
        if sight is None or record is None:
            return
        now = self.port.document.plant
        runs = list(now.runs)
        number = next((n for n, run in enumerate(runs) if run["name"] == name), -1)
        if number < 0:
            runs.append(next(run for run in ran.runs if run["name"] == name))
        runs[number] = {**runs[number], "summary": record.summary}
        self.port.commit(f"Keep the answers of {name}", [SetPlant({"runs": tuple(runs)})])

    def _lament(self, text: str) -> None:
        self._asked = None
        self._busy(False)
        self.state.put("Not run.")
        self.port.warn(text)

    # ---- showing --------------------------------------------------------------------

    def _show_told(self) -> None:
        sight, data = self._sight, self.summary
        self.write.setEnabled(self.record is not None)
        for widget in (self.slider, self.off):
            widget.setEnabled(self.record is not None)
        if sight is None or data is None:
            self.told.clear()
            self.remarked.emit("")
            return
        starts, thinned = (record.starts, record.thinned) if (record := self.record) is not None else (0.0, 1)
        self.told.show_run(data, sight.display, starts, thinned)
        self.remarked.emit(version_words(sight.plant, data))

    def _draw(self) -> None:
        sight, record = self._sight, self.record
        if sight is None:
            return
        self.year.show_year(self.year.data, sight.plant, sight.display)
        self.sweep.show_map(sight.plant, sight.palette)
        if record is None:
            said = "Run it again to see its lines." if self.summary is not None else NONE
            self.lines.show_chart(TimeChart(empty=said), (0.0, 86400.0), sight.palette, said)
            self.values.put("")
            return
        chart = self._chart(sight, record)
        spoken = "; ".join(values_at(record, *self._picked(), t, sight.display) for t in self._span)
        self.lines.show_chart(chart, (0.0, float(record.times[-1])), sight.palette, spoken)
        self._read(self.lines.cursor_at)

    def _picked(self) -> tuple[Any, list[str], list[str]]:
        return self.picker.known, self.picker.columns, self.picker.switches

    def _chart(self, sight: Sight, record: Record) -> TimeChart:
        chart = chart_of(record, *self._picked(), self._span, sight.display)
        return chart if chart.bands else replace(chart, empty="Tick a line under Lines.")

    def _look(self, low: float, high: float) -> None:
        self._span = (low, high)
        self._draw()

    def _read(self, t: object) -> None:
        sight, record = self._sight, self.record
        if sight is None or record is None:
            return
        at = float(t) if isinstance(t, float | int) else self.lines.moment_at
        words = values_at(record, *self._picked(), at if at is not None else self._span[0], sight.display)
        self.values.put(words)

    # ---- moments --------------------------------------------------------------------

    def show_moment(self, t: float) -> None:
        """The figures of a moment on the board, the slider and the lines at it."""
        sight, record = self._sight, self.record
        if sight is None or record is None:
            self.port.say("Run it again to see this moment on the board.")
            return
        solution = record.moment(record.at(t))
        plant = self.port.document.plant
        if not (solution.items.keys() <= plant.items.keys() and solution.pipes.keys() <= plant.pipes.keys()):
            self.port.say("The plant has changed since this run: run it again to see it on the board.")
            return
        if not self.slider.isSliderDown() and self.slider.value() != int(t):
            self.slider.blockSignals(True)
            self.slider.setValue(int(t))
            self.slider.blockSignals(False)
        self.lines.show_moment(t)
        self._read(self.lines.cursor_at)
        at = record.words(t)
        earlier = "" if fresh(plant, record.summary) else ", earlier plant"
        self.port.show_moment(solution, f"{at}{earlier}")
        self.port.say(f"The board shows {at} of the run {record.name}")

    def leave_moment(self) -> None:
        """The board shows its case again."""
        self._soon.stop()
        self.lines.show_moment(None)
        self.port.show_moment(None)

    def _follow_key(self, key: Any) -> None:
        if key[0] == "at":
            self.show_moment(float(key[1]))
            self.port.frame([key[2]])
            if len(key) > 3:
                self.port.say(key[3])
        else:
            self.port.go_to(key[1])

    # ---- files ----------------------------------------------------------------------

    def _ask_where(self) -> None:
        self.port.to_export(self.write_to, "in-time.png", (".png", ".svg", ".csv"))

    def write_to(self, file: Path) -> None:
        """The lines as PNG or SVG, or every figure as CSV."""
        sight, record = self._sight, self.record
        if sight is None or record is None:
            return
        if file.suffix.lower() == ".csv":
            with file.open("w", encoding="utf-8", newline="") as sink:
                record.write(sink)
        else:
            title = f"{sight.plant.title or 'Plant'}, run {record.name}"
            write_picture(self._chart(sight, record), file, title)

    def focus_first(self) -> None:
        self.run.setFocus(Qt.FocusReason.TabFocusReason)
