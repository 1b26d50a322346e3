"""The heating of the kennel clinic: boiler, separator, tank coil, floors and the wing."""

from __future__ import annotations

from typing import Any

from tests.tools.kennel_clinic_parts import (
    ALL,
    FLOOR_DRAIN,
    FLOORS,
    FROST,
    HALF,
    INCH,
    MOTOR,
    ROOMS,
    TANK,
    THREE_4,
    WING,
    WRAP,
    Clinic,
)


def boiler(d: Clinic) -> None:
    """Boiler with its relief, its circulator, and the hydraulic separator."""
    fuel = {"capacity": "110 kBtu/h", "min_output": "10 kBtu/h", "efficiency": 0.94, "condensing": True}
    water = {"set_temperature": "158 degF", "water_content": "1.5 gal"}
    guards = {"max_pressure": "50 psi", "high_limit": "200 degF", "low_water_cutoff": True}
    drops = [["3 gpm", "0.7 psi"], ["6 gpm", "2.6 psi"], ["10 gpm", "7 psi"]]
    away, power = "through a neutralizer to the floor drain", {"watts": "90 W", "powered_by": "OU-1"}
    props = {**fuel, **water, **guards, **power, "drops": drops, "condensate": away, "run_when": ALL}
    d.item("B-1", "boiler", 120, 180, label="Condensing boiler", height="4 ft", **props)
    d.level = "7 ft"
    d.joint("J-1", 200, 160, height="5 ft")
    d.relief("J-1", "RV-1", "200 kBtu/h", height="5 ft")
    d.valve("V-1", 260, 160, INCH)
    d.joint("J-2", 320, 160)
    d.on("heating", "J-2", "TG-1", "thermometer")
    d.item("AS-1", "air_separator", 390, 160, cv=40, size="1 in")
    d.item("HS-1", "separator", 480, 180, label="Hydraulic separator", volume="5 gal", height="6 ft")
    steps = ("B-1:out", "1 ft", "J-1", "2 ft 1r 1e", "V-1", "8 in", "J-2", "8 in 1r", "AS-1")
    d.run("heating", INCH, *steps, "2 ft 1e", "HS-1:a_in", **WRAP)
    d.level = "3 ft"
    d.item("DS-1", "dirt_separator", 430, 230, 90, cv=40, size="1 in")
    d.valve("V-2", 380, 270, INCH, flip=True)
    held = {"control": "delta_t", "target": "35 delta_degF", "senses": [["B-1", "out"], ["B-1", "in"]]}
    curve = {0: 14, 4: 12.5, 8: 9, 11: 4.5, 13: 0.5}
    props = {**held, "watts": "55 W", "amps": "0.6 A", "run_when": ALL}
    d.circulator("P-1", 310, 270, curve, flip=True, label="Boiler pump", **props)
    d.item("PS-1", "purge_set", 250, 270, flip=True, cv=45)
    d.joint("J-3", 200, 270)
    d.on("heating", "J-3", "D-1", "drain")
    d.on("heating", "J-3", "PG-1", "gauge")
    steps_back: Any = ("HS-1:a_out", ("2 ft 1e", [(430, 200)]), "DS-1", ("2 ft 1e", [(430, 270)]), "V-2")
    home: Any = ("2 ft 1r 1e", [(160, 270), (160, 200)])
    d.run("heating", INCH, *steps_back, "14 in / 14 in", "P-1", "6 in", "PS-1", **WRAP)
    d.run("heating", INCH, "PS-1", "6 in", "J-3", home, "B-1:in", **WRAP)


def header(d: Clinic) -> None:
    """The risers behind the separator, with expansion tank and make-up on the return."""
    d.level = "7 ft"
    d.joint("J-4", 580, 160)
    d.joint("J-5", 540, 230, height="6 ft")
    d.joint("J-6", 540, 330, height="5 ft")
    d.joint("J-7", 540, 400, height="5 ft")
    d.joint("J-8", 580, 480)
    d.joint("J-9", 540, 720, height="3 ft")
    d.item("ST-1", "strainer", 540, 600, 270, cv=26, size="1 in", height="4 ft")
    d.run("heating", INCH, "HS-1:b_out", "2 ft 1e", "J-4", "6 ft 1r / 3 ft", "J-8", **WRAP)
    up = ("J-9", "1 ft 1r", "ST-1", "2 ft", "J-7", "1 ft 1r", "J-6", "1 ft 1r", "J-5")
    d.run("heating", INCH, *up, ("1 ft 1r 1e", [(540, 200)]), "HS-1:b_in", **WRAP)
    props = {"volume": "8 gal", "acceptance": "5 gal", "precharge": "15 psi", "max_pressure": "75 psi"}
    d.item("ET-1", "expansion_tank", 480, 380, height="4 ft", **props)
    d.run("heating", HALF, "J-6", ("18 in 1e", [(480, 330)]), "ET-1")


