"""Floor and melt circuits: what is wanted of one, what it can give, how warm its water must come."""

from __future__ import annotations

from dataclasses import dataclass

from core.plant.model import PortRef
from core.sizing.context import Context, MissingInput
from core.thermal.emitters import emitter_of
from core.water.no_flow import NO_FLOW
from core.working import Working, derived, given

SOURCE = "emitter law of the solver: heat = C (1 - exp(-UA/C)) (T_in - T_r)"


ALIKE = 0.05  # share by which flows may differ and still be much the same (our own choice)


@dataclass(frozen=True)
class Running:
    """A circuit in the case that gives it most of what it wants: its case and its flow, [m^3/s]."""

    case: str
    flow: Working


def area_of(context: Context, item: str) -> Working:
    """Heated area, [m^2]."""
    return context.wanted("A", f"area of {item}", item, "area", "its heat per area is not known")


def wanted_of(context: Context, item: str) -> Working:
    """Heat wanted of a circuit, [W]: its load, or flux times area."""
    load = context.prop("Q", f"load of {item}", item, "load")
    if load is not None:
        return load
    flux = context.prop("q", f"flux of {item}", item, "flux")
    if flux is None:
        raise MissingInput(
            f"{item}: neither props.load nor props.flux is given, so what is wanted is not known"
        )
    return derived("Q", f"heat wanted of {item}", "power", "q * A", flux, area_of(context, item))


def running(context: Context, item: str) -> Running:
    """The case with the greatest flow through a circuit; of cases with much the same flow, the one that wants
    most heat: on a mild day a valve may let by a trifle more, with cooler water.
    """
    worst = context.worst(item, "flow_m3_s")
    if worst is None or abs(worst.value) <= NO_FLOW:
        raise MissingInput(f"{item}: no water passes it in any case")
    alike = {
        case.name: float(solution.value(item, "wanted_w") or 0.0)
        for case, solution in context.converged()
        if abs(float(solution.value(item, "flow_m3_s") or 0.0)) >= (1.0 - ALIKE) * abs(worst.value)
    }
    most = max([worst.case, *alike], key=lambda name: alike.get(name, 0.0))
    return Running(most, context.solved("V", f"flow of {item}", item, "flow_m3_s", most))


def conductance_of(context: Context, item: str) -> Working:
    """Heat a circuit gives per degree of water over what it warms, [W/K]: typed, or the estimate."""
    found = context.prop("U", f"output per degree of {item}", item, "output_per_degree")
    if found is not None:
        return found
    system = context.system_at(item)
    if system is None:
        raise MissingInput(f"{item}: no pipe is on it")
    emitter = emitter_of(context.plant.items[item], context.fluid(system))
    if emitter.ua is None:
        raise MissingInput(
            f"{item}: no props.output_per_degree is given, so no water temperature follows from its load"
        )
    source = "estimated from area and construction"
    return given("U", f"output per degree of {item}", emitter.ua, "heat_per_kelvin", "memory", source)


def capacity_rate(context: Context, item: str, flow: Working, warm: Working) -> Working:
    """Heat its water carries per degree, [W/K]."""
    system = context.system_at(item)
    assert system is not None
    return derived(
        "C",
        f"heat the water of {item} carries per degree",
        "heat_per_kelvin",
        "ρ * c * V",
        context.fluid_leaf("density", system, warm),
        context.fluid_leaf("heat_capacity", system, warm),
        flow,
    )


def supply_needed(context: Context, item: str, wanted: Working, surroundings: Working) -> Working:
    """Water temperature at the inlet that brings a heat, [K]; `extra["case"]` says whose flow is taken.

    Parameters
    ----------
    wanted, surroundings : Working
        Q heat [W]; T_r what the circuit warms [K]
    """
    now = running(context, item)
    warm = _solved_inlet(context, item, now.case)
    rate = capacity_rate(context, item, now.flow, warm)
    return derived(
        "T_in",
        f"water temperature that {item} needs",
        "temperature",
        "T_r + Q / (C * (1 - exp(-U / C)))",
        surroundings,
        wanted,
        rate,
        conductance_of(context, item),
        source=SOURCE,
        holds=f"the flow of {now.case}",
        extra={"case": now.case},
    )


def _solved_inlet(context: Context, item: str, case: str) -> Working:
    """Solved temperature at the inlet, [K]."""
    for port in ("in", "out"):
        for pipe in context.plant.pipes_at.get(PortRef(item, port), ()):
            starts = context.plant.pipes[pipe].start == PortRef(item, port)
            key = "temperature_in_c" if starts else "temperature_out_c"
            return context.solved("T", f"water at {item}", pipe, key, case)
    raise MissingInput(f"{item}: no pipe is on it")


def inlet_in(context: Context, item: str, case: str) -> float:
    """Solved temperature at the inlet of a circuit in a case, [K]."""
    return float(_solved_inlet(context, item, case).value)


def surroundings_of(context: Context, item: str) -> Working:
    """Room or surface temperature a circuit gives to, [K]: its own, its room's wanted, or the site's."""
    own = context.prop("T_r", f"temperature that {item} warms to", item, "room_temperature")
    if own is not None:
        return own
    room = context.plant.items[item].si.get("serves")
    if isinstance(room, str) and room in context.plant.items:
        wanted = context.prop("T_r", f"temperature wanted in {room}", room, "wanted")
        if wanted is not None:
            return wanted
    return context.site("T_r", "indoor temperature", "indoor")
