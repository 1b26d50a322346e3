"""Potable branches: what each pipe must carry for its fixtures, by each table and with all of them open.

Copper limits rule a size out in potable water and are only said in closed loops.
"""

from __future__ import annotations

from collections.abc import Mapping

from core.sizing.context import Context
from core.sizing.demand.fixture_units import Units, tables
from core.sizing.demand.fixtures import (
    all_open,
    branch_flow,
    by_table,
    counted_by_units,
    feeds,
    outlet_flow,
    part_of_draw,
    units_together,
)
from core.sizing.result import Option, Sized
from core.working import Working

CAUTION = (
    "Which table and which least size hold is for the local code and a licensed plumber; backflow, scald and "
    "Legionella rules come on top."
)


def size(context: Context) -> list[Sized]:
    """Demand of every pipe that feeds a fixture."""
    return context.one_by_one(feeds(context), "potable_branch", lambda name: _of_pipe(context, name))


# Answers ---------------------------------------------------------------------------------------------------


def _of_pipe(context: Context, pipe: str) -> Sized | None:
    fed = feeds(context)[pipe]
    flow = branch_flow(context, pipe)
    counted, others = counted_by_units(context, fed)
    missing = tuple(
        f"{name}: neither props.fixture_type nor props.flow is given, so its demand is not counted"
        for name in fed
        if name not in counted and outlet_flow(context, name) is None
    )
    if flow is None:
        text = " ".join(f"{one}." for one in missing)
        return Sized(pipe, "potable_branch", f"{pipe}: not sized. {text}", None, missing=missing)
    words = f"{pipe} feeds {', '.join(fed)}: {context.shown(flow.value, 'flow')} at once"
    if (part := part_of_draw(context, pipe)) < 1.0:
        words += f", {100.0 * part:.0f} % of the draw, for others lie side by side with it"
    words += _by_whom(context, flow, counted, others)
    return Sized(
        pipe,
        "potable_branch",
        words + ".",
        float(flow.value),
        "m3_s",
        "flow",
        options=_options(context, counted, list(fed)),
        working=flow,
        missing=missing,
        cautions=(CAUTION,),
    )


def _by_whom(
    context: Context, flow: Working, counted: Mapping[str, tuple[float, Units]], others: list[str]
) -> str:
    """Where the figure comes from, and the spread between the tables."""
    if not counted:
        return ", all outlets open (no fixture type set)"
    units = units_together(context, counted)
    by = [(name, found) for name in tables() if (found := by_table(name, units)) is not None]
    spread = ", ".join(f"{context.shown(found.value, 'flow')} by {name}" for name, found in by)
    text = f", {float(units.value):g} fixture units ({spread or 'no table reaches them'})"
    inside = {part.symbol: float(part.value) for part in flow.inputs}
    if inside.get("Q_outlets", 1e9) < inside.get("Q_table", 0.0):
        text += "; all outlets open make no more"
    return text + (f"; {', '.join(others)} in full on top" if others else "")


def _options(
    context: Context, counted: Mapping[str, tuple[float, Units]], names: list[str]
) -> tuple[Option, ...]:
    found = []
    if counted:
        units = units_together(context, counted)
        for table in tables():
            flow = by_table(table, units)
            if flow is not None:
                figures = {"flow_m3_s": float(flow.value), "units": float(units.value)}
                found.append(Option(table, figures, True, "those that say what they are", working=flow))
    outlets = all_open(context, "Q", "all outlets open", names)
    if outlets is not None:
        found.append(
            Option("all outlets open", {"flow_m3_s": float(outlets.value)}, True, "", working=outlets)
        )
    return tuple(found)
