"""The user's own price list: a tick that pages share, and the prices behind it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QWidget

from app.settings import Settings
from core.errors import Refusal, escaped

if TYPE_CHECKING:
    from core.papers.prices import Price

Read = Callable[[str, Callable[[Path], object]], None]


class Costs(QCheckBox):
    """Ticked while there is a price list; ticking asks for one. `changed`: there is another, or none."""

    changed = Signal()

    def __init__(self, settings: Settings, read: Read, parent: QWidget) -> None:
        super().__init__("C&osts", parent)
        self._settings, self._read = settings, read
        self.clicked.connect(self._clicked)
        self.renew()

    @property
    def file(self) -> str:
        """The price list; empty where there is none."""
        return str(self._settings.get("price_list"))

    def renew(self) -> None:
        """Show what was chosen, on another page too."""
        self.setChecked(bool(self.file))
        told = f", now {self.file}" if self.file else ""
        self.setToolTip(
            f"By your own price list: a CSV file with the columns what, size, unit, price{told}. No labor"
        )

    def prices(self) -> tuple[list[Price], str]:
        """What is in the list, and why it cannot be read."""
        from core.papers.prices import read_prices

        self.renew()
        try:
            return (read_prices(self.file) if self.file else []), ""
        except Refusal as refusal:
            return [], f"no costs: {escaped(str(refusal))}"

    def _clicked(self) -> None:
        wanted = self.isChecked()
        self.renew()  # until a list is named
        if wanted:
            self._read("Read a price list", self.take)
        else:
            self.take(None)

    def take(self, file: Path | None) -> None:
        """Use a price list; None: no costs."""
        self._settings.set("price_list", str(file) if file is not None else "")
        self.renew()
        self.changed.emit()
