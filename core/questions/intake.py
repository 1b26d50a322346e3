"""What a circuit, a tank's charge or a tap gets in a solved case, and where its water comes in."""

from __future__ import annotations

from typing import NamedTuple

from core.figures import CoilTankFigures, EmitterFigures, OutletFigures, TankFigures
from core.media.fluids import fluid_of
from core.plant.model import Plant, PortRef
from core.solve import Solution
from core.thermal.heat import heat_table
from core.vocabulary import Trait

NO_FLOW = 1e-8  # [m^3/s]
ZERO = 273.15


class Got(NamedTuple):
    """Heat [W] and flow [m^3/s] that somebody gets."""

    heat: float
    flow: float


class Intake(NamedTuple):
    """Where somebody's water comes in: the pipe and the port of the item it ends at."""

    pipe: str
    port: PortRef


def takers(plant: Plant) -> list[str]:
    """Ids of what may be robbed: circuits, tanks, taps, in the order of the file."""
    return [i.id for i in plant.with_trait(Trait.GIVES_HEAT, Trait.TANK, Trait.DRAWS_WATER)]


def got(plant: Plant, solution: Solution, at: str) -> Got:
    """What a circuit, tank or tap gets; a tap's heat counts over the cold water.

    A tank's flow is that of its coil, else all that comes in.
    """
    found = solution.items.get(at)
    if isinstance(found, EmitterFigures):
        return Got(found.delivered_w, abs(found.flow_m3_s))
    if isinstance(found, CoilTankFigures) and abs(found.coil_flow_m3_s) > NO_FLOW:
        return Got(found.coil_duty_w, abs(found.coil_flow_m3_s))
    if isinstance(found, TankFigures):
        return Got(found.duty_w, sum(flow for _, _, flow in _inflows(plant, solution, at)))
    if isinstance(found, OutletFigures):
        return Got(_tap_heat(plant, found, at), found.flow_m3_s)
    return Got(0.0, 0.0)


def _tap_heat(plant: Plant, figures: OutletFigures, at: str) -> float:
    pipe = next(p for p in plant.pipes.values() if at in (p.start.item, p.end.item))
    table = heat_table(fluid_of(plant.systems[pipe.system].si.fluid))
    fluid = fluid_of(plant.systems[pipe.system].si.fluid)
    t = figures.temperature_c + ZERO
    mass = figures.flow_m3_s * float(fluid.density(t))
    return mass * (table.content(t) - table.content(plant.site_si.cold_water))


def _inflows(plant: Plant, solution: Solution, at: str) -> list[tuple[PortRef, str, float]]:
    """Ports of an item by which water comes in, the pipe there, and the flow, [m^3/s]."""
    found = []
    for port in plant.items[at].ports:
        ref = PortRef(at, port)
        for name in plant.pipes_at.get(ref, ()):
            figures = solution.pipes.get(name)
            if figures is not None:
                flow = -figures.flow_m3_s if plant.pipes[name].start == ref else figures.flow_m3_s
                if flow > NO_FLOW:
                    found.append((ref, name, flow))
    return found


def intake(plant: Plant, solution: Solution, at: str) -> Intake | None:
    """Where the water that heats somebody comes in: the warmest inflow; None where nothing flows in."""
    inflows = _inflows(plant, solution, at)
    coil = solution.at(at, CoilTankFigures)
    if coil is not None and abs(coil.coil_flow_m3_s) > NO_FLOW:
        inflows = [one for one in inflows if one[0].port.startswith("coil")] or inflows
    if not inflows:
        return None
    ref, name, _ = max(inflows, key=lambda one: arrives(plant, solution, Intake(one[1], one[0])))
    return Intake(name, ref)


def arrives(plant: Plant, solution: Solution, place: Intake) -> float:
    """Temperature of the water that comes in, [degC]."""
    figures = solution.pipes[place.pipe]
    return figures.temperature_at(plant.pipes[place.pipe].start == place.port)
