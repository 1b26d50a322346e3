"""The sheet of the case in sight: to a file, on a printer, and on the clipboard."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.document import Document
from app.widgets.message_bar import MessageBar
from app.window.live import LiveSolve
from core.errors import WetsideError

if TYPE_CHECKING:
    from app.paper import Papers, Sheet


class PrintedWindow(Protocol):
    """The window as printing sees it."""

    document: Document
    live: LiveSolve
    bar: MessageBar

    def say(self, text: str) -> None: ...


def to_file(window: PrintedWindow, file: Path) -> None:
    """As PDF, SVG or PNG."""
    from app.paper import print_plant

    try:
        solutions = window.live.solutions()
        written = print_plant(window.document.plant, window.live.solution, file, solutions=solutions)
    except (WetsideError, OSError) as trouble:
        window.bar.show_message(f"Not printed. {trouble}")
        return
    window.say(f"Printed {', '.join(each.name for each in written)}{_cut(window)}")


def on_paper(window: PrintedWindow, above: QWidget) -> None:
    """Ask for a printer of the system, and print there."""
    try:
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter
    except ImportError as trouble:  # the system's own printing library is missing
        window.bar.show_message(f"No printer can be asked for here ({trouble}). Print to a file instead.")
        return
    from app.paper.printer import print_on

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    dialog = QPrintDialog(printer, above)
    if dialog.exec() != QPrintDialog.DialogCode.Accepted:
        return
    done = print_on(_papers(window), printer)
    sent = f"Sent to {printer.printerName() or 'the printer'}{_cut(window)}"
    window.say(sent if done else "The printer took nothing")


def on_clipboard(window: PrintedWindow) -> None:
    """The drawing as SVG and PNG, its figures as text, at once."""
    from app.paper.printer import pieces
    from core.commands.solve import table

    plant, solution = window.document.plant, window.live.solution
    words = table(plant, solution) if solution is not None else plant.title
    QGuiApplication.clipboard().setMimeData(pieces(_papers(window, full=False), words))
    window.say("The drawing is on the clipboard as SVG, PNG and text")


def _cut(window: PrintedWindow) -> str:
    """Where the drawing was cut over several sheets: how many, and the size that holds it on one."""
    from app.paper.lettering import lettering, named

    found = lettering(window.document.plant, _sheet(window))
    larger = f" One {named(found.larger)} sheet holds it: see Papers." if found.larger else ""
    return f". {found.words}{larger}" if found.words else ""


def _sheet(window: PrintedWindow) -> Sheet:
    from app.paper import SIZES, Sheet, usual_sheet

    name = usual_sheet(window.document.plant)
    return Sheet(name, *SIZES[name])


def _papers(window: PrintedWindow, full: bool = True) -> Papers:
    from app.paper import sheets_of

    plant, solutions = window.document.plant, window.live.solutions()
    return sheets_of(plant, window.live.solution, _sheet(window), solutions=solutions, full=full)