def tank(d: Clinic) -> None:
    """The tank, charged through its coil by a circulator of its own."""
    taps = {"top": "56 in", "hot": "52 in", "cold": "5 in", "bottom": "0 in"}
    coil = {"coil_ua": "1700 Btu/h/degF", "coil_drops": [["3 gpm", "1.0 psi"]]}
    coil["coil_heights"] = {"coil_in": "34 in", "coil_out": "8 in"}
    guards = {"max_pressure": "150 psi", "max_temperature": "200 degF", "potable_listed": True}
    size = {"volume": "80 gal", "tall": "56 in", "ua_loss": "3.0 Btu/h/degF", "sensors": {"mid": "26 in"}}
    props = {**size, "taps": taps, **coil, **guards}
    d.item("CT-1", "coil_tank", 860, 190, flip=True, label="Hot water tank", height="0.5 ft", **props)
    d.level = "7 ft"
    d.valve("V-3", 630, 160, THREE_4)
    curve = {0: 9, 2: 8.2, 4: 6.3, 6: 3.3, 8: 0.5}
    power = {"watts": "30 W", "amps": "0.35 A", "run_when": {"any": [TANK]}}
    held = {"control": "delta_t", "target": "35 delta_degF", "min_speed": 0.4}
    held["senses"] = [["CT-1", "coil_in"], ["CT-1", "coil_out"]]
    d.circulator("P-2", 680, 160, curve, label="Tank pump", **power, **held)
    d.item("CV-1", "check_valve", 730, 160, cv=9, opens_at="0.3 psi")
    d.valve("V-4", 780, 160, THREE_4)
    go = ("J-4", "1 ft 1r", "V-3", "12 in / 12 in", "P-2", "12 in / 12 in", "CV-1", "6 in", "V-4")
    d.run("heating", THREE_4, *go, ("7 ft 2e", [(810, 160), (810, 180)]), "CT-1:coil_in", **WRAP)
    d.item("BV-6", "balance_valve", 750, 230, flip=True, cv=4, setting=1.0, height="1 ft")
    d.item("PS-2", "purge_set", 670, 230, flip=True, cv=30, height="2 ft")
    down = ("2 ft 1e", [(810, 210), (810, 230)])
    d.run("heating", THREE_4, "CT-1:coil_out", down, "BV-6", "1 ft", "PS-2", "7 ft 2e 1b", "J-5", **WRAP)
    d.level = "0 ft"
    limits = {"set_pressure": "125 psi", "set_temperature": "210 degF", "capacity": "210 kBtu/h"}
    props = {**limits, "inlet_size": "3/4 in", "discharge": FLOOR_DRAIN, "senses_tank_top": True}
    label = "Temperature and pressure relief"
    d.item("RV-2", "relief_valve", 860, 90, label=label, height="5.2 ft", **props)
    d.run("potable", THREE_4, "CT-1:top", "1 in", "RV-2")
    d.item("D-2", "drain", 860, 290)
    d.run("potable", THREE_4, "CT-1:bottom", "6 in", "D-2")


