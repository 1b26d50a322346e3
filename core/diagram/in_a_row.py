"""Several things typed in one line are laid in a row and piped one to the next.

`boiler > circulator > check valve > floor circuit > B-1` is a ring: a word is a new item, a tag one that is
there, a tag with a port's name that port. What has no free port is teed into at the pipe on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from core.diagram import symbols
from core.diagram.geometry import Box, Point, length, segments
from core.diagram.marks import along
from core.diagram.routes import route
from core.errors import Refusal
from core.plant import edits
from core.plant.changes import AddItem, ReplaceItem
from core.plant.drinking_water import recognized, system_for
from core.plant.model import Item, Plant, PortRef
from core.plant.ports import by_flow, free_ports, other_end
from core.plant.similar import neighbour
from core.vocabulary import FreePorts, Trait, joined_ports
from core.vocabulary.port_flow import Flow, flow_at
from core.vocabulary.port_words import spoken_port
from core.vocabulary.trade_words import named_by

BETWEEN = ">"
STEP, DOWN = 140.0, 120.0  # from one to the next, and to the row below [u]
AIR = 45.0  # round a new row, for pipes and words [u]
GRID = 10.0


@dataclass
class _Link:
    """One thing of the line: an item or a pipe that is there or to be made, and a port if one is named."""

    name: str
    fresh: bool
    port: str = ""


def is_row(text: str) -> bool:
    """Whether words name several things in a row."""
    return BETWEEN in text


def in_a_row(plant: Plant, text: str, at: Point, **fields: Any) -> tuple[edits.Draft, list[str]]:
    """The changes that lay and pipe what a line names; with the ids of what is new.

    Raises
    ------
    Refusal
        A word that names nothing, or a port there is not
    """
    draft = edits.Draft(plant)
    words = [word.strip() for word in text.split(BETWEEN)]
    if len(words) < 2 or not all(words):
        raise Refusal("", f"`{text}`", "names with > between them, such as boiler > circulator")
    links = [_link(draft, word) for word in words]
    _lay(draft, links, at)
    for one, other in pairwise(links):
        _pipe(draft, one, other, fields)
    return draft, [link.name for link in links if link.fresh]


def _link(draft: edits.Draft, word: str) -> _Link:
    plant = draft.plant
    known = {name.lower(): name for name in (*plant.items, *plant.pipes)}
    tag, _, port = word.partition(" ")
    name = known.get(word.lower()) or known.get(tag.lower())
    if name is not None:
        return _Link(name, fresh=False, port="" if name.lower() == word.lower() else _port(plant, name, port))
    kinds = named_by(word)
    if not kinds:
        raise Refusal("", f"`{word}`", "a tag on the board or the name of a symbol")
    item = edits.new_item(plant, kinds[0][0], (0.0, 0.0))
    draft.do(AddItem(item))
    return _Link(item.id, fresh=True)


def _port(plant: Plant, name: str, words: str) -> str:
    ports = plant.items[name].ports if name in plant.items else ()
    said = " ".join(words.replace("_", " ").lower().split())
    for port in ports:
        if said in (port.replace("_", " ").lower(), spoken_port(port).lower()):
            return port
    raise Refusal("", f"`{words}` of {name}", f"a port of it: {', '.join(map(spoken_port, ports)) or 'none'}")


def _lay(draft: edits.Draft, links: list[_Link], at: Point) -> None:
    """New items from left to right, beginning beside the first that is there, in the first row with room."""
    fresh = [link.name for link in links if link.fresh]
    x, y = at
    first = links[0]
    if not first.fresh and first.name in draft.plant.items:
        x, y = draft.plant.items[first.name].at
        x += STEP
    taken = [symbols.box(item) for item in draft.plant.items.values() if item.id not in fresh]
    x, y = (round(v / GRID) * GRID for v in (x, y))
    while any(map(_strip(draft.plant, fresh, x, y).overlaps, taken)):
        y += DOWN
    for number, name in enumerate(fresh):
        item = draft.plant.items[name]
        draft.do(ReplaceItem(replace(item, at=(x + STEP * number, y))))


def _strip(plant: Plant, names: list[str], x: float, y: float) -> Box:
    """The room that a row of items takes."""
    boxes = [symbols.box(replace(plant.items[name], at=(0.0, 0.0))) for name in names]
    if not boxes:
        return Box(x, y, x, y)
    high = max(max(-box.y0, box.y1) for box in boxes) + AIR
    return Box(x - STEP / 2, y - high, x + STEP * (len(names) - 0.5), y + high)


def _pipe(draft: edits.Draft, one: _Link, other: _Link, fields: dict[str, Any]) -> None:
    start = _end(draft, one, "out", closed=False)
    end = _end(draft, other, "in", _is_closed(draft.plant, start))
    draft.do(*edits.connect(draft.plant, start, end, **fields, **system_for(draft.plant, start, end)))
    pulled = draft.plant.pipes_at[end][-1]
    draft.do(*recognized(draft.plant, pulled))
    item = draft.plant.items.get(other.name)
    if item is not None and not item.has(Trait.JOINS):
        other.port = other_end(draft.plant, item, end.port) or ""


def _is_closed(plant: Plant, ref: PortRef) -> bool:
    """Whether the water at a port is that of a closed circuit, and no drinking water."""
    near = neighbour(plant, ref)
    if near is not None:
        return plant.systems[near.system].use == "closed"
    return plant.items[ref.item].has(Trait.CLOSED_CIRCUIT)


def _ports(item: Item, wanted: Flow, closed: bool) -> list[str]:
    """Ports at which water goes the wanted way, or either; of a tank with a coil those of that water."""
    ports = list(item.ports)
    if item.kind_info.free_ports is FreePorts.TAPS:
        taps, *coils = joined_ports(item.kind, item.props)
        ports = [port for port in ports if not coils or (port in taps) is not closed]
    return [port for port in by_flow(item, ports, wanted) if flow_at(item.kind, port) in (wanted, "")]


def _end(draft: edits.Draft, link: _Link, wanted: Flow, closed: bool) -> PortRef:
    """A port that takes the pipe; a new joint in the pipe there, where it has one.

    Of a tank the hot or cold tap, whether or not it has a pipe; of the sides of a buffer or exchanger one
    that is free, else the last, which is that of the load.
    """
    if link.name in draft.plant.pipes:
        return _tee(draft, link.name)
    item = draft.plant.items[link.name]
    if item.has(Trait.JOINS):
        return PortRef(item.id, "at")
    free = free_ports(draft.plant, item)
    fitting = _ports(item, wanted, closed)
    if item.kind_info.free_ports is FreePorts.TAPS:
        some = fitting or free
    else:
        some = [port for port in fitting if port in free] or fitting[-1:] or free
    if not (link.port or some):
        raise Refusal("", link.name, "something that takes a pipe")
    port = link.port or some[0]
    on_it = draft.plant.pipes_at.get(PortRef(item.id, port), ())
    return _tee(draft, on_it[0]) if on_it else PortRef(item.id, port)


def _tee(draft: edits.Draft, pipe: str) -> PortRef:
    """A new joint in the middle of a pipe's longest run."""
    runs = segments(route(draft.plant)[pipe])
    total = sum(map(length, runs)) or 1.0
    best = max(runs, key=length, default=None)
    start = draft.plant.items[draft.plant.pipes[pipe].start.item].at
    at, share = start, 0.5
    if best is not None:
        x, y = along(best, 0.5)
        at = round(x / GRID) * GRID, round(y / GRID) * GRID
        share = (sum(map(length, runs[: runs.index(best)])) + length(best) / 2) / total
    changes, joint = edits.split_pipe(draft.plant, pipe, at, share)
    draft.do(*changes)
    return PortRef(joint, "at")
