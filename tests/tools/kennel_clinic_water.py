"""The drinking water of the kennel clinic: supply, tank, mixing valves, circulation, bath and hoses."""

from __future__ import annotations

from typing import Any

from tests.tools.kennel_clinic_parts import HALF, INCH, REDUCED, THREE_4, WRAP, Clinic


def supply(d: Clinic) -> None:
    """Cold main, reducer and preventer; the make-up of the heating; the way into the tank."""
    d.level = "2 ft"
    d.item("CM-1", "cold_main", 690, 340, label="Cold main", pressure="72 psi")
    d.valve("V-11", 750, 340, INCH)
    d.item("ST-2", "strainer", 810, 340, cv=20, size="1 in")
    d.item("PR-1", "pressure_reducer", 870, 340, set_pressure="55 psi")
    d.joint("J-20", 910, 340)
    drops = [["4 gpm", "2.5 psi"], ["10 gpm", "4 psi"]]
    d.item("BP-1", "backflow_preventer", 950, 340, potable_listed=True, drops=drops, **REDUCED)
    d.joint("J-21", 1000, 340)
    d.on("potable", "J-21", "PG-2", "gauge")
    d.joint("J-22", 1060, 340)
    d.item("CV-4", "check_valve", 1060, 290, 270, cv=14, opens_at="0.4 psi")
    d.joint("J-23", 1060, 230)
    d.joint("J-24", 1000, 230)
    d.joint("J-25", 920, 230)
    d.valve("V-12", 960, 230, INCH, flip=True)
    go = ("CM-1", "3 ft", "V-11", "6 in", "ST-2", "1 ft", "PR-1", "6 in", "J-20", "6 in 1r", "BP-1")
    d.run("potable", INCH, *go, "1 ft", "J-21", "1 ft 1r", "J-22")
    d.run("potable", INCH, "J-22", "2 ft 1b / 18 in", "CV-4", "1 ft", "J-23", **WRAP)
    go = ("J-23", "1 ft 1b", "J-24", "1 ft 1r", "V-12", "6 in", "J-25", "2 ft 1r 1e", "CT-1:cold")
    d.run("potable", INCH, *go, **WRAP)
    tank = {"volume": "5 gal", "acceptance": "4 gal", "precharge": "55 psi", "potable": True}
    d.on("potable", "J-25", "ET-2", "expansion_tank", max_pressure="150 psi", potable_listed=True, **tank)
    d.valve("V-13", 910, 370, HALF, 90)
    drops = [["2 gpm", "3 psi"]]
    d.item("BP-2", "backflow_preventer", 850, 400, flip=True, drops=drops, **REDUCED)
    d.item("FV-1", "fill_valve", 780, 400, flip=True, set_pressure="15 psi")
    d.item("CV-5", "check_valve", 710, 400, flip=True, k=2.0, size="1/2 in")
    d.run("potable", HALF, "J-20", "6 in 1b", "V-13", ("1 ft 1e", [(910, 400)]), "BP-2")
    d.run("heating", HALF, "BP-2", "4 in", "FV-1", "14 in / 14 in", "CV-5", "8 ft 3e 1b", "J-7")


def hot(d: Clinic) -> None:
    """Master mixing valve, the trunk to the runs, and what comes back of it."""
    d.level = "2.5 ft"
    d.valve("V-14", 950, 150, INCH)
    listed = {"checks": True, "min_flow": "0.5 gpm", "potable_listed": True}
    mix = {"cv": 9, "set_temperature": "128 degF", "duty": "master"}
    d.item("MV-1", "mixing_valve", 1000, 150, label="Master mixing valve", **mix, **listed)
    d.valve("V-15", 1050, 150, INCH)
    d.joint("J-26", 1090, 150)
    d.on("potable", "J-26", "TG-3", "thermometer")
    d.level = "5 ft"
    d.joint("J-27", 1140, 150)
    d.joint("J-28", 1240, 150)
    d.joint("J-29", 1370, 150)
    d.run("potable", INCH, "CT-1:hot", "4 ft 2e", "V-14", "1 ft", "MV-1:hot", **WRAP)
    d.hose_valve("SV-3", 1000, 200, INCH, 90)
    d.run("potable", INCH, "J-24", "8 in 1b", "SV-3<", "1 ft", "MV-1:cold", **WRAP)
    d.run("potable", INCH, "MV-1:mixed", "1 ft", "V-15", "6 in", "J-26", "3 ft 1r 1e", "J-27", **WRAP)
    d.run("potable", INCH, "J-27", "22 ft 3e 1r", "J-28", **WRAP)
    d.run("potable", THREE_4, "J-28", "14 ft 1r", "J-29", **WRAP)
    hose(d, 1, "J-28", "J-30", 1240)
    hose(d, 2, "J-29", "J-31", 1370)
    d.level = "4 ft"
    d.valve("V-16", 1390, 230, HALF, flip=True)
    curve = {0: 3.4, 0.5: 2.9, 1: 1.8, 1.5: 0.2}
    body = {"body": "stainless", "connection": "union", "potable_listed": True}
    d.circulator("P-5", 1330, 230, curve, flip=True, label="Return pump", watts="7 W", amps="0.1 A", **body)
    d.item("CV-6", "check_valve", 1270, 230, flip=True, cv=6, opens_at="0.3 psi")
    d.valve("V-17", 1200, 230, HALF, flip=True)
    round_: Any = ("J-29", ("3 ft 1r 2e", [(1450, 150), (1450, 230)]), "V-16", "8 in / 8 in", "P-5")
    d.run("potable", HALF, *round_, "8 in / 8 in", "CV-6", "6 in", "V-17", "36 ft 6e 1r", "J-23", **WRAP)


