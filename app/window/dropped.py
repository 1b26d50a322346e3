"""Files dropped on the window: a plant opens, several open in windows of their own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData

from app.window.file_questions import ENDINGS


def plants_in(data: QMimeData) -> list[Path]:
    """Plant files among what is dragged."""
    files = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return [file for file in files if file.name.lower().endswith(ENDINGS) and file.is_file()]


def take(data: QMimeData, here: Callable[[Path], object], beside: Callable[[Path], object]) -> None:
    """Open what was dropped: the first here, the others beside."""
    for number, file in enumerate(plants_in(data)):
        (beside if number else here)(file)
