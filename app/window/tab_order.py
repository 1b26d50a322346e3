"""Where Tab leads in a window: pane by pane as one reads, within a pane as its widgets were made.

Qt's own order is that of making all widgets, which is not how they stand.

Never call `nextInFocusChain` from Python: what it hands out Python then owns and deletes.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget


def stops(window: QWidget, panes: Sequence[QWidget]) -> list[QWidget]:
    """All widgets that Tab comes to now, in order; what stands in no pane comes last."""
    found: list[QWidget] = []
    # Not by nextInFocusChain: what that hands out Python then owns, and deletes with its next collection.
    for widget in window.findChildren(QWidget):
        tabs = bool(widget.focusPolicy().value & Qt.FocusPolicy.TabFocus.value)
        usable = widget.isVisibleTo(window) and widget.isEnabled() and widget.focusProxy() is None
        if tabs and usable and widget.window() is window:
            found.append(widget)
    return sorted(found, key=lambda one: _pane_of(one, panes))


def _pane_of(widget: QWidget, panes: Sequence[QWidget]) -> int:
    held = (i for i, pane in enumerate(panes) if pane is widget or pane.isAncestorOf(widget))
    return next(held, len(panes))


def step(window: QWidget, panes: Sequence[QWidget], forward: bool) -> bool:
    """Move the keyboard to the next or previous stop, round and round; False where there is none."""
    order = stops(window, panes)
    if not order:
        return False
    focus = window.focusWidget()
    here = next((i for i, one in enumerate(order) if focus is not None and _is(one, focus)), None)
    if here is None:
        place = 0 if forward else len(order) - 1
    else:
        place = (here + (1 if forward else -1)) % len(order)
    order[place].setFocus(Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason)
    return True


def _is(stop: QWidget, focus: QWidget) -> bool:
    """Whether the keyboard is at this stop, be it in the line of an editable list."""
    return stop is focus or stop.focusProxy() is focus or focus.focusProxy() is stop
