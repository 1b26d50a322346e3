"""The sample plants as starting points, with small drawings made in the background."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import cast

from PySide6.QtCore import QObject, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap

from app.assemblies import Assembly
from app.background import Background, Job
from app.panels.shelf import DRAWN, Shelf
from app.panels.start import DRAWING, EMPTY, StartPage
from app.pens import LIGHT, Palette, paint_pipe
from app.symbols import paint_symbol
from core.diagram import symbols
from core.diagram.geometry import hull
from core.diagram.picture import Detail, Picture, compose
from core.diagram.states import State
from core.errors import WetsideError
from core.plant.model import Plant
from core.vocabulary import Trait

LANE, SMALL = "drawings", "small drawings"
BARE = Detail(tags=False, labels=False, wires=())
SOURCES = (Trait.MAKES_HEAT,)
STORES = (Trait.TANK, Trait.EXCHANGES_HEAT)
TAKERS = (Trait.GIVES_HEAT,)
FIXTURES = (Trait.DRAWS_WATER,)
ORDER = ("kennel_clinic", "potting_shed", "school_annex")

TEMPLATES = ("one_boiler_and_two_floors", "on_demand_heater_with_tank", "two_boilers_with_separator")


def sample_files() -> list[Path]:
    """Plant files of the package `sample_plants`, the main ones first; none where they are not installed."""
    try:
        import sample_plants
    except ModuleNotFoundError:
        return []
    folder = Path(sample_plants.__file__).parent
    found = {file.name.split(".")[0]: file for file in sorted(folder.glob("*.plant.json"))}
    return [found.pop(name) for name in ORDER if name in found] + list(found.values())


def template_files() -> list[Path]:
    """The plants to begin from, the commonest first; none where they are not installed."""
    try:
        import sample_plants
    except ModuleNotFoundError:
        return []
    folder = Path(sample_plants.__file__).parent / "templates"
    found = {file.name.split(".")[0]: file for file in sorted(folder.glob("*.plant.json"))}
    return [found.pop(name) for name in TEMPLATES if name in found] + list(found.values())


def lately(names: Sequence[str]) -> list[Path]:
    """Files opened or saved lately that are still there, the newest first."""
    return [file for file in map(Path, names) if file.is_file()]


def offer_on(page: StartPage, recent: Sequence[str]) -> None:
    """All there is to begin from; `recent` are paths opened or saved lately."""
    page.offer_templates(template_files())
    page.offer(sample_files(), lately(recent))


def gist(plant: Plant) -> str:
    """What a plant is, in one sentence made of what is drawn: `1 boiler; 2 floor circuits.`

    Heat sources, stores and exchangers, then what takes heat, then fixtures.
    """
    told: list[str] = []
    for traits in (SOURCES, STORES, TAKERS, FIXTURES):
        counts = Counter(item.kind_info.title for item in plant.with_trait(*traits))
        told += [f"{count} {title}{'s' if count > 1 else ''}" for title, count in counts.items()]
    return f"{', '.join(dict.fromkeys(told))}." if told else ""


class Drawings(QObject):
    """Fills the start page's buttons as the drawings come in."""

    def __init__(self, background: Background, page: StartPage, parent: QObject) -> None:
        super().__init__(parent)
        self._background, self._page = background, page
        self._palette = LIGHT
        self._known: dict[str, tuple[Plant, Picture]] = {}
        self._small: dict[str, tuple[Plant, Picture]] = {}
        self._shelf: Shelf | None = None
        background.done.connect(self._take)

    def ask_assemblies(self, assemblies: Sequence[Assembly], shelf: Shelf) -> None:
        """Draw these small, for the shelf and the start page."""
        self._shelf = shelf
        parts = [(one.key, one.part.plant) for one in assemblies]
        self._background.ask(SMALL, lambda job: _draw_small(job, parts))

    def _show_small(self, key: str, plant: Plant, picture: Picture) -> None:
        drawing = QIcon(self._drawing(plant, picture, DRAWN * 2))
        if self._shelf is not None:
            self._shelf.show_drawing(key, drawing)
        self._page.show_assembly(key, drawing)

    def ask(self, files: Sequence[Path]) -> None:
        self._background.ask(LANE, lambda job: _draw(job, files))

    def show_palette(self, palette: Palette) -> None:
        self._palette = palette
        self._page.show_drawing(EMPTY, self._sheet())
        for value, (plant, picture) in self._known.items():
            self._page.show_drawing(value, self._drawing(plant, picture))
        for value, (plant, picture) in self._small.items():
            self._show_small(value, plant, picture)

    def _take(self, lane: str, _ticket: int, result: object) -> None:
        if lane == SMALL:
            key, plant, picture = cast(tuple[str, Plant, Picture], result)
            self._small[key] = (plant, picture)
            self._show_small(key, plant, picture)
        elif lane == LANE:
            value, plant, picture = cast(tuple[str, Plant, Picture], result)
            self._known[value] = (plant, picture)
            self._page.show_drawing(value, self._drawing(plant, picture))
            self._page.tell(value, gist(plant))
            above = self._page.parentWidget()
            if above is not None:
                self._page.place_over(above.width(), above.height())

    def _sheet(self, size: QSize = DRAWING) -> QPixmap:
        ratio = self._page.devicePixelRatioF()
        picture = QPixmap(size * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(self._palette.board)
        painter = QPainter(picture)
        painter.setPen(self._palette.rule)
        painter.drawRect(QRectF(0.5, 0.5, size.width() - 1, size.height() - 1))
        painter.end()
        return picture

    def _drawing(self, plant: Plant, picture: Picture, size: QSize = DRAWING) -> QPixmap:
        out = self._sheet(size)
        area = hull([symbols.box(item) for item in plant.items.values()] + [picture.box]).grown(30)
        scale = min(size.width() / area.width, size.height() / area.height)
        painter = QPainter(out)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(size.width() / 2, size.height() / 2)
        painter.scale(scale, scale)
        painter.translate(-area.centre[0], -area.centre[1])
        for pipe in picture.pipes.values():
            paint_pipe(painter, pipe, self._palette, 0.9 / scale)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for item in plant.items.values():
            painter.save()
            painter.translate(*item.at)
            paint_symbol(painter, item, State.PLAIN, self._palette)
            painter.restore()
        painter.end()
        return out


def _draw_small(job: Job, parts: Sequence[tuple[str, Plant]]) -> None:
    """Route each assembly."""
    for key, plant in parts:
        if job.stale():
            return
        job.report((key, plant, compose(plant, None, lambda text, size, bold: 0.0, BARE)))


def _draw(job: Job, files: Sequence[Path]) -> None:
    """Read and route each sample; one that cannot be read keeps its empty sheet."""
    from core.files.read import load

    for file in files:
        if job.stale():
            return
        try:
            plant = load(file)
        except WetsideError:
            continue
        job.report((str(file), plant, compose(plant, None, lambda text, size, bold: 0.0, BARE)))