def floors(d: Clinic) -> None:
    """Mixing valve that follows the weather, circulator, limit, and two floor circuits."""
    d.level = "5 ft"
    d.valve("V-5", 510, 480, THREE_4, flip=True)
    mix = {"cv": 5, "set_temperature": "108 degF"}
    d.item("MV-2", "mixing_valve", 460, 480, flip=True, label="Floor mixing valve", **mix)
    d.joint("J-10", 430, 480)
    d.on("heating", "J-10", "TG-2", "thermometer")
    d.hose_valve("SV-2", 390, 480, INCH, flip=True)
    curve = {0: 15, 2: 13.5, 4: 10.5, 6: 6.5, 8: 1}
    run_when = {"all": [{"any": FLOORS}, {"not": "AQ-2"}]}
    props = {"control": "delta_p_constant", "target": "9.8 ft_head", "watts": "52 W", "amps": "0.6 A"}
    d.circulator("P-3", 340, 480, curve, flip=True, label="Floor pump", run_when=run_when, **props)
    d.item("CV-2", "check_valve", 290, 480, flip=True, cv=14, opens_at="0.3 psi")
    d.valve("V-7", 240, 480, INCH, flip=True)
    d.joint("J-11", 210, 480)
    d.run("heating", THREE_4, "J-8", "2 ft 1b 1e", "V-5", "4 in", "MV-2:hot", **WRAP)
    go = ("J-10", "6 in 1r", "SV-2", "12 in / 12 in", "P-3", "14 in / 14 in", "CV-2", "6 in", "V-7")
    d.run("heating", INCH, "MV-2:mixed", "8 in", *go, "6 in", "J-11", **WRAP)
    slab, stone = {"area": "975 ft2", "load": "21.2 kBtu/h", "loops": [[5, "260 ft"]]}, "8800 Btu/degF"
    deck, wood = {"area": "640 ft2", "load": "9.4 kBtu/h", "loops": [[3, "250 ft"]]}, "900 Btu/degF"
    d.level = "0 ft"
    circuit(d, 1, 480, "Kennel slab", "640 Btu/h/degF", stone, **slab, construction="slab", height="0 ft")
    circuit(d, 2, 640, "Floor upstairs", "330 Btu/h/degF", wood, **deck, construction="suspended")
    d.joint("J-12", 300, 720, height="3 ft")
    d.joint("J-13", 190, 720, height="10.5 ft")
    d.on("heating", "J-13", "AV-1", "air_vent", height="10.5 ft")
    d.joint("J-19", 160, 540)
    d.on("heating", "J-19", "D-3", "drain")
    low, over = ("8 in", [(110, 500), (110, 540)]), ("20 ft 4e 1r", [(300, 540)])
    d.run("heating", THREE_4, "J-11", "6 in 1r", "ZV-1", "6 in", "BV-1", "20 ft 4e", "FC-1:in", **WRAP)
    d.run("heating", THREE_4, "FC-1:out", low, "J-19", over, "J-12", **WRAP)
    go = ("ZV-2", "6 in", "BV-2", "30 ft 5e", "FC-2:in")
    d.run("heating", THREE_4, "J-11", ("1 ft 1b 1e", [(210, 640)]), *go, **WRAP)
    back = ("6 ft 2e", [(110, 660), (110, 720)])
    d.run("heating", THREE_4, "FC-2:out", back, "J-13", "24 ft 4e 1b", "J-12", **WRAP)
    d.level = "3 ft"
    d.item("PS-3", "purge_set", 380, 720, cv=45)
    d.joint("J-14", 460, 720)
    d.valve("V-8", 460, 600, INCH, 270)
    d.run("heating", INCH, "J-12", "1 ft 1r", "PS-3", "1 ft", "J-14", "1 ft 1r", "J-9", **WRAP)
    d.run("heating", INCH, "J-14", "2 ft 1b", "V-8", "1 ft", "MV-2:cold", **WRAP)


def circuit(d: Clinic, number: int, y: float, label: str, output: str, mass: str, **props: Any) -> None:
    """Zone valve, balance valve and floor circuit in a row."""
    d.item(
        f"ZV-{number}",
        "zone_valve",
        180,
        y,
        flip=True,
        cv=5,
        run_when={"any": [f"TH-{number}"]},
        **MOTOR,
        height="5 ft",
    )
    setting = {1: 1.0, 2: 0.2}[number]
    d.item(f"BV-{number}", "balance_valve", 130, y, flip=True, cv=5, setting=setting, height="5 ft")
    tube = {"tube": {"material": "pex", "size": "1/2 in"}, "spacing": "9 in", "oxygen_barrier": True}
    props = {
        **tube,
        "output_per_degree": output,
        "mass": mass,
        "serves": f"R-{number}",
        "height": "10 ft",
    } | props
    d.item(f"FC-{number}", "floor_circuit", 50, y + 10, flip=True, label=label, **props)


