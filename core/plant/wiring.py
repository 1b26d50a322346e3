"""What a line from a control to something may mean, and the changes that make it so. Pure functions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from core.plant.changes import Change, ReplaceItem
from core.plant.model import Item, Plant
from core.vocabulary import Trait, signal_names

CONTROLS = (Trait.SIGNALS, Trait.RESETS)


@dataclass(frozen=True)
class Offer:
    """One meaning of a line: in words, and as changes; none where it can only be said in words."""

    words: str
    changes: tuple[Change, ...]


def offers(plant: Plant, control: str, target: str, port: str = "") -> list[Offer]:
    """What a line pulled from a control to an item or pipe may mean; what is so already is offered undone.

    Parameters
    ----------
    plant : Plant
    control : str
        Id of a switch, outlet, stat or outdoor reset
    target : str
        Id of an item or pipe
    port : str
        The port or sensor of the target that was met, if any
    """
    item = plant.items.get(control)
    if item is None or not item.has(*CONTROLS) or target == control:
        return []
    return list(_offers(plant, item, target, port))


def _offers(plant: Plant, control: Item, target: str, port: str) -> Iterator[Offer]:
    other = plant.items.get(target)
    if control.has(Trait.STAT) and (target in plant.pipes or (other is not None and _can_be_felt(other))):
        sensors = tuple(other.props.get("sensors") or ()) if other is not None and not port else ()
        # Of several ports, which one it feels must be said.
        ports = other.ports if other is not None and not port and len(other.ports) > 1 else (port,)
        for place in sensors or ports:
            yield _sensing(control, target, place)
    if other is None:
        return
    properties = other.kind_info.properties
    if control.has(Trait.SIGNALS):
        if "run_when" in properties:
            yield _joined(other, "run_when", control.id, "runs", "no longer runs")
        if "switched_by" in properties:
            yield _joined(other, "switched_by", control.id, "switches", "no longer switches")
        if "powered_by" in properties and control.has(Trait.STAT, Trait.FEEDS_POWER):
            yield _joined(other, "powered_by", control.id, "feeds", "no longer feeds")
    settable = not other.has(*CONTROLS) and bool({"set_temperature", "target"} & properties.keys())
    if control.has(Trait.RESETS) and settable:
        yield _set_by(control, other)


def _can_be_felt(item: Item) -> bool:
    """Water, or a room."""
    return item.has(Trait.ROOM) or bool(item.ports)


def _sensing(control: Item, target: str, port: str) -> Offer:
    place = [target, port] if port else [target]
    already = list(control.props.get("senses") or ()) == place
    where = f"{target} at {port}" if port else target
    if already:
        return Offer(f"{control.id} no longer senses {where}", (_with(control, "senses", None),))
    return Offer(f"{control.id} senses {where}", (_with(control, "senses", place),))


def _joined(item: Item, name: str, signal: str, on: str, off: str) -> Offer:
    raw = item.props.get(name)
    found, value = toggled(raw, signal)
    if not found:
        words = f"{signal} and {item.id}: {name.replace('_', ' ')} says more than any-of; change it in words"
        return Offer(words, ())
    inside = signal in signal_names(raw)
    # Power is not cut by a line taken away: what no outlet feeds is fed by none that is drawn.
    if value is False and name != "run_when":
        value = None
    return Offer(f"{signal} {off if inside else on} {item.id}", (_with(item, name, value),))


def _set_by(control: Item, other: Item) -> Offer:
    sets = control.props.get("sets")
    named = [sets] if isinstance(sets, str) else list(sets or ())
    if other.id in named:
        left = [name for name in named if name != other.id]
        return Offer(f"{control.id} no longer sets {other.id}", (_with(control, "sets", left or None),))
    return Offer(f"{control.id} sets {other.id}", (_with(control, "sets", [*named, other.id]),))


def _with(item: Item, name: str, value: Any) -> Change:
    props = {key: raw for key, raw in item.props.items() if key != name}
    if value is not None:
        props[name] = value
    return ReplaceItem(replace(item, props=props))


def toggled(raw: Any, signal: str) -> tuple[bool, Any]:
    """Whether a signal can simply be put into an expression or taken out, and the expression then.

    What always runs runs on that signal alone afterwards; with the last one out it never runs.

    Examples
    --------
    >>> toggled(None, "A"), toggled({"any": ["A", "B"]}, "A"), toggled("A", "A")
    ((True, {'any': ['A']}), (True, {'any': ['B']}), (True, False))
    >>> toggled({"not": "A"}, "A")
    (False, {'not': 'A'})
    """
    names = () if raw in (None, True, False) else _any_of(raw)
    if names is None:
        return False, raw
    left = [name for name in names if name != signal]
    if signal not in names:
        left.append(signal)
    return True, {"any": left} if left else False


def _any_of(raw: Any) -> Sequence[str] | None:
    """Names of an expression that is a name or any of names."""
    if isinstance(raw, str):
        return (raw,)
    if isinstance(raw, Mapping) and len(raw) == 1 and isinstance(raw.get("any"), (list, tuple)):
        parts = raw["any"]
        return tuple(parts) if all(isinstance(part, str) for part in parts) else None
    return None
