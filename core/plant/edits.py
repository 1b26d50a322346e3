"""What a user does to a drawing, as pure functions from a plant to a list of changes.

Each refuses what cannot be done, with a cure, before anything has changed. Not for gestures or
routes: places on the board come in as numbers.

Deleting an item in line (pumps and valves, cleaning) joins its two pipes into one. A tee shares length and
fittings by where it hit; `k` stays with the longer part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from core.errors import Refusal, value_text
from core.plant import item_rules, lengths, pipe_rules, references, texts
from core.plant.changes import (
    AddItem,
    AddPipe,
    Change,
    RemoveItem,
    RemovePipe,
    ReplaceItem,
    ReplacePipe,
    apply,
)
from core.plant.model import Item, Pipe, Plant, PortRef
from core.plant.similar import like_at, neighbour
from core.vocabulary import JOINT, KINDS, Trait, is_name
from core.vocabulary.entry import CLEANING, MOVING
from core.vocabulary.guesses import Guess
from core.vocabulary.values import LONGEST_TEXT, NAME_RULE

Point = tuple[float, float]

DEFAULT_TUBE: Mapping[str, Any] = {"material": "copper_l", "size": "3/4 in"}
DEFAULT_LENGTH = Guess("6 ft", 0.5)
"""Of a pipe nobody has measured: a guess, and marked as one until a length is typed."""
PIPE = "L"
_HEALING_GROUPS = (MOVING, CLEANING)


class Draft:
    """A plant under a chain of changes, for edits that look at what earlier steps left."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.changes: list[Change] = []

    def do(self, *changes: Change) -> None:
        """Apply changes and keep them."""
        self.plant = apply(self.plant, changes)
        self.changes.extend(changes)


def fresh_id(plant: Plant, prefix: str, also: Iterable[str] = ()) -> str:
    """The first tag with this prefix that neither an item nor a pipe has, nor `also` names.

    Examples
    --------
    >>> fresh_id(Plant(), "P")
    'P-1'
    """
    taken = set(also)
    number = 1
    while (name := f"{prefix}-{number}") in plant.items or name in plant.pipes or name in taken:
        number += 1
    return name


def new_item(
    plant: Plant,
    kind: str,
    at: Point,
    *,
    turn: int = 0,
    flip: bool = False,
    props: Mapping[str, Any] | None = None,
) -> Item:
    """An item with a fresh tag, not yet in the plant."""
    name = fresh_id(plant, KINDS[kind].prefix)
    return Item(name, kind, at, turn=turn % 360, flip=flip, props=dict(props or {}))


def move(plant: Plant, ids: Iterable[str], dx: float, dy: float) -> list[Change]:
    """Move items and texts; a pipe's bends go along where both its ends do, or where it is named itself."""
    chosen = set(ids)
    changes = texts.move(plant, texts.numbers(plant, chosen), dx, dy)
    if not dx and not dy:
        return changes
    items = [plant.items[name] for name in filter(chosen.__contains__, plant.items)]
    changes += [ReplaceItem(replace(item, at=(item.at[0] + dx, item.at[1] + dy))) for item in items]
    # Only pipes at what moves are looked at: a hand asks for this with each of its steps.
    ports = [PortRef(item.id, port) for item in items for port in item.ports]
    beside = {pipe for port in ports for pipe in plant.pipes_at.get(port, ())}
    for name in sorted(beside | (chosen & plant.pipes.keys())):
        pipe = plant.pipes[name]
        whole = pipe.start.item in chosen and pipe.end.item in chosen
        if pipe.via and (whole or name in chosen):
            changes.append(ReplacePipe(replace(pipe, via=tuple((x + dx, y + dy) for x, y in pipe.via))))
    return changes


def rotate(plant: Plant, ids: Iterable[str], quarters: int = 1) -> list[Change]:
    """Turn items about their own centres, clockwise by quarter turns."""
    return [
        ReplaceItem(replace(plant.items[name], turn=(plant.items[name].turn + 90 * quarters) % 360))
        for name in ids
        if name in plant.items
    ]


def mirror(plant: Plant, ids: Iterable[str]) -> list[Change]:
    """Mirror items left to right as they stand on the board."""
    return [
        ReplaceItem(replace(item, flip=not item.flip, turn=-item.turn % 360))
        for item in (plant.items[name] for name in ids if name in plant.items)
    ]


def connect(plant: Plant, start: PortRef, end: PortRef, **fields: Any) -> list[Change]:
    """A pipe from port to port; what it is made of follows what it starts at.

    Parameters
    ----------
    plant : Plant
        The plant
    start, end : PortRef
        Ports that have no pipe yet, or joints
    fields : Any
        Fields of `Pipe` that are known better than by looking around

    Raises
    ------
    Refusal
        No such port, or one that has a pipe
    """
    for end_named in (start, end):
        _refuse_busy(plant, end_named)
    if start == end:
        raise Refusal("", f"{end.port} of {end.item}", "another port than the one it starts at")
    return [AddPipe(_new_pipe(plant, start, end, fields))]


