"""Bodies of water for sizing: what wets what, how much water, how hot, at what pressure, heated by what.

A body ends where an exchanger, a coil, a fill valve or a backflow preventer parts it from the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from core.errors import listed
from core.hydraulics.elements import port_height
from core.media.tubes import spoken
from core.plant.model import PortRef
from core.sizing.context import ZERO, Context, memo, symbol_of
from core.solve import Solution
from core.thermal.heat_pumps import output_at
from core.thermal.room_loss import air_share
from core.vocabulary import Trait, TubeValues, joined_ports
from core.water import connections
from core.water.ways import WaterGraph, water_graph
from core.working import Working, derived, given, typed


@dataclass(frozen=True)
class Body:
    """One body of water.

    Attributes
    ----------
    ports : frozenset of PortRef
    items, pipes : tuple of str
        Ids of what it wets, in the order of the file
    system : str
        Name of the system of its pipes
    potable : bool
    """

    ports: frozenset[PortRef]
    items: tuple[str, ...]
    pipes: tuple[str, ...]
    system: str
    potable: bool


@memo
def bodies(context: Context) -> tuple[Body, ...]:
    """Every body with pipes in it, in the order of the file."""
    return tuple(_bodies(context))


@memo
def water_of(context: Context) -> WaterGraph:
    """The graph of the plant's water."""
    return water_graph(context.plant)


def _bodies(context: Context) -> Iterator[Body]:
    plant = context.plant
    for wet in connections.bodies(water_of(context)):
        # An end of a pipe whose item is to go lies open: it is no port of anything.
        ports = frozenset(port for port in wet if port.item in plant.items)
        pipes = tuple(
            pipe.id for pipe in plant.pipes.values() if pipe.start in ports and pipe.stage != "to_remove"
        )
        if not pipes:
            continue
        wetted = {port.item for port in ports}
        system = plant.pipes[pipes[0]].system
        use = plant.systems[system].use
        yield Body(
            ports, tuple(item for item in plant.items if item in wetted), pipes, system, use == "potable"
        )


def body_at(context: Context, item: str, port: str = "") -> Body | None:
    """The body at a port of an item, or at the first of its ports that is in one."""
    wanted = (port,) if port else context.plant.items[item].ports
    for one in wanted:
        for body in bodies(context):
            if PortRef(item, one) in body.ports:
                return body
    return None


def items_in(context: Context, body: Body, *traits: Trait) -> list[str]:
    """Ids of the items in a body of which any of some traits is true."""
    return [item for item in body.items if context.plant.items[item].has(*traits)]


# Water -----------------------------------------------------------------------------------------------------


def water_content(
    context: Context, body: Body, pipes: tuple[str, ...] | None = None, symbol: str = "V"
) -> Working:
    """Water in a body by the bores of its tubes and what its items hold, [m^3].

    Parameters
    ----------
    context, body
    pipes : tuple of str or None
        Only these of its pipes; None for all

    Returns
    -------
    Working
        `extra["uncounted"]` names items that hold water of which nothing is said
    """
    plant = context.plant
    parts = list(_piped(context, body.pipes if pipes is None else pipes))
    uncounted = []
    for item in body.items:
        content = plant.items[item].kind_info.content
        if content and _holds(context, body, item):
            held = context.prop(symbol_of("V", item), f"water in {item}", item, content)
            if held is not None:
                parts.append(held)
                continue
            uncounted.append(item)
        elif plant.items[item].has(Trait.LOOPED):
            loops = _loops(context, item)
            if loops is not None:
                parts.append(loops)
                continue
            uncounted.append(item)
    words = f"water in the {body.system} system" if pipes is None else f"heated water in {body.system}"
    how = ""
    if uncounted:
        how = f"Water in {listed(uncounted, most=8)} is not counted: props.water_content is not given."
    return derived(
        symbol,
        words,
        "volume",
        " + ".join(part.symbol for part in parts) or "0",
        *parts,
        how=how,
        extra={"uncounted": tuple(uncounted)},
    )


def _holds(context: Context, body: Body, item: str) -> bool:
    """Whether it is this body's water that an item holds: a tank with coil holds what its taps wet."""
    found = context.plant.items[item]
    group = joined_ports(found.kind, found.props)[0] if found.has(Trait.HAS_COIL) else found.ports
    return any(PortRef(item, port) in body.ports for port in group)


