"""A room's loss told as heat of the design night, and that heat taken as a loss. No widgets.

loss [W/K] = heat [W] / (wanted - outdoors [K]); wanted by the room or site, outdoors of the site's design.
"""

from __future__ import annotations

from typing import Literal

from core import units
from core.errors import Refusal
from core.plant.model import Plant
from core.vocabulary import spellings


def ends(plant: Plant, room: str) -> tuple[float, float]:
    """Temperature wanted in a room, and outdoors on the design night, [K]."""
    wanted = plant.items[room].si.get("wanted")
    return float(plant.site_si.indoor if wanted is None else wanted), float(plant.site_si.outdoor_design)


def as_loss(plant: Plant, room: str, text: str) -> str:
    """The loss that a heat of the design night comes to; "" for a text that is no heat.

    Raises
    ------
    Refusal
        A room that is to be no warmer than outdoors, or a comma that may mean two things
    """
    plain = text.strip()
    try:
        heat = units.parse(spellings.quantity(plain, "power", system=plant.units), "power")
    except Refusal:
        if not _is_heat(plain):
            return ""
        spellings.ask_of_comma(plain, plant.units)
        return ""
    wanted, outdoors = ends(plant, room)
    if wanted <= outdoors:
        raise Refusal(
            "", f'"{plain}"', "a room warmer than the design night", f"It is {_span(plant, wanted, outdoors)}"
        )
    unit = units.unit_for("heat_per_kelvin", _system(plant))
    return f"{units.to_unit(heat / (wanted - outdoors), unit):.5g} {units.sign_of(unit)}"


def night_words(plant: Plant, room: str, text: str) -> str:
    """`= 18,000 Btu/h on the design night (14 °F out, 68 °F in)` for a loss; "" where none can be read."""
    try:
        read = spellings.quantity(text.strip(), "heat_per_kelvin", system=plant.units)
        loss = units.parse(read, "heat_per_kelvin")
    except Refusal:
        return ""
    wanted, outdoors = ends(plant, room)
    if wanted <= outdoors:
        return ""
    unit = "Btu/h" if _system(plant) == "us" else "W"
    heat = units.to_unit(loss * (wanted - outdoors), unit)
    return f"= {float(f'{heat:.3g}'):,.0f} {unit} at {_span(plant, wanted, outdoors)}"


def _span(plant: Plant, wanted: float, outdoors: float) -> str:
    shown = [units.show(each, "temperature", _system(plant), digits=0) for each in (outdoors, wanted)]
    return f"{shown[0]} out, {shown[1]} in"


def _system(plant: Plant) -> Literal["us", "si"]:
    return "si" if plant.units == "si" else "us"


def _is_heat(text: str) -> bool:
    rest = text[len(spellings.number_of(text)) :].strip()
    if not rest:
        return False
    try:
        units.parse(spellings.quantity(f"1 {rest}", "power"), "power")
    except Refusal:
        return False
    return True
