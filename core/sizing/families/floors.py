"""Floors: how warm the surface gets, whether that is too warm, and the water temperature it takes.

Surface: q = 8.92 (T_s - T_r)^1.1, the basic characteristic of EN 1264-2 and ISO 11855-2 (published); limits
of the surface: EN 1264 (published summary), wood: flooring guidance (published).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from core.sizing.context import Context
from core.sizing.families.circuits import (
    area_of,
    inlet_in,
    supply_needed,
    surroundings_of,
    wanted_of,
)
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, derived, given

SOURCE = "EN 1264-2 and ISO 11855-2, basic characteristic"
LIMIT_SOURCE = "EN 1264, as summarised on a published trade page"
WOOD_SOURCE = "guidance for heated wood floors, published"


@dataclass(frozen=True)
class Zone:
    """Where a floor lies: its name, greatest surface and greatest over the room, [K], and the source."""

    name: str
    surface: float
    over: float
    source: str


ZONES = (
    Zone("occupied", 302.15, 9.0, LIMIT_SOURCE),
    Zone("bathroom", 306.15, 9.0, LIMIT_SOURCE),
    Zone("edge along cold walls", 308.15, 15.0, LIMIT_SOURCE),
    Zone("wood", 300.15, 7.0, WOOD_SOURCE),
)
# Greatest water temperature: what the tube lies in, [K], source.
WATER_LIMITS = (
    ("screed or concrete round the tube", 328.15, "EN 1264-4: 55 °C; ACI: 150 °F (both from memory)"),
    ("gypsum board near the tube", 323.15, "50 °C, published trade summary"),
)
CAUTIONS = (
    "Too warm a floor hurts feet and finishes: a limit of its own must stop the pump if a mixer fails.",
)


def surface_temperature(flux: Working, room: Working) -> Working:
    """Mean temperature of the surface that gives a flux, [K]; q [W/m^2], T_r [K]."""
    return derived(
        "T_s",
        "mean surface temperature",
        "temperature",
        "T_r + (q / 8.92)^(1 / 1.1)",
        room,
        flux,
        source=SOURCE,
        holds="heated floors, up to 175 W/m²",
        within=float(flux.value) <= 175.0,
    )


def greatest_flux(surface: Working, room: Working) -> Working:
    """Heat per area that a surface at its limit gives, [W/m^2]; T_m [K], T_r [K]."""
    return derived(
        "q_m",
        "greatest heat per area",
        "flux",
        "8.92 * max(0, T_m - T_r)^1.1",
        surface,
        room,
        source=SOURCE,
    )


def size(context: Context) -> list[Sized]:
    """Surface and water temperature of every floor circuit."""
    names = [item.id for item in context.plant.with_trait(Trait.IN_FLOOR)]
    found = surfaces(context) + context.one_by_one(names, "floor_water", partial(_water, context))
    order = {name: place for place, name in enumerate(names)}
    return sorted(found, key=lambda sized: order[sized.at])


def surfaces(context: Context) -> list[Sized]:
    """Surface of every floor circuit."""
    names = [item.id for item in context.plant.with_trait(Trait.IN_FLOOR)]
    return context.one_by_one(names, "floor_surface", partial(_surface, context))


def solved_surface(context: Context, item: str) -> Option | None:
    """Its surface in the case that gives most; None where it gives nothing.

    Raises
    ------
    MissingInput
        Where its area is not known
    """
    found = _solved(context, item, area_of(context, item), surroundings_of(context, item))
    return next(found, None)


def _surface(context: Context, item: str) -> Sized:
    room = surroundings_of(context, item)
    area = area_of(context, item)
    wanted = wanted_of(context, item)
    flux = derived("q", f"heat wanted per area of {item}", "flux", "Q / A", wanted, area)
    surface = surface_temperature(flux, room)
    wooden = context.plant.items[item].si.get("construction") == "suspended"
    zones = list(_zones(context, float(surface.value), flux, room, area))
    fits = [option.name for option in zones if option.serves]
    options = (*zones, *_solved(context, item, area, room))

    limit = ZONES[0]
    over = float(surface.value) > limit.surface + 0.005
    words = f"{item}: {flux.shown(context.display)} warm its surface to {surface.shown(context.display)}, "
    words += f"{'over' if over else 'within'} the {context.shown(limit.surface, 'temperature')} of rooms"
    if over and fits:
        words += f"; allowed for {', '.join(fits)}"
    words += "."
    if wooden and "wood" not in fits:
        words += f" Over the {context.shown(ZONES[-1].surface, 'temperature')} of wood."
    if over:
        words += " What the floor cannot give, another emitter must."
    return Sized(
        item, "floor_surface", words, float(surface.value), "k", "temperature", "", options, "", surface, (),
        CAUTIONS, over and not fits,
    )  # fmt: skip


def _solved(context: Context, item: str, area: Working, room: Working) -> Iterator[Option]:
    """The surface in the case that gives most: a floor gives all it can, also more than is wanted."""
    worst = context.worst(item, "delivered_w")
    if worst is None or worst.value <= 0.0:
        return
    most = context.solved("Q", f"heat given by {item}", item, "delivered_w", worst.case)
    flux = derived("q", "heat given per area", "flux", "Q / A", most, area)
    surface = surface_temperature(flux, room)
    serves = float(surface.value) <= ZONES[0].surface + 0.005
    figures = {
        "surface_c": float(surface.value) - 273.15,
        "flux_w_m2": float(flux.value),
        "heat_w": float(most.value),
    }
    verdict = f"{surface.shown(context.display)} with {flux.shown(context.display)}"
    yield Option(f"as solved in {worst.case}", figures, serves, verdict, None, surface)


def _zones(context: Context, surface: float, flux: Working, room: Working, area: Working) -> Iterator[Option]:
    for zone in ZONES:
        limit = given(
            "T_m", f"greatest surface, {zone.name}", zone.surface, "temperature", "table", zone.source
        )
        most = greatest_flux(limit, room)
        serves = surface <= zone.surface + 0.005
        verdict = f"up to {limit.shown(context.display)}, {most.shown(context.display)}"
        figures = {
            "surface_c": zone.surface - 273.15,
            "flux_w_m2": float(most.value),
            "heat_w": float(most.value) * float(area.value),
        }
        yield Option(zone.name, figures, serves, verdict, None, most)


def _water(context: Context, item: str) -> Sized:
    room = surroundings_of(context, item)
    wanted = wanted_of(context, item)
    needed = supply_needed(context, item, wanted, room)
    case = str(needed.extra["case"])
    there = inlet_in(context, item, case)
    show = context.shown
    words = (
        f"{item}: {wanted.shown(context.display)} take water of {needed.shown(context.display)} at the flow "
    )
    words += f"of {case}, where {show(there, 'temperature')} come"
    short = there < float(needed.value) - 0.5
    words += "; too cool." if short else "."
    options = tuple(
        Option(
            name,
            {"water_c": limit - 273.15},
            max(there, float(needed.value)) <= limit,
            f"at most {show(limit, 'temperature')} ({source})",
        )
        for name, limit, source in WATER_LIMITS
    )
    broken = [option.name for option in options if not option.serves]
    if broken:
        words += f" Too hot for {' and '.join(broken)}."
    return Sized(
        item, "floor_water", words, float(needed.value), "k", "temperature", case, options, "", needed, (),
        CAUTIONS,
    )  # fmt: skip