def _piped(context: Context, pipes: tuple[str, ...]) -> Iterator[Working]:
    """Water in the pipes, together by tube."""
    groups: dict[tuple[str, float], list[str]] = {}
    for name in pipes:
        values = context.plant.pipes[name].si
        if values.joined or values.length <= 0.0:
            continue
        tube = context.tube(name)
        words = spoken(tube.material, tube.nominal) if tube else "tube by its bore"
        groups.setdefault((words, values.bore), []).append(name)
    for number, ((words, _), members) in enumerate(groups.items(), start=1):
        across = _bore(context, members[0], words)
        lengths = [context.pipe_length(name, symbol_of("L", name)) for name in members]
        length = lengths[0]
        if len(lengths) > 1:
            total = " + ".join(one.symbol for one in lengths)
            length = derived("L", f"length of {len(lengths)} pipes of {words}", "length", total, *lengths)
        formula = f"π * d^2 / 4 * {length.symbol}"
        yield derived(f"V_{number}", f"water in {words}", "volume", formula, across, length)


def _bore(context: Context, pipe: str, words: str) -> Working:
    """Bore of a pipe's tube, from the catalogue or as typed, [m]."""
    tube, found = context.tube(pipe), context.plant.pipes[pipe]
    path, value = f"pipes.{pipe}.tube", found.si.bore
    if tube is not None:
        return Working(
            "d", f"bore of {words}", value, "length", source=tube.source, origin="table", path=path
        )
    raw = found.tube or {}
    return typed("d", f"bore of {pipe}", value, "length", f"{path}.bore", str(raw.get("bore", "")))


def _loops(context: Context, item: str) -> Working | None:
    """Water in the loops of a floor or melt circuit; None where tube or loops are not given."""
    si = context.plant.items[item].si
    tube: TubeValues | None = si.get("tube")
    loops: tuple[tuple[int, float], ...] | None = si.get("loops")
    if tube is None or not loops:
        return None
    raw = context.plant.items[item].props["loops"]
    text = ", ".join(f"{one[0]} x {one[1]}" if isinstance(one, (list, tuple)) else str(one) for one in raw)
    path = f"items.{item}.props"
    return derived(
        symbol_of("V", item),
        f"water in the loops of {item}",
        "volume",
        "π * d^2 / 4 * L",
        Working("d", f"bore of the tube of {item}", tube.bore, "length", origin="table", path=f"{path}.tube"),
        typed("L", f"loops of {item}", sum(n * each for n, each in loops), "length", f"{path}.loops", text),
    )


# Temperature and pressure ----------------------------------------------------------------------------------


def pipe_extreme(context: Context, pipe: str, least: bool = False) -> float | None:
    """Hottest (or coldest) solved temperature of a pipe over the cases, [K]; None without a solved case."""
    found = [
        figures.temperature_at(start)
        for _, solution in context.converged()
        if (figures := solution.pipes.get(pipe)) is not None
        for start in (True, False)
    ]
    if not found:
        return None
    return (min(found) if least else max(found)) + ZERO


def hottest(context: Context, body: Body, symbol: str = "T_h") -> Working | None:
    """Hottest solved temperature in a body over the cases, [K]; `extra["case"]` names the case."""
    best: tuple[float, str, str, str] | None = None
    for case, solution in context.converged():
        for pipe in body.pipes:
            for key in ("temperature_in_c", "temperature_out_c"):
                t = solution.value(pipe, key)
                if t is not None and (best is None or t > best[0] + 1e-9):
                    best = (t, pipe, key, case.name)
    if best is None:
        return None
    value, pipe, key, name = best
    return Working(
        symbol,
        f"hottest water of the {body.system} system, in {name}",
        value + ZERO,
        "temperature",
        how=f"solved: {pipe} {key}",
        origin="solved",
        extra={"case": name},
    )


@memo
def port_pressures(context: Context, case: str) -> dict[PortRef, float]:
    """Solved static pressure at every piped port, [Pa gauge]."""
    found: dict[PortRef, float] = {}
    for name, figures in context.solution(case).pipes.items():
        pipe = context.plant.pipes[name]
        found[pipe.start] = figures.pressure_in_pa
        found[pipe.end] = figures.pressure_out_pa
    return found


def above(context: Context, port: PortRef, other: PortRef) -> tuple[float, str] | None:
    """Most by which the pressure at one port exceeds that at another over the cases, [Pa], and the case."""
    found = [
        (at[port] - at[other], case.name)
        for case, _ in context.converged()
        if port in (at := port_pressures(context, case.name)) and other in at
    ]
    return max(found, default=None)


