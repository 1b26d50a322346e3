"""A sweep under the board: which two settings, their map, what conflicts, what a run of it says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPlainTextEdit, QSplitter, QVBoxLayout, QWidget

from app.pens import Palette
from app.widgets.field import Line
from app.widgets.picks import Pick
from app.widgets.sweep_map import SweepMapView
from core import units
from core.diagram.sweep_map import MapCell, SweepChart
from core.errors import Refusal
from core.forms.rows import dimensions_of
from core.vocabulary import KINDS, spellings

if TYPE_CHECKING:
    from core.plant.model import Plant

NONE = "Say two settings and their values, and press Run: a map of which go together."
FIRST = ("differential", "set_temperature", "target", "speed", "setting", "min_output", "capacity", "min_on")
HINT = "Values with commas between: 4 K, 8 K, 12 K. Limits are in Set up; without them every run is OK."


def settings_of(plant: Plant) -> list[str]:
    """Settings that may be varied, as ID.property: those typed, what is varied most first."""
    found = [
        (FIRST.index(name) if name in FIRST else len(FIRST), f"{item.id}.{name}")
        for item in plant.items.values()
        if item.stays
        for name in item.props
        if KINDS[item.kind].properties[name].type in ("quantity", "number", "lift", "target")
    ]
    return [path for _, path in sorted(found)]


class SweepPart(QWidget):
    """Map at the left, settings and what conflicts at the right; `changed` tells of other settings."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.map = SweepMapView(self)
        self.map.chosen.connect(lambda _r, _c: self._tell())
        self.paths = [Pick([], self) for _ in range(2)]
        self.values = [Line(self) for _ in range(2)]
        self.told = QPlainTextEdit(self)
        self.told.setReadOnly(True)
        self.told.setAccessibleName("What the sweep says")
        self.told.setTabChangesFocus(True)
        right = QWidget(self)
        grid = QGridLayout()
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(3)
        for k, word in enumerate(("Down", "Across")):
            grid.addWidget(QLabel(word, right), k, 0)
            grid.addWidget(self.paths[k], k, 1)
            grid.addWidget(self.values[k], k, 2)
            self.paths[k].setAccessibleName(f"Setting that goes {word.lower()}")
            self.values[k].setAccessibleName(f"Values that go {word.lower()}")
            self.paths[k].committed.connect(self.changed)
            self.values[k].committed.connect(self.changed)
        self.paths[0].setPlaceholderText("such as AQ-1.differential")
        self.paths[1].setPlaceholderText("a second, or none")
        self.values[0].setPlaceholderText("4 K, 8 K, 12 K")
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(2, 4)
        hint = QLabel(HINT, right)
        hint.setObjectName("soft")
        hint.setWordWrap(True)
        column = QVBoxLayout(right)
        column.setContentsMargins(10, 0, 0, 0)
        column.setSpacing(3)
        column.addLayout(grid)
        column.addWidget(hint)
        column.addWidget(self.told, 1)
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(self.map)
        split.addWidget(right)
        split.setChildrenCollapsible(False)
        split.setSizes([580, 420])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(split)
        self.data: dict[str, Any] | None = None
        self.made: dict[int, dict[str, Any]] = {}
        self._offered: list[str] = []
        self._of: tuple[Any, ...] = ()
        self._earlier = False

    def offer(self, plant: Plant) -> None:
        """Which settings there are."""
        found = settings_of(plant)
        if found == self._offered:
            return
        self._offered = found
        for pick in self.paths:
            text = pick.text_now()
            pick.clear()
            pick.addItems(found)
            pick.put(text)

    def vary(self, plant: Plant) -> tuple[str, ...]:
        """What is varied, as `wetside sweep --vary` takes it.

        Raises
        ------
        Refusal
            Without a setting, or a setting without values
        """
        found = []
        for path, line in zip(self.paths, self.values, strict=True):
            setting, values = path.text_now().strip(), line.text_now().strip()
            if not setting:
                continue
            if not values:
                raise Refusal("", "nothing", f"values of {setting}, such as 4 K, 8 K")
            found.append(f"{setting}={','.join(_stored(plant, setting, one) for one in values.split(','))}")
        if not found:
            raise Refusal("", "nothing", "a setting to vary, such as AQ-1.differential")
        return tuple(found)

    def begin(self, of: tuple[Any, ...]) -> Mapping[int, dict[str, Any]]:
        """A sweep of something begins: the runs that are made of the same already."""
        if of != self._of:
            self._of, self.made, self.data = of, {}, None
        return self.made

    def take(self, data: dict[str, Any], made: dict[int, dict[str, Any]]) -> None:
        """What is made so far."""
        self.data, self.made = data, made

    # ---- showing --------------------------------------------------------------------

    def show_map(self, plant: Plant, palette: Palette) -> None:
        """Show what is made."""
        of = self._of[0] if self._of else None
        self._earlier = of is not None and (of.items, of.pipes, of.site) != (
            plant.items,
            plant.pipes,
            plant.site,
        )
        chart = chart_of(self.data) if self.data is not None else SweepChart(empty=NONE)
        good = sum(cell.ok for cell in chart.cells.values())
        spoken = f"{good} of {len(chart.cells)} runs keep all limits" if chart.cells else NONE
        self.map.show_chart(chart, palette, spoken)
        self._tell()

    def _tell(self) -> None:
        self.told.setPlainText("\n".join(self._words()))

    def _words(self) -> Iterator[str]:
        data = self.data
        if data is None:
            return
        if self.map.at is not None:
            r, c = self.map.at
            row = _row_at(data, r, c)
            values = [one["values"][k] for one, k in zip(data["vary"], (r, c), strict=False)]
            yield ", ".join(f"{one['path']} {value}" for one, value in zip(data["vary"], values, strict=True))
            if row is None:
                yield "Not made yet."
            else:
                yield from _run_words(row)
            yield ""
        if self._earlier:
            yield "These runs are of an earlier version of the plant: press Run for those of now."
        if not data["limits"]:
            yield "The run has no limits, so every run is OK: type some in Set up."
        conflicts = [one["text"] for one in data["conflicts"]]
        yield from (f"Conflict: {words}." for words in conflicts)
        if not conflicts and data["limits"] and data["runs"]:
            yield "Nothing conflicts among what is made."