def _refuse_busy(plant: Plant, ref: PortRef) -> None:
    item = plant.items.get(ref.item)
    if item is None or ref.port not in item.ports:
        raise Refusal("", f"{ref.port} of {ref.item}", "a port of an item")
    if not item.has(Trait.JOINS) and (there := plant.pipes_at.get(ref)):
        expected = f"a port without a pipe; {there[0]} is on it"
        raise Refusal("", f"{ref.port} of {ref.item}", expected, f"Tee into {there[0]} instead")


def _new_pipe(plant: Plant, start: PortRef, end: PortRef, fields: Mapping[str, Any]) -> Pipe:
    """Of the system, tube and insulation of what it starts at; where that knows nothing, of the far end."""
    near, far = like_at(plant, start), like_at(plant, end)
    like = near or far
    system = like.system if like else next(iter(plant.systems), None)
    if system is None:
        raise Refusal("systems", "no system", "a system for the pipe to belong to", "Add one first")
    made = next((pipe for pipe in (near, far) if pipe is not None and pipe.tube), None)
    pipe = Pipe(
        id=fresh_id(plant, PIPE),
        start=start,
        end=end,
        system=system,
        tube=made.tube if made else DEFAULT_TUBE,
        length=DEFAULT_LENGTH,
        insulation=made.insulation if made else None,
    )
    return replace(pipe, **fields)


def split_pipe(plant: Plant, name: str, at: Point, share: float) -> tuple[list[Change], str]:
    """Put a joint into a pipe at `share` of its length from its start; gives changes and the joint's id."""
    joint = new_item(plant, JOINT, at)
    parts = _split(plant, plant.pipes[name], PortRef(joint.id, "at"), PortRef(joint.id, "at"), at, share)
    return [AddItem(joint), *parts], joint.id


def _split(
    plant: Plant, pipe: Pipe, first_end: PortRef, second_start: PortRef, at: Point, share: float
) -> list[Change]:
    """One pipe as two that meet at given ports; the first keeps the id."""
    share = min(max(share, 0.0), 1.0)
    before = _bends_before(plant, pipe, at)
    counts = {name: round(count * share) for name, count in pipe.fittings.items()}
    near = {name: count for name, count in counts.items() if count}
    far = {name: count - counts[name] for name, count in pipe.fittings.items() if count > counts[name]}
    if pipe.joined or pipe.length is None:
        nearer, farther = pipe.length, pipe.length
    else:
        nearer, farther = lengths.split(pipe.length, share)
    first_k, second_k = (pipe.k, 0.0) if share >= 0.5 else (0.0, pipe.k)
    first = replace(
        pipe, end=first_end, length=nearer, fittings=near, k=first_k, via=pipe.via[:before], straight=None
    )
    second = replace(
        pipe,
        id=fresh_id(plant, PIPE),
        start=second_start,
        length=farther,
        fittings=far,
        k=second_k,
        via=pipe.via[before:],
        straight=None,
        label="",
        note="",
    )
    return [ReplacePipe(first), AddPipe(second, list(plant.pipes).index(pipe.id) + 1)]


def _bends_before(plant: Plant, pipe: Pipe, at: Point) -> int:
    """How many bends lie between the pipe's start and a point on its route."""
    corners = [plant.items[pipe.start.item].at, *pipe.via, plant.items[pipe.end.item].at]
    distances = [_distance(at, corners[i], corners[i + 1]) for i in range(len(corners) - 1)]
    return distances.index(min(distances))


def _distance(at: Point, one: Point, other: Point) -> float:
    """Distance of a point from the stretch between two others, squared."""
    dx, dy = other[0] - one[0], other[1] - one[1]
    long = dx * dx + dy * dy
    along = 0.0 if long == 0.0 else ((at[0] - one[0]) * dx + (at[1] - one[1]) * dy) / long
    along = min(max(along, 0.0), 1.0)
    return (at[0] - one[0] - along * dx) ** 2 + (at[1] - one[1] - along * dy) ** 2


def tee(plant: Plant, start: PortRef, name: str, at: Point, share: float, **fields: Any) -> list[Change]:
    """A pipe from a port to a new joint in another pipe, hit at `share` of its length."""
    _refuse_busy(plant, start)
    if fields.get("tube") is None and neighbour(plant, start) is None:
        fields["tube"] = plant.pipes[name].tube or DEFAULT_TUBE
    draft = Draft(plant)
    changes, joint = split_pipe(plant, name, at, share)
    draft.do(*changes)
    draft.do(*connect(draft.plant, start, PortRef(joint, "at"), **fields))
    return draft.changes


