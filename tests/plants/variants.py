"""Deliberately wrong variants of the sample plants, and what a solve must show of each.

A variant is the sound file with one or a few edits. `noted` are ids of which one must carry a note whose
words match `words`; what else changes is asserted in tests/samples/test_wrong_variants.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.plants.edits import Data, add_pipe, item, pipe, props, remove, sample, swap


@dataclass(frozen=True)
class Variant:
    """One spoiled sample: how it is spoiled, the case to look at, the note to expect."""

    name: str
    of: str
    case: str
    spoil: Callable[[Data], None]
    noted: tuple[str, ...] = ()
    words: str = ""

    def data(self) -> Data:
        """The spoiled plant file's data."""
        spoiled = sample(self.of)
        self.spoil(spoiled)
        return spoiled


def _reversed_check(data: Data) -> None:
    swap(data, ("CV-2", "in"), ("CV-2", "out"))


def _no_expansion_tank(data: Data) -> None:
    remove(data, "ET-3")


def _shut_valve(data: Data) -> None:
    props(data, "V-3", open=False)


def _undersized_pipe(data: Data) -> None:
    for one in data["pipes"]:
        if one["system"] == "floor":
            one["tube"] = {"material": "copper_l", "size": "3/8 in"}


def _dead_pump(data: Data) -> None:
    props(data, "P-6", run_when=False)


def _parallel_flow_exchanger(data: Data) -> None:
    swap(data, ("HX-1", "b_in"), ("HX-1", "b_out"))


def _missing_check(data: Data) -> None:
    props(data, "P-3", integral_check=False)


def _glycol_into_potable(data: Data) -> None:
    """The melt exchanger left out: glycol piped straight to the potable lines."""
    supply, back = pipe(data, "SV-9", "HX-2"), pipe(data, "HX-2", "SV-10")
    supply["to"] = pipe(data, "HX-2", "SV-13")["to"]
    back["from"] = pipe(data, "SV-14", "HX-2")["from"]
    remove(data, "HX-2")


def _starved_heaters(data: Data) -> None:
    """Two of three heaters valved off: the one left cannot carry what calls together."""
    props(data, "SV-3", open=False)
    props(data, "SV-5", open=False)


def _reversed_pump(data: Data) -> None:
    swap(data, ("P-1", "in"), ("P-1", "out"))


def _no_cold_main(data: Data) -> None:
    props(data, "V-1", open=False)


def _boiler_without_pump(data: Data) -> None:
    props(data, "P-2", run_when=False)


def _shut_header(data: Data) -> None:
    props(data, "V-12", open=False)


def _hot_floor(data: Data) -> None:
    """The floor mixing valve set above what the buffer holds."""
    props(data, "MV-1", set_temperature="62 degC")


SNOW = "Snowfall with tank recovery"
VARIANTS = (
    Variant("shut valve", "potting_shed", "Design night", _shut_valve, ("P-1",), "shut-off"),
    Variant("undersized pipe", "potting_shed", "Design night", _undersized_pipe),
    Variant("reversed pump", "potting_shed", "Design night", _reversed_pump, ("P-1",), ""),
    Variant("reversed check valve", "kennel_clinic", "Design night", _reversed_check, ("CV-2", "P-2"), ""),
    Variant(
        "no expansion tank",
        "kennel_clinic",
        "Snowfall with tank recovery",
        _no_expansion_tank,
        (),
        "pressure",
    ),
    Variant("dead pump", "kennel_clinic", SNOW, _dead_pump, (), ""),
    Variant("exchanger piped parallel-flow", "kennel_clinic", "Design night", _parallel_flow_exchanger),
    Variant("missing check in parallel pumps", "kennel_clinic", "Mild day", _missing_check),
    Variant("glycol into potable", "kennel_clinic", "All off", _glycol_into_potable, (), "system"),
    Variant(
        "starved heaters",
        "kennel_clinic",
        "Snowfall with tank recovery",
        _starved_heaters,
        ("H-1",),
        "capacity",
    ),
    Variant("cold main shut", "kennel_clinic", "Mild day", _no_cold_main, ("F-1",), ""),
    Variant("boiler without pump", "school_annex", "Design night", _boiler_without_pump, ("B-2",), "flow"),
    Variant("shut header", "school_annex", "Evening in the hall", _shut_header, ("P-6",), "shut-off"),
    Variant("floor set too hot", "school_annex", "Weekend", _hot_floor, ("MV-1",), ""),
)


def direct_return(balanced: bool) -> Data:
    """The kennel clinic with its heaters in direct return: H-3 lies nearest to both mains, H-1 farthest.

    The feed enters at the right end of its header, where the hot header leaves. Each heater has a balance
    valve in its outlet; wide open, the near heater takes most; `balanced`, they share evenly.
    """
    data = sample("kennel_clinic")
    feed, far, near = pipe(data, "PS-1", "J-4"), pipe(data, "J-4", "SV-1"), pipe(data, "J-5", "SV-5")
    item(data, "J-4")["at"] = [440, 330]
    feed["via"] = [[60, 540], [60, 370], [440, 370]]
    pipe(data, "J-4", "J-5").update({"from": ["J-4", "at"], "to": ["J-5", "at"]})
    far.update({"from": ["J-5", "at"], "length": "5 ft", "fittings": {"tee_run": 1, "elbow_90": 1}})
    near.update({"from": ["J-4", "at"], "length": "2 ft", "fittings": {"tee_branch": 1}})
    near.pop("via", None)
    for n, setting in enumerate((1.0, 0.66, 0.55) if balanced else (1.0, 1.0, 1.0), 1):
        last = next(one for one in data["pipes"] if one["from"][0] == f"SV-{2 * n}")
        x, y = item(data, f"SV-{2 * n}")["at"]
        valve = {"id": f"BV-1{n}", "kind": "balance_valve", "at": [x, y + 45], "turn": 90}
        data["items"].append(valve | {"props": {"cv": 6, "setting": setting}})
        add_pipe(data, f"L-D{n}", tuple(last["from"]), (f"BV-1{n}", "a"), last, length="6 in")
        last["from"] = [f"BV-1{n}", "b"]
    return data
