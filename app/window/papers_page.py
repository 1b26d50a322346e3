"""Plant, "Papers": report, takeoff, wiring points, start-up sheet and service calendar, seen, then saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.background import Background, Job
from app.document import Document
from app.window.live import LiveSolve
from core.diagram.sheets import SIZES
from core.errors import WetsideError, escaped
from core.papers.day import today

if TYPE_CHECKING:
    from app.paper.layout import Papers
    from app.paper.pager import Sheets
    from core.papers.blocks import Paper
    from core.plant.model import Plant
    from core.solve import Solution

TITLE = "Papers"
LANE = "papers"
PHONE = "handbook"  # the lane in which the page for a phone is made
KINDS = {
    "drawing": "Labeled one-line diagram",
    "report": "Design report",
    "takeoff": "Takeoff",
    "wiring": "Wiring points",
    "start-up": "Start-up sheet",
    "service": "Service calendar",
}
PREVIEW = 3.0  # pixels for each mm of a page
Ask = Callable[[Callable[[Path], object]], None]
Export = Callable[[Callable[[Path], object], str, tuple[str, ...]], None]


class Made(NamedTuple):
    """What the background has made: which paper of which plant, its blocks, or why there is none."""

    kind: str
    plant: Plant
    paper: Paper | None
    trouble: str = ""


class PapersPage(QDialog):
    """Which paper, on which sheet, of which case; the pages; a button that saves them."""

    def __init__(
        self,
        parent: QWidget,
        document: Document,
        live: LiveSolve,
        background: Background,
        ask: Ask,
        export: Export,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLE)
        self.setAccessibleName(TITLE)
        self._document, self._live, self._background, self._ask = document, live, background, ask
        self._export = export
        self._pages: Papers | Sheets | None = None
        self._made: Made | None = None
        self._number = 0
        self._lay_out()
        background.done.connect(self._came)
        background.done.connect(self._written)
        for box in (self.kind, self.case):
            box.currentIndexChanged.connect(self.renew)
        self.sheet.currentIndexChanged.connect(self._set)

    def _lay_out(self) -> None:
        self.kind, self.sheet, self.case = QComboBox(self), QComboBox(self), QComboBox(self)
        for key, words in KINDS.items():
            self.kind.addItem(words, key)
        self.sheet.addItem("usual size", "")
        for name in SIZES:
            self.sheet.addItem(name.upper().replace("_", " "), name)
        form = QFormLayout()
        for words, box in (("&Paper", self.kind), ("&Sheet", self.sheet), ("&Case", self.case)):
            box.setAccessibleName(words.replace("&", ""))
            form.addRow(words, box)
        self.page = QLabel(self)
        self.page.setAccessibleName("Page")
        self.page.setAlignment(Qt.AlignmentFlag.AlignCenter)
        view = QScrollArea(self)
        view.setWidget(self.page)
        view.setWidgetResizable(True)
        self.before, self.after, self.save = (QPushButton(t, self) for t in ("&Back", "&Next", "Sa&ve…"))
        self.place = QLabel("", self)
        self.before.clicked.connect(lambda: self._turn(-1))
        self.after.clicked.connect(lambda: self._turn(1))
        self.save.clicked.connect(lambda: self._ask(self.write))
        low = QHBoxLayout()
        for widget in (self.before, self.place, self.after):
            low.addWidget(widget)
        self.round = QCheckBox("with questions, for re&view", self)
        self.round.setToolTip("To be sent round: questions, assumptions, and room for remarks")
        self.phone = QPushButton("&Handbook for a phone…", self)
        self.phone.clicked.connect(lambda: self._export(self.write_handbook, "handbook.html", (".html",)))
        low.addStretch(1)
        low.addWidget(self.round)
        low.addWidget(self.phone)
        low.addWidget(self.save)
        whole = QVBoxLayout(self)
        whole.addLayout(form)
        whole.addWidget(view, 1)
        whole.addLayout(low)
        self.resize(900, 760)

    # ---- making ------------------------------------------------------------------------

    def bring(self) -> None:
        """Show the page for the plant as it is now."""
        names = [case.name for case in self._document.plant.solve_cases]
        self.case.blockSignals(True)
        self.case.clear()
        self.case.addItems(names)
        self.case.setCurrentIndex(max(0, self.case.findText(self._live.case)))
        self.case.blockSignals(False)
        self.renew()

    def renew(self) -> None:
        """Make the paper that is asked for; what takes long is made in the background."""
        self._show_none("Making the pages…")
        plant, solutions, kind = self._document.plant, self._live.solutions(), str(self.kind.currentData())
        self._background.ask(LANE, lambda job: _make(job, plant, solutions, kind))

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == LANE:
            self._made = cast("Made", result)
            self._set()

    def _set(self) -> None:
        """Set what was made on pages of the wanted size."""
        made = self._made
        if made is None or made.trouble:
            self._show_none(made.trouble if made is not None else "")
            return
        try:
            self._pages = self._paged(made)
        except WetsideError as trouble:
            self._show_none(str(trouble))
            return
        self._number = 0
        self.save.setEnabled(True)
        self._show()

    def _paged(self, made: Made) -> Papers | Sheets:
        from app.paper import laid_out, sheet_named
        from app.paper import usual_sheet as drawn_on
        from app.paper.binder import bound, paper_sheet, usual_sheet
        from app.paper.decisions import logbook_rows
        from core.papers.plant_words import display_of

        plant, day = made.plant, today()
        wanted = str(self.sheet.currentData())
        if made.paper is None:
            size = sheet_named(wanted or drawn_on(plant))
            assert size is not None
            solutions = self._live.solutions()
            logbook = logbook_rows(plant, solutions) if plant.logbook else []
            return laid_out(
                plant, solutions.get(self.case.currentText()), size, display_of(plant), day, logbook
            )
        large = made.kind == "report"
        return bound(plant, made.paper, paper_sheet(wanted or usual_sheet(plant, large), large), day)

    # ---- showing -----------------------------------------------------------------------

    def _show_none(self, words: str) -> None:
        self._pages = None
        self.page.setPixmap(QPixmap())
        self.page.setText(escaped(words))
        self.place.setText("")
        for button in (self.before, self.after, self.save):
            button.setEnabled(False)

    def _turn(self, step: int) -> None:
        self._number += step
        self._show()

    def _show(self) -> None:
        from app.paper.painting import paint_page

        pages = self._pages
        assert pages is not None
        wide, high = round(pages.sheet.width * PREVIEW), round(pages.sheet.height * PREVIEW)
        image = QImage(wide, high, QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(PREVIEW, PREVIEW)
        paint_page(painter, pages, pages.pages[self._number])
        painter.end()
        self.page.setPixmap(QPixmap.fromImage(image))
        self.place.setText(f"{self._number + 1} of {len(pages.pages)}")
        self.before.setEnabled(self._number > 0)
        self.after.setEnabled(self._number + 1 < len(pages.pages))

    def write(self, file: Path) -> None:
        """Save the pages as PDF, SVG or PNG."""
        from app.paper.output import write

        if self._pages is None:
            return
        try:
            written = write(self._pages, file)
        except (WetsideError, OSError) as trouble:
            self.place.setText(f"Not saved. {trouble}")
            return
        self.place.setText(f"Saved {', '.join(each.name for each in written)}")

    def write_handbook(self, file: Path) -> None:
        """Make the page for a phone in the background, and write it."""
        plant, review = self._document.plant, self.round.isChecked()
        self.place.setText("Making the handbook…")

        def work(job: Job) -> None:
            from dataclasses import replace

            from core.handbook.gather import gathered
            from core.handbook.page import page

            try:
                file.write_text(page(replace(gathered(plant), for_review=review)), encoding="utf-8")
            except (WetsideError, OSError) as trouble:
                job.report(f"Not written. {trouble}")
            else:
                job.report(f"Written {file.name}")

        self._background.ask(PHONE, work)

    def _written(self, lane: str, _ticket: int, result: object) -> None:
        if lane == PHONE:
            self.place.setText(escaped(str(result)))


def _make(job: Job, plant: Plant, known: dict[str, Solution], kind: str) -> None:
    """The blocks of a paper; cases that are not solved yet are solved first."""
    if kind == "drawing":
        job.report(Made(kind, plant, None))
        return
    from app.paper.report_command import gathered
    from app.paper.text_papers import made_of
    from core.papers.report import report_paper
    from core.papers.takeoff_paper import takeoff_paper
    from core.solve import solve_plant

    try:
        missing = [case.name for case in plant.solve_cases if case.name not in known]
        found = {**known, **{s.case: s for s in solve_plant(plant, missing)}} if missing else known
        solutions = [found[case.name] for case in plant.solve_cases]
        if kind == "report":
            paper = report_paper(plant, gathered(plant, solutions))
        else:
            paper = takeoff_paper(plant) if kind == "takeoff" else made_of(plant, solutions, kind)
    except WetsideError as trouble:
        job.report(Made(kind, plant, None, str(trouble)))
        return
    job.report(Made(kind, plant, paper))
