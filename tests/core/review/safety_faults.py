"""Faults put into the good plant one at a time, with the rule that must find each; and what is no fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.core.review.safety_edits import (
    boiler_alone,
    both,
    cases,
    emitter_in_drinking_water,
    fluid,
    glycol_in_heating,
    label,
    main_straight_to_heating,
    melt_on_own_switch,
    moved,
    no_master,
    onto,
    out,
    pumped_toward,
    put,
    return_to_tank_alone,
    second_tank,
    sets,
    short_stub,
    stub,
    tap_on_the_tank,
    taps_by_height,
    unheated,
    without,
)
from tests.plants.edits import Data, add, pipe, pipe_of

VALVE = {"cv": 40, "size": "1 in"}


@dataclass(frozen=True)
class Fault:
    """An edit of the good plant, and what the review must say of it (`at` first among the places)."""

    origin: str
    name: str
    at: str
    severity: str
    edit: Callable[[Data], object]


RELIEF = (
    Fault("rv-missing-source", "boiler without relief", "B-1", "stop", without("RV-2")),
    Fault("rv-missing-source", "glycol loop without relief", "HX-1", "stop", without("RV-3")),
    Fault(
        "rv-blocked",
        "valve before the boiler's relief",
        "V-9",
        "stop",
        put("L-40", "V-9", "shutoff", **VALVE),
    ),
    Fault(
        "rv-blocked", "shut valve there", "V-9", "stop", put("L-40", "V-9", "shutoff", open=False, **VALVE)
    ),
    Fault("rv-blocked", "service valve there", "V-9", "stop", put("L-40", "V-9", "service_valve", **VALVE)),
    Fault(
        "rv-blocked",
        "check before the tank's relief",
        "CV-9",
        "stop",
        put("L-20", "CV-9", "check_valve", cv=9),
    ),
    Fault("rv-blocked", "screen before the relief", "ST-9", "stop", put("L-95", "ST-9", "strainer", cv=9)),
    Fault(
        "rv-blocked", "valve between boiler and relief", "V-9", "stop", put("L-47", "V-9", "shutoff", **VALVE)
    ),
    Fault("rv-blocked", "relief past the boiler's valve", "V-10", "stop", moved("RV-2", "L-50")),
    Fault("rv-set", "boiler relief above its rating", "RV-2", "stop", sets("RV-2", set_pressure="60 psi")),
    Fault("rv-set", "tank relief above its rating", "RV-1", "stop", sets("RV-1", set_pressure="175 psi")),
    Fault("rv-set", "too hot a relief", "RV-1", "stop", sets("RV-1", set_temperature="230 degF")),
    Fault("rv-set", "setting unknown", "RV-2", "mend", sets("RV-2", set_pressure="unknown")),
    Fault("rv-set", "setting absent", "RV-3", "mend", sets("RV-3", set_pressure=None)),
    Fault("rv-capacity", "too small for the boiler", "RV-2", "stop", sets("RV-2", capacity="80 kBtu/h")),
    Fault("rv-capacity", "too small for the exchanger", "RV-3", "stop", sets("RV-3", capacity="10 kBtu/h")),
    Fault("rv-capacity", "capacity unknown", "RV-2", "mend", sets("RV-2", capacity="unknown")),
    Fault("rv-discharge", "valve in the discharge", "RV-2", "stop", sets("RV-2", discharge="3/4 in, valved")),
    Fault("rv-discharge", "capped", "RV-2", "stop", sets("RV-2", discharge="capped for now")),
    Fault("rv-discharge", "narrow", "RV-1", "stop", sets("RV-1", discharge="1/2 in to the floor, air gap")),
    Fault("rv-discharge", "unknown", "RV-1", "mend", sets("RV-1", discharge="unknown")),
    Fault("rv-discharge", "absent", "RV-1", "mend", sets("RV-1", discharge=None)),
    Fault(
        "rv-pump-head",
        "weeps",
        "RV-2",
        "consider",
        lambda d: d["systems"]["heating"].update(fill_pressure="28 psi"),
    ),
    Fault("tp-tank", "tank without relief", "CT-1", "stop", without("RV-1")),
    Fault(
        "tp-tank",
        "opens by pressure alone",
        "CT-1",
        "stop",
        sets("RV-1", set_temperature=None, senses_tank_top=None),
    ),
    Fault("tp-tank", "does not feel the top", "RV-1", "stop", sets("RV-1", senses_tank_top=False)),
    Fault("tp-tank", "not known", "RV-1", "mend", sets("RV-1", senses_tank_top="unknown")),
)
EXPANSION = (
    Fault("et-missing", "boiler loop without tank", "B-1", "stop", without("ET-2")),
    Fault("et-missing", "glycol loop without tank", "HX-1", "stop", without("ET-3")),
    Fault("et-isolated", "valve in its branch", "V-9", "stop", put("L-46", "V-9", "shutoff", **VALVE)),
    Fault(
        "et-isolated",
        "service valve is said",
        "V-9",
        "consider",
        put("L-46", "V-9", "service_valve", **VALVE),
    ),
    Fault(
        "et-isolated",
        "shut service valve",
        "V-9",
        "stop",
        put("L-46", "V-9", "service_valve", open=False, **VALVE),
    ),
    Fault("et-isolated", "check in its branch", "CV-9", "stop", put("L-97", "CV-9", "check_valve", cv=9)),
    Fault("et-isolated", "zone valve in its branch", "ZV-9", "stop", put("L-97", "ZV-9", "zone_valve", cv=9)),
    Fault("et-isolated", "valve at the potable tank", "V-9", "stop", put("L-11", "V-9", "shutoff", **VALVE)),
    Fault("et-at-suction", "pumped toward", "ET-3", "consider", pumped_toward),
    Fault("et-two-points", "second tank", "ET-9", "consider", second_tank),
    Fault("et-too-small", "too small", "ET-2", "mend", sets("ET-2", volume="0.5 gal", acceptance="0.3 gal")),
    Fault("et-too-small", "accepts too little", "ET-2", "mend", sets("ET-2", acceptance="0.2 gal")),
    Fault("et-too-small", "volume unknown", "ET-3", "mend", sets("ET-3", volume=None, acceptance=None)),
    Fault("et-precharge", "overcharged", "ET-2", "consider", sets("ET-2", precharge="25 psi")),
    Fault("et-precharge", "potable undercharged", "ET-1", "consider", sets("ET-1", precharge="20 psi")),
    Fault("et-precharge", "precharge unknown", "ET-2", "mend", sets("ET-2", precharge=None)),
    Fault(
        "et-glycol",
        "sized for water",
        "ET-2",
        "mend",
        both(glycol_in_heating, sets("ET-2", volume="1.3 gal", acceptance="0.5 gal")),
    ),
    Fault("potable-et", "no tank behind the check", "CT-1", "stop", without("ET-1")),
    Fault("potable-et-location", "before the check", "ET-1", "consider", moved("ET-1", "L-14")),
    Fault(
        "potable-et-location",
        "valve at the heater",
        "ET-1",
        "consider",
        put("L-16", "V-9", "shutoff", **VALVE),
    ),
)
FILL = (
    Fault(
        "fill-at-tank",
        "at the discharge",
        "FV-1",
        "consider",
        lambda d: pipe(d, "V-13", "J-13").update(to=["J-21", "at"]),
    ),
    Fault("fill-prv", "no fill valve", "BP-1", "mend", out("FV-1")),
    Fault("fill-prv", "no stops", "FV-1", "mend", both(out("V-12"), out("V-13"))),
    Fault("fill-autofeed-glycol", "glycol", "FV-1", "consider", glycol_in_heating),
    Fault("bf-makeup", "no preventer", "FV-1", "stop", out("BP-1")),
    Fault(
        "bf-makeup",
        "weak against glycol",
        "BP-1",
        "stop",
        both(glycol_in_heating, sets("BP-1", **{"class": "double_check"})),
    ),
    Fault("bf-makeup", "class unknown", "BP-1", "mend", sets("BP-1", **{"class": "unknown"})),
    Fault("bf-makeup", "class absent", "BP-1", "mend", sets("BP-1", **{"class": None})),
    Fault("bf-makeup", "piped together", "L-66", "stop", main_straight_to_heating),
    Fault("makeup-check-stop", "no check, no fill valve", "BP-1", "stop", both(out("CV-2"), out("FV-1"))),
    Fault("makeup-check-stop", "no check", "BP-1", "stop", out("CV-2")),
)
CROSS = (
    Fault(
        "hx-double-wall",
        "coil beside ethylene glycol",
        "CT-1",
        "mend",
        fluid("heating", kind="ethylene_glycol", fraction=0.3),
    ),
    Fault(
        "hx-double-wall",
        "single wall",
        "CT-1",
        "stop",
        both(fluid("heating", kind="ethylene_glycol", fraction=0.3), sets("CT-1", double_wall=False)),
    ),
    Fault("open-closed-mix", "floor in drinking water", "FC-9", "stop", emitter_in_drinking_water),
    Fault(
        "hx-pressure-order",
        "closed side higher",
        "CT-1",
        "consider",
        lambda d: d["systems"]["heating"].update(fill_pressure="70 psi"),
    ),
    Fault("potable-materials", "iron", "ST-1", "stop", sets("ST-1", potable_listed=None, ferrous=True)),
    Fault("potable-materials", "not listed", "CT-1", "stop", sets("CT-1", potable_listed=False)),
    Fault("potable-materials", "tank for heating", "ET-1", "stop", sets("ET-1", potable=False)),
    Fault(
        "potable-materials",
        "steel pipe",
        "L-5",
        "stop",
        lambda d: pipe_of(d, "L-5").update(tube={"material": "steel_40", "size": "1 in"}),
    ),
    Fault("circ-potable", "cast iron", "P-5", "stop", sets("P-5", body="cast_iron")),
    Fault("circ-potable", "body unknown", "P-5", "consider", sets("P-5", body="unknown")),
    Fault("dead-leg", "capped stub", "L-36-c", "consider", stub),
    Fault(
        "dead-leg", "long spur", "F-2", "consider", lambda d: pipe(d, "J-10", "F-2").update(length="15 ft")
    ),
)
SOURCES = (
    Fault("lwco", "none", "B-1", "stop", sets("B-1", low_water_cutoff=False, flow_switch=False)),
    Fault("lwco", "unknown", "B-1", "consider", sets("B-1", low_water_cutoff="unknown", flow_switch=None)),
    Fault("high-limit", "none", "B-1", "stop", sets("B-1", high_limit=False)),
    Fault("high-limit", "unknown", "B-1", "mend", sets("B-1", high_limit="unknown")),
    Fault("high-limit", "element", "CT-1", "mend", sets("CT-1", element="4.5 kW")),
    Fault("gauge", "no pressure gauge", "B-1", "consider", without("PG-2")),
    Fault("gauge", "no thermometer", "HX-1", "consider", without("TG-5")),
    Fault("electrical-interlock", "fires alone", "B-1", "stop", boiler_alone),
    Fault(
        "electrical-interlock",
        "one call too many",
        "B-1",
        "stop",
        both(sets("B-1", flow_switch=None), sets("P-2", run_when="SW-2"), sets("P-1", run_when="TH-1")),
    ),
    Fault("combustion-condensate", "unsaid", "B-1", "consider", sets("B-1", condensate=None)),
    Fault(
        "cond-return",
        "hot return",
        "B-1",
        "consider",
        both(
            sets("FC-1", output_per_degree="4200 Btu/h/degF"),
            sets("TV-1", target="160 degF"),
            sets("FC-1", output_per_degree="60 Btu/h/degF"),
        ),
    ),
)
FLOORS = (
    Fault("mixing-required", "valve set too hot", "FC-1", "stop", sets("TV-1", target="150 degF")),
    Fault("floor-surface", "too warm", "FC-1", "mend", sets("FC-1", area="60 ft2")),
    Fault("floor-duty", "asked too much", "FC-1", "mend", sets("FC-1", load="30 kBtu/h")),
    Fault(
        "joist-output", "joists", "FC-1", "consider", sets("FC-1", construction="suspended", load="14 kBtu/h")
    ),
    Fault("floor-limit-sensor", "no limit", "FC-1", "consider", sets("P-1", run_when="TH-1")),
    Fault("oxygen-barrier", "no barrier", "FC-1", "mend", sets("FC-1", oxygen_barrier=False)),
    Fault("oxygen-barrier", "not known", "MC-1", "consider", sets("MC-1", oxygen_barrier="unknown")),
)
COLD = (
    Fault("snow-glycol", "water", "MC-1", "stop", fluid("melt", kind="water")),
    Fault("snow-glycol", "thin", "MC-1", "stop", fluid("melt", kind="propylene_glycol", fraction=0.2)),
    Fault("snow-cold-start", "glycol runs alone", "HX-1", "stop", melt_on_own_switch),
    Fault("snow-cold-start", "water pump forgotten", "HX-1", "stop", sets("P-3", run_when="TH-1")),
    Fault(
        "snow-separate",
        "with the rooms",
        "MC-9",
        "mend",
        put("L-79", "MC-9", "melt_circuit", output_per_degree="20 Btu/h/degF"),
    ),
    Fault(
        "snow-loop-length",
        "long copper",
        "MC-1",
        "consider",
        sets("MC-1", tube={"material": "copper_l", "size": "1/2 in"}),
    ),
    Fault("freeze-zone", "unheated space", "L-76", "mend", unheated),
)
SCALDS = (
    Fault("tmv-after-storage", "no valve", "F-2", "stop", no_master),
    Fault("tmv-after-storage", "tap before it", "F-2", "stop", tap_on_the_tank),
    Fault("tmv-class", "master at the shower", "MV-2", "stop", sets("MV-2", duty="master")),
    Fault("tmv-checks", "none", "MV-1", "mend", sets("MV-1", checks=False)),
    Fault("tmv-checks", "unknown", "MV-2", "consider", sets("MV-2", checks="unknown")),
    Fault("tmv-heat-trap", "at the top", "MV-1", "consider", sets("MV-1", height="5 ft")),
    Fault("tmv-recirc", "past the valve", "MV-1", "mend", return_to_tank_alone),
)
LEGIONELLA = (
    Fault(
        "store-60",
        "cool store",
        "CT-1",
        "consider",
        both(sets("AQ-1", set_temperature="130 degF"), cases("tanks", **{"CT-1": "130 degF"})),
    ),
    Fault(
        "return-50",
        "bare long return",
        "P-5",
        "consider",
        lambda d: pipe(d, "V-6", "J-6").update(length="150 ft", insulation={"loss": "20 W/m/K"}),
    ),
    Fault("loop-49", "master set low", "P-5", "consider", sets("MV-1", set_temperature="115 degF")),
    Fault("cold-20", "warm main", "CM-1", "consider", sets("CM-1", temperature="75 degF")),
    Fault("tank-stagnant-bottom", "lukewarm", "CT-1", "consider", lambda d: taps_by_height(d, "100 degF")),
    Fault(
        "recirc-timer",
        "timer",
        "P-5",
        "consider",
        both(lambda d: add(d, "TM-1", "timer", on=[["06:00", "09:00"]]), sets("P-5", run_when="TM-1")),
    ),
)
FAULTS = (*RELIEF, *EXPANSION, *FILL, *CROSS, *SOURCES, *FLOORS, *COLD, *SCALDS, *LEGIONELLA)


@dataclass(frozen=True)
class Fine:
    """An edit of the good plant that is near a fault and none: the rule must not speak."""

    origin: str
    name: str
    edit: Callable[[Data], object]


FINE = (
    Fine("rv-missing-source", "relief at the tank tee", moved("RV-2", "L-61")),
    Fine("rv-blocked", "gauge on the relief's stub", onto("L-40", "PG-9", "gauge")),
    Fine("rv-set", "at the rating", sets("RV-1", set_pressure="150 psi")),
    Fine("rv-set", "low setting", sets("RV-1", set_pressure="125 psi", set_temperature="200 degF")),
    Fine("rv-capacity", "just enough", sets("RV-2", capacity="110 kBtu/h")),
    Fine("rv-discharge", "denied", sets("RV-2", discharge="full size, not valved, no trap, to the floor")),
    Fine("rv-pump-head", "higher fill", lambda d: d["systems"]["heating"].update(fill_pressure="20 psi")),
    Fine("tp-tank", "at the hot pipe, said to feel the top", moved("RV-1", "L-22")),
    Fine("et-missing", "on the return", moved("ET-2", "L-61")),
    Fine("et-isolated", "valves elsewhere", put("L-52", "V-9", "shutoff", **VALVE)),
    Fine("et-isolated", "check in the main", put("L-52", "CV-9", "check_valve", cv=30)),
    Fine("et-at-suction", "a little farther", moved("ET-2", "L-55")),
    Fine(
        "et-two-points",
        "beside the first",
        onto("L-53", "ET-9", "expansion_tank", volume="2 gal", acceptance="1 gal", precharge="15 psi"),
    ),
    Fine("et-too-small", "larger", sets("ET-2", volume="8 gal", acceptance="4 gal")),
    Fine("et-precharge", "a little apart", sets("ET-2", precharge="14 psi")),
    Fine(
        "et-glycol",
        "glycol, large tank",
        both(glycol_in_heating, sets("ET-2", volume="12 gal", acceptance="8 gal")),
    ),
    Fine("potable-et", "open to the main", both(without("ET-1"), out("CV-1"), out("PR-1"))),
    Fine("potable-et-location", "past a service valve", put("L-16", "V-9", "service_valve", **VALVE)),
    Fine(
        "fill-at-tank", "past the air separator", lambda d: pipe(d, "V-13", "J-13").update(to=["J-12", "at"])
    ),
    Fine("fill-prv", "one stop", out("V-13")),
    Fine("fill-autofeed-glycol", "shut", both(glycol_in_heating, sets("V-12", open=False))),
    Fine(
        "bf-makeup", "air gap against glycol", both(glycol_in_heating, sets("BP-1", **{"class": "air_gap"}))
    ),
    Fine("bf-makeup", "vented, against water", sets("BP-1", **{"class": "vented_dual_check"})),
    Fine("makeup-check-stop", "one stop", out("V-13")),
    Fine(
        "hx-double-wall",
        "propylene beside a single wall",
        both(fluid("heating", kind="propylene_glycol", fraction=0.3), sets("CT-1", double_wall=False)),
    ),
    Fine("hx-pressure-order", "as drawn", lambda d: None),
    Fine("open-closed-mix", "as drawn", lambda d: None),
    Fine("potable-materials", "lined steel, listed", sets("CT-1", ferrous=True)),
    Fine("circ-potable", "stainless", sets("P-5", body="stainless")),
    Fine("dead-leg", "short stub", short_stub),
    Fine("lwco", "flow switch alone", sets("B-1", low_water_cutoff=None)),
    Fine("high-limit", "said yes", sets("B-1", high_limit=True)),
    Fine(
        "electrical-interlock",
        "own pump on the same call",
        both(sets("B-1", flow_switch=None, run_when="TH-1"), sets("P-1", run_when="TH-1")),
    ),
    Fine("cond-return", "not condensing", sets("B-1", condensing=False)),
    Fine("mixing-required", "as hot as a slab bears", sets("TV-1", target="125 degF")),
    Fine("floor-surface", "a bath", both(label("FC-1", "Bath floor"), sets("FC-1", area="300 ft2"))),
    Fine(
        "floor-limit-sensor",
        "limit built in",
        both(sets("P-1", run_when="TH-1"), sets("FC-1", high_limit="130 degF")),
    ),
    Fine(
        "oxygen-barrier",
        "copper",
        sets("FC-1", oxygen_barrier=False, tube={"material": "copper_l", "size": "1/2 in"}),
    ),
    Fine("joist-output", "suspended, little asked", sets("FC-1", construction="suspended", load="6 kBtu/h")),
    Fine("snow-glycol", "stronger", fluid("melt", kind="propylene_glycol", fraction=0.5)),
    Fine("snow-cold-start", "water side on its own too", sets("P-3", run_when={"any": ["SW-1", "TH-1"]})),
    Fine("snow-separate", "as drawn", lambda d: None),
    Fine(
        "snow-loop-length",
        "short copper",
        sets("MC-1", tube={"material": "copper_l", "size": "3/4 in"}, loops=[[4, "100 ft"]]),
    ),
    Fine("freeze-zone", "glycol in the cold", lambda d: pipe(d, "MC-1", "PS-3").update(around="10 degF")),
    Fine(
        "tmv-after-storage",
        "dishwasher before the valve",
        both(tap_on_the_tank, sets("F-2", fixture_type="dishwasher")),
    ),
    Fine("tmv-class", "master before a sink", sets("F-2", fixture_type="service_sink")),
    Fine(
        "tmv-checks",
        "checks in the pipes",
        both(
            sets("MV-1", checks=False),
            put("L-23", "CV-8", "check_valve", cv=12),
            put("L-19", "CV-9", "check_valve", cv=12),
        ),
    ),
    Fine("tmv-heat-trap", "hung low", sets("MV-1", height="2 ft")),
    Fine("store-60", "at 140 degF", sets("AQ-1", set_temperature="140 degF")),
    Fine("cold-20", "cool main", sets("CM-1", temperature="66 degF")),
    Fine("tank-stagnant-bottom", "hot to the bottom", lambda d: taps_by_height(d, "140 degF")),
)