def _run_words(row: Mapping[str, Any]) -> Iterator[str]:
    energy = row["summary"]["energy_kwh"]
    yield ", ".join(f"{what} {energy[what]:.4g} kWh" for what in ("heat", "fuel", "electricity"))
    starts = [f"{key} {one['starts']}" for key, one in row["summary"]["items"].items() if one["starts"]]
    if starts:
        yield f"starts: {', '.join(starts[:8])}"
    yield from (f"Beyond its limit: {one['text']}." for one in row["broken"])


def _stored(plant: Plant, setting: str, text: str) -> str:
    """A value as the file holds it; of what is not drawn as typed, to be refused where it is read."""
    key, _, name = setting.rpartition(".")
    prop = KINDS[plant.items[key].kind].properties.get(name) if key in plant.items else None
    dimensions = () if prop is None else dimensions_of(prop)
    if not dimensions or dimensions == ("number",):
        return text.strip()
    return spellings.quantity(text.strip(), *dimensions, system=plant.units)


def _row_at(data: Mapping[str, Any], r: int, c: int) -> Mapping[str, Any] | None:
    vary: Sequence[Mapping[str, Any]] = data["vary"]
    wanted = [vary[0]["values"][r], *([vary[1]["values"][c]] if len(vary) > 1 else [])]
    return next((row for row in data["runs"] if row["values"] == wanted), None)


def chart_of(data: Mapping[str, Any]) -> SweepChart:
    """The map of a sweep over one setting or two."""
    down = data["vary"][0]
    one_way: dict[str, Any] = {"path": "", "values": [""]}
    across = data["vary"][1] if len(data["vary"]) > 1 else one_way
    cells = {}
    for r in range(len(down["values"])):
        for c in range(len(across["values"])):
            row = _row_at(data, r, c)
            if row is not None:
                cells[r, c] = MapCell(bool(row["ok"]), _cell_words(row))
    rows, columns = (tuple(map(spellings.readable, one["values"])) for one in (down, across))
    return SweepChart(down["path"], across["path"], rows, columns, cells)


def _cell_words(row: Mapping[str, Any]) -> tuple[str, ...]:
    energy = row["summary"]["energy_kwh"]
    used = units.show((energy["fuel"] or energy["electricity"] or energy["heat"]) * 3.6e6, "energy", "si")
    if row["ok"]:
        return ("OK", used)
    first = row["broken"][0]
    return (f"{first['limit'].replace('_', ' ')}", first["at"], used)
