"""What site, systems and cases must be by themselves. Not for the items that cases name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import SITE_DEFAULTS, SITE_SNOW, Case, System
from core.vocabulary.values import (
    LONGEST_LABEL,
    read_choice,
    read_flag,
    read_list,
    read_name,
    read_number,
    read_object,
    read_quantity,
    read_text,
    under,
)

SHEET = ("number", "drawn_by", "checked_by", "approved_by", "owner", "date", "revisions")
USES = ("potable", "closed")
_WEATHER = ("-60 degC", "60 degC")
_WATER = ("-60 degC", "250 degC")
_FLUID_KEYS: dict[str, tuple[str, ...]] = {
    "water": (),
    "propylene_glycol": ("fraction",),
    "ethylene_glycol": ("fraction",),
    "custom": ("density", "viscosity", "heat_capacity"),
}
_FLUID_OPTIONS = ("conductivity", "expansion", "reference")
_FLUID_RANGES = {
    "density": ("density", "1 kg/m3", "20000 kg/m3"),
    "viscosity": ("viscosity", "0.001 mPa*s", "100000 mPa*s"),
    "heat_capacity": ("heat_capacity", "1 J/kg/K", "50000 J/kg/K"),
    "conductivity": ("conductivity", "0.001 W/m/K", "500 W/m/K"),
    "reference": ("temperature", *_WATER),
}


def check_site(site: Mapping[str, Any], path: str = "site") -> None:
    """Refuse a site with an unknown key or a value out of this world."""
    for key, value in read_object(site, path, {**SITE_DEFAULTS, **SITE_SNOW}).items():
        if key in SITE_SNOW:
            read_quantity(value, SITE_SNOW[key][0], under(path, key), *SITE_SNOW[key][1:])
        elif key == "altitude":
            read_quantity(value, "length", under(path, key), "-500 m", "9000 m")
        else:
            read_quantity(value, "temperature", under(path, key), *_WEATHER)


def check_system(system: System, path: str = "") -> None:
    """Refuse a system that cannot be taken as it is."""
    read_name(system.name, path)
    read_choice(system.use, USES, under(path, "use"))
    check_fluid(system.fluid, under(path, "fluid"))
    if system.fill_pressure is not None:
        read_quantity(system.fill_pressure, "pressure", under(path, "fill_pressure"), "0 psi", "1000 psi")


def check_fluid(raw: Any, path: str = "fluid") -> None:
    """Refuse a fluid that is unknown, unfinished, or mixed beyond its table."""
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), 'an object such as {"kind": "water"}')
    if "kind" not in raw:
        raise Refusal(under(path, "kind"), "nothing", "one of " + ", ".join(_FLUID_KEYS))
    kind = read_choice(raw["kind"], tuple(_FLUID_KEYS), under(path, "kind"))
    required = ("kind", *_FLUID_KEYS[kind])
    given = read_object(raw, path, (*required, *(_FLUID_OPTIONS if kind == "custom" else ())), required)
    for key, (dimension, low, high) in _FLUID_RANGES.items():
        if key in given:
            read_quantity(given[key], dimension, under(path, key), low, high)
    expansion = given.get("expansion")
    if isinstance(expansion, str):
        read_quantity(expansion, "expansion", under(path, "expansion"), "-0.01 1/K", "0.01 1/K")
    elif "expansion" in given:
        read_number(expansion, under(path, "expansion"), -0.01, 0.01)
    if "fraction" in given:
        _check_fraction(given, path)


def _check_fraction(given: Mapping[str, Any], path: str) -> None:
    from core.media.fluids import fluid_of

    place = under(path, "fraction")
    read_number(given["fraction"], place, 0.0, 1.0)
    try:
        fluid_of(given)
    except Refusal as refusal:
        raise Refusal(place, value_text(given["fraction"]), refusal.expected, refusal.hint) from None


def check_case(case: Case, path: str = "") -> None:
    """Refuse a case with an unreadable value; which items it names is not judged here."""
    if not read_text(case.name, under(path, "name"), LONGEST_LABEL).strip():
        raise Refusal(under(path, "name"), value_text(case.name), "a name")
    if case.outdoor is not None:
        read_quantity(case.outdoor, "temperature", under(path, "outdoor"), *_WEATHER)
    if case.hours_per_year is not None:
        read_number(case.hours_per_year, under(path, "hours_per_year"), 0.0, 8784.0)
    read_text(case.season, under(path, "season"), LONGEST_LABEL)
    read_text(case.note, under(path, "note"))
    for name, value in _entries(case.signals, under(path, "signals")):
        read_flag(value, name)
    for name, value in _entries(case.draws, under(path, "draws")):
        read_quantity(value, "flow", name, "0 gpm", "20000 gpm")
    for name, value in _entries(case.tanks, under(path, "tanks")):
        if isinstance(value, Mapping):
            for tap, one in value.items():
                read_quantity(one, "temperature", under(name, tap), *_WATER)
        else:
            read_quantity(value, "temperature", name, *_WATER)
    _check_course(case, path)
    for name, value in _entries(case.set, under(path, "set")):
        if not isinstance(value, Mapping) or not value:
            raise Refusal(name, value_text(value), 'an object of properties such as {"speed": 0.5}')


def _check_course(case: Case, path: str) -> None:
    """How long the case lasts, and from what temperatures."""
    if case.lasts is not None:
        read_quantity(case.lasts, "time", under(path, "lasts"), "1 s", "60 day")
    for name, value in _entries(case.start, under(path, "start")):
        read_quantity(value, "temperature", name, *_WATER)
    if case.start and case.lasts is None:
        raise Refusal(
            under(path, "lasts"), "nothing", 'how long the case lasts, such as "90 min", beside start'
        )


def check_sheet(sheet: Any, path: str = "sheet") -> None:
    """Refuse a title block with an unknown key, or with anything but plain texts."""
    for key, value in read_object(sheet, path, SHEET).items():
        place = under(path, key)
        if key != "revisions":
            read_text(value, place, LONGEST_LABEL)
            continue
        for number, row in enumerate(read_list(value, place, of="revisions [number, date, text]")):
            if not isinstance(row, (list, tuple)) or len(row) != 3:
                raise Refusal(f"{place}[{number}]", value_text(row), "a revision [number, date, text]")
            for column, one in enumerate(row):
                read_text(one, f"{place}[{number}][{column}]", LONGEST_LABEL)


def _entries(raw: Any, path: str) -> list[tuple[str, Any]]:
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), "an object by id")
    return [(under(path, name), value) for name, value in raw.items()]
