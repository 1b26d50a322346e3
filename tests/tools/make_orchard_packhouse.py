"""Makes sample_plants/orchard_packhouse.plant.json: a heat pump on glycol warms a packing shed.

Run `python -m tests.tools.make_orchard_packhouse` from the checkout. The figures are our own invention;
nothing in the program reads this script. A buffer parts the heat pump's flow from the fan coils', whose zone
valves a bypass relieves; the supply follows the weather, and an electric heater helps on the coldest nights.
"""

from __future__ import annotations

from pathlib import Path

from core.files import read, write
from tests.tools.drafting import Drafter
from tests.tools.sample_records import ORCHARD

OUT = Path(__file__).parents[2] / "sample_plants" / "orchard_packhouse.plant.json"
SITE = {"outdoor_design": "12 degF", "cold_water": "50 degF", "indoor": "62 degF", "altitude": "1100 ft"}
SYSTEMS = {
    "loop": {
        "use": "closed",
        "fluid": {"kind": "propylene_glycol", "fraction": 0.35},
        "fill_pressure": "18 psi",
    },
    "potable": {"use": "potable", "fluid": {"kind": "water"}},
}
INCH, INCH_1, HALF_1 = "copper_l 1 in", "copper_l 1 1/4 in", "copper_l 1 1/2 in"
THREE_4, HALF = "copper_l 3/4 in", "copper_l 1/2 in"
WRAP = {"insulation": {"thickness": "3/4 in", "conductivity": "0.036 W/m/K"}}
TABLE = [  # outdoor, supply, heat, power: round figures of our own
    ["0 degF", "85 degF", "35 kBtu/h", "4.1 kW"],
    ["0 degF", "120 degF", "31 kBtu/h", "5.2 kW"],
    ["17 degF", "85 degF", "43 kBtu/h", "4.2 kW"],
    ["17 degF", "120 degF", "39 kBtu/h", "5.3 kW"],
    ["47 degF", "85 degF", "61 kBtu/h", "4.3 kW"],
    ["47 degF", "120 degF", "56 kBtu/h", "5.5 kW"],
    ["62 degF", "85 degF", "70 kBtu/h", "4.3 kW"],
    ["62 degF", "120 degF", "65 kBtu/h", "5.6 kW"],
]
ZONES = [  # number, name, UA, flow
    (1, "Packing hall", "460 Btu/h/degF", 0.95),
    (2, "Sorting room", "240 Btu/h/degF", 0.5),
    (3, "Office", "150 Btu/h/degF", 0.42),
    (4, "Cloakroom", "50 Btu/h/degF", 0.22),
]
CALLS = {"any": ["TH-1", "TH-2", "TH-3"]}


def packhouse() -> Drafter:
    """The plant."""
    d = Drafter("Orchard packhouse", "us", SITE, SYSTEMS)
    source(d)
    header(d)
    zones(d)
    water(d)
    controls(d)
    cases(d)
    relief(d)
    d.data |= ORCHARD
    return d


def valve(d: Drafter, name: str, x: float, y: float, cv: float, flip: bool = False) -> None:
    """A full-bore shut-off."""
    d.item(name, "shutoff", x, y, 0, flip, cv=cv, open=True)


def circulator(
    d: Drafter,
    name: str,
    x: float,
    y: float,
    points: list[tuple[str, str]],
    flip: bool = False,
    **props: object,
) -> None:
    """A wet-rotor circulator; its curve in gpm and feet."""
    curve = [[f"{flow} gpm", f"{head} ft_head"] for flow, head in points]
    d.item(name, "circulator", x, y, 0, flip, curve=curve, body="cast_iron", shaft="horizontal", **props)


