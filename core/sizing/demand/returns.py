"""Hot water return: the flow that makes up for what the pipes lose, so that no tap waits long.

Return circulators are those in potable water whose way round feeds fixtures. Bare pipes count with their
loss, though the solver, by the plant file's contract, gives none to pipes without insulation.

Sized for what keeps its loop warm, not for what the drawn pump moves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.figures import TankFigures
from core.media.insulation import SURFACE_COEFFICIENT
from core.plant.model import Pipe
from core.sizing.context import Context, memo, symbol_of
from core.sizing.demand.fixtures import feeds
from core.sizing.demand.tracing import Place, Trace
from core.vocabulary import Trait
from core.vocabulary.words import InsulationValues
from core.working import Working, derived, given, typed

FAHRENHEIT = 5.0 / 9.0  # [K]
DROP = {"us": 5.0 * FAHRENHEIT, "si": 3.0}  # [K] supply to the end of the return
DROP_SOURCE = "US Army Corps of Engineers ETL 1110-3-489 (1998): 5 to 10 degF, 5 advised (published)"
CHARGED = 50.0  # [W] that a tank takes up, from which it counts as being charged
CHARGING = 0.05  # share of the water from which a heater side by side with others counts as on the way
PART = 0.5  # share of the return's water from which a pipe counts as on its way round


@dataclass(frozen=True)
class Loop:
    """A return circulator's way round: the case it was followed in, and the share of its water by pipe."""

    circulator: str
    case: str
    shares: dict[str, float]


@memo
def loops(context: Context) -> tuple[Loop, ...]:
    """The return circulators of the plant with their ways round."""
    return tuple(filter(None, _loops(context)))


def return_pipes(context: Context) -> frozenset[str]:
    """Pipes in which hot water runs back without being drawn."""
    fed = feeds(context)
    return frozenset(
        pipe
        for loop in loops(context)
        for pipe, share in loop.shares.items()
        if share > 0.9 and pipe not in fed
    )


def need_in(context: Context, pipe: str) -> Working | None:
    """Flow that keeps warm what a return pipe serves, [m^3/s]; None of any other pipe.

    Loops that meet add up. What a circulator drawn too large moves besides is no need.
    """
    if pipe not in return_pipes(context):
        return None
    ways = {tuple(pipes_on_way(loop)): loop for loop in loops(context) if loop.shares.get(pipe, 0.0) > 0.9}
    needs = [(need, loop) for loop in ways.values() if (need := needed_flow(context, loop)) is not None]
    if len(needs) < 2:
        return replace(needs[0][0], extra={"case": needs[0][1].case}) if needs else None
    parts = [replace(need, symbol=symbol_of("Q", loop.circulator)) for need, loop in needs]
    formula = " + ".join(part.symbol for part in parts)
    found = derived("Q_sum", f"flow that the loops need in {pipe}", "flow", formula, *parts)
    return replace(found, extra={"case": needs[0][1].case})


def _loops(context: Context) -> list[Loop | None]:
    plant = context.plant
    fed = feeds(context)
    if not fed:
        return []
    return [_loop(context, item.id) for item in plant.with_trait(Trait.DRIVES) if _potable(context, item.id)]


def _potable(context: Context, item: str) -> bool:
    system = context.system_at(item)
    return system is not None and context.plant.systems[system].use == "potable"


def _loop(context: Context, name: str) -> Loop | None:
    """Its way round in the case that draws least while it runs; None where that feeds no fixture."""
    way = _way_round(context, name)
    if way is None or _charges(context, way):
        return None
    fed = feeds(context)
    return way if any(pipe in fed for pipe in pipes_on_way(way)) else None


def charging_pipes(context: Context) -> frozenset[str]:
    """Pipes of drinking water through which a circulator charges a tank."""
    return frozenset(
        pipe for way in charging_ways(context) for pipe, share in way.shares.items() if share > CHARGING
    )


@memo
def charging_ways(context: Context) -> tuple[Loop, ...]:
    """The circulators that charge a tank with drinking water, with their ways round."""
    names = [item.id for item in context.plant.with_trait(Trait.DRIVES) if _potable(context, item.id)]
    ways = [way for name in names if (way := _way_round(context, name)) is not None]
    return tuple(way for way in ways if _charges(context, way))


def _way_round(context: Context, name: str) -> Loop | None:
    """Where a circulator's water goes in the case that draws least while it runs; None if never.

    Not through another circulator, unless they lie in line: in a tank the waters of all meet.
    """
    place = Place(name)
    others = [Place(item.id) for item in context.plant.with_trait(Trait.DRIVES) if item.id != name]
    running = [
        (sum(case.si.draws.values()), case.name)
        for case, _ in context.converged()
        if context.solution(case.name).running(name)
    ]
    if not running:
        return None
    case = min(running)[1]
    return Loop(name, case, Trace(context.plant, context.solution(case)).shares(place, others))


