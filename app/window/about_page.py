"""About: versions of the program and of what it stands on, with their licenses, and where its log lies."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt, qVersion
from PySide6.QtWidgets import QDialog, QTextBrowser, QVBoxLayout, QWidget

from app import crash
from core.files.places import state_folder

LICENSES: dict[str, str] = {
    "Python": "Python Software Foundation license",
    "PySide6_Essentials": "LGPL v3, with Qt itself",
    "shiboken6": "LGPL v3",
    "numpy": "BSD, 3 clauses",
    "scipy": "BSD, 3 clauses",
    "networkx": "BSD, 3 clauses",
    "Pint": "BSD, 3 clauses",
    "openpyxl": "MIT",
}
"""As the packages state them in their own metadata."""
CAUTION = (
    "Wetside helps to plan. It replaces neither local code nor the judgment of licensed trades, and comes"
    " without warranty."
)


class AboutPage(QDialog):
    """Text that can be selected and sent along with a question."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("About Wetside")
        self.setAccessibleName("About Wetside")
        self.text = QTextBrowser(self)
        self.text.setAccessibleName("Versions and licenses")
        self.text.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.text.document().setDocumentMargin(16)
        self.text.setHtml(_as_html())
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.text)
        self.resize(560, 420)


def _as_html() -> str:
    found = {**crash.versions(), "Qt": qVersion()}
    rows = "".join(
        f"<tr><td>{escape(name)}&nbsp;&nbsp;</td><td>{escape(version)}&nbsp;&nbsp;</td>"
        f"<td>{escape(LICENSES.get(name, ''))}</td></tr>"
        for name, version in found.items()
    )
    return (
        f"<h3>Wetside</h3><p>{escape(CAUTION)}</p><table>{rows}</table>"
        f"<p>Log and crash reports: {escape(str(state_folder()))}</p>"
    )