def source(d: Drafter) -> None:
    """Heat pump, electric heater behind it, buffer, and the way back."""
    d.item(
        "HP-1",
        "heat_pump",
        120,
        460,
        label="Air-source heat pump",
        table=TABLE,
        set_temperature="110 degF",
        drops=[["6 gpm", "4 ft_head"], ["10 gpm", "10 ft_head"]],
        max_pressure="75 psi",
        run_when=CALLS,
    )
    d.joint("J-1", 200, 440)
    d.item(
        "RV-1",
        "relief_valve",
        200,
        400,
        set_pressure="45 psi",
        capacity="120 kBtu/h",
        inlet_size="3/4 in",
        discharge="to a catch pail: glycol",
    )
    valve(d, "V-1", 260, 440, 60)
    d.joint("J-2", 310, 440)
    d.item("TG-1", "thermometer", 310, 400)
    d.item(
        "H-1",
        "heater",
        390,
        390,
        label="Electric heater",
        capacity="8 kW",
        set_temperature="110 degF",
        drops=[["8 gpm", "1.5 ft_head"]],
        max_pressure="150 psi",
        watts="8 kW",
        efficiency=1.0,
        high_limit=True,
        run_when={"all": ["SW-1", CALLS]},
        powered_by="OU-1",
    )
    d.item("BT-1", "buffer", 520, 480, label="Buffer", volume="85 gal")
    d.run(
        "loop",
        INCH_1,
        "HP-1:out",
        "2 ft",
        "J-1",
        "1 ft 1r",
        "V-1",
        "1 ft",
        "J-2",
        ("2 ft 1r 1e", [(380, 440)]),
        "H-1:in",
        **WRAP,
    )
    d.run("loop", INCH_1, "H-1:out", ("3 ft 1e", [(400, 440)]), "BT-1:a_in", **WRAP)
    d.run("loop", THREE_4, "J-1", "4 in", "RV-1")
    d.run("loop", HALF, "J-2", "3 in", "TG-1")
    d.joint("J-3", 430, 520)
    d.item(
        "ET-1",
        "expansion_tank",
        430,
        560,
        volume="8 gal",
        acceptance="4 gal",
        precharge="18 psi",
        max_pressure="60 psi",
    )
    circulator(
        d,
        "P-1",
        370,
        520,
        [("0", "19"), ("5", "17"), ("10", "12"), ("14", "5")],
        flip=True,
        label="Heat pump circulator",
        watts="95 W",
        amps="0.9 A",
        run_when=CALLS,
        powered_by="OU-2",
    )
    d.item("ST-1", "strainer", 310, 520, 0, True, cv=28)
    d.item("V-2", "purge_set", 250, 520, cv=60)
    d.run(
        "loop",
        INCH_1,
        "BT-1:a_out",
        "1 ft",
        "J-3",
        "1 ft 1r",
        "P-1",
        "6 in",
        "ST-1",
        "6 in",
        "V-2<",
        ("4 ft 2e", [(200, 520), (200, 480)]),
        "HP-1:in",
        **WRAP,
    )
    d.run("loop", THREE_4, "J-3", "1 ft", "ET-1")


def header(d: Drafter) -> None:
    """Air separator, circulator, bypass and purge set between the buffer and the zones."""
    d.item("AS-1", "air_separator", 620, 440, cv=60, size="1 1/4 in")
    circulator(
        d,
        "P-2",
        690,
        440,
        [("0", "20"), ("4", "18"), ("8", "13"), ("12", "5")],
        label="Fan coil circulator",
        control="delta_p_constant",
        target="9 ft_head",
        watts="60 W",
        amps="0.6 A",
        run_when=CALLS,
        powered_by="OU-2",
    )
    d.item("CV-1", "check_valve", 750, 440, cv=22, opens_at="0.3 psi")
    d.joint("J-4", 810, 440)
    d.item("TG-2", "thermometer", 810, 400)
    d.run(
        "loop",
        INCH_1,
        "BT-1:b_out",
        "2 ft",
        "AS-1",
        "16 in / 16 in",
        "P-2",
        "16 in / 16 in",
        "CV-1",
        "1 ft",
        "J-4",
        **WRAP,
    )
    d.run("loop", HALF, "J-4", "3 in", "TG-2")
    d.joint("J-5", 870, 440)
    d.joint("J-6", 870, 640)
    d.item("DB-1", "dp_bypass", 870, 540, 90, set_pressure="12 ft_head", cv=3)
    d.run("loop", INCH_1, "J-4", "1 ft 1r", "J-5", **WRAP)
    d.run("loop", THREE_4, "J-5", "2 ft 1b", "DB-1", "2 ft 1b", "J-6")
    d.joint("J-7", 760, 640)
    d.item("PG-1", "gauge", 760, 600)
    d.item("PS-1", "purge_set", 690, 640, 0, True, cv=50)
    d.run(
        "loop",
        INCH_1,
        "J-6",
        "2 ft 1r",
        "J-7",
        "1 ft 1r",
        "PS-1",
        ("5 ft 2e", [(600, 640), (600, 520)]),
        "BT-1:b_in",
        **WRAP,
    )
    d.run("loop", HALF, "J-7", "3 in", "PG-1")


