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
    from app.paper import Papers


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
    window.say(f"Printed {', '.join(each.name for each in written)}")


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
    window.say(f"Sent to {printer.printerName() or 'the printer'}" if done else "The printer took nothing")


def on_clipboard(window: PrintedWindow) -> None:
    """The drawing as SVG and PNG, its figures as text, at once."""
    from app.paper.printer import pieces
    from core.commands.solve import table

    plant, solution = window.document.plant, window.live.solution
    words = table(plant, solution) if solution is not None else plant.title
    QGuiApplication.clipboard().setMimeData(pieces(_papers(window, full=False), words))
    window.say("The drawing is on the clipboard as SVG, PNG and text")


def _papers(window: PrintedWindow, full: bool = True) -> Papers:
    from app.paper import SIZES, Sheet, sheets_of, usual_sheet

    plant, solutions = window.document.plant, window.live.solutions()
    name = usual_sheet(plant)
    return sheets_of(plant, window.live.solution, Sheet(name, *SIZES[name]), solutions=solutions, full=full)
