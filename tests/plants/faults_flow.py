"""Faults of how water flows, and where each must be found."""

from __future__ import annotations

from tests.plants.edits import become, props
from tests.plants.fault_edits import (
    SHUTOFF,
    Row,
    added,
    bare,
    both,
    gone,
    heights,
    made,
    moved,
    on_pipe,
    out,
    put,
    said,
    second_side,
    system,
    turned,
)
from tests.plants.good_plants import curve

RATED = {"flow": "2 gpm", "supply": "160 degF", "room": "68 degF", "exponent": 1.3}


def faults() -> list[Row]:
    """All of them."""
    return [
        *_checks(),
        *_turned(),
        *_gravity(),
        *_headers(),
        *_air(),
        *_circulators(),
        *_zones(),
        *_balance(),
        *_pipes(),
    ]


def _checks() -> list[Row]:
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


def _turned() -> list[Row]:
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


def _gravity() -> list[Row]:
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
            made("ZV-1", "shutoff", **SHUTOFF),
            "ZV-1 a hand valve",
        ),
        ("clinic", "tank-empties-by-gravity", "T-1", out("CV-5"), "CV-5 left out"),
        ("house", "tank-empties-by-gravity", "CT-1", out("CV-5"), "CV-5 left out"),
        ("tees", "ghost-flow", "RA-2", both(out("CV-3", "CV-4"), heights(RA_2="10 ft")), "no check at RA-2"),
    ]


def _headers() -> list[Row]:
    wide = on_pipe("A-1", "A-2", length="3 ft")
    guess = on_pipe("A-1", "A-2", length={"guess": "3 ft", "within": 0.3})
    separator = both(
        put("J-2", "P-1", "HS-1", "separator", ("a_in", "b_out")),
        second_side("HS-1", "C-2", "J-4"),
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
                said("P-1", curve=curve(1.5, 1)),
            ),
            "a large load first",
        ),
    ]


def _air() -> list[Row]:
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


def _circulators() -> list[Row]:
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


def _zones() -> list[Row]:
    return [
        ("shed", "every-way-shut", "P-1", said("P-1", run_when=True), "P-1 always runs"),
        ("shed", "every-way-shut", "P-1", said("V-3", open=False), "V-3 shut"),
        (
            "school",
            "every-way-shut",
            "P-5",
            said("P-5", control="fixed", target=None, run_when={"any": ["TH-3", "TH-4", "TH-5"]}),
            "P-5 at fixed speed, by TH-5 too",
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


def _balance() -> list[Row]:
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


def _pipes() -> list[Row]:
    return [
        ("house", "bare-hot-pipe", "bare", bare("J-12", "V-10", "bare"), "bare"),
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