def in_line_ports(kind: str, props: Mapping[str, Any]) -> tuple[str, str] | None:
    """The two ports by which an item sits in a pipe; None for kinds that cannot."""
    ports = KINDS[kind].ports
    return (ports[0], ports[1]) if ports[:2] in (("in", "out"), ("a", "b")) else None


def insert_in_line(
    plant: Plant,
    kind: str,
    name: str,
    at: Point,
    share: float,
    *,
    turn: int = 0,
    flip: bool = False,
    props: Mapping[str, Any] | None = None,
) -> list[Change]:
    """Put a new item into a pipe at `share` of its length, its first port towards the pipe's start."""
    item = new_item(plant, kind, at, turn=turn, flip=flip, props=props)
    return [AddItem(item), *_sit(plant, item, name, at, share)]


def join_into(plant: Plant, joint: str, name: str, share: float) -> list[Change]:
    """Make a joint that lies on a pipe a tee in it, at `share` of its length."""
    ref = PortRef(joint, "at")
    return _split(plant, plant.pipes[name], ref, ref, plant.items[joint].at, share)


def put_between(plant: Plant, name: str, first: PortRef, second: PortRef, share: float) -> list[Change]:
    """Put what lies between two free ports or joints into a pipe, at `share` of its length.

    The first comes towards the pipe's start. Nothing of the pipe is left between them.
    """
    for ref in (first, second):
        _refuse_busy(plant, ref)
    middle = plant.items[first.item].at, plant.items[second.item].at
    at = (middle[0][0] + middle[1][0]) / 2, (middle[0][1] + middle[1][1]) / 2
    return _split(plant, plant.pipes[name], first, second, at, share)


def swap_ports(draft: Draft, item: str, first: str, second: str) -> None:
    """Let the pipes at two ports of an item change places."""
    there = {PortRef(item, first): PortRef(item, second), PortRef(item, second): PortRef(item, first)}
    for pipe in list(draft.plant.pipes.values()):
        if pipe.start in there or pipe.end in there:
            ends = there.get(pipe.start, pipe.start), there.get(pipe.end, pipe.end)
            draft.do(ReplacePipe(replace(pipe, start=ends[0], end=ends[1])))


def turn_round(plant: Plant, name: str) -> list[Change]:
    """Turn an item that sits in a line the other way; its pipes stay where they are.

    Raises
    ------
    Refusal
        An item that cannot sit in a line
    """
    item = plant.items[name]
    ports = in_line_ports(item.kind, item.props)
    if ports is None:
        raise Refusal("", f"{name}, a {KINDS[item.kind].title}", "an item with two ports in a line")
    draft = Draft(plant)
    draft.do(ReplaceItem(replace(item, turn=(item.turn + 180) % 360)))
    swap_ports(draft, name, *ports)
    return draft.changes


def put_in_line(plant: Plant, item_id: str, name: str, share: float) -> list[Change]:
    """Put an item of the plant that has no pipes yet into a pipe, where it lies."""
    item = plant.items[item_id]
    if any(PortRef(item_id, port) in plant.pipes_at for port in item.ports):
        raise Refusal("", f"{item_id}, which has pipes", "an item without pipes", "Take its pipes away first")
    return _sit(plant, item, name, item.at, share)


def _sit(plant: Plant, item: Item, name: str, at: Point, share: float) -> list[Change]:
    ports = in_line_ports(item.kind, item.props)
    if ports is None:
        expected = "an item with two ports in a line"
        raise Refusal("", f"a {item.kind}", expected, "Pull a pipe from its port instead")
    ends = PortRef(item.id, ports[0]), PortRef(item.id, ports[1])
    return _split(plant, plant.pipes[name], *ends, at, share)


def delete(plant: Plant, ids: Iterable[str]) -> list[Change]:
    """Take items and pipes away, healing what they leave.

    Pipes on either side of an item that sat in a line become one; so do those at a joint that a
    branch has left. What mentions the deleted ids forgets them. Texts may be among the ids.
    """
    written = texts.numbers(plant, ids := list(ids))
    chosen = [name for name in ids if name in plant.items or name in plant.pipes]
    draft = Draft(plant)
    left: list[PortRef] = []
    for name in chosen:
        if name in draft.plant.pipes:
            _drop_pipe(draft, name, left)
    for name in chosen:
        if name in draft.plant.items:
            _drop_item(draft, name, left)
    for ref in left:
        _heal_joint(draft, ref)
    gone = (plant.items.keys() | plant.pipes.keys()) - draft.plant.items.keys() - draft.plant.pipes.keys()
    draft.do(*references.renamed(draft.plant, lambda name: None if name in gone else name))
    draft.do(*texts.without(draft.plant, written))
    return draft.changes


