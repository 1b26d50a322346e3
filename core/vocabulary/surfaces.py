"""Walls, windows and the like around a room as a list in the file; read here, summed up elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.values import LONGEST_LABEL, read_list, read_object, read_quantity, read_text, under
from core.vocabulary.words import Property

KEYS = ("name", "area", "u", "r", "beyond")


class Surface(NamedTuple):
    """One surface of a room.

    `area` [m^2]; `u` heat passed per area and degree [W/m^2/K], also where a resistance was typed;
    `beyond` temperature on its other side [K], None for outdoors.
    """

    name: str
    area: float
    u: float
    beyond: float | None


def read_surfaces(prop: Property, raw: Any, path: str) -> tuple[Surface, ...]:
    """Surfaces, each {name, area, u or r, beyond}; `beyond` may be left away."""
    found = []
    for number, one in enumerate(read_list(raw, path, 1, 100, "surfaces {name, area, u}")):
        found.append(_surface(one, f"{path}[{number}]"))
    names = [surface.name for surface in found]
    for number, name in enumerate(names):
        if name in names[:number]:
            place = under(f"{path}[{number}]", "name")
            raise Refusal(place, value_text(name), "a name that no surface before it has")
    return tuple(found)


def _surface(raw: Any, path: str) -> Surface:
    given: Mapping[str, Any] = read_object(raw, path, KEYS, ("name", "area"))
    if ("u" in given) == ("r" in given):
        found = "both u and r" if "u" in given else "neither u nor r"
        raise Refusal(path, found, f"{units.words('transmittance')} as u, or a resistance as r")
    name = read_text(given["name"], under(path, "name"), LONGEST_LABEL).strip()
    if not name:
        raise Refusal(under(path, "name"), value_text(given["name"]), "a name")
    if "u" in given:
        place = under(path, "u")
        u = read_quantity(given["u"], "transmittance", place, "0.001 W/m2/K", "20 W/m2/K")
    else:
        place = under(path, "r")
        u = 1.0 / read_quantity(given["r"], "resistance", place, "0.05 m2*K/W", "1000 m2*K/W")
    beyond = None
    if "beyond" in given:
        beyond = read_quantity(given["beyond"], "temperature", under(path, "beyond"), "-60 degC", "60 degC")
    area = read_quantity(given["area"], "area", under(path, "area"), "0 ft2", "1000000 ft2")
    return Surface(name, area, u, beyond)
