"""What parts of a plant must be to one another: ports, ids named elsewhere, rated points and fluids."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import Case, Item, Pipe, Plant, PortRef
from core.vocabulary import CaseSets, FreePorts, Trait, nearest
from core.vocabulary.values import under

PIPE_ENDS = ("in", "out", "from", "to")
ROOM_PLACES = ("air", "floor")
_A_SIGNAL = "the id of a switch, timer, outlet, aquastat or thermostat"


def check_pipe_ends(plant: Plant, pipe: Pipe, taken: dict[PortRef, str], path: str) -> None:
    """Refuse a pipe whose items, ports or system are not there, or whose port has a pipe already."""
    if pipe.system not in plant.systems:
        hint = nearest(pipe.system, plant.systems)
        raise Refusal(under(path, "system"), value_text(pipe.system), "the name of a system", hint)
    for key, end in (("from", pipe.start), ("to", pipe.end)):
        place = under(path, key)
        item = plant.items.get(end.item)
        if item is None:
            raise missing(plant, end.item, f"{place}[0]", "the id of an item", plant.items)
        if end.port not in item.ports:
            expected = f"a port of {item.id}, a {item.kind}: {', '.join(item.ports) or 'it has none'}"
            raise Refusal(f"{place}[1]", value_text(end.port), expected, nearest(end.port, item.ports))
        if item.has(Trait.JOINS):
            continue
        if end in taken:
            hint = f"Tee into {taken[end]} instead"
            raise Refusal(
                place, f"{end.port} of {end.item}", f"a port without a pipe; {taken[end]} is on it", hint
            )
        taken[end] = pipe.id
    if pipe.start == pipe.end:
        raise Refusal(under(path, "to"), f"{pipe.end.port} of {pipe.end.item}", "another port than at from")


def missing(plant: Plant, name: str, path: str, expected: str, among: Iterable[str]) -> Refusal:
    """Refusal of a name that is not there or not what is expected, with the nearest that is."""
    hint = nearest(name, among)
    if name in plant.items:
        hint = f"{name} is a {plant.items[name].kind}" + (f". {hint}" if hint else "")
    elif name in plant.pipes:
        hint = f"{name} is a pipe"
    return Refusal(path, value_text(name), expected, hint)


def check_item_links(plant: Plant, item: Item, path: str) -> None:
    """Refuse an item whose properties name ports, rooms, signals or places that are not there."""
    props = under(path, "props")
    for name in item.props.get("port_heights", {}):
        if name not in item.ports:
            place = under(under(props, "port_heights"), name)
            expected = f"a port of {item.kind}: {', '.join(item.ports) or 'it has none'}"
            raise Refusal(place, value_text(name), expected, nearest(name, item.ports))
    for name, raw in item.props.items():
        place = under(props, name)
        match item.kind_info.properties[name].type:
            case "signals":
                _check_signals(plant, raw, place)
            case "item":
                _check_id(plant, raw, is_room, place, "the id of a room")
            case "items":
                signals = name == "priority"
                fits, expected = (_is_signal, _A_SIGNAL) if signals else (_is_any, "the id of an item")
                for number, one in enumerate([raw] if isinstance(raw, str) else raw):
                    where = place if isinstance(raw, str) else f"{place}[{number}]"
                    _check_id(plant, one, fits, where, expected)
            case "place":
                check_place(plant, raw, place)
            case "places":
                for number, one in enumerate(raw):
                    check_place(plant, one, f"{place}[{number}]")


def _check_signals(plant: Plant, raw: Any, path: str) -> None:
    for place, name in _named_signals(raw, path):
        _check_id(plant, name, _is_signal, place, _A_SIGNAL)


def _named_signals(raw: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(raw, str):
        yield path, raw
    elif isinstance(raw, Mapping):
        for key, part in raw.items():
            yield from _named_signals(part, under(path, key))
    elif isinstance(raw, (list, tuple)):
        for number, part in enumerate(raw):
            yield from _named_signals(part, f"{path}[{number}]")


def _is_any(item: Item) -> bool:
    return True


def is_room(item: Item) -> bool:
    """Whether it is a room."""
    return item.has(Trait.ROOM)


def _is_signal(item: Item) -> bool:
    return item.has(Trait.SIGNALS)


def may_draw(item: Item) -> bool:
    """Whether a case says what it draws."""
    return item.kind_info.cases_set is CaseSets.DRAW


def _may_be_given(item: Item) -> bool:
    return item.kind_info.cases_set is CaseSets.TEMPERATURE


def may_start(item: Item) -> bool:
    """Whether a case of minutes or hours says where its temperature starts."""
    return item.has(Trait.ROOM) or _may_be_given(item)


def _check_id(plant: Plant, name: str, fits: Callable[[Item], bool], path: str, expected: str) -> None:
    item = plant.items.get(name)
    if item is not None and fits(item):
        return
    among = [one.id for one in plant.items.values() if fits(one)]
    raise missing(plant, name, path, expected, among)


def check_place(plant: Plant, raw: Sequence[str], path: str) -> None:
    """Refuse [item or pipe, port or sensor] that names what is not there; a room needs no second word."""
    name = raw[0]
    if name in plant.pipes:
        known: tuple[str, ...] = PIPE_ENDS
    elif name in plant.items:
        item = plant.items[name]
        known = ROOM_PLACES if item.has(Trait.ROOM) else (*item.ports, *item.props.get("sensors", {}))
    else:
        raise missing(plant, name, f"{path}[0]", "the id of an item or pipe", [*plant.items, *plant.pipes])
    if len(raw) == 2 and raw[1] not in known:
        expected = f"a place at {name}: {', '.join(known) or 'it has none'}"
        raise Refusal(f"{path}[1]", value_text(raw[1]), expected, nearest(raw[1], known))
    if len(raw) == 1 and len(known) > 1 and name in plant.items and not plant.items[name].has(Trait.ROOM):
        raise Refusal(path, value_text(name), f"[{name}, and one of {', '.join(known)}]")


def check_case_links(plant: Plant, case: Case, path: str) -> None:
    """Refuse a case that names signals, fixtures or tanks that are not there."""
    for name in case.signals:
        _check_id(plant, name, _is_signal, under(under(path, "signals"), name), _A_SIGNAL)
    for name in case.draws:
        place = under(under(path, "draws"), name)
        _check_id(plant, name, may_draw, place, "the id of a fixture or humidifier")
    for name in case.start:
        place = under(under(path, "start"), name)
        _check_id(plant, name, may_start, place, "the id of a room, tank or buffer")
    for name, state in case.tanks.items():
        place = under(under(path, "tanks"), name)
        _check_id(plant, name, _may_be_given, place, "the id of a tank or buffer")
        if not isinstance(state, Mapping):
            continue
        item = plant.items[name]
        if item.kind_info.free_ports is not FreePorts.TAPS:
            raise Refusal(place, value_text(state), "one temperature: a buffer is fully mixed")
        taps = [port for port in item.ports if port not in item.kind_info.ports]  # a coil is no tap
        for tap in state:
            if tap not in taps:
                expected = f"a tap of {name}: {', '.join(taps)}"
                raise Refusal(under(place, tap), value_text(tap), expected, nearest(tap, taps))


def check_leader(plant: Plant, lead: Any, path: str) -> None:
    """Refuse a text's leader to an id that is not there; a place on the board needs none."""
    if isinstance(lead, str) and lead not in plant.items and lead not in plant.pipes:
        raise missing(plant, lead, path, "the id of an item or pipe", [*plant.items, *plant.pipes])
