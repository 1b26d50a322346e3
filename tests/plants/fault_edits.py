"""Edits that spoil a good plant in one place, as functions of its data; the plants they are put into."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.plants.edits import Data, become, between, item, props, put_in, remove, sample, swap, take_out
from tests.plants.good_circuits import close_tees, two_tanks
from tests.plants.good_plants import whole_house
from tests.plants.variants import direct_return

Edit = Callable[[Data], object]


def _sample(name: str, *cases: str) -> Callable[[], Data]:
    """A sample with some of its cases, so that a fault in it is soon solved."""

    def make() -> Data:
        data = sample(name)
        data["cases"] = [one for one in data["cases"] if one["name"] in cases]
        data["runs"] = [run for run in data.get("runs", []) if run["case"] in cases]
        return data

    return make


PLANTS: dict[str, Callable[[], Data]] = {
    "house": whole_house,
    "tees": close_tees,
    "tanks": two_tanks,
    "shed": _sample("potting_shed", "Design night", "Mild day"),
    "bakery": _sample("bakery_loft", "Design night", "Summer shower"),
    "orchard": _sample("orchard_packhouse", "Design night"),
    "clinic": _sample("two_heater_clinic", "Design night", "Snowfall with tank recovery"),
    "school": _sample("school_annex", "Design night", "Evening in the hall"),
    "clinic balanced": lambda: direct_return(True),
}


Row = tuple[str, str, str, Edit, str]
"""Plant, rule, place, edit, and the edit in words."""


@dataclass(frozen=True)
class Fault:
    """One fault: the plant it is put into, the rule that must find it, where, and the edit."""

    plant: str
    rule: str
    at: str
    edit: Edit
    what: str
    needs_cases: bool = False

    def data(self) -> Data:
        """The plant's data with the fault in it."""
        spoiled = PLANTS[self.plant]()
        self.edit(spoiled)
        return spoiled


def out(*names: str) -> Edit:
    """In-line items taken out."""
    return lambda data: [take_out(data, name) for name in names]


def gone(*names: str) -> Edit:
    """Items taken away with the pipes on them."""
    return lambda data: remove(data, *names)


def said(name: str, **values: Any) -> Edit:
    """Properties typed otherwise."""
    return lambda data: props(data, name, **values)


def turned(name: str, one: str = "in", other: str = "out") -> Edit:
    """Two ports changed over."""
    return lambda data: swap(data, (name, one), (name, other))


def made(name: str, kind: str, ports: dict[str, str] | None = None, **values: Any) -> Edit:
    """An item of another kind in its place."""
    return lambda data: become(data, name, kind, ports, **values)


def on_pipe(start: str, end: str, **keys: Any) -> Edit:
    """Keys of a pipe typed otherwise; None takes one away."""

    def edit(data: Data) -> None:
        found = between(data, start, end)
        for key, value in keys.items():
            if value is None:
                found.pop(key, None)
            else:
                found[key] = value

    return edit


def put(
    start: str, end: str, name: str, kind: str, ports: tuple[str, str] = ("in", "out"), **more: Any
) -> Edit:
    """An item put into a pipe."""
    return lambda data: put_in(data, between(data, start, end)["id"], name, kind, ports, **more)


def both(*edits: Edit) -> Edit:
    """Edits that together are one fault."""
    return lambda data: [edit(data) for edit in edits]


def system(name: str, **values: Any) -> Edit:
    """A system's fluid or pressure typed otherwise."""
    return lambda data: data["systems"][name].update(values)


def case(name: str, **values: Any) -> Edit:
    """A case changed."""
    return lambda data: next(one for one in data["cases"] if one["name"] == name).update(values)


def added(name: str, kind: str, **values: Any) -> Edit:
    """An item drawn beside."""
    return lambda data: data["items"].append({"id": name, "kind": kind, "at": [0, 0], "props": values})


def heights(**values: str) -> Edit:
    """Heights of items, dots of their ids written as underscores."""
    return lambda data: [props(data, name.replace("_", "-"), height=value) for name, value in values.items()]


def moved(name: str, start: str, end: str) -> Edit:
    """An in-line item taken out and put into another pipe."""

    def edit(data: Data) -> None:
        found = dict(item(data, name))
        take_out(data, name)
        put_in(data, between(data, start, end)["id"], name, found["kind"], **found["props"])

    return edit


SHUTOFF: dict[str, Any] = {"cv": 30, "open": True}


def loose(data: Data) -> None:
    """A pipe between G-9 and V-9 that nothing else joins."""
    like = data["pipes"][0]
    data["pipes"].append({**like, "id": "L-99", "from": ["G-9", "at"], "to": ["V-9", "a"]})


def no_fill(name: str) -> Edit:
    """A system without fill pressure."""
    return lambda data: data["systems"][name].pop("fill_pressure", None)


def bare(one: str, other: str, name: str) -> Edit:
    """A pipe without insulation, under a name of its own."""

    def edit(data: Data) -> None:
        found = between(data, one, other)
        found["id"] = name
        found.pop("insulation", None)

    return edit


def second_return(data: Data) -> None:
    """A return from J-9 that meets the other before the circulator."""
    like = between(data, "V-5", "P-5")
    put_in(data, like["id"], "J-99", "joint", ("at", "at"))
    data["pipes"].append({**like, "id": "L-99x", "from": ["J-9", "at"], "to": ["J-99", "at"]})


def second_side(vessel: str, before: str, after: str) -> Edit:
    """Lead the pipe between two items through the lower end of a vessel."""

    def edit(data: Data) -> None:
        one = between(data, before, after)
        data["pipes"].append({**one, "id": f"{vessel}-3", "from": [vessel, "a_out"], "to": one["to"]})
        one["to"] = [vessel, "b_in"]

    return edit


def taps_of(hot: str, cold: str) -> dict[str, str]:
    """Taps of the house's tank."""
    return {"hot": hot, "cold": cold, "top": "5 ft", "bottom": "0 ft"}
