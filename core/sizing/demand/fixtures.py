"""Potable branches: what fixtures ask of each pipe at once, and the pressure that is left at the outlets.

Demand by fixture units, where fixtures say what they are; else all their flows at once. Which code applies,
and with which table, is for the authority on the spot; tables differ by half for a few fixtures, and each
answer shows the spread.

Copper limits rule a size out in potable water and are only said in closed loops. Demand is the lesser of
the code's table and all outlets open; the table is named with the number.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from core.plant.model import Case, Item, PortRef
from core.sizing.context import Context, memo, symbol_of
from core.sizing.demand.fixture_units import CHIEF, Units, outlet_of, rows_for, units_of
from core.sizing.demand.tracing import Trace, place_of
from core.sizing.trial import solved_with
from core.solve import Solution
from core.vocabulary import Trait
from core.water.numbers import reached
from core.working import Working, given

ALL_OUTLETS = "every outlet open"
TRICKLE = 0.01  # share of a place's flow below which a pipe does not feed it
ALL_OF_IT = 0.98  # share of a draw from which a pipe counts as bringing all of it
ROUNDS = 50  # times that water which goes round is followed
Feeds = Mapping[str, Mapping[str, frozenset[str]]]


def feeds(context: Context) -> Feeds:
    """Fixtures that each pipe feeds, with the ports (hot, cold) it feeds; empty without fixtures.

    Followed upstream from every fixture in a case in which all of them draw, once with nothing calling, and
    once with everything.
    """
    return _feeds(context)[0]


def part_of_draw(context: Context, pipe: str) -> float:
    """Share of what the fixtures behind a pipe draw that passes it, 0..1: less than 1 beside others."""
    return _feeds(context)[1].get(pipe, 1.0)


@memo
def _feeds(context: Context) -> tuple[Feeds, Mapping[str, float]]:
    fixtures = context.plant.with_trait(Trait.DRAWS_WATER)
    found: dict[str, dict[str, set[str]]] = {}
    passes: dict[str, float] = {}  # [m^3/s] of their draw through each pipe, and through all side by side
    whole: dict[str, float] = {}
    for on in (False, True):
        unfed = [item for item in fixtures if not any(item.id in fed for fed in found.values())]
        if not unfed:
            break
        trace = Trace(context.plant, open_outlets(context, on))
        for item in unfed:
            for port in item.ports:
                shares = _upstream(trace, PortRef(item.id, port))
                drawn = sum(
                    trace.flow.get(name, 0.0)
                    for name in context.plant.pipes_at.get(PortRef(item.id, port), ())
                )
                for pipe, share in shares.items():
                    found.setdefault(pipe, {}).setdefault(item.id, set()).add(port)
                    passes[pipe] = passes.get(pipe, 0.0) + share * drawn
                    whole[pipe] = whole.get(pipe, 0.0) + drawn
    order = [pipe for pipe in context.plant.pipes if pipe in found]
    parts = {pipe: passes[pipe] / whole[pipe] for pipe in order if passes[pipe] < ALL_OF_IT * whole[pipe]}
    return {pipe: {name: frozenset(ports) for name, ports in found[pipe].items()} for pipe in order}, parts


@memo
def open_outlets(context: Context, on: bool) -> Solution:
    """A case with every fixture drawing its flow, and every signal off or on.

    With all off, circulators in drinking water rest too: a return they drive feeds no outlet.
    """
    plant = context.plant
    draws = {item.id: str(item.props.get("flow", "1 gpm")) for item in plant.with_trait(Trait.DRAWS_WATER)}
    first = context.cases[0]
    signals = dict.fromkeys(plant.signal_ids, on)
    tanks, sets = first.tanks, first.set
    case = Case(ALL_OUTLETS, first.outdoor, signals, draws, tanks, set=sets)
    potable = [
        item.id
        for item in plant.items.values()
        if item.has(Trait.DRIVES)
        and (system := context.system_at(item.id)) is not None
        and plant.systems[system].use == "potable"
    ]
    if on or not potable:
        return context.solve(case)
    return solved_with(context, case, {name: {"run_when": False} for name in potable}, "returns at rest")


def _upstream(trace: Trace, port: PortRef) -> dict[str, float]:
    """Pipes whose water reaches a port, trickles left out, each with the share of it that it must bring.

    Where water parts it does so as solved; either side of a mixing valve must bring all of it.
    """
    plant = trace.plant

    def back(pipe: str) -> list[str]:
        place = place_of(plant, trace.source[pipe])
        arriving = [] if plant.items[place.item].has(Trait.BRINGS_WATER) else trace.arriving.get(place, [])
        total = sum(trace.flow[name] for name in arriving)
        return [name for name in arriving if trace.flow[name] > TRICKLE * total]

    first = [pipe for pipe in plant.pipes_at.get(port, ()) if trace.sink.get(pipe) == port]
    names = sorted(reached(first, back))
    row = {name: k for k, name in enumerate(names)}
    steps = np.zeros((len(names), len(names)))  # of the column's water, what the row's pipe brings
    for name in names:
        arriving = back(name)
        mixed = plant.items[trace.source[name].item].has(Trait.MIXES)
        for before in arriving:
            whole = trace.flow[before] if mixed else sum(trace.flow[each] for each in arriving)
            steps[row[before], row[name]] = trace.flow[before] / whole
    own = np.array([float(name in first) for name in names])
    share = own
    for _ in range(len(names) + ROUNDS):
        last, share = share, np.minimum(1.0, own + steps @ share)
        if np.array_equal(last, share):
            break
    return dict(zip(names, share.tolist(), strict=True))


# Demand ----------------------------------------------------------------------------------------------------


@memo
def branch_flow(context: Context, pipe: str) -> Working | None:
    """Flow that the fixtures behind a pipe ask of it at once, [m^3/s]; None where it feeds none.

    By the chief table for those that say what they are, never more than all their outlets together; the flows
    of the others come on top in full.
    """
    fed = feeds(context).get(pipe)
    if not fed:
        return None
    counted, others = counted_by_units(context, fed)
    parts: list[Working] = []
    terms: list[str] = []
    if counted:
        units = units_together(context, counted)
        table = by_table(CHIEF, units)
        outlets = all_open(context, "Q_outlets", "all their outlets open", list(counted))
        if table is not None and outlets is not None:
            parts, terms = [table, outlets], ["min(Q_table, Q_outlets)"]
        elif (one := table or outlets) is not None:
            parts, terms = [one], [one.symbol]
    if others and (rest := all_open(context, "Q_rest", "the others, all open", others)) is not None:
        parts.append(rest)
        terms.append("Q_rest")
    if not parts:
        return None
    by = {part.symbol: float(part.value) for part in parts}
    known = [by[symbol] for symbol in ("Q_table", "Q_outlets") if symbol in by]
    value = (min(known) if known else 0.0) + by.get("Q_rest", 0.0)
    words = f"demand of the fixtures behind {pipe}"
    how = f"feeds {', '.join(fed)}"
    formula = " + ".join(terms)
    if (part := part_of_draw(context, pipe)) < 1.0:
        side = "as the draw parts in the solved case with every outlet open and return circulators at rest"
        share = Working("s", f"share of that draw that passes {pipe}", part, how=side, origin="solved")
        parts, formula, value = [*parts, share], f"s * ({formula})", part * value
    return Working("Q_fixtures", words, value, "flow", formula, tuple(parts), how)


def counted_by_units(
    context: Context, fed: Mapping[str, frozenset[str]]
) -> tuple[dict[str, tuple[float, Units]], list[str]]:
    """Fixtures with units (as they count on a hot, a cold or a common pipe), and the others."""
    counted: dict[str, tuple[float, Units]] = {}
    others = []
    for name, ports in fed.items():
        si = context.plant.items[name].si
        units = units_of(str(si.get("fixture_type") or ""), bool(si.get("public")))
        if units is None:
            others.append(name)
            continue
        both = len(ports) == 2 or _mixed_before(context.plant.items[name], context)
        counted[name] = (units.total if both else units.hot if "hot" in ports else units.cold, units)
    return counted, others


def _mixed_before(item: Item, context: Context) -> bool:
    """Whether its one pipe brings mixed water: then all its units count on it."""
    return sum(PortRef(item.id, port) in context.plant.pipes_at for port in item.ports) == 1


def units_together(context: Context, counted: Mapping[str, tuple[float, Units]]) -> Working:
    """Sum of the units of fixtures, each as it counts on this pipe."""
    parts = [
        given(symbol_of("u", name), f"fixture units of {name}", units, "", "table", row.source)
        for name, (units, row) in counted.items()
    ]
    total = sum(units for units, _ in counted.values())
    return Working("u", "fixture units", total, "", " + ".join(part.symbol for part in parts), tuple(parts))


def by_table(table: str, units: Working) -> Working | None:
    """Flow by a table, straight between its rows."""
    rows = rows_for(table, float(units.value))
    if rows is None:
        return None
    (u1, q1), (u2, q2) = rows.low, rows.high
    leaves = (
        given("u_1", f"row below in {table}", u1, "", "table", rows.source),
        given("q_1", "its flow", q1, "flow", "table", rows.source),
        given("u_2", "row above", u2, "", "table", rows.source),
        given("q_2", "its flow", q2, "flow", "table", rows.source),
    )
    formula = "q_1 + (u - u_1) * (q_2 - q_1) / (u_2 - u_1)"
    value = rows.at(float(units.value))
    return Working(
        "Q_table", f"flow at once by {table}", value, "flow", formula, (units, *leaves), source=rows.source
    )


def all_open(context: Context, symbol: str, words: str, names: list[str]) -> Working | None:
    """Sum of the flows of fixtures: typed, or the table's for their type; None where one has neither."""
    parts = []
    for name in names:
        flow = outlet_flow(context, name)
        if flow is None:
            return None
        parts.append(flow)
    value = sum(float(part.value) for part in parts)
    return Working(symbol, words, value, "flow", " + ".join(part.symbol for part in parts), tuple(parts))


def outlet_flow(context: Context, name: str) -> Working | None:
    """Flow of one fixture: typed, else its type's by the table; None where it says neither."""
    typed = context.prop(symbol_of("q", name), f"flow of {name}", name, "flow")
    if typed is not None:
        return typed
    flow, _, source = outlet_of(str(context.plant.items[name].si.get("fixture_type") or ""))
    return (
        None
        if flow is None
        else given(symbol_of("q", name), f"flow of {name}", flow, "flow", "table", source)
    )
