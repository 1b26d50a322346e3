"""Raw values of properties, as they stand in a file, to SI; every refusal names its place.

Not for rules between properties or items: those are in `core.plant.validity`.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.words import SMOOTH, UNKNOWN, Lift, Property, TubeValues

LONGEST_TEXT = 20_000
LONGEST_LABEL = 200
LONGEST_LIST = 1000
DEEPEST_LOGIC = 12
NAME_RULE = "1 to 40 of A-Z a-z 0-9 _ . -"
_NAME_CHARACTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_.-")


def nearest(word: str, known: Iterable[str]) -> str:
    """Hint that names the nearest known word, empty where none is near."""
    if len(word) > 60:
        return ""
    names = list(known)
    if len(names) > 2000:
        names = [name for name in names if name[:1].lower() == word[:1].lower()][:2000]
    folded = {name.lower(): name for name in names}
    near = difflib.get_close_matches(word.lower(), folded, n=1, cutoff=0.5)
    return f"The nearest is {folded[near[0]]}" if near else ""


def is_name(text: Any) -> bool:
    """Whether `text` may be an id."""
    return isinstance(text, str) and 1 <= len(text) <= 40 and _NAME_CHARACTERS.issuperset(text)


def read_name(raw: Any, path: str) -> str:
    """An id or name."""
    if not is_name(raw):
        raise Refusal(path, value_text(raw), f"a name of {NAME_RULE}")
    return str(raw)


def read_text(raw: Any, path: str, longest: int = LONGEST_TEXT) -> str:
    """Plain text up to a length."""
    if not isinstance(raw, str):
        hint = "Write it between double quotes" if isinstance(raw, (int, float)) else ""
        raise Refusal(path, value_text(raw), f"text of at most {longest} characters", hint)
    if len(raw) > longest:
        raise Refusal(path, f"{len(raw)} characters", f"text of at most {longest} characters")
    return raw


def read_flag(raw: Any, path: str) -> bool:
    """A JSON true or false."""
    if not isinstance(raw, bool):
        hint = ""
        if isinstance(raw, str) and raw.lower() in ("true", "false", "yes", "no"):
            hint = "Write it without quotes"
        raise Refusal(path, value_text(raw), "true or false", hint)
    return raw


def read_number(
    raw: Any, path: str, low: float | None = None, high: float | None = None, whole: bool = False
) -> float:
    """A JSON number within a range, both ends taken."""
    expected = ("a whole number" if whole else "a number") + _range_words(low, high)
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise Refusal(path, value_text(raw), expected, _number_hint(raw))
    if isinstance(raw, float) and not math.isfinite(raw):
        raise Refusal(path, value_text(raw), expected)
    if whole and raw != int(raw):
        raise Refusal(path, value_text(raw), expected)
    if (low is not None and raw < low) or (high is not None and raw > high):
        raise Refusal(path, value_text(raw), expected, "Out of range")
    return int(raw) if whole else float(raw)


def _number_hint(raw: Any) -> str:
    if not isinstance(raw, str):
        return ""
    try:
        number = units.parse_number(raw)
    except Refusal as refusal:
        try:
            share, unit = units.split_quantity(raw)
        except Refusal:
            return refusal.hint
        return f"Write {share / 100.0:g}" if unit == "percent" else "It takes no unit"
    return f"Write {number:g} without quotes"


def _range_words(low: Any, high: Any) -> str:
    if low is not None and high is not None:
        return f" from {low} to {high}"
    if low is not None:
        return f" of at least {low}"
    return f" of at most {high}" if high is not None else ""


def read_choice(raw: Any, choices: Sequence[str], path: str) -> str:
    """One word of a closed list."""
    if not isinstance(raw, str) or raw not in choices:
        hint = nearest(raw, choices) if isinstance(raw, str) else ""
        raise Refusal(path, value_text(raw), "one of " + ", ".join(choices), hint)
    return raw


@cache
def _bound(text: str, dimension: str) -> float:
    return units.parse(text, dimension)


def read_quantity(raw: Any, dimension: str, path: str, low: Any = None, high: Any = None) -> float:
    """Text with a unit, [SI], within a range given as texts."""
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), units.expectation(dimension), quantity_hint(raw, dimension))
    try:
        value = units.parse(raw, dimension)
    except Refusal as refusal:
        raise refusal.located(path) from None
    below = low is not None and value < _bound(low, dimension)
    if below or (high is not None and value > _bound(high, dimension)):
        expected = units.WORDS[dimension] + _range_words(low, high)
        raise Refusal(path, value_text(raw), expected, "Out of range")
    return value


def quantity_hint(raw: Any, dimension: str) -> str:
    """What to write in place of a bare number."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        return "Write a text with number and unit"
    number = f"{raw:g}" if isinstance(raw, float) or abs(raw) < 10**12 else "it"
    if number == "it":
        return "Write it as text with its unit"
    return f'Write "{number} {units.unit_for(dimension, "us")}" with its unit'


