"""Help, "How Wetside counts": the text of `core.help.how_counted` in a window that blocks nothing."""

from __future__ import annotations

from html import escape

from PySide6.QtWidgets import QDialog, QTextBrowser, QVBoxLayout, QWidget

from core.help.how_counted import SECTIONS, TITLE, Section


class CountsPage(QDialog):
    """How figures are reached, section by section."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLE)
        self.setAccessibleName(TITLE)
        self.text = QTextBrowser(self)
        self.text.setAccessibleName("How figures are reached")
        self.text.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.text.document().setDocumentMargin(16)
        self.text.setHtml("".join(map(_as_html, SECTIONS)))
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.text)
        self.resize(620, 640)

    def go_to(self, heading: str) -> None:
        """Bring a heading to the top."""
        self.text.scrollToAnchor(heading)


def _as_html(section: Section) -> str:
    paragraphs = "".join(f"<p>{escape(one)}</p>" for one in section.paragraphs)
    return f'<h3><a name="{escape(section.title)}"></a>{escape(section.title)}</h3>{paragraphs}'
