"""A circulator's curves in one case as a chart and a small table: itself, the system, and with a second one.

Screen and paper show the same. Nothing is solved here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from core import units
from core.diagram.axes import Chart, Line, Shape, Spot, Trace
from core.figures import Figures, PumpFigures
from core.hydraulics.circulators import flow_at_head
from core.plant.model import Plant
from core.sizing.curves.catalogue import INVENTED
from core.sizing.curves.system import Point, SystemCurve, in_parallel, in_series, pump_line, smooth
from core.sizing.second_circulator.available import curve_of
from core.sizing.second_circulator.figures import watts_of
from core.sizing.second_circulator.found import Found

ROOM = 1.08  # share of the highest head shown that stays free above it
NO_PUMP = "Pick a circulator to see its curve."
WORDS: Mapping[str, tuple[str, Line, Shape]] = {
    "series": ("two in series", "long_dash", "square"),
    "parallel": ("two in parallel", "dash_dot", "triangle"),
}


@dataclass(frozen=True)
class Row:
    """A line of the small table: shape, what, flow [m^3/s], head [m], power [W]."""

    shape: Shape
    words: str
    flow: float
    head: float
    power: float | None
    hollow: bool = False


@dataclass(frozen=True)
class Curves:
    """Chart, table, and the same in words."""

    chart: Chart
    rows: tuple[Row, ...]
    spoken: str
    said: str = ""  # what must be known of it: that it rests, holds a difference, is invented


class Scale:
    """Flow and head as numbers in the units shown."""

    def __init__(self, display: str) -> None:
        self.flow_unit = units.unit_for("flow", display)
        self.head_unit = units.unit_for("head", display)

    @property
    def axes(self) -> tuple[str, str]:
        """Words of the axes."""
        return f"flow, {units.sign_of(self.flow_unit)}", f"head, {units.sign_of(self.head_unit)}"

    def point(self, point: Point) -> Point:
        """A point in SI as it is shown."""
        return units.to_unit(point[0], self.flow_unit), units.to_unit(point[1], self.head_unit)

    def line(self, line: tuple[Point, ...]) -> tuple[Point, ...]:
        """A line in SI as it is shown."""
        return tuple(self.point(point) for point in line)


def figure(value: float) -> str:
    """A flow or head in a table: three figures, no more than two places."""
    size = abs(value)
    return f"{value:.0f}" if size >= 100 else f"{value:.1f}" if size >= 1 else f"{value:.2f}"


def empty(display: str, words: str = NO_PUMP) -> Curves:
    """Axes and what to do."""
    x, y = Scale(display).axes
    return Curves(Chart(x, y, empty=words), (), words)


def curves_of(
    plant: Plant,
    name: str,
    figures: Figures | None,
    display: str,
    system: SystemCurve | None = None,
    seconds: Mapping[str, Found] | None = None,
) -> Curves:
    """The curves of a circulator in a case.

    Parameters
    ----------
    plant : Plant
    name : str
        Its id
    figures : Figures or None
        Its solved figures; None while there are none
    display : "us" or "si"
    system : SystemCurve or None
        As the rest of the plant asks it, once it is known
    seconds : dict
        By "series" and "parallel": what a second one does beside it
    """
    item = plant.items[name]
    curve = curve_of(item)
    if curve is None:
        return empty(
            display, f"{name} has no curve: type its points, paste a table or pick them off a picture."
        )
    moved = figures if isinstance(figures, PumpFigures) and figures.running else None
    speed = float(item.si.get("speed") or 1.0) if moved is None else moved.speed
    given = seconds or {}
    found = {how: given[how] for how in WORDS if how in given and given[how].pair_flow is not None}
    top = _widest(curve, speed, found)
    one = pump_line(curve, speed)
    traces = [
        _trace(one, "solid", name if abs(speed - 1.0) < 5e-4 else f"{name} at {speed:.0%} speed", display)
    ]
    if moved is not None and item.si.get("control") not in (None, "fixed") and speed < 0.999:
        traces.append(_trace(pump_line(curve, 1.0), "dotted", "at full speed", display))
    heads = [point[1] for trace in traces for point in trace.points]
    for how, second in found.items():
        line = _with_second(plant, name, how, second)
        if len(line) > 1:
            traces.append(_trace(line, WORDS[how][1], WORDS[how][0], display))
            heads += [point[1] for point in traces[-1].points]
    if system is not None and len(system.points) > 1:
        traces.append(_trace(smooth(system.points), "thin", "system", display))
    rows = _rows(plant, name, moved, speed, found)
    scale = Scale(display)
    spots = tuple(Spot(scale.point((row.flow, row.head)), row.shape, "", row.hollow) for row in rows)
    high = ROOM * max([*heads, *(spot.at[1] for spot in spots), 1e-6])
    wide = units.to_unit(top, scale.flow_unit)
    x, y = scale.axes
    chart = Chart(x, y, tuple(traces), spots, (0.0, wide), (0.0, high))
    return Curves(chart, rows, _spoken(name, rows, display), _said(plant, name, figures))


def _trace(line: tuple[Point, ...], kind: Line, words: str, display: str) -> Trace:
    return Trace(Scale(display).line(line), kind, words)


def _widest(curve: Any, speed: float, found: Mapping[str, Found]) -> float:
    """Flow at the right end: the run-out of one, or a little beyond the furthest operating point, [m^3/s]."""
    end = max(speed, 0.05) * (flow_at_head(curve, 0.0) or curve.x[-1])
    return max([end, *(1.15 * (one.pair_flow or 0.0) for one in found.values())])


def _with_second(plant: Plant, name: str, how: str, second: Found) -> tuple[Point, ...]:
    """The curve of both together, the first at the speed it then runs."""
    own, other = curve_of(plant.items[name]), second.pump.curve
    if own is None or other is None:
        return ()
    first = pump_line(own, second.beside_speed or 1.0)
    line = pump_line(other, second.speed or second.pump.speed)
    if len(first) < 2 or len(line) < 2:
        return ()
    return in_series(first, line) if how == "series" else in_parallel(first, line)


def _rows(
    plant: Plant, name: str, figures: PumpFigures | None, speed: float, found: Mapping[str, Found]
) -> tuple[Row, ...]:
    rows = []
    if figures is not None:
        power = watts_of(plant.items[name], speed)
        rows.append(Row("disc", "one", abs(figures.flow_m3_s), figures.head_m, power))
    for how, one in found.items():
        words, _, shape = WORDS[how]
        flow, head = abs(one.pair_flow or 0.0), one.pair_head or 0.0
        rows.append(Row(shape, words, flow, head, one.pair_power, hollow=True))
    return tuple(rows)


def _spoken(name: str, rows: tuple[Row, ...], display: str) -> str:
    """The table as sentences."""
    if not rows:
        return f"Curve of {name}; it rests in this case."
    said = []
    for row in rows:
        flow, head = units.show(row.flow, "flow", display), units.show(row.head, "head", display)
        watts = "" if row.power is None else f", {row.power:.0f} W"
        said.append(f"{row.words}: {flow} at {head}{watts}")
    return f"Curves of {name}. {'; '.join(said)}."


def _said(plant: Plant, name: str, figures: Figures | None) -> str:
    """What goes beside the chart's name."""
    item = plant.items[name]
    parts = []
    if item.si.get("invented"):
        parts.append(INVENTED)
    if isinstance(figures, PumpFigures) and not figures.running:
        parts.append("rests")
    control = item.si.get("control")
    if control == "delta_t":
        parts.append("holds a difference of temperature")
    elif control in ("delta_p_constant", "delta_p_proportional"):
        parts.append("holds a head")
    return ", ".join(parts)
