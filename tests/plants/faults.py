"""Single faults put into good plants, and where the review must find each: the rule's id and the place.

A fault is one edit. `rule` is the id of the rule that must find it, `at` an id that its finding must name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.plants.edits import (
    Data,
    become,
    between,
    item,
    pipe,
    props,
    put_in,
    remove,
    sample,
    swap,
    take_out,
)
from tests.plants.good_circuits import close_tees, two_tanks
from tests.plants.good_plants import curve, whole_house
from tests.plants.variants import direct_return

Edit = Callable[[Data], object]
PLANTS: dict[str, Callable[[], Data]] = {
    "house": whole_house,
    "tees": close_tees,
    "tanks": two_tanks,
    "shed": lambda: sample("potting_shed"),
    "bakery": lambda: sample("bakery_loft"),
    "orchard": lambda: sample("orchard_packhouse"),
    "clinic": lambda: sample("kennel_clinic"),
    "school": lambda: sample("school_annex"),
    "clinic balanced": lambda: direct_return(True),
}


@dataclass(frozen=True)
class Fault:
    """One fault: the plant it is put into, the rule that must find it, where, and the edit."""

    plant: str
    rule: str
    at: str
    edit: Edit
    what: str

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


_SMALL = curve(1.5, 1)
_SHUTOFF = {"cv": 30, "open": True}


def _faults() -> list[tuple[str, str, str, Edit, str]]:
    return [
        *_checks(),
        *_turned(),
        *_gravity(),
        *_headers(),
        *_air(),
        *_service(),
        *_circulators(),
        *_zones(),
        *_sources(),
        *_cycling(),
        *_balance(),
        *_exchangers(),
        *_taps(),
        *_pipes(),
        *_controls(),
        *_drawing(),
        *_safety(),
    ]


def _checks() -> list[tuple[str, str, str, Edit, str]]:
    missing = [
        ("bakery", "CV-2", "P-2"),
        ("bakery", "CV-3", "P-3"),
        ("clinic", "CV-2", "P-2"),
        ("clinic", "CV-4", "P-4"),
        ("school", "CV-1", "P-1"),
        ("school", "CV-2", "P-2"),
        ("school", "CV-3", "P-3"),
        ("school", "CV-4", "P-4"),
        ("school", "CV-6", "P-6"),
        ("house", "CV-4", "P-2"),
        ("house", "CV-6", "P-3"),
    ]
    return [
        *(
            (plant, "check-beside-circulator", pump, out(check), f"{check} left out")
            for plant, check, pump in missing
        ),
        ("clinic", "check-beside-circulator", "P-3", said("P-3", integral_check=False), "no check in P-3"),
        (
            "house",
            "check-beside-circulator",
            "P-1",
            both(said("AQ-2", senses=["J-21", "at"]), out("CV-3")),
            "no CV-3",
        ),
        ("shed", "check-twice", "CV-9", put("P-1", "V-3", "CV-9", "check_valve"), "a check behind P-1"),
        ("clinic", "check-twice", "CV-9", put("P-3", "BV-4", "CV-9", "check_valve"), "a check behind P-3"),
        ("house", "check-twice", "CV-9", put("CV-3", "J-21", "CV-9", "check_valve"), "a second check"),
        (
            "house",
            "check-in-stirred-water",
            "CV-3",
            both(on_pipe("V-15", "CV-3", length="2 in"), on_pipe("P-1", "V-15", length="2 in")),
            "P-1 close by",
        ),
        ("house", "check-in-stirred-water", "CV-4", on_pipe("P-2", "CV-4", length="3 in"), "P-2 close by"),
    ]


def _turned() -> list[tuple[str, str, str, Edit, str]]:
    arrows = [
        *(("shed", name) for name in ("P-1",)),
        *(("bakery", name) for name in ("P-1", "P-2", "P-3", "CV-1", "CV-2", "CV-3")),
        *(("orchard", name) for name in ("P-1", "P-2", "CV-1")),
        *(
            ("clinic", name)
            for name in ("P-1", "P-2", "P-3", "P-4", "P-5", "P-6", "CV-1", "CV-2", "CV-4", "CV-5")
        ),
        *(("school", name) for name in ("P-1", "P-3", "P-4", "P-5", "P-6", "CV-1", "CV-3", "CV-4", "CV-6")),
        *(
            ("house", name)
            for name in ("P-1", "P-2", "P-3", "P-4", "P-5", "CV-1", "CV-2", "CV-3", "CV-4", "CV-5")
        ),
        *(("tees", name) for name in ("P-1", "P-2", "P-3", "CV-1")),
        ("tanks", "CV-1"),
    ]
    return [
        *((plant, "against-the-arrow", name, turned(name), f"{name} turned round") for plant, name in arrows),
        *(
            (plant, "source-backward", name, turned(name), f"{name} turned round")
            for plant, name in (("shed", "B-1"), ("bakery", "B-1"), ("house", "B-1"), ("orchard", "HP-1"))
        ),
    ]


def _gravity() -> list[tuple[str, str, str, Edit, str]]:
    return [
        *(
            (plant, "check-opens-too-softly", name, said(name, opens_at=None), f"{name} without a spring")
            for plant, name in (
                ("clinic", "CV-4"),
                ("school", "CV-3"),
                ("school", "CV-6"),
                ("orchard", "CV-1"),
            )
        ),
        ("tees", "return-without-trap", "P-2", out("CV-2"), "no check in the return"),
        (
            "clinic",
            "tank-empties-by-gravity",
            "T-1",
            made("ZV-1", "shutoff", **_SHUTOFF),
            "ZV-1 a hand valve",
        ),
        ("clinic", "tank-empties-by-gravity", "T-1", out("CV-5"), "CV-5 left out"),
        ("house", "tank-empties-by-gravity", "CT-1", out("CV-5"), "CV-5 left out"),
        ("tees", "ghost-flow", "RA-2", both(out("CV-3", "CV-4"), heights(RA_2="10 ft")), "no check at RA-2"),
    ]


def _headers() -> list[tuple[str, str, str, Edit, str]]:
    wide = on_pipe("A-1", "A-2", length="3 ft")
    guess = on_pipe("A-1", "A-2", length={"guess": "3 ft", "within": 0.3})
    separator = both(
        put("J-2", "P-1", "HS-1", "separator", ("a_in", "b_out")),
        _second_side("HS-1", "C-2", "J-4"),
        put("J-4", "DS-1", "P-9", "circulator", curve=curve(10, 16), run_when={"any": ["TH-1", "TH-2"]}),
    )
    return [
        ("tees", "tees-too-far-apart", "A-1", wide, "tees 3 ft apart"),
        ("tees", "tees-too-far-apart", "A-1", guess, "tees 3 ft apart, a guess"),
        ("tees", "tees-too-far-apart", "C-1", on_pipe("C-1", "C-2", length="20 in"), "tees 20 in apart"),
        (
            "tees",
            "tees-too-far-apart",
            "V-9",
            put("A-1", "A-2", "V-9", "shutoff", ("a", "b")),
            "a valve between",
        ),
        (
            "tees",
            "tees-in-stirred-water",
            "A-1",
            on_pipe("V-2", "A-1", length="3 in"),
            "no straight before A-1",
        ),
        ("tees", "tees-in-stirred-water", "A-1", on_pipe("V-2", "A-1", straight="1 in"), "1 in straight"),
        ("tees", "parted-twice", "A-1", separator, "a separator before the tees"),
        (
            "bakery",
            "separator-dilutes",
            "HS-1",
            said("P-1", curve=[["0 L/s", "0.2 m_head"], ["0.04 L/s", "0 m_head"]]),
            "weak P-1",
        ),
        (
            "school",
            "separator-dilutes",
            "HS-1",
            both(
                said("P-1", curve=[["0 L/s", "0.6 m_head"], ["0.2 L/s", "0 m_head"]]),
                said("P-2", curve=[["0 L/s", "0.6 m_head"], ["0.2 L/s", "0 m_head"]]),
            ),
            "weak boiler pumps",
        ),
        (
            "tees",
            "later-load-too-cold",
            "RA-2",
            both(
                said("RA-1", load="40 kBtu/h", rated={**RATED, "heat": "90 kBtu/h"}),
                said("P-1", curve=_SMALL),
            ),
            "a large load first",
        ),
    ]


RATED = {"flow": "2 gpm", "supply": "160 degF", "room": "68 degF", "exponent": 1.3}


def _second_side(vessel: str, before: str, after: str) -> Edit:
    """Lead the pipe between two items through the lower end of a vessel."""

    def edit(data: Data) -> None:
        one = between(data, before, after)
        data["pipes"].append({**one, "id": f"{vessel}-3", "from": [vessel, "a_out"], "to": one["to"]})
        one["to"] = [vessel, "b_in"]

    return edit


def _air() -> list[tuple[str, str, str, Edit, str]]:
    return [
        *(
            (plant, "no-air-separator", source, out(name), f"{name} left out")
            for plant, name, source in (
                ("shed", "AS-1", "B-1"),
                ("bakery", "AS-1", "B-1"),
                ("orchard", "AS-1", "HP-1"),
                ("school", "AS-1", "B-1"),
                ("house", "AS-1", "B-1"),
                ("house", "AS-2", "HX-1"),
                ("clinic", "AS-2", "HX-2"),
            )
        ),
        (
            "shed",
            "air-separator-in-the-wrong-place",
            "AS-1",
            moved("AS-1", "V-4", "J-8"),
            "AS-1 in the return",
        ),
        (
            "house",
            "air-separator-in-the-wrong-place",
            "AS-1",
            moved("AS-1", "J-17", "DS-1"),
            "AS-1 in the return",
        ),
        (
            "school",
            "air-separator-in-the-wrong-place",
            "AS-1",
            moved("AS-1", "J-6", "DS-1"),
            "AS-1 in the return",
        ),
        (
            "clinic",
            "air-separator-in-the-wrong-place",
            "AS-2",
            moved("AS-2", "V-13", "MC-1"),
            "AS-2 behind P-6",
        ),
        ("house", "high-point-without-vent", "J-17", heights(J_17="8 ft"), "a hump in the return"),
        ("house", "high-point-without-vent", "J-30", heights(J_30="9 ft"), "a hump in the glycol"),
        (
            "house",
            "high-point-without-vent",
            "J-19",
            both(heights(J_19="6 ft"), gone("AV-1")),
            "no vent on top",
        ),
        (
            "house",
            "vent-sucks-air",
            "AV-2",
            both(system("melt", fill_pressure="1 psi"), heights(AV_2="20 ft", J_31="20 ft")),
            "low fill",
        ),
        (
            "clinic",
            "vent-sucks-air",
            "AS-1",
            both(system("heating", fill_pressure="1 psi"), heights(AS_1="20 ft")),
            "low fill",
        ),
    ]


def _service() -> list[tuple[str, str, str, Edit, str]]:
    return [
        *(
            (plant, "no-isolation", at, out(name), f"{name} left out")
            for plant, name, at in (
                ("shed", "V-2", "P-1"),
                ("shed", "V-3", "P-1"),
                ("clinic", "V-14", "P-4"),
                ("clinic", "V-16", "P-2"),
                ("clinic", "V-19", "P-3"),
                ("clinic", "V-6", "T-1"),
                ("house", "V-14", "P-1"),
                ("house", "V-20", "P-4"),
                ("house", "V-10", "B-1"),
                ("tees", "V-3", "P-2"),
                ("tanks", "V-4", "T-1"),
            )
        ),
        *(
            (plant, "no-purge-point", at, made(name, "shutoff", None, **_SHUTOFF), f"{name} a plain valve")
            for plant, name, at in (
                ("shed", "PS-1", "P-1"),
                ("clinic", "PS-3", "P-6"),
                ("house", "PS-3", "P-4"),
                ("school", "PS-6", "P-6"),
            )
        ),
        *(
            (plant, "no-drain", at, gone(name), f"{name} left out")
            for plant, name, at in (
                ("house", "D-1", "CT-1"),
                ("house", "D-2", "B-1"),
                ("clinic", "D-1", "T-1"),
                ("shed", "D-1", "B-1"),
                ("tanks", "D-1", "T-1"),
            )
        ),
        ("house", "low-point-without-drain", "MC-1", heights(MC_1="-6 ft"), "MC-1 below all drains"),
        ("clinic", "no-flushing-ports", "HX-1", made("SV-8", "shutoff", **_SHUTOFF), "SV-8 a plain valve"),
        ("clinic", "no-flushing-ports", "H-1", made("SV-1", "shutoff", **_SHUTOFF), "SV-1 a plain valve"),
        ("clinic", "no-flushing-ports", "HX-2", made("SV-10", "shutoff", **_SHUTOFF), "SV-10 a plain valve"),
        ("clinic", "no-strainer", "HX-1", out("ST-1"), "ST-1 left out"),
        ("clinic", "no-strainer", "HX-1", out("ST-3"), "ST-3 left out"),
        ("tanks", "no-strainer", "MV-1", out("ST-1"), "ST-1 left out"),
        *(
            (plant, "no-dirt-separator", at, out(name), f"{name} left out")
            for plant, name, at in (
                ("shed", "ST-1", "B-1"),
                ("bakery", "DS-1", "B-1"),
                ("orchard", "ST-1", "HP-1"),
                ("school", "DS-1", "B-2"),
                ("house", "DS-1", "B-1"),
                ("tees", "DS-1", "B-1"),
            )
        ),
        ("shed", "no-union-at-circulator", "P-1", said("P-1", connection="sweat"), "P-1 soldered in"),
        ("clinic", "no-thermometer-behind-mixing-valve", "MV-2", gone("TG-5"), "TG-5 left out"),
        (
            "house",
            "no-thermometer-behind-mixing-valve",
            "TV-1",
            both(gone("TG-4"), said("AQ-2", senses=["J-20", "at"])),
            "TG-4 left out",
        ),
    ]


def _circulators() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("shed", "shaft-not-horizontal", "P-1", said("P-1", shaft="vertical"), "shaft on end"),
        ("house", "shaft-not-horizontal", "P-2", said("P-2", shaft="tilted"), "shaft aslant"),
        ("clinic", "shaft-not-horizontal", "P-6", said("P-6", shaft="unknown"), "shaft not known"),
        (
            "shed",
            "inlet-not-straight",
            "P-1",
            on_pipe("V-2", "P-1", straight="1 in", fittings={"elbow_90": 1}),
            "a bend at the inlet",
        ),
        ("house", "inlet-not-straight", "P-4", on_pipe("V-20", "P-4", straight="3 in"), "3 in before P-4"),
        ("house", "circulator-lowest-or-highest", "P-4", heights(P_4="-3 ft"), "P-4 lowest"),
        ("house", "circulator-lowest-or-highest", "P-4", heights(P_4="8 ft"), "P-4 highest"),
        ("tees", "circulator-lowest-or-highest", "P-3", heights(P_3="-4 ft"), "P-3 lowest"),
        (
            "shed",
            "circulators-in-series",
            "P-9",
            put("B-1", "J-1", "P-9", "circulator", curve=curve(40, 10), run_when={"any": ["TH-1", "TH-2"]}),
            "a larger pump at the boiler",
        ),
        (
            "tees",
            "inlet-near-boiling",
            "P-2",
            both(system("heating", fill_pressure="0 psi"), heights(P_2="26 ft")),
            "no fill pressure",
        ),
        ("house", "no-curve", "P-2", said("P-2", curve=None), "no curve"),
    ]


def _zones() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("shed", "every-way-shut", "P-1", said("P-1", run_when=True), "P-1 always runs"),
        ("shed", "every-way-shut", "P-1", said("V-3", open=False), "V-3 shut"),
        (
            "school",
            "every-way-shut",
            "P-5",
            said("P-5", run_when={"any": ["TH-3", "TH-4", "TH-5"]}),
            "P-5 by TH-5 too",
        ),
        ("bakery", "every-way-shut", "P-2", said("V-3", open=False), "V-3 shut"),
        ("house", "every-way-shut", "P-4", said("V-21", open=False), "V-21 shut"),
        (
            "school",
            "zone-valves-on-a-steep-curve",
            "P-3",
            said("P-3", control="fixed", target=None),
            "P-3 at fixed speed",
        ),
        (
            "house",
            "difference-out-of-reach",
            "P-2",
            said("P-2", control="delta_t", target="40 delta_degF"),
            "40 degF held",
        ),
        (
            "bakery",
            "difference-out-of-reach",
            "P-2",
            said("P-2", control="delta_t", target="10 K"),
            "10 K held",
        ),
        (
            "clinic",
            "difference-starves-emitters",
            "P-2",
            added(
                "OR-9", "outdoor_reset", line=[["0 degF", "115 degF"], ["60 degF", "85 degF"]], sets=["MV-2"]
            ),
            "a reset sets MV-2",
        ),
        (
            "orchard",
            "difference-below-least-flow",
            "P-1",
            both(said("P-1", control="delta_t", target="10 delta_degF"), said("H-1", min_flow="5 gpm")),
            "P-1 by difference",
        ),
    ]


def _sources() -> list[tuple[str, str, str, Edit, str]]:
    weak = [["0 gpm", "3 ft_head"], ["0.6 gpm", "0 ft_head"]]
    return [
        ("clinic", "source-below-least-flow", "H-1", said("H-1", min_flow="5 gpm"), "H-1 wants 5 gpm"),
        ("orchard", "source-below-least-flow", "H-1", said("H-1", min_flow="14 gpm"), "H-1 wants 14 gpm"),
        (
            "clinic",
            "circulation-does-not-fire-heater",
            "H-2",
            said("H-2", max_inlet="90 degF"),
            "H-2 takes 90 degF",
        ),
        (
            "clinic",
            "heater-asked-for-too-much",
            "H-1",
            said("H-1", capacity="9 kBtu/h", min_output="4 kBtu/h"),
            "a small H-1",
        ),
        (
            "shed",
            "source-rise-too-great",
            "B-1",
            both(said("P-1", curve=weak), said("B-1", set_temperature="180 degF")),
            "P-1 too small",
        ),
        ("clinic", "source-above-most-flow", "H-3", said("H-3", max_flow="1.5 gpm"), "H-3 takes 1.5 gpm"),
        ("shed", "cold-return-to-boiler", "B-1", said("B-1", condensing=False), "B-1 must not condense"),
        ("school", "cold-return-to-boiler", "B-2", said("B-2", condensing=False), "B-2 must not condense"),
        ("house", "cold-return-to-boiler", "B-1", said("B-1", condensing=False), "B-1 must not condense"),
        (
            "shed",
            "slab-on-boiler-without-protection",
            "B-1",
            said("B-1", condensing=False),
            "B-1 must not condense",
        ),
        (
            "house",
            "slab-on-boiler-without-protection",
            "B-1",
            said("B-1", condensing=False),
            "B-1 must not condense",
        ),
        ("bakery", "reset-below-tank", "OR-1", said("OR-1", sets=["B-1"]), "OR-1 sets the boiler"),
        (
            "bakery",
            "store-set-above-source",
            "AQ-1",
            said("AQ-1", set_temperature="70 degC"),
            "AQ-1 at 70 degC",
        ),
        (
            "clinic",
            "store-set-above-source",
            "AQ-1",
            said("AQ-1", set_temperature="155 degF"),
            "AQ-1 at 155 degF",
        ),
        (
            "house",
            "store-set-above-source",
            "AQ-1",
            said("B-1", set_temperature="138 degF"),
            "B-1 at 138 degF",
        ),
    ]


def _cycling() -> list[tuple[str, str, str, Edit, str]]:
    felt = both(
        added("AQ-9", "aquastat", senses=["L-3"], set_temperature="45 degC", differential="1 K"),
        said("B-1", run_when={"all": [{"any": ["TH-1", "TH-2"]}, "AQ-9"]}),
    )
    return [
        (
            "shed",
            "source-cycles-short",
            "B-1",
            said("B-1", min_output="20 kBtu/h"),
            "B-1 turns down to 20 kBtu/h",
        ),
        (
            "school",
            "source-cycles-short",
            "B-1",
            both(
                said("B-1", min_output="30 kW"), said("B-2", min_output="30 kW"), said("BT-1", volume="10 L")
            ),
            "boilers that do not turn down",
        ),
        ("shed", "differential-defeated", "AQ-9", felt, "an aquastat of 1 K on the supply"),
        (
            "house",
            "priority-without-end",
            "AQ-1",
            said("P-1", run_when={"all": ["TH-1", {"not": "AQ-1"}, {"not": "AQ-2"}]}),
            "AQ-1 stops P-1",
        ),
    ]


def _balance() -> list[tuple[str, str, str, Edit, str]]:
    return [
        (
            "shed",
            "zones-not-balanced",
            "FC-2",
            both(out("BV-2"), on_pipe("FC-2", "J-6", length="1 ft"), said("FC-2", loops=["60 ft"])),
            "a short loop without BV-2",
        ),
        ("school", "zones-not-balanced", "RA-1", out("BV-1"), "BV-1 left out"),
        ("school", "zones-not-balanced", "FN-1", out("BV-14"), "BV-14 left out"),
        ("orchard", "zones-not-balanced", "FN-3", out("BV-3"), "BV-3 left out"),
        (
            "house",
            "zones-not-balanced",
            "FC-1",
            said("FC-1", loops=[[3, "220 ft"], "90 ft"]),
            "one short loop",
        ),
        (
            "clinic balanced",
            "sources-share-unevenly",
            "H-3",
            lambda data: [
                props(data, f"BV-1{n}", setting=1.0) or become(data, f"BV-1{n}", "shutoff", None, cv=6)
                for n in (1, 2, 3)
            ],
            "no balance valves on direct return",
        ),
        ("clinic", "idle-source-lets-water-by", "H-3", said("H-3", run_when=False), "H-3 off and open"),
        (
            "school",
            "idle-source-lets-water-by",
            "B-2",
            said("B-2", run_when={"all": ["TH-5", "TH-1"]}),
            "B-2 off while P-2 runs",
        ),
        ("tanks", "tanks-share-unevenly", "T-1", on_pipe("V-5", "J-4", length="30 ft"), "T-2 far away"),
    ]


def _exchangers() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("clinic", "exchanger-in-parallel-flow", "HX-1", turned("HX-1", "b_in", "b_out"), "b turned round"),
        ("clinic", "exchanger-in-parallel-flow", "HX-2", turned("HX-2", "a_in", "a_out"), "a turned round"),
        ("house", "exchanger-in-parallel-flow", "HX-1", said("HX-1", arrangement="parallel"), "in parallel"),
        ("house", "approach-too-near", "CT-1", said("AQ-1", set_temperature="163 degF"), "163 degF of 165"),
        ("clinic", "approach-too-near", "HX-1", said("MV-2", set_temperature="148 degF"), "148 degF of 150"),
        ("house", "one-side-still", "HX-1", said("P-4", run_when=False), "P-4 never runs"),
        ("clinic", "one-side-still", "HX-2", said("P-6", run_when=False), "P-6 never runs"),
        ("house", "one-side-still", "HX-1", said("P-3", run_when=False), "P-3 never runs"),
    ]


def _taps() -> list[tuple[str, str, str, Edit, str]]:
    bare = [on_pipe(a, b, insulation=None, length="60 ft") for a, b in (("J-8", "J-9"), ("J-9", "J-10"))]
    return [
        ("clinic", "circulation-without-check", "P-5", out("CV-5"), "CV-5 left out"),
        ("house", "circulation-without-check", "P-5", out("CV-5"), "CV-5 left out"),
        (
            "house",
            "circulation-too-slow",
            "P-5",
            both(*bare, said("P-5", curve=curve(2, 0.3))),
            "bare and slow",
        ),
        ("house", "long-wait", "F-2", on_pipe("J-10", "F-2", length="80 ft"), "80 ft to F-2"),
        ("tanks", "long-wait", "F-1", on_pipe("J-5", "MV-2", length="200 ft"), "200 ft to F-1"),
        (
            "house",
            "tank-taps-at-the-wrong-height",
            "CT-1",
            said("CT-1", taps=_taps_of("4.9 ft", "3 ft")),
            "cold high",
        ),
        (
            "house",
            "tank-taps-at-the-wrong-height",
            "CT-1",
            said("CT-1", taps=_taps_of("1 ft", "4 in")),
            "hot low",
        ),
        (
            "clinic",
            "tank-taps-at-the-wrong-height",
            "T-1",
            said(
                "T-1",
                taps={
                    "top": "56 in",
                    "hot": "52 in",
                    "supply": "44 in",
                    "return": "40 in",
                    "cold": "5 in",
                    "bottom": "0 in",
                },
            ),
            "return high",
        ),
        ("house", "sensor-too-high", "AQ-1", said("AQ-1", senses=["CT-1", "top"]), "sensor at the top"),
        ("bakery", "sensor-too-high", "AQ-1", said("AQ-1", senses=["CT-1", "hot"]), "sensor at the outlet"),
        ("clinic", "sensor-too-high", "AQ-1", said("AQ-1", senses=["T-1", "top"]), "sensor at the top"),
        ("house", "circulation-not-balanced", "P-5", _second_return, "a second return without a valve"),
    ]


def _taps_of(hot: str, cold: str) -> dict[str, str]:
    return {"hot": hot, "cold": cold, "top": "5 ft", "bottom": "0 ft"}


def _second_return(data: Data) -> None:
    """A return from J-9 that meets the other before the circulator."""
    like = between(data, "V-5", "P-5")
    put_in(data, like["id"], "J-99", "joint", ("at", "at"))
    data["pipes"].append({**like, "id": "L-99x", "from": ["J-9", "at"], "to": ["J-99", "at"]})


def _pipes() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("house", "bare-hot-pipe", "bare", lambda data: _bare(data, "J-12", "V-10", "bare"), "bare"),
        ("clinic", "bare-hot-pipe", "L-24", on_pipe("J-9", "ZV-1", insulation=None), "L-24 bare"),
        ("school", "bare-hot-pipe", "L-19", on_pipe("J-1", "HS-1", insulation=None), "L-19 bare"),
        (
            "house",
            "copper-meets-steel",
            "J-11",
            on_pipe("J-11", "J-12", tube={"material": "steel_40", "size": "1 in"}),
            "a steel pipe",
        ),
        (
            "clinic",
            "copper-meets-steel",
            "J-9",
            on_pipe("J-9", "J-11", tube={"material": "steel_40", "size": "1 1/4 in"}),
            "a steel pipe",
        ),
        (
            "clinic",
            "water-too-fast",
            "L-39",
            on_pipe("J-10", "J-12", tube={"material": "copper_l", "size": "1/2 in"}),
            "1/2 in for 9 gpm",
        ),
        (
            "school",
            "water-too-fast",
            "L-42",
            on_pipe("CV-3", "J-A1s", tube={"material": "copper_en", "size": "15 x 1 mm"}),
            "15 mm for 0.5 L/s",
        ),
        (
            "orchard",
            "antifreeze-too-thin",
            "HP-1",
            system("loop", fluid={"kind": "propylene_glycol", "fraction": 0.15}),
            "15 % of glycol",
        ),
    ]


def _bare(data: Data, one: str, other: str, name: str) -> None:
    found = between(data, one, other)
    found["id"] = name
    found.pop("insulation", None)


def _controls() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("house", "never-runs", "P-2", said("P-2", run_when=False), "P-2 off for good"),
        (
            "shed",
            "never-runs",
            "ZV-1",
            said("ZV-1", run_when={"all": ["TH-1", {"not": "TH-1"}]}),
            "a contradiction",
        ),
        (
            "shed",
            "call-runs-nothing",
            "TH-9",
            added("TH-9", "thermostat", set_temperature="60 degF"),
            "a stat for nothing",
        ),
        ("school", "call-runs-nothing", "SW-9", added("SW-9", "switch"), "a switch for nothing"),
        (
            "shed",
            "call-waits-for-another",
            "TH-2",
            both(said("P-1", run_when="TH-1"), said("B-1", run_when="TH-1")),
            "P-1 follows TH-1 alone",
        ),
        ("school", "call-waits-for-another", "TH-2", said("P-3", run_when="TH-1"), "P-3 follows TH-1 alone"),
        (
            "bakery",
            "room-without-stat",
            "R-3",
            both(said("TH-2", senses=["R-2"]), said("ZV-3", run_when=None)),
            "no stat in R-3",
        ),
        (
            "house",
            "stat-feels-nothing",
            "AQ-1",
            both(said("AQ-1", senses=None), case("Morning", signals={})),
            "AQ-1 feels nothing",
        ),
    ]


def _drawing() -> list[tuple[str, str, str, Edit, str]]:
    return [
        ("school", "unnamed", "RA-3", lambda data: item(data, "RA-3").update(label=""), "RA-3 unnamed"),
        (
            "shed",
            "reached-from-nothing",
            "G-9",
            both(added("G-9", "gauge"), added("V-9", "shutoff"), _loose),
            "a loose piece",
        ),
        ("shed", "figure-missing", "B-1", said("B-1", capacity=None), "no capacity"),
        ("clinic", "figure-missing", "HX-1", said("HX-1", ua=None), "no UA"),
        ("bakery", "figure-missing", "CT-1", said("CT-1", coil_ua=None), "no UA of the coil"),
        ("clinic", "figure-missing", "CM-1", said("CM-1", pressure=None), "no pressure"),
        (
            "house",
            "no-pressure-reference",
            "HX-1",
            both(gone("ET-3"), _no_fill("melt")),
            "nothing holds the glycol",
        ),
        (
            "house",
            "open-end",
            "HX-1",
            lambda data: data["pipes"].remove(pipe(data, "HX-1", "J-30")),
            "a pipe left out",
        ),
    ]


def _loose(data: Data) -> None:
    like = data["pipes"][0]
    data["pipes"].append({**like, "id": "L-99", "from": ["G-9", "at"], "to": ["V-9", "a"]})


def _no_fill(name: str) -> Edit:
    return lambda data: data["systems"][name].pop("fill_pressure", None)


def _safety() -> list[tuple[str, str, str, Edit, str]]:
    return []


FAULTS: tuple[Fault, ...] = tuple(Fault(*one) for one in _faults())
