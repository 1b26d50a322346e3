"""The cases a plant is usually looked at in, made from what the plant and its site say.

What the site does not say is common practice, no source; all of it is meant to be looked over and changed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from core.plant.changes import SetPlant
from core.plant.model import Case, Item, Plant
from core.vocabulary import Trait

MILD = {"us": "45 degF", "si": "7 degC"}
SUMMER = {"us": "80 degF", "si": "27 degC"}
SNOW = {"us": "28 degF", "si": "-2 degC"}
DRAW = {"us": "2 gpm", "si": "0.13 L/s"}
"""Weather and draws where nothing is typed: common practice, no source."""
SHOWER = "shower"


class Usual(NamedTuple):
    """One of them: its key, its name, and how it is made."""

    key: str
    name: str
    hint: str
    make: Callable[[Plant, Case], Case]


def add_usual(plant: Plant, key: str) -> tuple[list[SetPlant], str]:
    """The change that adds a usual case, and the name it gets.

    Parameters
    ----------
    plant : Plant
    key : str
        One of `USUAL`
    """
    usual = USUAL[key]
    taken = {case.name for case in plant.cases}
    name = next(n for n in (usual.name, *(f"{usual.name} {i}" for i in range(2, 1000))) if n not in taken)
    return [SetPlant({"cases": (*plant.cases, usual.make(plant, Case(name)))})], name


def draw_of(plant: Plant, name: str) -> str:
    """What a fixture draws when it is ticked: the flow typed at it, else a usual one."""
    return str(plant.items[name].props.get("flow") or DRAW[plant.units])


def _signals(plant: Plant, rooms: bool, others: bool, by_hand: bool = False) -> dict[str, bool]:
    """Calls set: thermostats of rooms, other stats (a tank's, a slab's), what is switched by hand."""
    found: dict[str, bool] = {}
    for item in plant.with_trait(Trait.SIGNALS):
        if item.has(Trait.FEELS_ROOM):
            found[item.id] = rooms
        elif item.has(Trait.SWITCHED_BY_HAND):
            found[item.id] = by_hand
        elif item.has(Trait.STAT):
            found[item.id] = others
    return found


def _design_night(plant: Plant, case: Case) -> Case:
    return replace(case, signals=_signals(plant, True, False), season="winter")


def _mild_day(plant: Plant, case: Case) -> Case:
    signals = _signals(plant, True, False)
    return replace(case, outdoor=MILD[plant.units], signals=signals, season="shoulder")


def _summer(plant: Plant, case: Case) -> Case:
    signals = _signals(plant, False, True)
    return replace(case, outdoor=SUMMER[plant.units], signals=signals, season="summer")


def _snowfall(plant: Plant, case: Case) -> Case:
    outdoor = str(plant.site.get("snow_temperature") or SNOW[plant.units])
    return replace(case, outdoor=outdoor, signals=_signals(plant, True, True, True), season="winter")


def _morning_showers(plant: Plant, case: Case) -> Case:
    fixtures = plant.with_trait(Trait.DRAWS_WATER)
    showers = [item for item in fixtures if item.props.get("fixture_type") == SHOWER] or list(fixtures)
    draws = {item.id: draw_of(plant, item.id) for item in showers}
    tanks = _stored(plant)
    return replace(case, draws=draws, tanks=tanks, signals=_signals(plant, True, True), season="winter")


def _stored(plant: Plant) -> dict[str, str]:
    """Tanks at what their aquastats hold: showers draw on what is stored, not on what is made meanwhile."""
    found: dict[str, str] = {}
    for stat in plant.with_trait(Trait.FEELS_WATER):
        name, text = next(iter(stat.props.get("senses") or ()), ""), stat.props.get("set_temperature")
        if text and name in plant.items and plant.items[name].has(Trait.TANK):
            found[name] = str(text)
    return found


def _power_cut(plant: Plant, case: Case) -> Case:
    """Nothing electric runs, and outlets feed nothing; gravity may still move warm water."""
    values: dict[str, Mapping[str, Any]] = {
        item.id: {"run_when": False} for item in plant.with_trait(Trait.ELECTRIC) if _runs(item)
    }
    signals = {item.id: False for item in plant.with_trait(Trait.SIGNALS)}
    return replace(case, set=values, signals=signals, season="winter")


def _runs(item: Item) -> bool:
    return "run_when" in item.kind_info.properties


USUAL: dict[str, Usual] = {
    one.key: one
    for one in (
        Usual("design_night", "Design night", "The coldest night; every room calls.", _design_night),
        Usual("mild_day", "Mild day", "45 °F or 7 °C; rooms call.", _mild_day),
        Usual("summer", "Summer", "Rooms rest; hot water alone.", _summer),
        Usual("snowfall", "Snowfall", "Every call, also those switched by hand.", _snowfall),
        Usual("morning_showers", "Morning showers", "Showers run, all else calls.", _morning_showers),
        Usual("power_cut", "Power cut", "Nothing electric runs.", _power_cut),
    )
}
