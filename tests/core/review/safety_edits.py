"""Edits of the good plant that put faults of safety into it, or what is near a fault and none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.plants.edits import (
    Data,
    add,
    hang,
    insert,
    item,
    move,
    pipe,
    pipe_of,
    props,
    remove,
    take_out,
)

Edit = Callable[[Data], object]


def sets(name: str, **values: Any) -> Callable[[Data], None]:
    return lambda data: props(data, name, **values)


def both(*edits: Callable[[Data], object]) -> Callable[[Data], None]:
    def edit(data: Data) -> None:
        for one in edits:
            one(data)

    return edit


def without(*names: str) -> Callable[[Data], None]:
    return lambda data: remove(data, *names)


def put(into: str, name: str, kind: str, **values: Any) -> Callable[[Data], None]:
    return lambda data: insert(data, into, name, kind, **values)


def onto(into: str, name: str, kind: str, **values: Any) -> Callable[[Data], None]:
    return lambda data: hang(data, into, name, kind, **values)


def moved(name: str, into: str) -> Callable[[Data], None]:
    return lambda data: move(data, name, into)


def out(name: str) -> Callable[[Data], None]:
    return lambda data: take_out(data, name)


def fluid(name: str, **values: Any) -> Callable[[Data], None]:
    return lambda data: data["systems"][name].update(fluid=values)


def label(name: str, text: str) -> Callable[[Data], None]:
    return lambda data: item(data, name).update(label=text)


def cases(key: str, **values: Any) -> Callable[[Data], None]:
    """Change a key of every case."""

    def edit(data: Data) -> None:
        for case in data["cases"]:
            case.setdefault(key, {}).update(values)

    return edit


def pumped_toward(data: Data) -> None:
    """The tank of the glycol loop on the far side of its circulator."""
    move(data, "ET-3", "L-107")


def second_tank(data: Data) -> None:
    hang(data, "L-57", "ET-9", "expansion_tank", volume="4.4 gal", acceptance="2.5 gal", precharge="15 psi")


def glycol_in_heating(data: Data) -> None:
    data["systems"]["heating"]["fluid"] = {"kind": "propylene_glycol", "fraction": 0.4}


def main_straight_to_heating(data: Data) -> None:
    for name in ("BP-1", "FV-1"):
        take_out(data, name)


def tap_on_the_tank(data: Data) -> None:
    """The sink before the master valve."""
    pipe(data, "J-10", "F-2")["from"] = ["J-V", "at"]
    add(data, "J-V", "joint")
    first = pipe(data, "V-3", "MV-1")
    data["pipes"].append({**first, "id": "L-V", "from": ["J-V", "at"]})
    first["to"] = ["J-V", "at"]


def no_master(data: Data) -> None:
    """Tank straight to the loop, the cold branch of the valve gone."""
    remove(data, "V-4")
    first = pipe(data, "V-3", "MV-1")
    first["to"] = ["J-7", "at"]
    remove(data, "MV-1")


def return_to_tank_alone(data: Data) -> None:
    """A check between the joint of the return and the valve's cold branch."""
    add(data, "J-R", "joint")
    cold = pipe(data, "J-6", "CT-1")
    pipe(data, "V-6", "J-6")["to"] = ["J-R", "at"]
    data["pipes"].append({**cold, "id": "L-R", "from": ["J-R", "at"]})
    cold["to"] = ["J-R", "at"]
    insert(data, cold["id"], "CV-R", "check_valve", cv=12, size="3/4 in")


def stub(data: Data) -> None:
    hang(data, "L-36", "PL-1", "plug")
    pipe_of(data, "L-36-c")["length"] = "2 ft"


def short_stub(data: Data) -> None:
    hang(data, "L-36", "PL-1", "plug")
    pipe_of(data, "L-36-c")["length"] = "1 in"


def emitter_in_drinking_water(data: Data) -> None:
    insert(
        data,
        "L-26",
        "FC-9",
        "floor_circuit",
        area="50 ft2",
        output_per_degree="20 Btu/h/degF",
        tube={"material": "pex", "size": "1/2 in"},
        loops=["100 ft"],
        oxygen_barrier=True,
    )


def taps_by_height(data: Data, bottom: str) -> None:
    for case in data["cases"]:
        case["tanks"]["CT-1"] = {"hot": "141 degF", "top": "141 degF", "cold": bottom, "bottom": bottom}


def unheated(data: Data) -> None:
    pipe(data, "FC-1", "PS-2")["around"] = "10 degF"


def boiler_alone(data: Data) -> None:
    """A boiler's aquastat of its own: it fires whatever the zones call."""
    props(data, "B-1", run_when=True, flow_switch=None)


def melt_on_own_switch(data: Data) -> None:
    add(data, "SW-9", "switch", call=True)
    props(data, "P-4", run_when={"any": ["SW-1", "SW-9"]})
