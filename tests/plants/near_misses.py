"""Edits of good plants that come near a fault and are none: the rule must stay silent at that place."""

from __future__ import annotations

from core.review.rules import BY_ID
from tests.plants.fault_edits import (
    SHUTOFF,
    Fault,
    Row,
    added,
    both,
    case,
    heights,
    made,
    moved,
    on_pipe,
    out,
    put,
    said,
    second_return,
    taps_of,
    turned,
)
from tests.plants.good_plants import curve


def _flow() -> list[Row]:
    own = both(out("CV-2"), said("P-2", integral_check=True))
    equal = put("B-1", "J-1", "P-9", "circulator", run_when={"any": ["TH-1", "TH-2"]}, curve=SHED_CURVE)
    return [
        ("bakery", "check-beside-circulator", "P-2", own, "P-2 with a check of its own"),
        ("tees", "check-beside-circulator", "P-1", said("P-1", speed=0.9), "the pump of the boiler loop"),
        ("tees", "check-twice", "CV-2", said("CV-2", cv=10), "a check in each leg"),
        (
            "clinic",
            "check-opens-too-softly",
            "CV-2",
            both(said("CV-2", opens_at=None), heights(FC_1="0 ft")),
            "no rise",
        ),
        ("tees", "return-without-trap", "P-2", made("CV-2", "heat_trap", cv=20), "a heat trap in the return"),
        ("house", "tank-empties-by-gravity", "CT-1", made("CV-5", "heat_trap", cv=6), "a heat trap"),
        (
            "clinic",
            "tank-empties-by-gravity",
            "T-1",
            made("ZV-1", "check_valve", {"a": "in", "b": "out"}, cv=9),
            "a check",
        ),
        ("tees", "tees-too-far-apart", "A-1", on_pipe("A-1", "A-2", length="4 in"), "tees 4 in apart"),
        (
            "tees",
            "tees-in-stirred-water",
            "A-1",
            on_pipe("V-2", "A-1", straight="9 in"),
            "nearly 9 diameters",
        ),
        ("tees", "later-load-too-cold", "RA-2", said("RA-1", load="14 kBtu/h"), "enough for both"),
        (
            "shed",
            "air-separator-in-the-wrong-place",
            "AS-1",
            moved("AS-1", "J-4", "V-2"),
            "AS-1 before the pump",
        ),
        ("house", "high-point-without-vent", "J-19", heights(J_19="6 ft", AV_1="6 ft"), "a vent on top"),
        ("shed", "circulators-in-series", "P-9", equal, "two alike in series"),
        ("house", "shaft-not-horizontal", "P-1", said("P-1", shaft=None), "nothing said of the shaft"),
        ("house", "inlet-not-straight", "P-4", on_pipe("V-20", "P-4", straight="11 in"), "10 diameters"),
        ("house", "circulator-lowest-or-highest", "P-4", heights(P_4="-0.3 ft"), "hardly lower"),
        (
            "shed",
            "every-way-shut",
            "P-1",
            both(said("P-1", run_when=True), made("ZV-1", "shutoff", **SHUTOFF)),
            "one way open",
        ),
        (
            "orchard",
            "zone-valves-on-a-steep-curve",
            "P-2",
            said("P-2", control="fixed", target=None),
            "a bypass valve",
        ),
        (
            "house",
            "difference-out-of-reach",
            "P-2",
            said("P-2", control="delta_t", target="12 delta_degF"),
            "12 degF held",
        ),
        ("clinic", "sources-share-unevenly", "H-3", said("P-1", speed=0.9), "reverse return"),
        (
            "clinic",
            "idle-source-lets-water-by",
            "H-3",
            said("H-3", run_when=False, shut_when_idle=True),
            "shut when idle",
        ),
        ("tanks", "tanks-share-unevenly", "T-1", on_pipe("V-5", "J-4", length="4 ft"), "nearly alike"),
        (
            "house",
            "copper-meets-steel",
            "J-12",
            on_pipe("V-10", "AS-1", tube={"material": "steel_40", "size": "1 in"}),
            "between brass valves",
        ),
        (
            "house",
            "bare-hot-pipe",
            "bare",
            on_pipe("J-10", "F-2", insulation=None, id="bare"),
            "the run to a tap",
        ),
        ("school", "zones-not-balanced", "RA-1", said("BV-1", setting=0.4), "a balance valve"),
        (
            "orchard",
            "antifreeze-too-thin",
            "HP-1",
            said("HP-1", set_temperature="105 degF"),
            "35 % of glycol",
        ),
    ]


