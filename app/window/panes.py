"""The strip under the board: pages with tabs on the left, plots and workings on the right.

One row of the table a pane; its module is imported when it is first shown, so that none slows the start.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any, Literal, NamedTuple, cast

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QMenu,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from app.window.pulled_out import Away, PaneWindow

Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")


class PaneRow(NamedTuple):
    """A pane: key (its action is `pane_<key>`), words on the tab, where it is made, its side."""

    key: str
    title: str
    maker: str
    side: Side = "left"


TABLE: tuple[PaneRow, ...] = (
    PaneRow("notes", "Notes", "app.panels.notes:NotesPanel"),
    PaneRow("punch", "Punch list", "app.panels.punch_list:PunchListPane"),
    PaneRow("calls", "Call sheet", "app.panels.call_sheet:CallSheetPane"),
    PaneRow("case", "Case", "app.panels.case_page:CasePage"),
    PaneRow("time", "Time", "app.panels.time_page:TimePane"),
    PaneRow("rooms", "Rooms", "app.panels.room_sheet:RoomSheetPane"),
    PaneRow("sizes", "Sizes", "app.panels.sizes:SizesPane"),
    PaneRow("size_all", "Size all", "app.panels.size_all:SizeAllPane"),
    PaneRow("readings", "Readings", "app.panels.readings:ReadingsPane"),
    PaneRow("remarks", "Remarks", "app.panels.remarks:RemarksPane"),
    PaneRow("logbook", "Logbook", "app.panels.logbook:LogbookPane"),
    PaneRow("no_flow", "No flow", "app.panels.still_water:StillWaterPane"),
    PaneRow("joint", "Next joint", "app.panels.next_joint:NextJointPane"),
    PaneRow("questions", "Questions", "app.panels.questions:QuestionsPane"),
    PaneRow("compare", "Compare", "app.panels.compare:ComparePane"),
    PaneRow("second", "Second circulator", "app.panels.second_circulator:SecondCirculatorPane"),
    PaneRow("curves", "Curves", "app.panels.curves:CurvesPane", "right"),
    PaneRow("working", "Working", "app.panels.working:WorkingPane", "right"),
    PaneRow("shut_off", "Shut-off", "app.panels.shut_off:ShutOffPane", "right"),
)


class _Tab(QToolButton):
    """A word with a heavy rule under it while its page is in sight."""

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.isChecked():
            painter = QPainter(self)
            painter.setPen(QPen(self.palette().text().color(), 2.4))
            y = self.height() - 2
            painter.drawLine(6, y, self.width() - 6, y)


class Under(QSplitter):
    """Both sides; the right one shows once one of its panes is asked for."""

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._strips = [PaneStrip(side, port, self) for side in SIDES if any(r.side == side for r in TABLE)]
        for strip in self._strips:
            strip.setMinimumWidth(240)
            self.addWidget(strip)
            strip.closed.connect(strip.hide)
        for strip in self._strips[1:]:
            strip.hide()
        self.setChildrenCollapsible(False)
        self.setHandleWidth(1)

    def _of(self, key: str) -> PaneStrip:
        return next(strip for strip in self._strips if strip.has(key))

    def pane(self, key: str) -> Pane:
        """The pane of a key, made when first asked for."""
        return self._of(key).pane(key)

    def show_pane(self, key: str, topic: Any = None) -> Pane:
        """Bring a pane in sight, and its side."""
        strip = self._of(key)
        if strip.isHidden():
            strip.show()
            self.setSizes([self.width() // len(self._strips)] * len(self._strips))
        return strip.show_pane(key, topic)

    def retitle(self, key: str, text: str) -> None:
        """Other words on a tab, whether or not its page was made yet."""
        self._of(key).retitle(key, text)

    def in_sight(self) -> list[Pane]:
        shown = [strip for strip in self._strips if strip.isVisible() and strip.key not in strip.out]
        return [strip.pane(strip.key) for strip in shown]

    def bring_back(self) -> None:
        """All pages that are in windows of their own."""
        for strip in self._strips:
            for window, _ in list(strip.out.values()):
                window.close()

    def pull_out(self) -> None:
        """The page that was shown last into a window of its own, or back."""
        strip = next((one for one in self._strips if one.isVisible() and one.holds_focus()), None)
        strip = strip or next((one for one in reversed(self._strips) if one.isVisible()), None)
        if strip is not None:
            strip.pull_out(strip.key)

    def follow(self, sight: Sight) -> None:
        for strip in self._strips:
            strip.follow(sight)


class PaneStrip(QWidget):
    """Tabs of one side and the page in sight."""

    closed = Signal()

    def __init__(self, side: Side, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._port = port
        self._rows = {row.key: row for row in TABLE if row.side == side}
        self._made: dict[str, Pane] = {}
        self.out: dict[str, tuple[PaneWindow, Away]] = {}
        """Pages in windows of their own, and what stands in their place."""
        self._remarks: dict[str, str] = {}
        self._sight: Sight | None = None
        self.key = next(iter(self._rows), "")
        self._tabs = QButtonGroup(self)
        self._tabs.setExclusive(True)
        self._buttons: dict[str, QToolButton] = {}
        head = QHBoxLayout()
        head.setContentsMargins(8, 2, 14, 0)
        head.setSpacing(2)
        for row in self._rows.values():
            button = _Tab(self)
            button.setText(row.title)
            button.setCheckable(True)
            button.setAccessibleName(f"{row.title}, page under the board")
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(lambda _on=False, key=row.key: self.show_pane(key))
            self._tabs.addButton(button)
            self._buttons[row.key] = button
            head.addWidget(button)
        self._remark = QLabel("", self)
        self._remark.setObjectName("soft")
        self._remark.setTextFormat(Qt.TextFormat.PlainText)
        self._more = QToolButton(self)
        self._more.setText("More")
        self._more.setAccessibleName("Further pages")
        self._more.setToolTip("Pages for which there is no room beside the others")
        self._more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self._more.setMenu(QMenu(self._more))
        self._more.menu().aboutToShow.connect(self._fill_more)
        self._more.hide()
        head.addWidget(self._more)
        self._remark.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        head.addWidget(self._remark, 1)
        pull = QToolButton(self)
        pull.setText("⇱")
        pull.setAccessibleName("Page in its own window")
        pull.setToolTip("This page in its own window; closing that brings it back (Ctrl+Alt+0)")
        pull.clicked.connect(lambda: self.pull_out(self.key))
        head.addWidget(pull)
        if side == "right":
            close = QToolButton(self)
            close.setText("×")
            close.setAccessibleName("Close this side")
            close.setToolTip("Close")
            close.clicked.connect(self.closed)
            head.addWidget(close)
        self._stack = QStackedWidget(self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self._stack, 1)

    def has(self, key: str) -> bool:
        return key in self._rows

    def pane(self, key: str) -> Pane:
        """The pane of a key, made when first asked for."""
        if key not in self._made:
            module, name = self._rows[key].maker.split(":")
            made = cast("Pane", getattr(import_module(module), name)(self._port))
            self._made[key] = made
            made.titled.connect(lambda text, key=key: self.retitle(key, text))
            made.remarked.connect(lambda text, key=key: self._take_remark(key, text))
            self._stack.addWidget(made)
        return self._made[key]

    def show_pane(self, key: str, topic: Any = None) -> Pane:
        """Bring a pane in sight."""
        pane = self.pane(key)
        self.key = key
        self._buttons[key].setChecked(True)
        self._stack.setCurrentWidget(self.out[key][1] if key in self.out else pane)
        if key in self.out:
            self.out[key][0].raise_()
            self.out[key][0].activateWindow()
        self._remark.setText(self._remarks.get(key, ""))
        self._fit_tabs()
        if topic is not None:
            pane.about(topic)
        if self._sight is not None:
            pane.follow(self._sight)
        return pane

    def follow(self, sight: Sight) -> None:
        """Tell the panes in sight; the others hear of it when they come in sight."""
        self._sight = sight
        for key in {*self.out, *([] if self.isHidden() else [self.key])}:
            if key in self._made:
                self._made[key].follow(sight)

    def holds_focus(self) -> bool:
        """Whether the keyboard is in this side."""
        focus = self.window().focusWidget()
        return focus is not None and self.isAncestorOf(focus)

    def pull_out(self, key: str) -> None:
        """A page into a window of its own; one that is out comes back."""
        if key in self.out:
            self.out[key][0].close()
            return
        pane, title = self.pane(key), self._buttons[key].text()
        away = Away(title, self)
        self._stack.insertWidget(self._stack.indexOf(pane), away)
        self._stack.removeWidget(pane)
        window = PaneWindow(pane, title, self.window())
        self.out[key] = window, away
        away.back.connect(window.close)
        window.closed.connect(lambda: self._take_back(key))
        if key == self.key:
            self._stack.setCurrentWidget(away)
        window.show()
        pane.focus_first()

    def _take_back(self, key: str) -> None:
        if key not in self.out:
            return
        window, away = self.out.pop(key)
        pane = self._made[key]
        self._stack.insertWidget(self._stack.indexOf(away), pane)
        self._stack.removeWidget(away)
        away.deleteLater()
        window.deleteLater()
        if key == self.key:
            self._stack.setCurrentWidget(pane)
            pane.focus_first()

    def sizeHint(self) -> QSize:
        high = self._made[self.key].HIGH if self.key in self._made else 130
        return QSize(400, high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_tabs()

    def _fit_tabs(self) -> None:
        """Show as many tabs as have room, that of the page in sight among them; a menu has the others."""
        wide = {key: button.sizeHint().width() + 2 for key, button in self._buttons.items()}
        room = self.width() - 68  # margins, the window's button, and the cross of the right side
        shown = list(wide)
        if sum(wide.values()) > room:
            room -= self._more.sizeHint().width() + wide.get(self.key, 0)
            shown = [key for key in wide if key == self.key]
            for key in wide:
                room -= wide[key] if key != self.key else 0
                if room < 0:
                    break
                shown.append(key)
        for key, button in self._buttons.items():
            button.setVisible(key in shown)
        self._more.setVisible(len(shown) < len(self._buttons))
        taken = sum(wide[key] for key in shown) + (
            self._more.sizeHint().width() if len(shown) < len(wide) else 0
        )
        self._remark.setVisible(self.width() - 68 - taken >= self._remark.sizeHint().width())

    def _fill_more(self) -> None:
        """The pages without a tab; made when the menu is asked for, so that none goes while it is at work."""
        menu = self._more.menu()
        menu.clear()
        for key, button in self._buttons.items():
            if button.isHidden():
                action = menu.addAction(button.text())
                action.triggered.connect(lambda _on=False, key=key: self.show_pane(key).focus_first())

    def retitle(self, key: str, text: str) -> None:
        if self._buttons[key].text() != text:
            self._buttons[key].setText(text)
            if key in self.out:
                self.out[key][0].retitle(text)
            self._fit_tabs()

    def _take_remark(self, key: str, text: str) -> None:
        self._remarks[key] = text
        if key == self.key:
            self._remark.setText(text)
            self._fit_tabs()