def _drop_pipe(draft: Draft, name: str, left: list[PortRef]) -> None:
    pipe = draft.plant.pipes[name]
    left += [pipe.start, pipe.end]
    draft.do(RemovePipe(name))


def _drop_item(draft: Draft, name: str, left: list[PortRef]) -> None:
    item = draft.plant.items[name]
    pipes = [pipe for port in item.ports for pipe in draft.plant.pipes_at.get(PortRef(name, port), ())]
    if KINDS[item.kind].group in _HEALING_GROUPS and len(pipes) == 2 and len(set(pipes)) == 2:
        _heal(draft, name, pipes, left)
    for pipe in pipes:
        if pipe in draft.plant.pipes and name in (
            draft.plant.pipes[pipe].start.item,
            draft.plant.pipes[pipe].end.item,
        ):
            _drop_pipe(draft, pipe, left)
    draft.do(RemoveItem(name))


def _heal_joint(draft: Draft, ref: PortRef) -> None:
    """A joint that a branch has left: two pipes become one, a lonely dot goes."""
    item = draft.plant.items.get(ref.item)
    if item is None or not item.has(Trait.JOINS) or item.label or item.note:
        return
    pipes = draft.plant.pipes_at.get(ref, ())
    if len(pipes) in (0, 2):
        _drop_item(draft, ref.item, [])


def _heal(draft: Draft, name: str, pipes: Sequence[str], left: list[PortRef]) -> None:
    """Two pipes on either side of an item as one, unless their systems differ or they close on themselves."""
    first, second = (draft.plant.pipes[pipe] for pipe in pipes)
    if first.start.item == name and second.end.item == name:
        first, second = second, first
    start = first.start if first.end.item == name else first.end
    reverse = first.start.item == name
    end = second.end if second.start.item == name else second.start
    if first.system != second.system or start == end or name in (start.item, end.item):
        return
    via = (
        *(first.via[::-1] if reverse else first.via),
        *(second.via if second.start.item == name else second.via[::-1]),
    )
    healed = replace(_united(first, second), start=start, end=end, via=via)
    draft.do(RemovePipe(second.id), ReplacePipe(healed))


def _united(first: Pipe, second: Pipe) -> Pipe:
    """What two pipes in a row are made of, as one; the first's tube holds where they differ."""
    note = "\n".join(note for note in (first.note, second.note) if note)
    if first.joined and second.joined:
        return replace(first, note=note)
    base = second if first.joined else first
    length = base.length
    if not first.joined and not second.joined and first.length and second.length:
        length = lengths.added(first.length, second.length)
    fittings = dict(first.fittings)
    for name, count in second.fittings.items():
        fittings[name] = fittings.get(name, 0) + count
    return replace(
        base,
        id=first.id,
        length=length,
        fittings=fittings,
        k=first.k + second.k,
        straight=None,
        label=first.label or second.label,
        note=note[:LONGEST_TEXT],
    )


def set_props(plant: Plant, name: str, values: Mapping[str, Any]) -> list[Change]:
    """Set properties of an item; None takes one away. Refused where the item would contradict itself."""
    item = plant.items[name]
    props = {key: raw for key, raw in {**item.props, **values}.items() if raw is not None}
    item_rules.check_props(item.kind, props)
    return [] if props == item.props else [ReplaceItem(replace(item, props=props))]


def set_pipe(plant: Plant, name: str, **fields: Any) -> list[Change]:
    """Set fields of a pipe."""
    pipe = replace(plant.pipes[name], **fields)
    pipe_rules.check_pipe(pipe)
    return [] if pipe == plant.pipes[name] else [ReplacePipe(pipe)]


def rename(plant: Plant, old: str, new: str) -> list[Change]:
    """Give an item or pipe another tag; everything that mentions it follows."""
    if not is_name(new):
        raise Refusal("id", value_text(new), f"a name of {NAME_RULE}")
    if old == new:
        return []
    if new in plant.items or new in plant.pipes:
        raise Refusal("id", value_text(new), "an id used once over items and pipes")

    def naming(name: str) -> str:
        return new if name == old else name

    if old in plant.pipes:
        return [ReplacePipe(replace(plant.pipes[old], id=new), old), *references.renamed(plant, naming)]
    item = plant.items[old]
    changes: list[Change] = [
        ReplaceItem(replace(item, id=new, props=references.renamed_props(item, naming)), old)
    ]
    for pipe in plant.pipes.values():
        ends = [PortRef(naming(end.item), end.port) for end in (pipe.start, pipe.end)]
        if ends != [pipe.start, pipe.end]:
            changes.append(ReplacePipe(replace(pipe, start=ends[0], end=ends[1])))
    return [*changes, *references.renamed(plant, naming, frozenset({old}))]