def hose(d: Clinic, number: int, trunk: str, joint: str, x: float) -> None:
    """A hose of the runs, with a vacuum breaker of its own."""
    d.level = "4 ft"
    d.joint(joint, x, 90)
    d.item(f"VB-{number}", "vacuum_breaker", x, 50, height="5 ft")
    more = {"flow": "2.2 gpm", "fixture_type": "hose_bibb", "set_temperature": "128 degF"}
    d.item(f"F-{number}", "fixture", x + 60, 100, label=f"Hose of run {number}", **more)
    d.run("potable", HALF, trunk, "4 ft 1b 1e", joint, **WRAP)
    d.run("potable", HALF, joint, "3 in", f"VB-{number}")
    d.run("potable", HALF, joint, "1 ft 1r", f"F-{number}:hot", **WRAP)


def tempered(d: Clinic) -> None:
    """A valve for the point of use ahead of the dog bath and the grooming sink; the yard hose."""
    d.level = "3 ft"
    d.valve("V-18", 1140, 190, THREE_4, 90)
    d.joint("J-32", 1100, 340)
    d.valve("V-19", 1140, 340, THREE_4)
    listed = {"checks": True, "min_flow": "0.5 gpm", "potable_listed": True}
    mix = {"cv": 3, "set_temperature": "103 degF", "duty": "point_of_use"}
    d.item("MV-3", "mixing_valve", 1180, 300, label="Bath valve", **mix, **listed)
    d.valve("V-6", 1220, 300, THREE_4)
    d.joint("J-33", 1260, 300)
    d.joint("J-34", 1290, 380)
    d.joint("J-35", 1290, 350)
    bath = {"flow": "2.2 gpm", "set_temperature": "100 degF", "fixture_type": "bathtub"}
    sink = {"flow": "1.2 gpm", "set_temperature": "100 degF", "fixture_type": "service_sink"}
    d.item("F-3", "fixture", 1330, 290, label="Dog bath", **bath)
    d.item("F-4", "fixture", 1330, 340, label="Grooming sink", **sink)
    d.run("potable", THREE_4, "J-27", "5 ft 1b", "V-18", ("2 ft 1e", [(1140, 300)]), "MV-3:hot", **WRAP)
    d.run(
        "potable",
        THREE_4,
        "J-22",
        "6 in 1r",
        "J-32",
        "6 ft 1r 2e",
        "V-19",
        ("1 ft 1e", [(1180, 340)]),
        "MV-3:cold",
    )
    d.run("potable", THREE_4, "MV-3:mixed", "8 in", "V-6", "8 in", "J-33")
    d.run("potable", HALF, "J-33", ("5 ft 1b 2e", [(1260, 280)]), "F-3:hot")
    d.run("potable", HALF, "J-33", ("6 ft 1r 2e", [(1260, 330)]), "F-4:hot")
    d.run("potable", THREE_4, "J-32", ("8 ft 1b 3e", [(1100, 380)]), "J-34", "1 ft 1b", "J-35")
    d.run("potable", HALF, "J-35", ("3 ft 1b 2e", [(1290, 300)]), "F-3:cold")
    d.run("potable", HALF, "J-35", "4 ft 1r 2e", "F-4:cold")
    d.valve("V-10", 1340, 380, HALF)
    d.joint("J-36", 1400, 380)
    d.item("VB-3", "vacuum_breaker", 1400, 340, height="5 ft")
    d.item("F-5", "fixture", 1460, 370, label="Yard hose", flow="2.5 gpm", fixture_type="hose_bibb")
    d.run("potable", HALF, "J-34", "6 ft 1r", "V-10", "3 ft", "J-36", "1 ft 1r", "F-5:cold")
    d.run("potable", HALF, "J-36", "3 in", "VB-3")