def heights(context: Context, body: Body) -> dict[PortRef, float]:
    """Height of every port of a body, [m]."""
    items = context.plant.items
    return {port: port_height(items[port.item], port.port) for port in body.ports}


def height_leaf(context: Context, body: Body, port: PortRef, symbol: str) -> Working:
    """Height of a port as a leaf, [m]."""
    item = context.plant.items[port.item]
    text = str(item.props.get("height", ""))
    words = f"height of {port.item}" + (f" at {port.port}" if len(item.ports) > 1 else "")
    value = heights(context, body)[port]
    path = f"items.{port.item}.props.height"
    if not text and value == 0.0:
        return given(symbol, words, value, "length", "default", "no height given: 0")
    return typed(symbol, words, value, "length", path, text)


def atmosphere(context: Context, symbol: str = "p_a") -> Working:
    """Pressure of the air at the site, [Pa]."""
    share = air_share(context.plant)
    sea = given("p_0", "pressure of the air at sea level", 101325.0, "pressure", "table", share.source)
    return derived(
        symbol, "pressure of the air at the site", "pressure", "p_0 * r", sea, share, source=share.source
    )


def site_pressure(context: Context) -> float:
    """Pressure of the air at the site, [Pa]."""
    value = float(atmosphere(context).value)
    assert math.isfinite(value)
    return value


# Heat ------------------------------------------------------------------------------------------------------


def sources_in(context: Context, body: Body) -> list[str]:
    """Ids of the heaters, boilers and heat pumps whose water is this body's."""
    return items_in(context, body, Trait.MAKES_HEAT)


def capacity_of(context: Context, item: str, symbol: str = "") -> Working | None:
    """Most heat a source can give, [W]; None where nothing is said."""
    found = context.plant.items[item]
    letter = symbol or symbol_of("P", item)
    if found.has(Trait.LIFTS_HEAT):
        table = found.si.get("table")
        if not table:
            return None
        most = max(float(row[2]) for row in table)
        path = f"items.{item}.props.table"
        return Working(
            letter, f"greatest heat in the table of {item}", most, "power", origin="typed", path=path
        )
    return context.prop(letter, f"capacity of {item}", item, "capacity")


def output_of(context: Context, item: str, case: str, solution: Solution, symbol: str = "") -> Working | None:
    """Most heat a source can give in a case, [W]: a heat pump's by weather and supply, another's capacity.

    Parameters
    ----------
    case : str
        A case of the plant, whose outdoor temperature counts
    solution : Solution
        Of that case, or of a combination of calls made from it
    """
    found = context.plant.items[item]
    rows = found.si.get("table") if found.has(Trait.LIFTS_HEAT) else None
    if not rows:
        return capacity_of(context, item, symbol)
    outdoor = context.outdoor(case)
    supply = _supply(context, item, solution)
    if supply is None:
        return capacity_of(context, item, symbol)
    return Working(
        symbol or symbol_of("P", item),
        f"most heat of {item}",
        output_at(tuple(tuple(row) for row in rows), float(outdoor.value)).heat(float(supply.value)),
        "power",
        inputs=(outdoor, supply),
        how="between the rows of its table, by weather and supply",
        origin="table",
        path=f"items.{item}.props.table",
    )


def _supply(context: Context, item: str, solution: Solution) -> Working | None:
    """Solved temperature at a source's outlet, [K]."""
    for pipe in context.plant.pipes_at.get(PortRef(item, "out"), ()):
        starts = context.plant.pipes[pipe].start == PortRef(item, "out")
        key = "temperature_in_c" if starts else "temperature_out_c"
        if pipe in solution.pipes:
            value = solution.pipes[pipe].temperature_at(starts) + ZERO
            return Working(
                "T_s",
                f"supply of {item} in {solution.case}",
                value,
                "temperature",
                how=f"solved: {pipe} {key}",
                origin="solved",
            )
    return None


def heated_through(context: Context, body: Body) -> Iterator[tuple[str, Body]]:
    """Exchangers and coils of a body, each with the body on the other side."""
    for item in items_in(context, body, Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
        found = context.plant.items[item]
        for group in joined_ports(found.kind, found.props):
            for port in group:
                other = next((b for b in bodies(context) if PortRef(item, port) in b.ports), None)
                if other is not None and other is not body:
                    yield item, other
                    break
