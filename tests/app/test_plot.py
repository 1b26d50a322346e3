"""The plot as a widget: ink in the right places, reading by mouse and by key."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.pens import DARK, LIGHT, Palette
from app.widgets.plot import PlotView
from core.diagram.axes import Chart, Spot, Trace

LINE = tuple((float(q), 18.0 - q) for q in range(11))


def view(qtbot: QtBot, palette: Palette) -> PlotView:
    out = PlotView("Curves of P-1")
    qtbot.addWidget(out)
    out.resize(420, 260)
    chart = Chart("flow, gpm", "head, ft", (Trace(LINE, "solid", "one pump"),), (Spot((5.0, 13.0)),))
    out.show_chart(chart, palette, "One pump gives 13 ft at 5 gpm.")
    out.show()
    return out


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_curve_and_point_are_inked(qtbot: QtBot, palette: Palette):
    plot = view(qtbot, palette)
    picture = plot.grab().toImage()
    for at in ((5.0, 13.0), (2.5, 15.5), (8.0, 10.0)):
        x, y = plot.plot().point(*at)
        assert abs(picture.pixelColor(round(x), round(y)).lightness() - palette.ink.lightness()) < 60, at
    x, y = plot.plot().point(8.3, 2.1)
    assert picture.pixelColor(round(x), round(y)) == palette.field


def test_pointer_reads_values(qtbot: QtBot):
    plot = view(qtbot, LIGHT)
    heard: list[tuple[float, float] | None] = []
    plot.read.connect(heard.append)
    x, y = plot.plot().point(5.0, 13.0)
    qtbot.mouseMove(plot, QPoint(round(x), round(y)))
    qtbot.waitUntil(lambda: bool(heard))
    assert heard[-1] == pytest.approx((5.0, 13.0), abs=0.1)
    qtbot.mouseMove(plot, QPoint(1, 1))
    qtbot.waitUntil(lambda: heard[-1] is None)


def test_arrow_keys_walk_along_the_curve(qtbot: QtBot):
    plot = view(qtbot, LIGHT)
    heard: list[tuple[float, float]] = []
    plot.read.connect(heard.append)
    for _ in range(10):
        qtbot.keyClick(plot, Qt.Key.Key_Right)
    assert heard[-1] == pytest.approx((2.0, 16.0))
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    assert heard[-1] == pytest.approx((1.8, 16.2))


def test_plot_is_said_in_words(qtbot: QtBot):
    plot = view(qtbot, LIGHT)
    assert plot.accessibleName() == "Curves of P-1"
    assert plot.accessibleDescription() == "One pump gives 13 ft at 5 gpm."
    assert plot.focusPolicy() == Qt.FocusPolicy.StrongFocus
