"""What one item must be by itself: its properties, their values, and which exclude one another.

Not for what it needs of other items: that is `core.plant.reference_rules`.

* `size` of a valve is the length that is written: 3/4 in is a bore of 19.05 mm. `k` needs `size` beside it.
* JSON null is never "absent"; leave the key away.
* Besides the contract's pairs, `position` with `target`, and `set_flow` with a `setting` other than 1 are
  refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import Item
from core.vocabulary import KINDS, UNKNOWN, nearest, to_si
from core.vocabulary.document import STAGES
from core.vocabulary.item_checks import both_given
from core.vocabulary.values import LONGEST_LABEL, read_choice, read_flag, read_name, read_text, under

_LOSSES = ("cv", "k", "drops")


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
    _check_losses(props, values, path)
    for first, second, why in KINDS[kind].excluding:
        if first in props and second in props:
            raise both_given(props, first, second, path, why)
    for first, second in KINDS[kind].ordered:
        _check_order(props, values, first, second, path)
    for check in KINDS[kind].checks:
        check(props, values, path)


def _foreign_property(kind: str, name: str, path: str) -> Refusal:
    known = KINDS[kind].properties
    owners = [other for other, entry in KINDS.items() if name in entry.properties]
    hint = nearest(name, known)
    if owners:
        shown = ", ".join(owners[:4]) + (" …" if len(owners) > 4 else "")
        hint = f"{name} belongs to {shown}" + (f". {hint}" if hint else "")
    own = ", ".join(entry for entry, prop in known.items() if not prop.safety) or "none"
    return Refusal(under(path, name), f"property {value_text(name)}", f"a property of {kind}: {own}", hint)


def _check_losses(props: Mapping[str, Any], values: Mapping[str, Any], path: str) -> None:
    given = [name for name in props if name in _LOSSES]
    if len(given) > 1:
        raise both_given(props, given[0], given[1], path, "Two losses contradict one another")
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