def wing(d: Clinic) -> None:
    """One circulator pushes through old thin tube to two radiators and the surgery's fan coil."""
    d.level = "7 ft"
    d.valve("V-9", 640, 480, THREE_4)
    curve = {0: 12.5, 1: 11.8, 2: 10, 3: 7, 4: 2.5}
    held = {"control": "delta_p_constant", "target": "10.4 ft_head"}
    props = {**held, "watts": "48 W", "amps": "0.5 A", "run_when": {"any": [*WING, FROST]}}
    d.circulator("P-4", 700, 480, curve, label="Wing pump", **props)
    d.item("CV-3", "check_valve", 760, 480, cv=9, opens_at="0.3 psi")
    d.hose_valve("SV-1", 820, 480, THREE_4)
    d.joint("J-15", 900, 480)
    d.joint("J-16", 1040, 480)
    old: dict[str, Any] = {**WRAP, "note": "In the wall since the old building."}
    go = ("J-8", "1 ft 1r", "V-9", "10 in / 10 in", "P-4", "12 in / 12 in", "CV-3", "6 in", "SV-1")
    d.run("heating", THREE_4, *go, **WRAP)
    d.run("heating", HALF, "SV-1", "55 ft 6e / 4 ft", "J-15", "18 ft 1r 2e / 6 in", "J-16", **old)
    d.level = "3 ft"
    d.joint("J-17", 900, 720)
    d.joint("J-18", 1040, 720)
    d.item("PS-4", "purge_set", 720, 720, flip=True, cv=30)
    out, back = "3 ft 1b", "2 ft 1b"
    d.run("heating", HALF, "J-15", out, *radiator(d, 3, 900, "11.5 kBtu/h", 0.36), back, "J-17", **WRAP)
    d.run("heating", HALF, "J-16", out, *radiator(d, 4, 1040, "8 kBtu/h", 0.4), back, "J-18", **WRAP)
    d.level = "8 ft"
    d.item("ZV-5", "zone_valve", 1180, 540, 90, cv=4, run_when={"any": ["TH-5", FROST]}, **MOTOR)
    rated = {"heat": "17.5 kBtu/h", "flow": "0.9 gpm", "supply": "155 degF", "room": "72 degF"}
    props = {"rated": rated, "serves": "R-5", "drops": [["0.8 gpm", "0.6 psi"]]}
    d.item("FN-1", "fan_coil", 1180, 610, 90, label=ROOMS[4][1], **props)
    d.item("BV-5", "balance_valve", 1180, 670, 90, cv=2, setting=1.0)
    d.joint("J-37", 1180, 480, height="8.5 ft")
    d.on("heating", "J-37", "AV-2", "air_vent", height="8.5 ft")
    far: Any = (
        "J-16",
        "14 ft 1r 1e / 2 ft",
        "J-37",
        "1 ft 1r",
        "ZV-5",
        "5 ft 1e / 8 in",
        "FN-1",
        "5 ft 1e",
        "BV-5",
    )
    d.run("heating", HALF, *far, ("14 ft 1r 1e", [(1180, 720)]), "J-18", **WRAP)
    d.run("heating", HALF, "J-18", "18 ft 1r 2e", "J-17", "55 ft 6e", "PS-4", **old)
    d.run("heating", THREE_4, "PS-4", "2 ft 1b 1e", "J-9", **WRAP)


def radiator(d: Clinic, room: int, x: float, heat: str, setting: float) -> tuple[str, ...]:
    """Zone valve, radiator and balance valve in a column; gives them as steps of a run."""
    d.item(
        f"ZV-{room}", "zone_valve", x, 540, 90, cv=4, run_when={"any": [f"TH-{room}"]}, **MOTOR, height="7 ft"
    )
    flow = f"{float(heat.split()[0]) * 0.06:.2g} gpm"
    rated = {"heat": heat, "flow": flow, "supply": "150 degF", "room": "68 degF", "exponent": 1.3}
    props = {"rated": rated, "serves": f"R-{room}", "drops": [["0.8 gpm", "0.6 psi"]], "height": "1 ft"}
    name = d.item(f"RA-{room - 2}", "radiator", x, 610, 90, label=ROOMS[room - 1][1], **props)
    d.item(f"BV-{room}", "balance_valve", x, 670, 90, cv=2, setting=setting, height="1 ft")
    return (f"ZV-{room}", "7 ft 1e / 3 ft", name, "2 ft 1e", f"BV-{room}")
