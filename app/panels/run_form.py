"""The form of a run in time and of its profiles: every field a step of undo, made anew as runs change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.panels.editors import editor_of
from app.panels.form_parts import fold, heading, swap_form
from app.panels.port import PanePort
from app.widgets.field import Field, Line
from core.errors import Refusal
from core.forms import run_rows
from core.forms.as_read import as_read, reading, unit_of
from core.forms.rows import Row, Section
from core.plant.changes import Change
from core.plant.model import Plant

HINT = "Empty fields say what stands in them. What a run names must be drawn."


class RunForm(QWidget):
    """The run of a name; `renamed` tells that it, or another one to look at, has this name now."""

    renamed = Signal(str)

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.port = port
        self._name = ""
        self._shape: object = None
        self._open: set[str] = set()
        self.fields: dict[str, Field] = {}
        self._rows: dict[str, Row] = {}
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setAccessibleName("What is run")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self._scroll, 1)
        self.weather, self.profile, self.copy, self.drop = (
            self._button(*each)
            for each in (
                (
                    "Make weather…",
                    "Write a year of made-up weather for the site, and take it.",
                    self._weather,
                ),
                ("Add profile", "A course of flows or heats over a day or week.", self._add_profile),
                ("Copy run", "A run like this one, to change.", self._copy),
                ("Take out", "Take this run out of the file.", self._drop),
            )
        )

    def _button(self, words: str, tip: str, do: Callable[[], None]) -> QPushButton:
        button = QPushButton(words, self)
        button.setToolTip(tip)
        button.clicked.connect(lambda _on=False: do())
        return button

    # ---- showing --------------------------------------------------------------------

    def show_run(self, plant: Plant, name: str) -> None:
        """Show the run of a name; the fields are made anew only where there are others."""
        self._name = name
        sections = run_rows.run_sections(plant, name) if name else []
        shape = (name, [(s.title, [(r.key, r.choices) for r in s.rows]) for s in sections])
        if shape != self._shape:
            self._shape = shape
            self._build(sections)
        for key, field in self.fields.items():
            row = self._rows[key]
            field.put(row.read(plant))
            if isinstance(field.editor, Line) and row.dimensions:
                field.editor.unit = unit_of(row, plant)
        self.drop.setEnabled(any(run["name"] == name for run in plant.runs))

    def _build(self, sections: Sequence[Section]) -> None:
        self.fields, self._rows = {}, {}
        for button in (self.weather, self.profile, self.copy, self.drop):
            button.setParent(self)  # the old form must not take them along
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 6, 6)
        column.setSpacing(1)
        hint = QLabel(HINT, inner)
        hint.setObjectName("soft")
        hint.setWordWrap(True)
        for section in sections:
            self._add(column, section)
            if not section.title:
                column.addWidget(hint)
        for pair in ((self.weather, self.profile), (self.copy, self.drop)):
            line = QHBoxLayout()
            for button in pair:
                line.addWidget(button)
                button.show()
            line.addStretch(1)
            column.addLayout(line)
        column.addStretch(1)
        swap_form(self._scroll, inner)

    def _add(self, column: QVBoxLayout, section: Section) -> None:
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(1)
        for row in section.rows:
            inner.addWidget(self._field(row))
        if section.folded:
            opened = section.title in self._open

            def show(on: bool) -> None:
                body.setVisible(on)
                (self._open.add if on else self._open.discard)(section.title)

            column.addWidget(fold(section.title, opened, show))
            body.setVisible(opened)
        elif section.title:
            column.addWidget(heading(section.title))
        column.addWidget(body)

    def _field(self, row: Row) -> Field:
        document = self.port.document
        field = Field(
            row.name,
            editor_of(row, document.plant.units),
            lambda text: self._take(row, text),
            row.beside,
            row.hint,
            reading=(lambda text: reading(row, document.plant, text)) if row.dimensions else None,
        )
        self.fields[row.key], self._rows[row.key] = field, row
        return field

    # ---- changing -------------------------------------------------------------------

    def _take(self, row: Row, text: str) -> None:
        document = self.port.document
        plant = document.plant
        document.do(f"Run: {row.name.lower()}", row.write(plant, as_read(row, plant, text)))
        if row.key == "name":
            self.renamed.emit(text.strip())

    def _do(self, words: str, changes: Sequence[Change]) -> bool:
        return self.port.commit(words, changes)

    def _add_profile(self) -> None:
        self._do("Add a profile", run_rows.new_profile(self.port.document.plant))

    def _copy(self) -> None:
        name, changes = run_rows.copied_run(self.port.document.plant, self._name)
        if self._do("Copy a run", changes):
            self.renamed.emit(name)

    def _drop(self) -> None:
        if self._do("Take out a run", run_rows.without_run(self.port.document.plant, self._name)):
            self.renamed.emit("")

    def _weather(self) -> None:
        self.port.to_export(self.make_weather, "site-weather.csv", (".csv",))

    def make_weather(self, file: Path) -> None:
        """Write a year of weather for the site to a file, and let the run take it."""
        from core.simulation.site_weather import write_site_year

        plant, document = self.port.document.plant, self.port.document
        with file.open("w", encoding="utf-8", newline="") as sink:
            write_site_year(plant.site_si, sink)
        beside = document.file is not None and document.file.parent.resolve() == file.parent.resolve()
        raw = {**run_rows.run_of(plant, self._name), "weather": {"file": file.name if beside else str(file)}}
        raw.pop("summary", None)
        try:
            self._do("Take weather made for the site", run_rows.with_run_as(plant, self._name, raw))
        except Refusal as refusal:
            self.port.warn(str(refusal))
        else:
            self.port.say(f"{file.name}: made up by the site's outdoor design and cold water; no real year.")
