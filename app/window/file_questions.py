"""Which file is meant: the questions of the Plant menu, put in the window's path bar."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.document import Document
from app.settings import Settings
from app.widgets.message_bar import MessageBar
from app.widgets.path_bar import PathBar, Question

SUFFIX = ".plant.json"
ENDINGS = (SUFFIX, ".json")
FILTER = f"Plant files (*{SUFFIX});;All files (*)"
PRINTED = (".pdf", ".svg", ".png")
PRINT_FILTER = "PDF (*.pdf);;SVG (*.svg);;PNG (*.png)"

Take = Callable[[Path, bool], object]
"""Gets a file, and whether somebody has asked about writing over what is there."""


class FileQuestions:
    """Asks for files to open, to save to and to print to; reads and writes none."""

    def __init__(self, document: Document, settings: Settings, messages: MessageBar, window: QWidget) -> None:
        self._document, self._settings, self._messages = document, settings, messages
        self.bar = PathBar(window)

    def folder(self) -> str:
        """Where the user's files are likely to be."""
        if self._document.file is not None:
            return str(self._document.file.parent)
        recent = self._settings.get("recent")
        return str(Path(recent[0]).parent) if recent else ""

    def to_open(self, take: Callable[[Path], object]) -> None:
        """A plant file that is there."""
        folder = self.folder()
        start = folder.rstrip(os.sep) + os.sep if folder else ""
        known = [name for name in self._settings.get("recent") if Path(name).is_file()]

        def taken(file: Path, _asked: bool) -> None:
            take(file)

        question = Question("Open a plant", "Open", start, ENDINGS, FILTER, taken, opens=True, known=known)
        self.bar.ask(question)

    def to_read(self, words: str, take: Callable[[Path], object], ending: str) -> None:
        """A file that is no plant and is there, such as a price list."""
        folder = self.folder()
        start = folder.rstrip(os.sep) + os.sep if folder else ""
        kinds = f"{ending[1:].upper()} (*{ending})"
        self.bar.ask(Question(words, "Read", start, (ending,), kinds, lambda file, _: take(file), opens=True))

    def to_save(self, words: str, take: Take, left: Callable[[], object] = lambda: None) -> None:
        """A file to write the plant to; `left` where none is named."""
        title = self._document.plant.title.strip().lower().replace(" ", "_").replace(os.sep, "-")
        start = self._document.file or Path(self.folder()) / f"{title or 'plant'}{SUFFIX}"
        self.bar.ask(Question(words, "Save", str(start), ENDINGS, FILTER, take, left=left))

    def to_print(self, write: Callable[[Path], object], name: str = "") -> None:
        """A file for the sheet, or a paper of a name; one that is there is written over only after asking."""
        file = self._document.file
        start = file.with_suffix("").with_suffix(".pdf") if file else Path(self.folder()) / "sheet.pdf"
        start = start.with_name(f"{name}.pdf") if name else start

        def take(there: Path, asked: bool) -> None:
            if asked or not there.exists():
                write(there)
                return
            again = [("Write over it", lambda: write(there))]
            self._messages.show_message(f"Not printed. {there.name} is there already.", [*again])

        self.bar.ask(Question("Print to", "Print", str(start), PRINTED, PRINT_FILTER, take))

    def to_export(self, write: Callable[[Path], object], start: str, endings: tuple[str, ...]) -> None:
        """Ask where to write something that is no paper; its ending says what it is."""

        def take(there: Path, asked: bool) -> None:
            if asked or not there.exists():
                write(there)
                return
            again = [("Write over it", lambda: write(there))]
            self._messages.show_message(f"Not written. {there.name} is there already.", [*again])

        kinds = ";;".join(f"{ending[1:].upper()} (*{ending})" for ending in endings)
        place = str(Path(self.folder()) / start)
        self.bar.ask(Question("Write to", "Write", place, endings, kinds, take))
