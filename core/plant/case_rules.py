"""What a case may set: properties of items and pipes that are there, of values their file could hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.as_set import OUT_OF_SERVICE, PIPE_SETTABLE, item_as_set, pipe_as_set
from core.plant.item_rules import check_props
from core.plant.model import Case, Item, Pipe, Plant
from core.plant.pipe_rules import check_pipe
from core.plant.rated_rules import check_rated
from core.plant.reference_rules import check_item_links
from core.vocabulary import KINDS, nearest
from core.vocabulary.values import read_flag, read_object, under


def check_case_set(plant: Plant, case: Case, path: str) -> None:
    """Refuse a case that sets what is not there, may not differ by case, or could not stand in the file.

    `path` is the place of the case's `set`, such as ``cases[0].set``.
    """
    for name, values in case.set.items():
        place = under(path, name)
        if name in plant.items:
            _check_item(plant, plant.items[name], values, place)
        elif name in plant.pipes:
            _check_pipe(plant.pipes[name], values, place)
        else:
            near = nearest(name, [*plant.items, *plant.pipes])
            raise Refusal(place, value_text(name), "the id of an item or pipe", near)


def _check_item(plant: Plant, item: Item, values: Mapping[str, Any], path: str) -> None:
    known = KINDS[item.kind].properties
    for name, raw in values.items():
        place = under(path, name)
        if name == OUT_OF_SERVICE:
            read_flag(raw, place)
        elif name == "run_when":
            _check_run_when(raw, known, place)
        elif name == "senses":
            raise Refusal(place, value_text(raw), "nothing: what is sensed is the same in every case")
        elif name not in known:
            hint = nearest(name, [*known, OUT_OF_SERVICE])
            expected = f"a property of {item.kind}, or {OUT_OF_SERVICE}"
            raise Refusal(place, f"property {value_text(name)}", expected, hint)
    seen = item_as_set(item, values)
    try:
        check_props(item.kind, seen.props, "")
        if "rated" in values:
            check_rated(plant, seen, "")
        check_item_links(plant, seen, "")
    except Refusal as refusal:
        inner = refusal.path.removeprefix("props.")
        where = f"{path}.{inner}" if inner else path
        raise Refusal(where, refusal.found, refusal.expected, refusal.hint) from None
    if seen.ports != item.ports:
        changed = next(name for name in values if name in ("branches", "taps"))
        expected = "the same ports in every case: " + ", ".join(item.ports)
        raise Refusal(under(path, changed), value_text(values[changed]), expected)


def _check_run_when(raw: Any, known: Mapping[str, Any], path: str) -> None:
    if "run_when" not in known:
        raise Refusal(path, 'property "run_when"', "a property of its kind", nearest("run_when", known))
    if not isinstance(raw, bool):
        hint = "Signals are set by the case's `signals`"
        raise Refusal(path, value_text(raw), "true or false", hint)


def _check_pipe(pipe: Pipe, values: Mapping[str, Any], path: str) -> None:
    for name, raw in read_object(values, path, (*PIPE_SETTABLE, OUT_OF_SERVICE), what="property").items():
        if name == OUT_OF_SERVICE:
            read_flag(raw, under(path, name))
        elif raw is None:
            raise Refusal(under(path, name), "null", f"a value for {name}, or no such key")
    try:
        check_pipe(pipe_as_set(pipe, values))
    except Refusal as refusal:
        raise Refusal(f"{path}.{refusal.path}", refusal.found, refusal.expected, refusal.hint) from None
