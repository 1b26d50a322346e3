"""Raw values of properties to SI, one reader for each type of the vocabulary.

Not for rules between properties or items: those are in `core.plant.validity`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.document import FLUID, FLUIDS, INSULATION
from core.vocabulary.surfaces import read_surfaces
from core.vocabulary.timetables import read_days, read_intervals
from core.vocabulary.values import (
    LONGEST_LABEL,
    nearest,
    read_choice,
    read_flag,
    read_lift,
    read_list,
    read_name,
    read_number,
    read_object,
    read_quantity,
    read_text,
    under,
)
from core.vocabulary.words import SMOOTH, UNKNOWN, InsulationValues, Lift, Property, TubeValues

DEEPEST_LOGIC = 12


def to_si(prop: Property, raw: Any, path: str = "") -> Any:
    """Raw value of a property as the solver reads it.

    Parameters
    ----------
    prop : Property
        The property
    raw : Any
        Value as in the file
    path : str
        Place named in a refusal

    Returns
    -------
    Any
        float [SI], Lift, tuple of rows, dict, …; "unknown" stays

    Raises
    ------
    Refusal
        Wrong type, dimension, range or word
    """
    if prop.safety and raw == UNKNOWN:
        return UNKNOWN
    try:
        return _READERS[prop.type](prop, raw, path)
    except Refusal as refusal:
        if not prop.safety:
            raise
        raise Refusal(
            refusal.path, refusal.found, f'{refusal.expected}, or "{UNKNOWN}"', refusal.hint
        ) from None


def default_si(prop: Property) -> Any:
    """What an absent property counts as, [SI]; None where nothing is assumed."""
    return None if prop.default is None else to_si(prop, prop.default)


def _cell(dimension: str, raw: Any, path: str) -> Any:
    if dimension == "lift":
        return read_lift(raw, path)
    if dimension == "number":
        return read_number(raw, path, 0.0, 100.0)
    low, high = _CELL_RANGES.get(dimension, (None, None))
    return read_quantity(raw, dimension, path, low, high)


_CELL_RANGES = {
    "flow": ("0 gpm", "20000 gpm"),
    "temperature": ("-60 degC", "250 degC"),
    "power": ("0 Btu/h", "100000 kBtu/h"),
    "energy": ("0 Btu", "10000000 MJ"),
    "degree_days": ("0 K*day", "20000 K*day"),
}


def _column_words(dimension: str) -> str:
    return "a number" if dimension == "number" else units.words(dimension)


def _rows(prop: Property, raw: Any, path: str) -> tuple[tuple[Any, ...], ...]:
    rows = []
    for number, row in enumerate(read_list(raw, path, 1, 200, "rows")):
        place = f"{path}[{number}]"
        if not isinstance(row, (list, tuple)) or len(row) != len(prop.columns):
            words = ", ".join(_column_words(column) for column in prop.columns)
            raise Refusal(place, value_text(row), f"a row [{words}]")
        rows.append(
            tuple(
                _cell(c, cell, f"{place}[{i}]")
                for i, (c, cell) in enumerate(zip(prop.columns, row, strict=True))
            )
        )
    return tuple(rows)


def _points(prop: Property, raw: Any, path: str) -> tuple[tuple[Any, ...], ...]:
    rows = _rows(prop, raw, path)
    for number in range(1, len(rows)):
        place = f"{path}[{number}]"
        if rows[number][0] <= rows[number - 1][0]:
            raise Refusal(
                f"{place}[0]",
                value_text(raw[number][0]),
                f"more than {value_text(raw[number - 1][0])} of the row before",
            )
        if prop.columns[1] == "lift" and rows[number][1].is_head != rows[number - 1][1].is_head:
            raise Refusal(
                f"{place}[1]", value_text(raw[number][1]), "all heads or all pressures, as in the row before"
            )
    if prop.name == "curve":
        _check_curve(rows, raw, path)
    elif prop.columns[1] == "lift":
        _check_drops(rows, raw, path)
    return rows


def _check_curve(rows: Sequence[tuple[Any, ...]], raw: Any, path: str) -> None:
    if len(rows) < 2:
        raise Refusal(path, "1 point", "at least two points")
    for number in range(1, len(rows)):
        if rows[number][1].value > rows[number - 1][1].value:
            raise Refusal(
                f"{path}[{number}][1]",
                value_text(raw[number][1]),
                f"at most {value_text(raw[number - 1][1])} of the point before",
                "A circulator's curve may not rise",
            )
    if rows[0][1].value <= 0.0:
        raise Refusal(f"{path}[0][1]", value_text(raw[0][1]), "a head above 0 at the first point")


def _check_drops(rows: Sequence[tuple[Any, ...]], raw: Any, path: str) -> None:
    flow, lift = rows[0]
    if flow == 0.0 and (lift.value != 0.0 or len(rows) == 1):
        raise Refusal(
            f"{path}[0]", value_text(raw[0][1]), "a point at some flow; drops go through the origin"
        )
    for number in range(1, len(rows)):
        if rows[number][1].value < rows[number - 1][1].value:
            raise Refusal(
                f"{path}[{number}][1]",
                value_text(raw[number][1]),
                f"at least {value_text(raw[number - 1][1])} of the point before",
                "Drops never fall as the flow grows",
            )


def _rated(prop: Property, raw: Any, path: str) -> dict[str, float]:
    given = read_object(raw, path, prop.fields, prop.required)
    values = {key: _cell(prop.fields[key], cell, under(path, key)) for key, cell in given.items()}
    for key, value in values.items():
        if prop.fields[key] in ("flow", "power", "degree_days") and value <= 0.0:
            raise Refusal(
                under(path, key), value_text(given[key]), f"{units.words(prop.fields[key])} above 0"
            )
    return values


def _heights(prop: Property, raw: Any, path: str) -> dict[str, float]:
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), "an object of names, each with its height")
    if len(raw) > 100:
        raise Refusal(path, f"{len(raw)} names", "at most 100 names")
    values = {}
    for key, height in raw.items():
        read_name(key, under(path, key))
        values[key] = read_quantity(height, "length", under(path, key), prop.low, prop.high)
    return values


def _number_list(prop: Property, raw: Any, path: str) -> float | tuple[float, ...]:
    if isinstance(raw, (list, tuple)):
        read_list(raw, path, 1, 40, "numbers")
        return tuple(read_number(one, f"{path}[{i}]", prop.low, prop.high) for i, one in enumerate(raw))
    return read_number(raw, path, prop.low, prop.high)


def _loops(prop: Property, raw: Any, path: str) -> tuple[tuple[int, float], ...]:
    loops = []
    for number, loop in enumerate(read_list(raw, path, 1, 200, "lengths or [count, length]")):
        place = f"{path}[{number}]"
        if isinstance(loop, (list, tuple)):
            if len(loop) != 2:
                raise Refusal(place, value_text(loop), "[count, length]")
            count = int(read_number(loop[0], f"{place}[0]", 1, 500, whole=True))
            loops.append((count, read_quantity(loop[1], "length", f"{place}[1]", prop.low, prop.high)))
        else:
            loops.append((1, read_quantity(loop, "length", place, prop.low, prop.high)))
    return tuple(loops)


def read_tube(raw: Any, path: str) -> TubeValues:
    """A tube: catalogue material and size, or bore, roughness and outside.

    A bore alone counts as smooth drawn tube without a wall.
    """
    if isinstance(raw, Mapping) and "bore" in raw:
        return _bare_tube(raw, path)
    from core.media import tubes

    given = read_object(raw, path, ("material", "size"), ("material", "size"))
    material = read_choice(given["material"], tubes.materials(), under(path, "material"))
    size = read_text(given["size"], under(path, "size"), 40)
    try:
        tube = tubes.tube_of(material, size)
    except Refusal as refusal:
        sizes = tubes.sizes(material)
        hint = refusal.hint or nearest(size, sizes)
        expected = f"a size of {material}: {', '.join(sizes)}"
        raise Refusal(under(path, "size"), value_text(size), expected, hint) from None
    return TubeValues(tube.bore, tube.roughness, tube.outside)


def _bare_tube(raw: Mapping[str, Any], path: str) -> TubeValues:
    given = read_object(raw, path, ("bore", "roughness", "outside"))
    bore = read_quantity(raw["bore"], "length", under(path, "bore"), "0.5 mm", "3 m")
    rough, outside = SMOOTH, bore
    if "roughness" in given:
        rough = read_quantity(given["roughness"], "length", under(path, "roughness"), "0 mm", "10 mm")
        if rough > 0.2 * bore:
            raise Refusal(
                under(path, "roughness"), value_text(given["roughness"]), "at most a fifth of the bore"
            )
    if "outside" in given:
        outside = read_quantity(given["outside"], "length", under(path, "outside"), "0.5 mm", "4 m")
        if outside < bore:
            raise Refusal(under(path, "outside"), value_text(given["outside"]), "at least the bore")
    return TubeValues(bore, rough, outside)


def signal_names(raw: Any) -> tuple[str, ...]:
    """Names that a signal expression mentions."""
    if isinstance(raw, str):
        return (raw,)
    if isinstance(raw, Mapping):
        return tuple(name for part in raw.values() for name in signal_names(part))
    if isinstance(raw, (list, tuple)):
        return tuple(name for part in raw for name in signal_names(part))
    return ()


def _signals(prop: Property, raw: Any, path: str, depth: int = 0) -> Any:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str):
        return read_name(raw, path)
    expected = 'a signal\'s name, true, false, {"any": […]}, {"all": […]} or {"not": …}'
    if not isinstance(raw, Mapping) or len(raw) != 1 or depth > DEEPEST_LOGIC:
        raise Refusal(path, value_text(raw), expected, "Nested too deep" if depth > DEEPEST_LOGIC else "")
    word, part = next(iter(raw.items()))
    if word not in ("any", "all", "not"):
        raise Refusal(
            under(path, word),
            f"key {value_text(word)}",
            "any, all or not",
            nearest(word, ("any", "all", "not")),
        )
    place = under(path, word)
    if word == "not":
        return {"not": _signals(prop, part, place, depth + 1)}
    names = read_list(part, place, 0, 200, "signals")
    return {word: [_signals(prop, one, f"{place}[{i}]", depth + 1) for i, one in enumerate(names)]}


def _place(prop: Property, raw: Any, path: str) -> tuple[str, ...]:
    for number, name in enumerate(read_list(raw, path, 1, 2, "an id and a port or sensor")):
        read_name(name, f"{path}[{number}]")
    return tuple(raw)


def _places(prop: Property, raw: Any, path: str) -> tuple[tuple[str, ...], ...]:
    pair = read_list(raw, path, 2, 2, "two places [item, port]")
    return tuple(_place(prop, one, f"{path}[{i}]") for i, one in enumerate(pair))


def _items(prop: Property, raw: Any, path: str) -> tuple[str, ...]:
    if isinstance(raw, (list, tuple)):
        return tuple(
            read_name(one, f"{path}[{i}]") for i, one in enumerate(read_list(raw, path, 1, 200, "ids"))
        )
    return (read_name(raw, path),)


def _target(prop: Property, raw: Any, path: str) -> float | Lift:
    unit = units.split_quantity(raw)[1] if isinstance(raw, str) else ""
    if unit in units.DIMENSIONS["temperature_difference"]:
        return read_quantity(raw, "temperature_difference", path, "0 K", "200 K")
    if unit in units.units_of("lift"):
        return read_lift(raw, path)
    expected = (
        'a difference of temperature such as "20 delta_degF", or a head or pressure such as "9 ft_head"'
    )
    raise Refusal(path, value_text(raw), expected)


def _flag_or_quantity(prop: Property, raw: Any, path: str) -> Any:
    if isinstance(raw, bool):
        return raw
    return read_quantity(raw, prop.dimension or "", path, prop.low, prop.high)


def _quantity(prop: Property, raw: Any, path: str) -> float:
    return read_quantity(raw, prop.dimension or "", path, prop.low, prop.high)


def _number_or_quantity(prop: Property, raw: Any, path: str) -> float:
    if isinstance(raw, str):
        return _quantity(prop, raw, path)
    low, high = (units.parse(end, prop.dimension or "") for end in (prop.low, prop.high))
    return read_number(raw, path, low, high)


def read_fluid(raw: Any, path: str) -> dict[str, Any]:
    """A fluid as `core.media.fluids.fluid_of` takes it; not one unknown, unfinished or beyond its table."""
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), 'an object such as {"kind": "water"}')
    if "kind" not in raw:
        raise Refusal(under(path, "kind"), "nothing", "one of " + ", ".join(FLUIDS))
    kind = read_choice(raw["kind"], tuple(FLUIDS), under(path, "kind"))
    required = ("kind", *FLUIDS[kind])
    options = [key for key in FLUID if key != "fraction"] if "density" in required else ()
    given = read_object(raw, path, (*required, *options), required)
    values = {key: to_si(FLUID[key], value, under(path, key)) for key, value in given.items()}
    if "fraction" in values:
        from core.media.fluids import fluid_of

        try:
            fluid_of(values)
        except Refusal as refusal:
            found = value_text(given["fraction"])
            raise Refusal(under(path, "fraction"), found, refusal.expected, refusal.hint) from None
    return values


def read_insulation(raw: Any, path: str = "insulation") -> InsulationValues | float:
    """A thickness with its conductivity, or the heat lost per length, [W/m/K]."""
    given = read_object(raw, path, INSULATION)
    values = {key: to_si(INSULATION[key], one, under(path, key)) for key, one in given.items()}
    if "loss" in values:
        if len(given) > 1:
            other = next(key for key in given if key != "loss")
            raise Refusal(under(path, other), value_text(given[other]), "nothing beside loss")
        return float(values["loss"])
    if "thickness" not in values:
        raise Refusal(under(path, "thickness"), "nothing", "a thickness, or loss per length")
    usual = default_si(INSULATION["conductivity"])
    return InsulationValues(values["thickness"], values.get("conductivity", usual))


def _fittings(prop: Property, raw: Any, path: str) -> dict[str, int]:
    if isinstance(raw, Mapping) and not raw:
        return {}
    from core.media.fittings import FITTINGS

    given = read_object(raw, path, FITTINGS, what="fitting")
    return {
        name: int(read_number(count, under(path, name), 0, 1000, whole=True)) for name, count in given.items()
    }


def _by_id(raw: Any, path: str, read: Callable[[Any, str], Any]) -> dict[str, Any]:
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), "an object by id")
    return {name: read(value, under(path, name)) for name, value in raw.items()}


def _quantities(prop: Property, raw: Any, path: str) -> dict[str, float]:
    return _by_id(raw, path, lambda value, place: _quantity(prop, value, place))


def _quantities_by_tap(prop: Property, raw: Any, path: str) -> dict[str, float | dict[str, float]]:
    def read(value: Any, place: str) -> Any:
        by_tap = isinstance(value, Mapping)
        return _quantities(prop, value, place) if by_tap else _quantity(prop, value, place)

    return _by_id(raw, path, read)


def _case_set(raw: Any, path: str) -> Any:
    if not isinstance(raw, Mapping) or not raw:
        raise Refusal(path, value_text(raw), 'an object of properties such as {"speed": 0.5}')
    return raw


_READERS: dict[str, Callable[[Property, Any, str], Any]] = {
    "quantity": _quantity,
    "lift": lambda prop, raw, path: read_lift(raw, path),
    "target": _target,
    "number": lambda prop, raw, path: read_number(raw, path, prop.low, prop.high),
    "integer": lambda prop, raw, path: read_number(raw, path, prop.low, prop.high, whole=True),
    "boolean": lambda prop, raw, path: read_flag(raw, path),
    "choice": lambda prop, raw, path: read_choice(raw, prop.choices, path),
    "text": lambda prop, raw, path: read_text(raw, path, LONGEST_LABEL),
    "flag_or_quantity": _flag_or_quantity,
    "points": _points,
    "table": _rows,
    "rated": _rated,
    "heights": _heights,
    "number_list": _number_list,
    "loops": _loops,
    "surfaces": read_surfaces,
    "tube": lambda prop, raw, path: read_tube(raw, path),
    "signals": _signals,
    "place": _place,
    "places": _places,
    "item": lambda prop, raw, path: read_name(raw, path),
    "items": _items,
    "intervals": lambda prop, raw, path: read_intervals(raw, path),
    "days": lambda prop, raw, path: read_days(raw, path),
    "number_or_quantity": _number_or_quantity,
    "fluid": lambda prop, raw, path: read_fluid(raw, path),
    "insulation": lambda prop, raw, path: read_insulation(raw, path),
    "fittings": _fittings,
    "flags": lambda prop, raw, path: _by_id(raw, path, read_flag),
    "quantities": _quantities,
    "quantities_by_tap": _quantities_by_tap,
    "case_set": lambda prop, raw, path: _by_id(raw, path, _case_set),
}
