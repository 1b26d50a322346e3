"""What one item must be by itself: its properties, their values, and which exclude one another.

Not for what it needs of other items: that is `core.plant.reference_rules`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import STAGES, Item
from core.vocabulary import KINDS, UNKNOWN, nearest, to_si
from core.vocabulary.values import LONGEST_LABEL, read_choice, read_flag, read_name, read_text, under

# Of each pair at most one may be given.
_EXCLUDING: dict[str, tuple[tuple[str, str, str], ...]] = {
    "exchanger": (("ua", "rated", "A rated point gives the UA itself"),),
    "radiator": (("ua", "rated", "A rated point gives the UA itself"),),
    "fan_coil": (("ua", "rated", "A rated point gives the UA itself"),),
    "three_way_valve": (("position", "target", "It stands still or holds a temperature"),),
}
_LOSSES = ("cv", "k", "drops")
# Of each pair the first may not exceed the second.
_ORDERED: dict[str, tuple[tuple[str, str], ...]] = {
    "heater": (("min_flow", "max_flow"), ("min_output", "capacity")),
    "boiler": (("min_output", "capacity"),),
    "expansion_tank": (("acceptance", "volume"),),
}


def check_item(item: Item, path: str = "") -> None:
    """Refuse an item that cannot be taken as it is; `path` is its place, such as ``items[3]``."""
    read_name(item.id, under(path, "id"))
    if not isinstance(item.kind, str) or item.kind not in KINDS:
        hint = nearest(item.kind, KINDS) if isinstance(item.kind, str) else ""
        raise Refusal(under(path, "kind"), value_text(item.kind), "a kind of `wetside kinds`", hint)
    if isinstance(item.turn, bool) or item.turn not in (0, 90, 180, 270):
        raise Refusal(under(path, "turn"), value_text(item.turn), "0, 90, 180 or 270")
    read_flag(item.flip, under(path, "flip"))
    read_text(item.label, under(path, "label"), LONGEST_LABEL)
    read_text(item.note, under(path, "note"))
    read_choice(item.stage, STAGES, under(path, "stage"))
    check_props(item.kind, item.props, under(path, "props"))


def check_props(kind: str, props: Mapping[str, Any], path: str = "props") -> None:
    """Refuse properties that `kind` does not have, values it cannot take, and contradictions."""
    properties = KINDS[kind].properties
    if not isinstance(props, Mapping):
        raise Refusal(path, value_text(props), "an object of properties")
    values: dict[str, Any] = {}
    for name, raw in props.items():
        if name not in properties:
            raise _foreign_property(kind, name, path)
        values[name] = to_si(properties[name], raw, under(path, name))
    _check_losses(kind, props, values, path)
    for first, second, why in _EXCLUDING.get(kind, ()):
        if first in props and second in props:
            raise _both(props, first, second, path, why)
    for first, second in _ORDERED.get(kind, ()):
        _check_order(props, values, first, second, path)
    if kind in _CHECKS:
        _CHECKS[kind](props, values, path)


def _foreign_property(kind: str, name: str, path: str) -> Refusal:
    known = KINDS[kind].properties
    owners = [other for other, entry in KINDS.items() if name in entry.properties]
    hint = nearest(name, known)
    if owners:
        shown = ", ".join(owners[:4]) + (" …" if len(owners) > 4 else "")
        hint = f"{name} belongs to {shown}" + (f". {hint}" if hint else "")
    own = ", ".join(entry for entry, prop in known.items() if not prop.safety) or "none"
    return Refusal(under(path, name), f"property {value_text(name)}", f"a property of {kind}: {own}", hint)


def _both(props: Mapping[str, Any], first: str, second: str, path: str, why: str) -> Refusal:
    later = max(first, second, key=list(props).index)
    other = first if later == second else second
    return Refusal(under(path, later), value_text(props[later]), f"nothing beside {other}", why)


def _check_losses(kind: str, props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    if kind == "manifold":
        return
    given = [name for name in props if name in _LOSSES]
    if len(given) > 1:
        raise _both(props, given[0], given[1], path, "Two losses contradict one another")
    if values.get("k") and "size" not in props:
        raise Refusal(under(path, "size"), "nothing", "the size whose bore k refers to", "Or give cv instead")


def _check_order(
    props: Mapping[str, Any], values: Mapping[str, Any], first: str, second: str, path: str
) -> None:
    low, high = values.get(first), values.get(second)
    if low is None or high is None or UNKNOWN in (low, high) or low <= high:
        return
    expected = f"at most {second}, {value_text(props[second])}"
    raise Refusal(under(path, first), value_text(props[first]), expected)


def _check_circulator(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    control, target = values.get("control", "fixed"), values.get("target")
    if control == "fixed":
        return
    place = under(path, "target")
    wanted = (
        'a difference of temperature such as "20 delta_degF"'
        if control == "delta_t"
        else 'a head or pressure such as "9 ft_head"'
    )
    if target is None:
        raise Refusal(place, "nothing", f"{wanted}, which {control} holds")
    if (control == "delta_t") != isinstance(target, float):
        hint = "It is a head or pressure" if control == "delta_t" else "It is a difference of temperature"
        raise Refusal(place, value_text(props["target"]), f"{wanted} for {control}", hint)
    if control == "delta_t" and target <= 0.0:
        raise Refusal(place, value_text(props["target"]), "a difference above 0")


def _check_balance(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    if "set_flow" in props and values.get("setting", 1.0) != 1.0:
        raise _both(props, "setting", "set_flow", path, "A limiter stands wide open below its flow")


def _check_manifold(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    cv = values.get("cv")
    branches = values.get("branches", KINDS["manifold"].properties["branches"].default)
    if isinstance(cv, tuple) and len(cv) != branches:
        raise Refusal(under(path, "cv"), f"{len(cv)} entries", f"one for each of {branches} branches")


def _check_tank(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    taps, tall = values.get("taps"), values.get("tall")
    place = under(path, "taps")
    if taps is not None and not taps:
        raise Refusal(place, value_text(props["taps"]), "at least one tap")
    for name, height in (taps or {}).items():
        if name in KINDS["coil_tank"].ports:
            raise Refusal(
                under(place, name), f"tap {value_text(name)}", "a name that is not a port of the coil"
            )
        if tall is not None and height > tall:
            expected = f"at most the tank's height, {value_text(props['tall'])}"
            raise Refusal(under(place, name), value_text(props["taps"][name]), expected)
    for name in values.get("coil_heights", {}):
        if name not in KINDS["coil_tank"].ports:
            raise Refusal(under(under(path, "coil_heights"), name), value_text(name), "coil_in or coil_out")


def _check_radiator(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    rated = values.get("rated")
    if rated and rated["supply"] <= rated["room"]:
        place = under(path, "rated")
        expected = f"above the room, {value_text(props['rated']['room'])}"
        raise Refusal(under(place, "supply"), value_text(props["rated"]["supply"]), expected)


def _check_room(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    used = values.get("past_use")
    if not used:
        return
    raw, place = props["past_use"], under(path, "past_use")
    for key, least, most in (("efficiency", 0.01, 6.0), ("share", 0.0, 1.0)):
        if key in used and not least <= used[key] <= most:
            raise Refusal(under(place, key), value_text(raw[key]), f"a number from {least:g} to {most:g}")
    if used["fuel"] <= used.get("not_for_heat", 0.0):
        raise Refusal(
            under(place, "fuel"), value_text(raw["fuel"]), "more fuel than not_for_heat, or above nothing"
        )


def _check_heat_pump(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """Each row some power; no two rows of one weather and supply that differ."""
    place = under(path, "table")
    seen: dict[tuple[float, float], int] = {}
    for number, row in enumerate(values.get("table") or ()):
        raw = props["table"][number]
        if row[3] <= 0.0:
            raise Refusal(f"{place}[{number}][3]", value_text(raw[3]), "a power above 0")
        first = seen.setdefault(row[:2], number)
        if row != values["table"][first]:
            hint = f"Row [{first}] says otherwise of the same outdoor and supply temperature"
            expected = "one row for each pair of temperatures"
            raise Refusal(f"{place}[{number}]", value_text(raw), expected, hint)


_CHECKS = {
    "circulator": _check_circulator,
    "balance_valve": _check_balance,
    "manifold": _check_manifold,
    "tank": _check_tank,
    "coil_tank": _check_tank,
    "heat_pump": _check_heat_pump,
    "radiator": _check_radiator,
    "fan_coil": _check_radiator,
    "room": _check_room,
}