def _charges(context: Context, way: Loop) -> bool:
    """Whether a way round carries heat from a source into a tank: then it charges the tank, warms no tap."""
    plant = context.plant
    pipes = [pipe for pipe, share in way.shares.items() if share > CHARGING]
    ends = [end.item for pipe in pipes for end in (plant.pipes[pipe].start, plant.pipes[pipe].end)]
    heated = any(plant.items[item].has(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT) for item in ends)
    tanks = context.solution(way.case).of(TankFigures)
    return heated and any(item in tanks and tanks[item].duty_w > CHARGED for item in ends)


def needed_flow(context: Context, loop: Loop, drop: Working | None = None) -> Working | None:
    """Flow that keeps a loop warm, [m^3/s]: its pipes' loss over rho c and the drop allowed."""
    if drop is None:
        drop = given(
            "ΔT",
            "drop from supply to return",
            DROP[context.display],
            "temperature_difference",
            "table",
            DROP_SOURCE,
        )
    on_way = pipes_on_way(loop)
    supply = supply_temperature(context, loop, on_way)
    mean = derived("T_m", "mean temperature on the way", "temperature", "T_s - ΔT / 2", supply, drop)
    losses = [
        loss
        for pipe in on_way
        if (loss := pipe_loss_heat(context, context.plant.pipes[pipe], mean)) is not None
    ]
    if not losses:
        return None
    formula = " + ".join(part.symbol for part in losses)
    heat = derived("Φ", "heat the pipes lose", "power", formula, *losses)
    system = context.plant.pipes[on_way[0]].system
    density = context.fluid_leaf("density", system, mean)
    capacity = context.fluid_leaf("heat_capacity", system, mean)
    return derived(
        "Q", f"flow {loop.circulator} must move", "flow", "Φ / (ρ * c * ΔT)", heat, density, capacity, drop,
        source="heat balance of the water (first law)",
    )  # fmt: skip


def pipes_on_way(loop: Loop) -> list[str]:
    """Pipes that most of the return's water passes."""
    return [pipe for pipe, share in loop.shares.items() if share > PART]


def supply_temperature(context: Context, loop: Loop, pipes: list[str]) -> Working:
    """The warmest water on the way: that of the mixing valve or tank that feeds it, as solved."""
    figures = context.solution(loop.case).pipes
    warmest = max(pipes, key=lambda pipe: figures[pipe].warmest_c)
    key = (
        "temperature_in_c"
        if figures[warmest].temperature_in_c == figures[warmest].warmest_c
        else "temperature_out_c"
    )
    return context.solved("T_s", "supply temperature", warmest, key, loop.case)


def pipe_loss_heat(context: Context, pipe: Pipe, water: Working) -> Working | None:
    """Heat that a pipe gives off at a water temperature, [W]; None of a pipe without length.

    Notes
    -----
    Conduction through the insulation and a surface coefficient of 10 W/m2/K; a bare pipe has the latter
    alone. Source: conduction through a cylinder, textbook identity.
    """
    si = pipe.si
    if si.joined or si.length <= 0.0:
        return None
    around = (
        typed(
            "T_a", f"around {pipe.id}", si.around, "temperature", f"pipes.{pipe.id}.around", pipe.around or ""
        )
        if si.around is not None
        else context.site("T_a", "indoor temperature", "indoor")
    )
    per_metre = _per_metre(pipe)
    formula = "λ * L * (T_m - T_a)"
    length = context.pipe_length(pipe.id)
    return derived(
        symbol_of("Φ", pipe.id), f"loss of {pipe.id}", "power", formula, per_metre, length, water, around
    )


def _per_metre(pipe: Pipe) -> Working:
    """Heat lost per metre and kelvin, [W/m/K]."""
    si, place = pipe.si, f"pipes.{pipe.id}.insulation"
    words = f"loss of {pipe.id} per metre and kelvin"
    if isinstance(si.insulation, float):
        text = str((pipe.insulation or {}).get("loss", ""))
        return typed("λ", words, si.insulation, "conductivity", f"{place}.loss", text)
    source = "half the tube's outside, of its catalogue or typed"
    radius = given(
        "r_1", f"outside radius of {pipe.id}", max(si.outside, si.bore) / 2.0, "length", "table", source
    )
    surface = given(
        "h", "surface coefficient", SURFACE_COEFFICIENT, "", "default", "10 W/m²/K, the plant file's contract"
    )
    if not isinstance(si.insulation, InsulationValues):
        return derived("λ", f"{words}, bare", "conductivity", "2 * π * r_1 * h", radius, surface)
    raw = pipe.insulation or {}
    thick = typed(
        "s",
        "insulation",
        si.insulation.thickness,
        "length",
        f"{place}.thickness",
        str(raw.get("thickness", "")),
    )
    text = str(raw.get("conductivity", ""))
    k = si.insulation.conductivity
    conductivity = (
        typed("k", "its conductivity", k, "conductivity", f"{place}.conductivity", text)
        if text
        else given("k", "its conductivity", k, "conductivity", "default", "the plant file's contract")
    )
    formula = "1 / (ln((r_1 + s) / r_1) / (2 * π * k) + 1 / (2 * π * (r_1 + s) * h))"
    return derived("λ", words, "conductivity", formula, radius, thick, conductivity, surface)
