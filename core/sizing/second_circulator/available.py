"""Curves at hand for another circulator: copies of the plant's own, the user's curves, the invented sizes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from core.hydraulics.circulators import flow_at_head
from core.hydraulics.curves import Curve, head_curve
from core.plant.model import Item, Plant
from core.sizing.curves import catalogue
from core.vocabulary import CIRCULATOR, Trait

RHO = 998.0  # [kg/m^3] turns a curve typed in pressures into heads, to compare curves only

# What a copy takes over: how it is made, not how it is run.
MADE = (
    *("curve", "speed", "stopped_cv", "integral_check", "watts", "amps", "body"),
    *("face_to_face", "connection", "flange_thickness", "max_pressure", "max_temperature"),
    *("potable_listed", "ferrous", "shaft", "invented"),
)
RUN = ("run_when", "powered_by")


@dataclass(frozen=True)
class Pump:
    """A circulator that could be taken.

    Attributes
    ----------
    name : str
        What it is called in tables: "as P-1", a catalogue size, a name of the user's
    props : dict
        Properties as a plant file has them
    """

    name: str
    props: Mapping[str, Any] = field(default_factory=dict)

    @property
    def invented(self) -> bool:
        """Whether its curve is one of the program's own, no product."""
        return bool(self.props.get("invented"))

    @property
    def title(self) -> str:
        """The name as every output shows it."""
        return f"{self.name} ({catalogue.INVENTED})" if self.invented else self.name

    @property
    def item(self) -> Item:
        """It as an item, to read its properties in SI."""
        return Item("", CIRCULATOR, (0.0, 0.0), props=self.props)

    @property
    def speed(self) -> float:
        """Share of full speed it runs at."""
        found = self.item.si.get("speed")
        return 1.0 if found is None else float(found)

    @property
    def watts(self) -> float | None:
        """Electric power at its speed, [W]; typed figures hold for full speed, and fall with its cube."""
        found = self.item.si.get("watts")
        return None if found is None else float(found) * min(self.speed, 1.0) ** 3

    @property
    def curve(self) -> Curve | None:
        """Its curve at full speed in metres of water; None without one."""
        return curve_of(self.item)

    @property
    def shut_off(self) -> float | None:
        """Head at no flow at its speed, [m]."""
        return None if self.curve is None else self.speed**2 * self.curve.at(0.0)

    @property
    def run_out(self) -> float | None:
        """Flow at which its head is gone, at its speed, [m^3/s]."""
        return None if self.curve is None else self.speed * flow_at_head(self.curve, 0.0)


def curve_of(item: Item) -> Curve | None:
    """A circulator's full-speed curve in metres of water; None where it has none."""
    points = item.si.get("curve")
    if not points:
        return None
    return head_curve([(float(q), lift.metres(RHO)) for q, lift in points])


def copy_of(plant: Plant, name: str) -> Pump:
    """Another circulator like one of the plant's, at fixed speed."""
    found = plant.items[name]
    props = {key: found.props[key] for key in MADE if key in found.props}
    return Pump(f"as {name}", props)


def at_hand(plant: Plant) -> list[Pump]:
    """Every curve that could be taken, each once: the plant's circulators, the user's curves, the sizes."""
    found: list[Pump] = []
    seen: list[Any] = []
    for item in plant.items.values():
        if not item.has(Trait.DRIVES) or item.stage == "to_remove" or not item.props.get("curve"):
            continue
        if item.props["curve"] not in seen:
            seen.append(item.props["curve"])
            found.append(copy_of(plant, item.id))
    kept = [Pump(choice.name, choice.props) for choice in catalogue.users(plant)]
    return [*found, *kept, *(Pump(size.name, size.props) for size in catalogue.generic())]


def named(plant: Plant, name: str) -> Pump | None:
    """The curve of that name: a circulator's id, one of the user's, or a catalogue size."""
    if name in plant.items and plant.items[name].has(Trait.DRIVES):
        return copy_of(plant, name)
    wanted = name.casefold()
    return next((pump for pump in at_hand(plant) if pump.name.casefold() == wanted), None)
