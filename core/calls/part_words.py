"""What a circuit does as its load falls, in sentences with figures."""

from __future__ import annotations

from collections.abc import Iterator

from core import units
from core.calls.part_load import LoadPoint, PartLoad
from core.plant.model import Plant
from core.vocabulary import Trait
from core.working import Display


def sentences(plant: Plant, part: PartLoad, display: Display) -> list[str]:
    """Supply and return, rooms, least speed, and stats that would short-cycle.

    Parameters
    ----------
    plant : Plant
    part : PartLoad
    display : str
        "us" or "si"
    """
    moving = [point for point in part.points if point.flow > 1e-8]
    if not moving:
        return [f"{part.circulator} moves nothing in {part.case}, at any load."]
    return [
        *_water(part, moving, display),
        *_least(part, display),
        *_called(part, moving),
        *_rooms(moving, display),
        *_cycles(plant, part, display),
    ]


def _t(kelvin: float, display: Display) -> str:
    return units.show(kelvin, "temperature", display)


def _d(kelvin: float, display: Display) -> str:
    return units.show(kelvin, "temperature_difference", display)


def _water(part: PartLoad, moving: list[LoadPoint], display: Display) -> Iterator[str]:
    high, low = moving[0], moving[-1]
    flow_high, flow_low = (units.show(p.flow, "flow", display) for p in (high, low))
    yield (
        f"{part.circulator} in {part.case}: {flow_high}, {_t(high.supply, display)} out and "
        f"{_t(high.back, display)} back at {100 * high.share:.0f} % of the load; {flow_low}, "
        f"{_t(low.supply, display)} and {_t(low.back, display)} at {100 * low.share:.0f} %."
    )


def _least(part: PartLoad, display: Display) -> Iterator[str]:
    if part.control != "delta_t":
        return
    if part.least_from is None:
        yield f"Its speed stays above the least of {100 * part.least_speed:.0f} % at every load."
        return
    low = min(part.points, key=lambda p: abs(p.share - 0.5 * part.least_from) if part.least_from else 0.0)
    yield (
        f"At {100 * part.least_from:.0f} % of the load it is at its least speed, "
        f"{100 * part.least_speed:.0f} %; below that the difference falls: "
        f"{_d(low.difference, display)} at {100 * low.share:.0f} %."
    )


def _called(part: PartLoad, moving: list[LoadPoint]) -> Iterator[str]:
    shares = [(p.share, p.called) for p in moving if p.called is not None]
    if shares:
        (first, most), (last, least) = shares[0], shares[-1]
        yield (
            f"Its circuits deliver more than is needed: they are called {100 * most:.0f} % of the time at "
            f"{100 * first:.0f} % of the load, {100 * least:.0f} % at {100 * last:.0f} %."
        )


def _rooms(moving: list[LoadPoint], display: Display) -> Iterator[str]:
    high, low = moving[0], moving[-1]
    for key, at_high in high.rooms.items():
        at_low = low.rooms.get(key, at_high)
        yield (
            f"{key} stands at {_t(at_high, display)} with {_t(high.outdoor, display)} outdoors, at "
            f"{_t(at_low, display)} with {_t(low.outdoor, display)}."
        )


def _cycles(plant: Plant, part: PartLoad, display: Display) -> Iterator[str]:
    for each in part.short_cycles:
        boiler = plant.items[each.at].has(Trait.KEEPS_OWN_WATER_HOT)
        cure = "A wider band" if boiler else "A wider band, or a sensor in a tank or room,"
        band, swing = _d(each.differential, display), _d(each.difference, display)
        yield (
            f"{each.at} would short-cycle: its band of {band} is narrower than the {swing} between supply "
            f"and return at {100 * each.share:.0f} % of the load. {cure} would cure it."
        )
