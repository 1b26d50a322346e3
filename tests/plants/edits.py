"""Edits of a plant file's data, in place, for making wrong variants of the samples."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

Data = dict[str, Any]
Port = tuple[str, str]
SAMPLES = Path(__file__).parents[2] / "sample_plants"
KEPT = Path(__file__).parent


def file_of(name: str) -> Path:
    """The file of a sample plant, or of one kept here: samples change their story, tests keep theirs."""
    kept = KEPT / f"{name}.plant.json"
    return kept if kept.exists() else SAMPLES / kept.name


def sample(name: str) -> Data:
    """A fresh copy of a sample plant's data."""
    data: Data = json.loads(file_of(name).read_text(encoding="utf-8"))
    return data


def item(data: Data, name: str) -> Data:
    """The item of that id."""
    return next(one for one in data["items"] if one["id"] == name)


def pipe(data: Data, start: str, end: str) -> Data:
    """The pipe that leads from item to item."""
    return next(one for one in data["pipes"] if (one["from"][0], one["to"][0]) == (start, end))


def props(data: Data, name: str, **values: Any) -> None:
    """Type new properties of an item; None takes one away."""
    typed = item(data, name).setdefault("props", {})
    for key, value in values.items():
        if value is None:
            typed.pop(key, None)
        else:
            typed[key] = value


def remove(data: Data, *names: str) -> None:
    """Take items out, and the pipes that end on them."""
    data["items"] = [one for one in data["items"] if one["id"] not in names]
    data["pipes"] = [one for one in data["pipes"] if not {one["from"][0], one["to"][0]} & set(names)]


def swap(data: Data, first: Port, second: Port) -> None:
    """Exchange what is piped to two ports."""
    for one in data["pipes"]:
        for end in ("from", "to"):
            if tuple(one[end]) == first:
                one[end] = list(second)
            elif tuple(one[end]) == second:
                one[end] = list(first)


def rename(data: Data, old: str, new: str) -> None:
    """Let pipes end on another item."""
    for one in data["pipes"]:
        for end in ("from", "to"):
            if one[end][0] == old:
                one[end][0] = new


def take_out(data: Data, name: str) -> None:
    """Take an in-line item out and join the two pipes on it into the first of them."""
    before, after = (one for one in data["pipes"] if name in (one["from"][0], one["to"][0]))
    far = after["to"] if after["from"][0] == name else after["from"]
    before["to" if before["to"][0] == name else "from"] = far
    before["length"] = before.get("length") or after.get("length")
    data["items"] = [one for one in data["items"] if one["id"] != name]
    data["pipes"].remove(after)


def put_in(
    data: Data, pipe_id: str, name: str, kind: str, ports: Port = ("in", "out"), **values: Any
) -> None:
    """Cut a pipe in two and put an item between; the second half is called NAME-2."""
    one = next(one for one in data["pipes"] if one["id"] == pipe_id)
    data["items"].append({"id": name, "kind": kind, "at": [0, 0], "props": values})
    data["pipes"].append({**one, "id": f"{name}-2", "from": [name, ports[1]]})
    one["to"] = [name, ports[0]]


def become(data: Data, name: str, kind: str, ports: dict[str, str] | None = None, **values: Any) -> None:
    """Make another kind of an item; what hung on ports it no longer has goes."""
    found = item(data, name)
    found["kind"], found["props"] = kind, values
    for one in data["pipes"]:
        for end in ("from", "to"):
            if one[end][0] == name and ports:
                one[end][1] = ports.get(one[end][1], one[end][1])


def between(data: Data, one: str, other: str) -> Data:
    """The pipe between two items, whichever way it was drawn."""
    return next(p for p in data["pipes"] if {p["from"][0], p["to"][0]} == {one, other})


IN_OUT = {
    "shutoff": ("a", "b"),
    "service_valve": ("a", "b"),
    "zone_valve": ("a", "b"),
    "balance_valve": ("a", "b"),
}


def pipe_of(data: Data, name: str) -> Data:
    """The pipe of that id."""
    return next(one for one in data["pipes"] if one["id"] == name)


def add(data: Data, name: str, kind: str, **values: Any) -> None:
    """Put an item on the board, joined to nothing."""
    data["items"].append({"id": name, "kind": kind, "at": [20, 20 * len(data["items"])], "props": values})


def insert(data: Data, into: str, name: str, kind: str, **values: Any) -> None:
    """Put an item into a pipe by the ports of its kind, from the pipe's start to its end."""
    put_in(data, into, name, kind, IN_OUT.get(kind, ("in", "out")), **values)


def hang(data: Data, into: str, name: str, kind: str, *, port: str = "at", **values: Any) -> None:
    """Put a joint into a pipe and hang an item on it."""
    joint = f"J-{name}"
    add(data, joint, "joint")
    first = pipe_of(data, into)
    rest = {**first, "id": f"{into}-b", "from": [joint, "at"], "to": first["to"]}
    stub = {**first, "id": f"{into}-c", "from": [joint, "at"], "to": [name, port], "length": "6 in"}
    first["to"] = [joint, "at"]
    add(data, name, kind, **values)
    data["pipes"] += [rest, stub]


def move(data: Data, name: str, into: str) -> None:
    """Hang an item of one pipe on another pipe instead."""
    one = next(i for i in data["items"] if i["id"] == name)
    remove(data, name)
    hang(data, into, name, one["kind"], **one["props"])
