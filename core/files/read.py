"""Plant files to plants: opens, reads strictly, names the place of whatever cannot be taken.

Not for saving (`write`, `save`), nor for rules over several items, which `core.plant.validity` holds
for every plant, whatever made it.
"""

from __future__ import annotations

import stat
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from core.errors import Refusal, value_text
from core.files import records, syntax
from core.files.limits import (
    FARTHEST,
    LARGEST_FILE,
    MOST_BENDS,
    MOST_CASES,
    MOST_ITEMS,
    MOST_PIPES,
    MOST_RECORDS,
    MOST_SYSTEMS,
)
from core.plant import validity
from core.plant.model import STAGES, Case, Item, Pipe, Plant, PortRef, System
from core.vocabulary import KINDS, nearest, to_si
from core.vocabulary.readers import read_tube
from core.vocabulary.values import (
    LONGEST_LABEL,
    is_name,
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

FORMAT = "wetside-plant"
VERSION = 1
SUFFIX = ".plant.json"

_TOP = (
    "format",
    "version",
    "title",
    "revision",
    "units",
    "site",
    "systems",
    "items",
    "pipes",
    "cases",
    "texts",
    "logbook",
    "readings",
    "accepted",
)
_ITEM = ("id", "kind", "at", "turn", "flip", "label", "note", "stage", "props")
_PIPE = (
    "id",
    "from",
    "to",
    "system",
    "tube",
    "length",
    "fittings",
    "k",
    "joined",
    "straight",
    "insulation",
    "around",
    "via",
    "label",
    "note",
    "stage",
)
_CASE = ("name", "outdoor", "signals", "draws", "tanks", "season", "hours_per_year", "note")
_TEMPERATURE = ("-60 degC", "250 degC")
_Part = TypeVar("_Part")


def load(path: str | Path) -> Plant:
    """The plant in a file.

    Raises
    ------
    Refusal
        One line with file, place, what was found and what was expected
    """
    return loads(_bytes_of(Path(path)), file=str(path))


def _bytes_of(path: Path) -> bytes:
    expected = f"a plant file, *{SUFFIX}"
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise Refusal("", "a folder", expected, file=str(path))
        if not stat.S_ISREG(mode):
            # A pipe or a device could keep us waiting for ever.
            raise Refusal("", "something that is not a file", expected, file=str(path))
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        found = "no such file"
    except PermissionError:
        found = "no permission to read it"
    except (OSError, ValueError) as error:
        found = f"it cannot be read ({getattr(error, 'strerror', None) or error})"
    raise Refusal("", found, expected, file=str(path)) from None


def loads(text: str | bytes, file: str = "") -> Plant:
    """The plant in a text or in bytes; `file` is named in refusals."""
    try:
        plain = syntax.decoded(text) if isinstance(text, bytes) else text
        data = syntax.parsed(plain)
    except Refusal as refusal:
        raise refusal.located(file=file) from None
    return from_data(data, file)


def from_data(data: Any, file: str = "") -> Plant:
    """The plant in JSON data; `file` is named in refusals."""
    try:
        plant = _plant(data)
        problems = validity.check(plant)
    except Refusal as refusal:
        raise refusal.located(file=file) from None
    if problems:
        raise problems[0].located(file=file)
    return plant


def _plant(data: Any) -> Plant:
    if not isinstance(data, dict):
        raise Refusal("", value_text(data), f'an object {{"format": "{FORMAT}", …}}')
    _check_format(data)
    given = read_object(data, "", _TOP)
    items = _named(given.get("items", []), "items", MOST_ITEMS, "items", _item)
    pipes = _named(given.get("pipes", []), "pipes", MOST_PIPES, "pipes", _pipe, items)
    return Plant(
        title=read_text(given.get("title", ""), "title", LONGEST_LABEL),
        units=read_choice(given.get("units", "us"), ("us", "si"), "units"),
        site=_site(given.get("site", {})),
        systems=_systems(given.get("systems", {})),
        items=items,
        pipes=pipes,
        cases=_cases(given.get("cases", [])),
        texts=_records(given, "texts", records.text),
        logbook=_records(given, "logbook", records.logbook),
        readings=_records(given, "readings", records.reading),
        accepted=_records(given, "accepted", records.accepted),
        version=VERSION,
        revision=read_text(given.get("revision", ""), "revision", LONGEST_LABEL),
    )


def _check_format(data: Mapping[str, Any]) -> None:
    if data.get("format") != FORMAT:
        found = value_text(data["format"]) if "format" in data else "nothing"
        raise Refusal("format", found, f'"{FORMAT}"', "This is not a plant file" if "format" in data else "")
    version = data.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise Refusal("version", value_text(version) if "version" in data else "nothing", f"{VERSION}")
    if version > VERSION:
        hint = "A newer wetside wrote it; open it with that one"
        raise Refusal("version", value_text(version), f"at most {VERSION}", hint)


def _named(
    raw: Any,
    path: str,
    most: int,
    of: str,
    read: Callable[[Any, str], _Part],
    before: Mapping[str, Any] | None = None,
) -> dict[str, _Part]:
    """Items or pipes by id; ids are unique over both."""
    parts: dict[str, _Part] = {}
    for number, one in enumerate(read_list(raw, path, 0, most, of)):
        place = f"{path}[{number}]"
        part = read(one, place)
        name = part.id  # type: ignore[attr-defined]
        if name in parts or (before is not None and name in before):
            other = (
                f"items[{list(before).index(name)}]"
                if before and name in before
                else _place_of(parts, name, path)
            )
            raise Refusal(
                f"{place}.id", value_text(name), "an id used once over items and pipes", f"{other} has it too"
            )
        parts[name] = part
    return parts


def _place_of(parts: Mapping[str, Any], name: str, path: str) -> str:
    return f"{path}[{list(parts).index(name)}]"


def _item(raw: Any, path: str) -> Item:
    given = read_object(raw, path, _ITEM, ("id", "kind", "at"))
    name = read_name(given["id"], f"{path}.id")
    kind = given["kind"]
    if not isinstance(kind, str) or kind not in KINDS:
        hint = nearest(kind, KINDS) if isinstance(kind, str) else ""
        raise Refusal(f"{path}.kind", value_text(kind), "a kind of `wetside kinds`", hint)
    turn = given.get("turn", 0)
    if isinstance(turn, bool) or turn not in (0, 90, 180, 270):
        raise Refusal(f"{path}.turn", value_text(turn), "0, 90, 180 or 270")
    return Item(
        id=name,
        kind=kind,
        at=_point(given["at"], f"{path}.at"),
        turn=turn,
        flip=read_flag(given.get("flip", False), f"{path}.flip"),
        label=read_text(given.get("label", ""), f"{path}.label", LONGEST_LABEL),
        note=read_text(given.get("note", ""), f"{path}.note"),
        stage=read_choice(given.get("stage", "drawn"), STAGES, f"{path}.stage"),
        props=_props(kind, given.get("props", {}), f"{path}.props"),
    )


def _props(kind: str, raw: Any, path: str) -> Mapping[str, Any]:
    if not isinstance(raw, dict):
        raise Refusal(path, value_text(raw), "an object of properties")
    properties = KINDS[kind].properties
    for name, value in raw.items():
        if name not in properties:
            raise _foreign_property(kind, name, path)
        to_si(properties[name], value, f"{path}.{name}")
    return raw


def _foreign_property(kind: str, name: str, path: str) -> Refusal:
    known = KINDS[kind].properties
    owners = [other for other, entry in KINDS.items() if name in entry.properties]
    hint = nearest(name, known)
    if owners:
        shown = ", ".join(owners[:4]) + (" …" if len(owners) > 4 else "")
        hint = f"{name} belongs to {shown}" + (f". {hint}" if hint else "")
    own = ", ".join(entry for entry, prop in known.items() if not prop.safety) or "none"
    return Refusal(under(path, name), f"property {value_text(name)}", f"a property of {kind}: {own}", hint)


def _point(raw: Any, path: str) -> tuple[float, float]:
    if not isinstance(raw, (list, tuple)) or len(raw) != 2:
        raise Refusal(path, value_text(raw), "a place [x, y]")
    for number, one in enumerate(raw):
        read_number(one, f"{path}[{number}]", -FARTHEST, FARTHEST)
    return (raw[0], raw[1])


def _port(raw: Any, path: str) -> PortRef:
    if not isinstance(raw, (list, tuple)) or len(raw) != 2:
        raise Refusal(path, value_text(raw), '[item, port] such as ["P-1", "out"]')
    for number, one in enumerate(raw):
        if not is_name(one):
            read_name(one, f"{path}[{number}]")
    return PortRef(*raw)


def _pipe(raw: Any, path: str) -> Pipe:
    given = read_object(raw, path, _PIPE, ("id", "from", "to", "system"))
    joined = given.get("joined", "")
    if "joined" in given:
        read_choice(joined, ("flanged",), f"{path}.joined")
    else:
        read_object(given, path, _PIPE, ("tube", "length"))
    if "tube" in given:
        read_tube(given["tube"], f"{path}.tube")
    if "length" in given:
        read_quantity(given["length"], "length", f"{path}.length", "0 ft", "100000 ft")
    if "straight" in given:
        read_quantity(given["straight"], "length", f"{path}.straight", "0 ft", "100000 ft")
    if "around" in given:
        read_quantity(given["around"], "temperature", f"{path}.around", *_TEMPERATURE)
    k = given.get("k", 0.0)
    read_number(k, f"{path}.k", 0.0, 1e6)
    via = read_list(given.get("via", []), f"{path}.via", 0, MOST_BENDS, "bends [x, y]")
    return Pipe(
        id=read_name(given["id"], f"{path}.id"),
        start=_port(given["from"], f"{path}.from"),
        end=_port(given["to"], f"{path}.to"),
        system=read_name(given["system"], f"{path}.system"),
        tube=given.get("tube"),
        length=given.get("length"),
        fittings=_fittings(given.get("fittings", {}), f"{path}.fittings"),
        k=k,
        joined=joined,
        straight=given.get("straight"),
        insulation=_insulation(given["insulation"], f"{path}.insulation") if "insulation" in given else None,
        around=given.get("around"),
        via=tuple(_point(one, f"{path}.via[{number}]") for number, one in enumerate(via)),
        label=read_text(given.get("label", ""), f"{path}.label", LONGEST_LABEL),
        note=read_text(given.get("note", ""), f"{path}.note"),
        stage=read_choice(given.get("stage", "drawn"), STAGES, f"{path}.stage"),
    )


def _fittings(raw: Any, path: str) -> Mapping[str, int]:
    if not raw and isinstance(raw, dict):
        return raw
    from core.media.fittings import FITTINGS

    for name, count in read_object(raw, path, FITTINGS, what="fitting").items():
        read_number(count, under(path, name), 0, 1000, whole=True)
    return raw  # type: ignore[no-any-return]


def _insulation(raw: Any, path: str) -> Mapping[str, Any]:
    given = read_object(raw, path, ("thickness", "conductivity", "loss"))
    if "loss" in given:
        if len(given) > 1:
            other = next(key for key in given if key != "loss")
            raise Refusal(
                f"{path}.{other}", value_text(given[other]), "nothing beside loss", "Loss is given directly"
            )
        read_quantity(given["loss"], "conductivity", f"{path}.loss", "0 W/m/K", "1000 W/m/K")
        return given
    if "thickness" not in given:
        raise Refusal(f"{path}.thickness", "nothing", "a thickness, or loss per length")
    read_quantity(given["thickness"], "length", f"{path}.thickness", "0 mm", "1 m")
    if "conductivity" in given:
        read_quantity(
            given["conductivity"], "conductivity", f"{path}.conductivity", "0.001 W/m/K", "100 W/m/K"
        )
    return given


def _site(raw: Any) -> Mapping[str, Any]:
    given = read_object(raw, "site", ("outdoor_design", "cold_water", "indoor", "altitude"))
    for key, value in given.items():
        if key == "altitude":
            read_quantity(value, "length", "site.altitude", "-500 m", "9000 m")
        else:
            read_quantity(value, "temperature", f"site.{key}", "-60 degC", "60 degC")
    return given


def _systems(raw: Any) -> dict[str, System]:
    if not isinstance(raw, dict):
        raise Refusal("systems", value_text(raw), "an object of systems by name")
    if len(raw) > MOST_SYSTEMS:
        raise Refusal("systems", f"{len(raw)} systems", f"at most {MOST_SYSTEMS}")
    systems = {}
    for name, one in raw.items():
        path = under("systems", name)
        read_name(name, path)
        given = read_object(one, path, ("use", "fluid", "fill_pressure"))
        fill = given.get("fill_pressure")
        if "fill_pressure" in given:
            read_quantity(fill, "pressure", f"{path}.fill_pressure", "0 psi", "1000 psi")
        systems[name] = System(
            name=name,
            use=read_choice(given.get("use", "closed"), ("potable", "closed"), f"{path}.use"),
            fluid=_fluid(given.get("fluid", {"kind": "water"}), f"{path}.fluid"),
            fill_pressure=fill,
        )
    return systems


_FLUID_KEYS = {
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
    "reference": ("temperature", *_TEMPERATURE),
}


def _fluid(raw: Any, path: str) -> Mapping[str, Any]:
    if not isinstance(raw, dict):
        raise Refusal(path, value_text(raw), 'an object such as {"kind": "water"}')
    if "kind" not in raw:
        raise Refusal(f"{path}.kind", "nothing", "one of " + ", ".join(_FLUID_KEYS))
    kind = read_choice(raw["kind"], tuple(_FLUID_KEYS), f"{path}.kind")
    required = ("kind", *_FLUID_KEYS[kind])
    given = read_object(raw, path, (*required, *(_FLUID_OPTIONS if kind == "custom" else ())), required)
    for key, (dimension, low, high) in _FLUID_RANGES.items():
        if key in given:
            read_quantity(given[key], dimension, f"{path}.{key}", low, high)
    if "expansion" in given:
        if isinstance(given["expansion"], str):
            read_quantity(given["expansion"], "expansion", f"{path}.expansion", "-0.01 1/K", "0.01 1/K")
        else:
            read_number(given["expansion"], f"{path}.expansion", -0.01, 0.01)
    if "fraction" in given:
        _check_fraction(given, path)
    return given


def _check_fraction(given: Mapping[str, Any], path: str) -> None:
    from core.media.fluids import fluid_of

    read_number(given["fraction"], f"{path}.fraction", 0.0, 1.0)
    try:
        fluid_of(given)
    except Refusal as refusal:
        raise Refusal(
            f"{path}.fraction", value_text(given["fraction"]), refusal.expected, refusal.hint
        ) from None


def _cases(raw: Any) -> tuple[Case, ...]:
    cases: list[Case] = []
    for number, one in enumerate(read_list(raw, "cases", 0, MOST_CASES, "cases")):
        path = f"cases[{number}]"
        case = _case(one, path)
        if any(other.name == case.name for other in cases):
            raise Refusal(
                f"{path}.name", value_text(case.name), "a name used once", "Another case has it too"
            )
        cases.append(case)
    return tuple(cases)


def _case(raw: Any, path: str) -> Case:
    given = read_object(raw, path, _CASE, ("name",))
    name = read_text(given["name"], f"{path}.name", LONGEST_LABEL)
    if not name.strip():
        raise Refusal(f"{path}.name", value_text(name), "a name")
    if "outdoor" in given:
        read_quantity(given["outdoor"], "temperature", f"{path}.outdoor", "-60 degC", "60 degC")
    hours = given.get("hours_per_year")
    if "hours_per_year" in given:
        read_number(hours, f"{path}.hours_per_year", 0.0, 8784.0)
    signals = _mapping(given, "signals", path, read_flag)
    draws = _mapping(
        given, "draws", path, lambda one, place: read_quantity(one, "flow", place, "0 gpm", "20000 gpm")
    )
    tanks = _mapping(given, "tanks", path, _tank_state)
    return Case(
        name=name,
        outdoor=given.get("outdoor"),
        signals=signals,
        draws=draws,
        tanks=tanks,
        season=read_text(given.get("season", ""), f"{path}.season", LONGEST_LABEL),
        hours_per_year=hours,
        note=read_text(given.get("note", ""), f"{path}.note"),
    )


def _mapping(
    given: Mapping[str, Any], key: str, path: str, check: Callable[[Any, str], Any]
) -> Mapping[str, Any]:
    raw = given.get(key, {})
    place = f"{path}.{key}"
    if not isinstance(raw, dict):
        raise Refusal(place, value_text(raw), "an object by id")
    for name, one in raw.items():
        check(one, under(place, name))
    return raw


def _tank_state(raw: Any, path: str) -> None:
    if isinstance(raw, dict):
        for tap, one in raw.items():
            read_quantity(one, "temperature", under(path, tap), *_TEMPERATURE)
        return
    read_quantity(raw, "temperature", path, *_TEMPERATURE)


def _records(
    given: Mapping[str, Any], key: str, check: Callable[[Any, str], Mapping[str, Any]]
) -> tuple[Mapping[str, Any], ...]:
    entries = read_list(given.get(key, []), key, 0, MOST_RECORDS, "records")
    return tuple(check(one, f"{key}[{number}]") for number, one in enumerate(entries))
