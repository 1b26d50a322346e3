"""Plant, "Papers": drawing, report, takeoff, wiring, start-up, service calendar: seen, then saved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
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
from app.panels.costs import Costs
from app.settings import Settings
from app.widgets.picks import Arrowed
from app.window.live import LiveSolve
from app.window.papers_made import Made, Wanted, make, pages_of, write_pages
from core.diagram.sheets import SIZES
from core.errors import WetsideError, escaped

if TYPE_CHECKING:
    from app.paper.layout import Papers
    from app.paper.lettering import Lettering
    from app.paper.pager import Sheets

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
COSTED = ("report", "takeoff")
SCALES = {"full": "capitals 2.5 mm high, on as many sheets as that takes", "fit": "fit one sheet"}
TABLES = (".pdf", ".csv", ".xlsx", ".svg", ".png")
PREVIEW = 3.0  # pixels for each mm of a page
Ask = Callable[[Callable[[Path], object]], None]
Export = Callable[[Callable[[Path], object], str, tuple[str, ...]], None]
Read = Callable[[str, Callable[[Path], object], str], None]


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
        read: Read,
        settings: Settings,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLE)
        self.setAccessibleName(TITLE)
        self._document, self._live, self._background, self._ask = document, live, background, ask
        self._export, self._read, self._settings = export, read, settings
        self._pages: Papers | Sheets | None = None
        self._made: Made | None = None
        self._lettering: Lettering | None = None
        self._number = 0
        self._lay_out()
        background.done.connect(self._came)
        background.done.connect(self._written)
        for box in (self.kind, self.case):
            box.currentIndexChanged.connect(self.renew)
        for tick in (self.side, self.curves):
            tick.toggled.connect(self.renew)
        for box in (self.sheet, self.scale):
            box.currentIndexChanged.connect(self._set)

    def _lay_out(self) -> None:
        self.kind, self.sheet, self.case, self.scale = (Arrowed(self) for _ in range(4))
        for key, words in KINDS.items():
            self.kind.addItem(words, key)
        self.sheet.addItem("usual size", "")
        for name in SIZES:
            self.sheet.addItem(name.upper().replace("_", " "), name)
        for key, words in SCALES.items():
            self.scale.addItem(words, key)
        form = QFormLayout()
        named = (
            ("&Paper", self.kind),
            ("&Sheet", self.sheet),
            ("&Lettering", self.scale),
            ("&Case", self.case),
        )
        for words, box in named:
            box.setAccessibleName(words.replace("&", ""))
            form.addRow(words, box)
        self._form = form
        self.page = QLabel(self)
        self.page.setAccessibleName("Page")
        self.page.setAlignment(Qt.AlignmentFlag.AlignCenter)
        view = QScrollArea(self)
        view.setWidget(self.page)
        view.setWidgetResizable(True)
        whole = QVBoxLayout(self)
        whole.addLayout(form)
        whole.addLayout(self._what_else())
        whole.addLayout(self._proposal())
        whole.addWidget(view, 1)
        whole.addLayout(self._foot())
        self.resize(900, 760)

    def _what_else(self) -> QHBoxLayout:
        """What more a drawing carries; the price list."""
        self.side = QCheckBox("all cases side by s&ide", self)
        self.curves = QCheckBox("c&urves of the circulators", self)
        self.prices = Costs(self._settings, lambda words, take: self._read(words, take, ".csv"), self)
        self.prices.changed.connect(self.renew)
        row = QHBoxLayout()
        for widget in (self.side, self.curves, self.prices):
            row.addWidget(widget)
        row.addStretch(1)
        return row

    def _proposal(self) -> QHBoxLayout:
        """What the lettering comes to, and the ways to have it otherwise."""
        self.told = QLabel("", self)
        self.told.setWordWrap(True)
        self.whole, self.tiled, self.fitted = (QPushButton(self) for _ in range(3))
        self.whole.clicked.connect(self._on_one)
        self.tiled.clicked.connect(lambda: self.scale.setCurrentIndex(self.scale.findData("full")))
        self.fitted.clicked.connect(lambda: self.scale.setCurrentIndex(self.scale.findData("fit")))
        row = QHBoxLayout()
        row.addWidget(self.told, 1)
        for button in (self.whole, self.tiled, self.fitted):
            row.addWidget(button)
        return row

    def _foot(self) -> QHBoxLayout:
        self.before, self.after, self.save = (QPushButton(t, self) for t in ("&Back", "&Next", "Sa&ve…"))
        self.place = QLabel("", self)
        self.before.clicked.connect(lambda: self._turn(-1))
        self.after.clicked.connect(lambda: self._turn(1))
        self.save.clicked.connect(self._ask_where)
        low = QHBoxLayout()
        for widget in (self.before, self.place, self.after):
            low.addWidget(widget)
        self.round = QCheckBox("with questions, for r&eview", self)
        self.round.setToolTip("To be sent round: questions, assumptions, and room for remarks")
        self.phone = QPushButton("&Handbook for a phone…", self)
        self.phone.clicked.connect(lambda: self._export(self.write_handbook, "handbook.html", (".html",)))
        low.addStretch(1)
        for last in (self.round, self.phone, self.save):
            low.addWidget(last)
        return low

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
        kind = str(self.kind.currentData())
        drawing = kind == "drawing"
        self._form.setRowVisible(self.scale, drawing)
        self._form.setRowVisible(self.case, kind in ("drawing", "report"))
        for tick in (self.side, self.curves):
            tick.setVisible(drawing)
        self.prices.setVisible(kind in COSTED)
        self._show_none("Making the pages…")
        self.prices.renew()
        prices = Path(self.prices.file) if kind in COSTED and self.prices.file else None
        wanted = Wanted(kind, self.case.currentText(), self.side.isChecked(), self.curves.isChecked(), prices)
        plant, solutions = self._document.plant, self._live.solutions()
        self._background.ask(LANE, lambda job: make(job, plant, solutions, wanted))

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
            full = self.scale.currentData() == "full"
            self._pages, self._lettering = pages_of(made, str(self.sheet.currentData()), full)
        except WetsideError as trouble:
            self._show_none(str(trouble))
            return
        self._number = 0
        self.save.setEnabled(True)
        self._propose(self._pages.sheet.name)
        self._show()

    # ---- lettering ---------------------------------------------------------------------

    def _propose(self, sheet: str) -> None:
        """Say where capitals are small or the diagram is cut, with a button for each other way."""
        from app.paper.lettering import named

        found = self._lettering
        small, cut = found is not None and found.small, found is not None and found.sheets > 1
        words = found.words if found is not None else ""
        self.told.setText(words)
        self.whole.setText(f"&One {named(found.larger)} sheet" if found is not None else "")
        self.tiled.setText(f"&Cut over {named(sheet)} sheets")
        self.fitted.setText(f"&Fit one {named(sheet)} sheet")
        self.whole.setVisible(bool(words and found is not None and found.larger))
        self.tiled.setVisible(small)
        self.fitted.setVisible(cut and not small)

    def _on_one(self) -> None:
        """The sheet that holds the diagram whole, at full lettering."""
        if self._lettering is not None:
            self.scale.blockSignals(True)
            self.scale.setCurrentIndex(self.scale.findData("full"))
            self.scale.blockSignals(False)
            self.sheet.setCurrentIndex(self.sheet.findData(self._lettering.larger))

    # ---- showing -----------------------------------------------------------------------

    def _show_none(self, words: str) -> None:
        self._pages = self._lettering = None
        self.page.setPixmap(QPixmap())
        self.page.setText(escaped(words))
        self.place.setText("")
        self.told.setText("")
        for button in (self.before, self.after, self.save):
            button.setEnabled(False)
        for button in (self.whole, self.tiled, self.fitted):
            button.setVisible(False)

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

    # ---- saving ------------------------------------------------------------------------

    def _ask_where(self) -> None:
        if self.kind.currentData() == "takeoff":
            self._export(self.write, "takeoff.csv", TABLES)
        else:
            self._ask(self.write)

    def write(self, file: Path) -> None:
        """Save the pages as PDF, SVG or PNG, a takeoff as CSV or XLSX too."""
        if self._pages is None or self._made is None:
            return
        try:
            written = write_pages(self._pages, self._made, file)
        except (WetsideError, OSError) as trouble:
            self.place.setText(f"Not saved. {trouble}")
            return
        self.place.setText(f"Saved {', '.join(each.name for each in written)}")

    def write_handbook(self, file: Path) -> None:
        """Make the page for a phone in the background, and write it."""
        plant, review = self._document.plant, self.round.isChecked()
        self.place.setText("Making the handbook…")

        def work(job: Job) -> None:
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
