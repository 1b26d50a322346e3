"""Circulator curves to choose from: invented sizes of the program's own, and the user's curves.

The invented sizes are round numbers that stand for the usual shapes. They are no products, and every answer
that shows one says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from core.diagram import annotations as words_beside
from core.errors import Refusal
from core.plant.changes import Change, SetPlant
from core.plant.curve_rules import CURVE_PROPS, check_curve
from core.plant.model import Item, Plant
from core.vocabulary import CIRCULATOR, Trait

INVENTED = words_beside.INVENTED


@dataclass(frozen=True)
class Choice:
    """One curve that could be taken.

    Attributes
    ----------
    name : str
        "generic small", the name of a user's curve, or "as P-1"
    props : dict
        Properties of a circulator that it would set, as a plant file has them
    note : str
    origin : str
        "invented", "yours" or "in the plant"
    """

    name: str
    props: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""
    origin: str = "invented"

    @property
    def invented(self) -> bool:
        """Whether it is no product."""
        return bool(self.props.get("invented"))

    @property
    def title(self) -> str:
        """The name as every output shows it."""
        return f"{self.name} ({INVENTED})" if self.invented else self.name

    @property
    def item(self) -> Item:
        """It as an item, to read its properties in SI."""
        return Item("curve", CIRCULATOR, (0.0, 0.0), props=self.props)


def _size(watts: str, *points: tuple[float, float]) -> dict[str, Any]:
    curve = [[f"{flow:g} gpm", f"{head:g} ft_head"] for flow, head in points]
    return {"curve": curve, "watts": watts, "invented": True}


# Invented round numbers, no products: name, electric power, points (gpm, ft of head).
GENERIC: Mapping[str, Mapping[str, Any]] = {
    "generic small": _size("25 W", (0, 8), (3, 7), (6, 4.5), (9, 1)),
    "generic medium": _size("80 W", (0, 20), (6, 17.5), (12, 12), (18, 3)),
    "generic high-head": _size("180 W", (0, 36), (6, 32), (12, 23), (18, 8)),
    "generic large": _size("250 W", (0, 26), (15, 23), (30, 16), (45, 4)),
    "generic flat": _size("110 W", (0, 12), (10, 11.5), (20, 9.5), (30, 5)),
    "generic steep": _size("140 W", (0, 44), (4, 32), (8, 18), (11, 6)),
}
"""Small for a zone or two, flat for zone valves, steep and high-head for long loops, large for mains."""


def generic() -> tuple[Choice, ...]:
    """The invented sizes, small to large."""
    return tuple(Choice(name, props) for name, props in GENERIC.items())


def users(plant: Plant) -> tuple[Choice, ...]:
    """Curves the user keeps in the plant, in the order of the file."""
    return tuple(
        Choice(
            str(record["name"]),
            {key: record[key] for key in CURVE_PROPS if key in record},
            str(record.get("note", "")),
            "yours",
        )
        for record in plant.curves
    )


def of_plant(plant: Plant, name: str = "") -> tuple[Choice, ...]:
    """Curves of the plant's circulators, each once; that of the circulator `name` comes first, as "drawn"."""
    found: list[Choice] = []
    seen: list[Any] = []
    order = sorted(plant.items.values(), key=lambda item: item.id != name)
    for item in order:
        if not item.has(Trait.DRIVES) or item.stage == "to_remove" or not item.props.get("curve"):
            continue
        if item.props["curve"] in seen:
            continue
        seen.append(item.props["curve"])
        props = {key: item.props[key] for key in (*CURVE_PROPS, "invented") if key in item.props}
        found.append(Choice("as drawn" if item.id == name else f"as {item.id}", props, "", "in the plant"))
    return tuple(found)


def at_hand(plant: Plant, name: str = "") -> tuple[Choice, ...]:
    """Every curve that could be taken: the circulator's own, the plant's, the user's, the invented sizes."""
    return (*of_plant(plant, name), *users(plant), *generic())


def kept(plant: Plant, record: Mapping[str, Any]) -> list[Change]:
    """Changes that keep a curve of the user's in the plant, in the place of one of the same name.

    Raises
    ------
    Refusal
        As a circulator's curve would be, or a name of the program's own sizes
    """
    check_curve(record, "curve")
    name = str(record["name"]).casefold()
    if name in (own.casefold() for own in GENERIC):
        raise Refusal("curve.name", f'"{record["name"]}"', "a name of your own, not one of an invented size")
    others = [one for one in plant.curves if str(one["name"]).casefold() != name]
    place = next(
        (k for k, one in enumerate(plant.curves) if str(one["name"]).casefold() == name), len(others)
    )
    return [SetPlant({"curves": (*others[:place], dict(record), *others[place:])})]


def dropped(plant: Plant, name: str) -> list[Change]:
    """Changes that forget a kept curve."""
    rest = tuple(one for one in plant.curves if str(one["name"]).casefold() != name.casefold())
    if len(rest) == len(plant.curves):
        raise Refusal("", f'"{name}"', "the name of a kept curve")
    return [SetPlant({"curves": rest})]
