"""The form in which a finding is accepted: why, by whom, checked with whom, when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.widgets.measure import scaled

if TYPE_CHECKING:
    from core.review import Finding


class AcceptForm(QWidget):
    """Emits `written` with reason, by, checked with and date; the page makes the entry or refuses it."""

    written = Signal(str, str, str, str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.key = ""
        """Key of the finding that is being accepted."""
        self.because = QPlainTextEdit(self)
        self.because.setTabChangesFocus(True)
        self.because.setFixedHeight(scaled(self, 46))
        self.because.setPlaceholderText("the reason, in your own words")
        self.by, self.checked_with, self.date = (QLineEdit(self) for _ in range(3))
        self.by.setPlaceholderText("who accepts it")
        rows = QFormLayout()
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setVerticalSpacing(3)
        for words, field in (
            ("Because", self.because),
            ("By", self.by),
            ("Checked with", self.checked_with),
            ("Date", self.date),
        ):
            field.setAccessibleName(words)
            rows.addRow(words, field)
        self.trouble = QLabel("", self)
        self.trouble.setWordWrap(True)
        self.trouble.hide()
        write = QPushButton("Accept it", self)
        write.clicked.connect(self._write)
        leave = QPushButton("Leave it open", self)
        leave.clicked.connect(self.left)
        line = QHBoxLayout()
        line.addWidget(write)
        line.addWidget(leave)
        line.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(rows)
        column.addWidget(self.trouble)
        column.addLayout(line)
        column.addStretch(1)

    def ask(self, finding: Finding, date: str) -> None:
        """Begin with an empty reason; who accepts stays as typed last."""
        self.key = finding.key
        self.because.clear()
        self.checked_with.clear()
        self.date.setText(date)
        stop = finding.severity.value == "stop"
        wanted = "the authority or licensed trade: needed for a stop" if stop else "whom, if anybody"
        self.checked_with.setPlaceholderText(wanted)
        self.refuse("")

    def refuse(self, words: str) -> None:
        """Say what is lacking, at the field it belongs to."""
        self.trouble.setText(f"Not accepted yet: {words}." if words else "")
        self.trouble.setVisible(bool(words))
        reason = self.because.toPlainText().strip()
        for field, wrong in (
            (self.because, bool(words) and not reason),
            (self.checked_with, bool(words and reason)),
        ):
            field.setProperty("wrong", wrong)
            field.style().unpolish(field)
            field.style().polish(field)
            if wrong:
                field.setFocus(Qt.FocusReason.OtherFocusReason)

    def _write(self) -> None:
        fields = (self.by, self.checked_with, self.date)
        self.written.emit(self.because.toPlainText().strip(), *(field.text().strip() for field in fields))
