"""Rules of validity of single kinds: what their values must be beside one another. Each raises Refusal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.vocabulary.values import under

BRANCHES = 3  # of a manifold that names none
COIL_PORTS = ("coil_in", "coil_out")


def both_given(props: Mapping[str, Any], first: str, second: str, path: str, why: str) -> Refusal:
    """Refusal of the later of two properties that exclude one another."""
    later = max(first, second, key=list(props).index)
    other = first if later == second else second
    return Refusal(under(path, later), value_text(props[later]), f"nothing beside {other}", why)


def check_circulator(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A control other than fixed needs a target, of its own dimension."""
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


def check_balance(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A limiter has no setting besides."""
    if "set_flow" in props and values.get("setting", 1.0) != 1.0:
        raise both_given(props, "setting", "set_flow", path, "A limiter stands wide open below its flow")


def check_manifold(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A list of cv has one for each branch."""
    cv = values.get("cv")
    branches = values.get("branches", BRANCHES)
    if isinstance(cv, tuple) and len(cv) != branches:
        raise Refusal(under(path, "cv"), f"{len(cv)} entries", f"one for each of {branches} branches")


def check_tank(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """Taps within the height of the tank, and no names of the coil."""
    taps, tall = values.get("taps"), values.get("tall")
    place = under(path, "taps")
    if taps is not None and not taps:
        raise Refusal(place, value_text(props["taps"]), "at least one tap")
    for name, height in (taps or {}).items():
        if name in COIL_PORTS:
            raise Refusal(
                under(place, name), f"tap {value_text(name)}", "a name that is not a port of the coil"
            )
        if tall is not None and height > tall:
            expected = f"at most the tank's height, {value_text(props['tall'])}"
            raise Refusal(under(place, name), value_text(props["taps"][name]), expected)
    for name in values.get("coil_heights", {}):
        if name not in COIL_PORTS:
            raise Refusal(under(under(path, "coil_heights"), name), value_text(name), "coil_in or coil_out")


def check_radiator(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A rated supply is warmer than the room."""
    rated = values.get("rated")
    if rated and rated["supply"] <= rated["room"]:
        place = under(path, "rated")
        expected = f"above the room, {value_text(props['rated']['room'])}"
        raise Refusal(under(place, "supply"), value_text(props["rated"]["supply"]), expected)


def check_exchanger(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A rated point tells its heat and, of each side, two of flow, inlet and outlet."""
    rated = values.get("rated")
    if not rated:
        return
    place = under(path, "rated")
    if "duty" in rated:
        for side in "ab":
            if f"{side}_flow" not in rated and f"{side}_out" not in rated:
                expected = f"{side}_flow or {side}_out beside duty and {side}_in"
                raise Refusal(under(place, f"{side}_out"), "nothing", expected, _given_there(rated))
        return
    for key in ("a_flow", "a_out", "b_flow"):
        if key not in rated:
            raise Refusal(under(place, key), "nothing", f"the key {key}, or duty", _given_there(rated))


def _given_there(rated: Mapping[str, Any]) -> str:
    return "Given are " + ", ".join(rated)


def check_timer(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """Once in a while is for some time."""
    if "every" in props and "for" not in props:
        raise Refusal(under(path, "for"), "nothing", 'how long it is on each time, such as "10 min"')


def check_room(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    """A season's fuel makes sense."""
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


def check_heat_pump(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
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