SHED_CURVE = [
    ["0 gpm", "15 ft_head"],
    ["1.5 gpm", "12.5 ft_head"],
    ["3 gpm", "8.5 ft_head"],
    ["5 gpm", "1.5 ft_head"],
]


def _heat() -> list[Row]:
    felt = both(
        added("AQ-9", "aquastat", senses=["L-3"], set_temperature="45 degC", differential="25 K"),
        said("B-1", run_when={"all": [{"any": ["TH-1", "TH-2"]}, "AQ-9"]}),
    )
    balanced = both(
        second_return,
        put("J-9", "J-99", "BV-98", "balance_valve", ("a", "b"), cv=2),
        put("V-5", "J-99", "BV-99", "balance_valve", ("a", "b"), cv=2),
    )
    low = added("OR-9", "outdoor_reset", line=[["0 degF", "165 degF"], ["60 degF", "150 degF"]], sets=["B-1"])
    return [
        ("shed", "no-isolation", "P-1", made("V-2", "purge_set", **SHUTOFF), "a purge set shuts too"),
        (
            "clinic",
            "no-flushing-ports",
            "HX-1",
            made("SV-8", "purge_set", **SHUTOFF),
            "a purge set has a hose tap",
        ),
        ("clinic", "no-strainer", "HX-1", made("ST-3", "dirt_separator", cv=20), "a dirt separator"),
        ("shed", "no-dirt-separator", "B-1", made("ST-1", "dirt_separator", cv=20), "a dirt separator"),
        ("clinic", "source-below-least-flow", "H-1", said("H-1", min_flow="1 gpm"), "H-1 wants 1 gpm"),
        (
            "clinic",
            "circulation-does-not-fire-heater",
            "H-2",
            said("H-2", max_inlet="149 degF"),
            "H-2 takes 149 degF",
        ),
        ("tees", "slab-on-boiler-without-protection", "B-1", said("B-1", condensing=False), "no slab"),
        ("house", "reset-below-tank", "OR-9", low, "never under 150 degF"),
        (
            "house",
            "store-set-above-source",
            "AQ-1",
            said("AQ-1", set_temperature="150 degF"),
            "150 of 165 degF",
        ),
        ("shed", "source-cycles-short", "B-1", said("B-1", min_output="3 kBtu/h"), "B-1 turns down enough"),
        ("shed", "differential-defeated", "AQ-9", felt, "a wide differential"),
        ("bakery", "priority-without-end", "AQ-1", said("AQ-1", priority_limit="40 min"), "a limit in time"),
        (
            "clinic",
            "exchanger-in-parallel-flow",
            "HX-1",
            said("HX-1", ua="2400 Btu/h/degF"),
            "in counter-flow",
        ),
        ("house", "approach-too-near", "CT-1", said("AQ-1", set_temperature="150 degF"), "15 degF apart"),
        (
            "house",
            "circulation-without-check",
            "P-5",
            both(out("CV-5"), said("P-5", integral_check=True)),
            "a check in P-5",
        ),
        ("house", "circulation-not-balanced", "P-5", balanced, "both returns have a valve"),
        ("house", "circulation-too-slow", "P-5", said("P-5", curve=curve(5, 3)), "a little less"),
        ("house", "long-wait", "F-2", on_pipe("J-10", "F-2", length="20 ft"), "20 ft to F-2"),
        (
            "house",
            "tank-taps-at-the-wrong-height",
            "CT-1",
            said("CT-1", taps=taps_of("4 ft", "1 ft")),
            "still apart",
        ),
        (
            "house",
            "sensor-too-high",
            "AQ-1",
            said("CT-1", sensors={"mid": "2.9 ft"}),
            "below the coil's inlet",
        ),
        (
            "shed",
            "call-waits-for-another",
            "TH-2",
            said("TH-2", differential="1 delta_degF"),
            "P-1 follows both",
        ),
        ("house", "stat-feels-nothing", "AQ-1", case("Morning", signals={}), "AQ-1 feels the tank"),
        ("house", "never-runs", "P-2", said("P-2", run_when=True), "always on"),
        ("house", "one-side-still", "HX-1", said("P-4", speed=0.9), "both sides run"),
        ("house", "against-the-arrow", "P-5", both(turned("P-1"), turned("CV-3")), "others turned round"),
    ]


NEAR_MISSES: tuple[Fault, ...] = tuple(
    Fault(*row, needs_cases=BY_ID[row[1]].solved) for row in (*_flow(), *_heat())
)