def zones(d: Drafter) -> None:
    """A fan coil in each room; the cloakroom's has no valve of its own."""
    supply, back = "J-5", "J-6"
    for number, name, ua, flow in ZONES:
        x = 840 + 120 * number
        if number == 4:
            valve(d, "V-3", x, 490, 12)
            d.data["items"][-1]["turn"] = 90
            gate = "V-3"
        else:
            gate = d.item(
                f"ZV-{number}", "zone_valve", x, 490, 90, cv=4.5, run_when={"any": [f"TH-{number}"]}
            )
        coil = d.item(
            f"FN-{number}",
            "fan_coil",
            x,
            550,
            90,
            label=name,
            ua=ua,
            serves=f"R-{number}",
            drops=[[f"{4 * flow:.2f} gpm", "5 ft_head"]],
            height="9 ft",
        )
        d.item(
            f"BV-{number}", "balance_valve", x, 600, 90, cv=5, setting=(0.75, 0.45, 0.35, 0.25)[number - 1]
        )
        steps = (gate, "25 ft 4e", coil, "25 ft 4e", f"BV-{number}")
        if number < len(ZONES):
            top, low = f"J-{number}s", f"J-{number}r"
            d.joint(top, x, 440)
            d.joint(low, x, 640)
            d.run("loop", INCH, supply, "18 ft 1r", top, **WRAP)
            d.run("loop", INCH, low, "18 ft 1r", back, **WRAP)
            d.run("loop", THREE_4, top, "2 ft 1b", *steps, "2 ft 1b", low)
            supply, back = top, low
        else:
            d.run("loop", THREE_4, supply, ("18 ft 1e", [(x, 440)]), *steps, ("18 ft 1e", [(x, 640)]), back)
    d.item(
        "R-1",
        "room",
        960,
        730,
        label="Packing hall",
        wanted="62 degF",
        gain="2 kBtu/h",
        floor="1600 ft2",
        ceiling="14 ft",
        air_changes=0.75,
        envelope=[
            {"name": "walls", "area": "1500 ft2", "u": "0.065 Btu/h/ft2/degF"},
            {"name": "roof", "area": "1600 ft2", "u": "0.035 Btu/h/ft2/degF"},
        ],
    )
    d.item(
        "R-2",
        "room",
        1080,
        730,
        label="Sorting room",
        wanted="62 degF",
        loss="200 Btu/h/degF",
        gain="1 kBtu/h",
    )
    d.item(
        "R-3", "room", 1200, 730, label="Office", wanted="68 degF", loss="105 Btu/h/degF", gain="700 Btu/h"
    )
    d.item("R-4", "room", 1320, 730, label="Cloakroom", wanted="60 degF", loss="48 Btu/h/degF")


def water(d: Drafter) -> None:
    """Cold main, a humidifier for the fruit, and the hose bib."""
    d.item("CM-1", "cold_main", 620, 240, label="Cold main", pressure="55 psi")
    valve(d, "V-4", 690, 240, 25)
    d.item(
        "BP-1", "backflow_preventer", 760, 240, drops=[["4 gpm", "6 psi"]], **{"class": "reduced_pressure"}
    )
    d.joint("J-8", 830, 240)
    d.item(
        "HU-1",
        "humidifier",
        910,
        240,
        label="Fruit store humidifier",
        uses="3 L/h",
        potable_listed=True,
        drops=[["1 gpm", "2 psi"]],
    )
    d.item("F-1", "fixture", 930, 300, label="Hose bib", flow="4 gpm", fixture_type="hose_bibb")
    d.run("potable", THREE_4, "CM-1", "3 ft", "V-4", "1 ft", "BP-1", "10 ft 2e", "J-8")
    d.run("potable", HALF, "J-8", "6 ft 1r", "HU-1:in")
    d.run("potable", THREE_4, "J-8", ("12 ft 1b 1e", [(830, 310)]), "F-1:cold")


def controls(d: Drafter) -> None:
    """Room stats, outdoor reset of both makers of heat, the night switch, and two outlets."""
    for number, (name, at) in enumerate(
        (("Packing hall stat", 62), ("Sorting room stat", 62), ("Office stat", 68)), 1
    ):
        d.item(
            f"TH-{number}",
            "thermostat",
            900 + 120 * number,
            370,
            label=name,
            senses=[f"R-{number}"],
            set_temperature=f"{at} degF",
            differential="2 delta_degF",
            call=True,
        )
    d.item("SW-1", "switch", 260, 250, label="Cold-night switch", on=False, call=True)
    d.item(
        "OU-1", "outlet", 390, 250, label="Heater circuit", rating="50 A", volts="240 V", switched_by="SW-1"
    )
    d.item("OU-2", "outlet", 480, 250, label="Pump outlet", rating="15 A", volts="120 V", on=True)
    d.item(
        "OR-1",
        "outdoor_reset",
        120,
        330,
        label="Weather line",
        sets=["HP-1", "H-1"],
        line=[["5 degF", "118 degF"], ["60 degF", "84 degF"]],
    )


def relief(d: Drafter) -> None:
    """The electric heater's own relief valve: the shut-off ahead of it cuts it from that of the heat pump."""
    d.item(
        "RV-2",
        "relief_valve",
        310,
        490,
        180,
        set_pressure="45 psi",
        capacity="60 kBtu/h",
        inlet_size="3/4 in",
        discharge="to a catch pail: glycol",
    )
    d.run("loop", THREE_4, "J-2", "4 in", "RV-2")


def cases(d: Drafter) -> None:
    """Coldest night with help, an ordinary winter's day, spring, and rest."""
    on = {"OU-2": True}
    d.case("Design night", "12 degF", {**on, "SW-1": True}, season="winter", hours_per_year=150)
    d.case("Winter day", "30 degF", {**on, "SW-1": False}, season="winter", hours_per_year=2600)
    d.case("Mild day", "48 degF", {**on, "SW-1": False}, season="spring", hours_per_year=2200)
    off = {"TH-1": False, "TH-2": False, "TH-3": False, "SW-1": False}
    dry = {"HU-1": "0 L/h"}
    d.case("All off", "70 degF", {**on, **off}, draws=dry, season="summer", hours_per_year=3810)


if __name__ == "__main__":
    OUT.write_text(write.dumps(read.from_data(packhouse().data)), encoding="utf-8")
