"""Deliberately wrong variants of the sample plants, and what a solve must show of each.

A variant is the sound file with one or a few edits. `noted` are ids of which one must carry a note whose
words match `words`; what else changes is asserted in tests/samples/test_wrong_variants.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.plants.edits import Data, item, pipe, props, remove, rename, sample, swap


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
    """Nor a fill pressure: nothing is left that says what the glycol stands at."""
    remove(data, "ET-3")
    data["systems"]["melt"].pop("fill_pressure")


def _shut_valve(data: Data) -> None:
    props(data, "V-3", open=False)


def _undersized_pipe(data: Data) -> None:
    for one in data["pipes"]:
        if one["system"] == "floor":
            one["tube"] = {"material": "copper_l", "size": "3/8 in"}


def _dead_pump(data: Data) -> None:
    props(data, "P-6", run_when=False)


def _parallel_flow(data: Data) -> None:
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
    """The floor mixing valve set above what the boilers give."""
    props(data, "MV-1", set_temperature="70 degC")


SNOW = "Snowfall with tank recovery"
VARIANTS = (
    Variant("shut valve", "potting_shed", "Design night", _shut_valve, ("P-1",), "shut-off"),
    Variant("undersized pipe", "potting_shed", "Design night", _undersized_pipe),
    Variant("reversed pump", "potting_shed", "Design night", _reversed_pump),
    Variant(
        "reversed check valve", "two_heater_clinic", "Design night", _reversed_check, ("CV-2",), "reversed"
    ),
    Variant("no expansion tank", "two_heater_clinic", SNOW, _no_expansion_tank, (), "pinned at 0"),
    Variant("dead pump", "two_heater_clinic", SNOW, _dead_pump, ("P-6",), "no flow"),
    Variant(
        "parallel-flow exchanger", "two_heater_clinic", "Design night", _parallel_flow, ("RA-1",), "short"
    ),
    Variant("missing check", "two_heater_clinic", "Mild day", _missing_check, ("FC-1",), "short"),
    Variant("glycol into potable", "two_heater_clinic", "All off", _glycol_into_potable, (), "potable, melt"),
    Variant("starved heaters", "two_heater_clinic", SNOW, _starved_heaters, ("H-1",), "capacity"),
    Variant("cold main shut", "two_heater_clinic", "Mild day", _no_cold_main, ("F-1",), "no pressure"),
    Variant("boiler without pump", "school_annex", "Design night", _boiler_without_pump, ("B-2",), "flow"),
    Variant("shut header", "school_annex", "Evening in the hall", _shut_header, ("P-6",), "shut-off"),
    Variant("floor set too hot", "school_annex", "Weekend", _hot_floor, ("MV-1",), "does not hold"),
)


BALANCED = (1.0, 0.93, 0.81)  # settings found by trying, far heater first


def direct_return(balanced: bool) -> Data:
    """The kennel clinic with its heaters in direct return: H-3 lies nearest to both mains, H-1 farthest.

    The feed enters at the right end of its header, where the hot header leaves. Each heater has a balance
    valve for its outlet valve; wide open, the near heater takes most; `balanced`, they share evenly.
    """
    data = sample("two_heater_clinic")
    feed, far, near = pipe(data, "PS-1", "J-4"), pipe(data, "J-4", "SV-1"), pipe(data, "J-5", "SV-5")
    item(data, "J-4")["at"] = [440, 330]
    feed["via"] = [[60, 540], [60, 370], [440, 370]]
    pipe(data, "J-4", "J-5").update({"from": ["J-4", "at"], "to": ["J-5", "at"]})
    far.update({"from": ["J-5", "at"], "length": "5 ft", "fittings": {"tee_run": 1, "elbow_90": 1}})
    near.update({"from": ["J-4", "at"], "length": "2 ft", "fittings": {"tee_branch": 1}})
    near.pop("via", None)
    for n, setting in enumerate(BALANCED if balanced else (1.0, 1.0, 1.0), 1):
        valve = item(data, f"SV-{2 * n}")
        valve.update({"id": f"BV-1{n}", "kind": "balance_valve", "props": {"cv": 6, "setting": setting}})
        rename(data, f"SV-{2 * n}", f"BV-1{n}")
    return data