def read_lift(raw: Any, path: str) -> Lift:
    """A head or a pressure, never below 0."""
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), units.expectation("lift"), quantity_hint(raw, "lift"))
    try:
        lift = Lift(*units.parse_lift(raw))
    except Refusal as refusal:
        raise refusal.located(path) from None
    if not 0.0 <= lift.value <= (3000.0 if lift.is_head else 1e7):
        raise Refusal(
            path,
            value_text(raw),
            "a head from 0 to 3000 m_head, or a pressure from 0 to 10 MPa",
            "Out of range",
        )
    return lift


def read_object(
    raw: Any, path: str, known: Iterable[str], required: Iterable[str] = (), what: str = "key"
) -> Mapping[str, Any]:
    """An object of known keys only."""
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), "an object {…}")
    names = known if isinstance(known, (set, frozenset, dict)) else list(known)
    for key in raw:
        if key not in names:
            raise Refusal(
                under(path, key), f"{what} {value_text(key)}", _keys_words(names), nearest(key, names)
            )
    for key in required:
        if key not in raw:
            raise Refusal(under(path, key), "nothing", f"the {what} {key}", _given(raw))
    return raw


def _keys_words(names: Iterable[str]) -> str:
    words = ", ".join(names)
    return f"one of {words}" if words else "no keys here"


def _given(raw: Mapping[str, Any]) -> str:
    return "Given are " + ", ".join(raw) if raw and len(raw) < 12 else ""


def under(path: str, key: str) -> str:
    """Path of a key below another path."""
    shown = key if is_name(key) and "." not in key else f"[{value_text(key)}]"
    if not path:
        return shown
    return f"{path}{shown}" if shown.startswith("[") else f"{path}.{shown}"


def read_list(
    raw: Any, path: str, shortest: int = 0, longest: int = LONGEST_LIST, of: str = ""
) -> Sequence[Any]:
    """A list of bounded length."""
    what = f"a list of {of}" if of else "a list"
    if not isinstance(raw, (list, tuple)):
        raise Refusal(path, value_text(raw), what)
    if not shortest <= len(raw) <= longest:
        count = f"{shortest}" if shortest == longest else f"{shortest} to {longest}"
        raise Refusal(path, f"{len(raw)} entries", f"{what}, {count} of them")
    return raw


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
}


def _rows(prop: Property, raw: Any, path: str) -> tuple[tuple[Any, ...], ...]:
    rows = []
    for number, row in enumerate(read_list(raw, path, 1, 200, "rows")):
        place = f"{path}[{number}]"
        if not isinstance(row, (list, tuple)) or len(row) != len(prop.columns):
            words = ", ".join(units.WORDS.get(column, column) for column in prop.columns)
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
                f"{path}[{number}][1]", value_text(raw[number][1]),
                f"at most {value_text(raw[number - 1][1])} of the point before", "A circulator's curve may not rise",
            )  # fmt: skip
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
                f"{path}[{number}][1]", value_text(raw[number][1]),
                f"at least {value_text(raw[number - 1][1])} of the point before", "Drops never fall as the flow grows",
            )  # fmt: skip


def _rated(prop: Property, raw: Any, path: str) -> dict[str, float]:
    given = read_object(raw, path, prop.fields, prop.required)
    values = {key: _cell(prop.fields[key], cell, under(path, key)) for key, cell in given.items()}
    for key, value in values.items():
        if prop.fields[key] in ("flow", "power") and value <= 0.0:
            raise Refusal(
                under(path, key), value_text(given[key]), f"{units.WORDS[prop.fields[key]]} above 0"
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
    "tube": lambda prop, raw, path: read_tube(raw, path),
    "signals": _signals,
    "place": _place,
    "places": _places,
    "item": lambda prop, raw, path: read_name(raw, path),
    "items": _items,
}
