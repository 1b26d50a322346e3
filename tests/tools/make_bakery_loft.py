"""Makes sample_plants/bakery_loft.plant.json: a flat over a bakery, one boiler for rooms and hot water.

Run `python -m tests.tools.make_bakery_loft` from the checkout. The figures are our own invention; nothing in
the program reads this script. A condensing boiler on a hydraulic separator, a tank with a coil that goes
first, and three radiators behind a three-way valve that follows the weather.
"""

from __future__ import annotations

from pathlib import Path

from core.files import read, write
from tests.tools.drafting import Drafter
from tests.tools.sample_records import BAKERY

OUT = Path(__file__).parents[2] / "sample_plants" / "bakery_loft.plant.json"
SITE = {"outdoor_design": "-8 degC", "cold_water": "10 degC", "indoor": "20 degC", "altitude": "40 m"}
SYSTEMS = {
    "potable": {"use": "potable", "fluid": {"kind": "water"}},
    "heating": {"use": "closed", "fluid": {"kind": "water"}, "fill_pressure": "1.2 bar"},
}
DN10, DN15, DN20 = (f"copper_en {size} mm" for size in ("15 x 1", "22 x 1", "28 x 1"))
WRAP = {"insulation": {"thickness": "20 mm", "conductivity": "0.036 W/m/K"}}
ROOMS = [  # number, name, loss [W/K], wanted, gain, heat stored, heat of its radiator at 60/20 degC
    (1, "Living room", "82 W/K", "20 degC", "150 W", "9 MJ/K", "2.95 kW"),
    (2, "Bedroom", "46 W/K", "18 degC", "80 W", "6 MJ/K", "1.5 kW"),
    (3, "Bathroom", "30 W/K", "22 degC", "0 W", "2.2 MJ/K", "1.35 kW"),
]
HEAT = {"all": [{"any": ["TH-1", "TH-2"]}, {"not": "AQ-1"}]}
ANY = {"any": ["TH-1", "TH-2", "AQ-1"]}


def loft() -> Drafter:
    """The plant."""
    d = Drafter("Bakery loft", "si", SITE, SYSTEMS)
    water(d)
    source(d)
    tank(d)
    heating(d)
    controls(d)
    cases(d)
    make_up(d)
    d.data |= BAKERY
    return d


def valve(d: Drafter, name: str, x: float, y: float, cv: float, flip: bool = False, turn: int = 0) -> None:
    """A full-bore shut-off."""
    d.item(name, "shutoff", x, y, turn, flip, cv=cv, open=True)


def circulator(
    d: Drafter, name: str, x: float, y: float, points: list[tuple[str, str]], **props: object
) -> None:
    """A wet-rotor circulator; its curve in L/s and metres."""
    curve = [[f"{flow} L/s", f"{head} m_head"] for flow, head in points]
    d.item(name, "circulator", x, y, curve=curve, body="cast_iron", shaft="horizontal", **props)


def source(d: Drafter) -> None:
    """Boiler, relief, expansion, fill and the hydraulic separator."""
    d.item(
        "B-1",
        "boiler",
        120,
        460,
        label="Condensing boiler",
        capacity="14 kW",
        min_output="2.5 kW",
        set_temperature="66 degC",
        differential="6 K",
        water_content="3 L",
        condensing=True,
        condensate="through a neutralizer to the floor drain",
        efficiency=0.95,
        drops=[["0.2 L/s", "3 kPa"], ["0.4 L/s", "11 kPa"], ["0.6 L/s", "24 kPa"]],
        max_pressure="4 bar",
        high_limit="90 degC",
        low_water_cutoff=True,
        run_when=ANY,
    )
    d.joint("J-1", 200, 440)
    d.item(
        "RV-1",
        "relief_valve",
        200,
        400,
        set_pressure="3 bar",
        capacity="40 kW",
        inlet_size="20 mm",
        discharge="to the tundish, full size, air gap",
    )
    valve(d, "V-1", 260, 440, 40)
    d.joint("J-2", 310, 440)
    d.item("TG-1", "thermometer", 310, 400)
    d.item("HS-1", "separator", 380, 460, label="Hydraulic separator", volume="4 L")
    d.run(
        "heating",
        DN20,
        "B-1:out",
        "0.3 m",
        "J-1",
        "0.3 m 1r",
        "V-1",
        "0.3 m",
        "J-2",
        "0.4 m 1r",
        "HS-1:a_in",
        **WRAP,
    )
    d.run("heating", DN15, "J-1", "0.1 m", "RV-1")
    d.run("heating", DN10, "J-2", "0.1 m", "TG-1")
    d.joint("J-3", 330, 480)
    circulator(
        d,
        "P-1",
        270,
        480,
        [("0", "3.2"), ("0.2", "2.7"), ("0.4", "1.7"), ("0.6", "0.3")],
        label="Boiler pump",
        watts="25 W",
        run_when=ANY,
    )
    d.data["items"][-1]["flip"] = True
    d.item("V-2", "purge_set", 210, 480, cv=40)
    d.run(
        "heating",
        DN20,
        "HS-1:a_out",
        "0.4 m",
        "J-3",
        "0.3 m 1r / 0.3 m",
        "P-1",
        "0.2 m",
        "V-2<",
        "0.4 m",
        "B-1:in",
        **WRAP,
    )
    d.joint("J-4", 330, 560)
    d.item(
        "ET-1",
        "expansion_tank",
        330,
        600,
        volume="12 L",
        acceptance="7 L",
        precharge="1.2 bar",
        max_pressure="4 bar",
    )
    d.run("heating", DN15, "J-3", "0.5 m", "J-4", "0.2 m", "ET-1")
    d.item("FV-1", "fill_valve", 250, 560, set_pressure="1.2 bar")
    d.item(
        "BP-2", "backflow_preventer", 120, 560, drops=[["0.1 L/s", "25 kPa"]], **{"class": "reduced_pressure"}
    )
    d.item("PG-1", "gauge", 390, 530)
    d.run("heating", DN10, "J-4", ("0.3 m 1e", [(390, 560)]), "PG-1")
    d.run("potable", DN10, "J-7", ("4 m 2e", [(310, 330), (60, 330), (60, 560)]), "BP-2")
    d.run("heating", DN10, "BP-2", "0.2 m", "FV-1", "0.4 m 1b", "J-4")


def tank(d: Drafter) -> None:
    """The tank with its coil, charged by a circulator of its own."""
    d.item("AS-1", "air_separator", 450, 440, cv=40, size="28 mm")
    d.joint("J-5", 520, 440)
    d.run("heating", DN20, "HS-1:b_out", "0.3 m", "AS-1", "0.3 m", "J-5", **WRAP)
    d.item(
        "CT-1",
        "coil_tank",
        760,
        200,
        label="Hot water tank",
        volume="160 L",
        tall="1.2 m",
        taps={"hot": "1.1 m", "cold": "0.1 m", "top": "1.2 m", "bottom": "0 m"},
        ua_loss="1.6 W/K",
        sensors={"mid": "0.6 m"},
        coil_ua="900 W/K",
        coil_drops=[["0.3 L/s", "6 kPa"]],
        coil_heights={"coil_in": "0.7 m", "coil_out": "0.2 m"},
        max_pressure="10 bar",
        max_temperature="95 degC",
        potable_listed=True,
    )
    valve(d, "V-3", 570, 360, 22)
    circulator(
        d,
        "P-2",
        630,
        360,
        [("0", "4"), ("0.2", "3.4"), ("0.4", "2.2"), ("0.6", "0.5")],
        label="Tank pump",
        watts="30 W",
        run_when={"any": ["AQ-1"]},
    )
    d.item("CV-2", "check_valve", 690, 360, cv=11, opens_at="2 kPa")
    d.run(
        "heating",
        DN15,
        "J-5",
        ("0.6 m 1b 1e", [(520, 360)]),
        "V-3",
        "0.25 m / 0.25 m",
        "P-2",
        "0.25 m / 0.25 m",
        "CV-2",
        ("1.4 m 2e", [(870, 360), (870, 190)]),
        "CT-1:coil_in",
        **WRAP,
    )
    valve(d, "V-4", 570, 310, 22, flip=True)
    d.joint("J-6", 500, 660)
    d.run(
        "heating",
        DN15,
        "CT-1:coil_out",
        ("1.4 m 2e", [(830, 220), (830, 310)]),
        "V-4",
        ("2.2 m 1e 1b", [(500, 310)]),
        "J-6",
        **WRAP,
    )


def water(d: Drafter) -> None:
    """Cold main, the tank's own safety, mixing valve and two outlets."""
    d.item("CM-1", "cold_main", 120, 260, label="Cold main", pressure="4 bar")
    valve(d, "V-5", 190, 260, 22)
    d.item("PR-1", "pressure_reducer", 250, 260, set_pressure="3 bar")
    d.joint("J-7", 310, 260)
    d.item("CV-1", "check_valve", 370, 260, cv=8, opens_at="2 kPa")
    d.joint("J-8", 430, 260)
    d.item(
        "ET-2",
        "expansion_tank",
        430,
        310,
        volume="12 L",
        acceptance="8 L",
        precharge="3 bar",
        max_pressure="10 bar",
        potable=True,
    )
    d.joint("J-9", 560, 260)
    d.run(
        "potable",
        DN15,
        "CM-1",
        "1 m",
        "V-5",
        "0.2 m",
        "PR-1",
        "0.3 m",
        "J-7",
        "0.3 m 1r",
        "CV-1",
        "0.3 m",
        "J-8",
        "0.8 m 1r",
        "J-9",
    )
    d.run("potable", DN15, "J-8", "0.2 m", "ET-2")
    d.item(
        "MV-1",
        "mixing_valve",
        560,
        200,
        0,
        True,
        label="Tap mixing valve",
        cv=3,
        set_temperature="48 degC",
        checks=True,
        duty="point_of_use",
        potable_listed=True,
    )
    d.run("potable", DN15, "J-9", ("0.9 m 1r", [(640, 260), (640, 240)]), "CT-1:cold")
    d.run("potable", DN15, "CT-1:hot", ("1.2 m 2e", [(640, 160), (640, 200)]), "MV-1:hot", **WRAP)
    d.run("potable", DN15, "J-9", "0.3 m 1b", "MV-1:cold")
    d.joint("J-10", 460, 200)
    d.joint("J-11", 310, 220)
    d.item("F-1", "fixture", 240, 150, 0, True, label="Shower", flow="9 L/min", set_temperature="40 degC")
    d.item(
        "F-2", "fixture", 240, 210, 0, True, label="Kitchen sink", flow="6 L/min", set_temperature="45 degC"
    )
    d.run("potable", DN15, "MV-1:mixed", "2 m 1e", "J-10", **WRAP)
    d.run("potable", DN15, "J-10", ("4 m 1b 1e", [(460, 140)]), "F-1:hot")
    d.run("potable", DN10, "J-10", "3 m 1r", "F-2:hot")
    d.run("potable", DN15, "J-7", "3 m 1b", "J-11", ("4 m 1r 1e", [(310, 160)]), "F-1:cold")
    d.run("potable", DN10, "J-11", "1 m 1b", "F-2:cold")
    d.item(
        "RV-2",
        "relief_valve",
        760,
        110,
        set_pressure="7 bar",
        set_temperature="95 degC",
        capacity="25 kW",
        inlet_size="20 mm",
        discharge="to the tundish, full size, air gap",
        senses_tank_top=True,
    )
    d.run("potable", DN15, "CT-1:top", "0 m", "RV-2")
    d.item("D-1", "drain", 760, 280)
    d.run("potable", DN15, "CT-1:bottom", "0.1 m", "D-1")


def heating(d: Drafter) -> None:
    """Three-way valve, circulator and a radiator in each room."""
    d.item("TV-1", "three_way_valve", 600, 440, label="Heating valve", cv=4, target="58 degC")
    circulator(
        d,
        "P-3",
        690,
        440,
        [("0", "3.4"), ("0.1", "2.9"), ("0.2", "2.1"), ("0.35", "0.4")],
        label="Heating pump",
        watts="22 W",
        run_when=HEAT,
    )
    d.item("CV-3", "check_valve", 750, 440, cv=8, opens_at="2 kPa")
    d.joint("J-12", 810, 440)
    d.item("TG-2", "thermometer", 810, 400)
    d.run("heating", DN15, "J-5", "0.4 m 1r", "TV-1:a", **WRAP)
    d.run(
        "heating", DN15, "TV-1:ab", "0.3 m / 0.3 m", "P-3", "0.25 m / 0.25 m", "CV-3", "0.3 m", "J-12", **WRAP
    )
    d.run("heating", DN10, "J-12", "0.1 m", "TG-2")
    d.joint("J-13", 600, 660)
    d.item("PS-1", "purge_set", 560, 660, 0, True, cv=22)
    d.item("DS-1", "dirt_separator", 440, 580, 270, cv=40, size="28 mm")
    d.run("heating", DN15, "J-13", "0.3 m 1r", "PS-1", "0.3 m", "J-6", **WRAP)
    d.run("heating", DN15, "J-13", "0.8 m 1b", "TV-1:b", **WRAP)
    d.run(
        "heating",
        DN20,
        "J-6",
        ("0.4 m 1e", [(440, 660)]),
        "DS-1",
        ("0.4 m 1e", [(440, 480)]),
        "HS-1:b_in",
        **WRAP,
    )
    supply, back = "J-12", "J-13"
    for number, name, loss, wanted, gain, mass, heat in ROOMS:
        x = 790 + 110 * number
        radiator = f"RA-{number}"
        d.item(
            f"ZV-{number}",
            "zone_valve" if number != 2 else "shutoff",
            x,
            490,
            90,
            cv=2.2,
            **({"run_when": {"any": [f"TH-{1 if number == 1 else 2}"]}} if number != 2 else {"open": True}),
        )
        d.item(
            radiator,
            "radiator",
            x,
            550,
            90,
            label=name,
            serves=f"R-{number}",
            rated={"heat": heat, "flow": "0.06 L/s", "supply": "60 degC", "room": "20 degC", "exponent": 1.3},
            drops=[["0.05 L/s", "2 kPa"]],
            height="1 m",
        )
        d.item(f"BV-{number}", "balance_valve", x, 610, 90, cv=1.9, setting=(0.9, 0.35, 0.45)[number - 1])
        d.item(f"R-{number}", "room", x, 740, label=name, loss=loss, wanted=wanted, gain=gain, mass=mass)
        steps = (f"ZV-{number}", "2 m 2e", radiator, "2 m 2e", f"BV-{number}")
        if number < len(ROOMS):
            top, low = f"J-{number}s", f"J-{number}r"
            d.joint(top, x, 440)
            d.joint(low, x, 660)
            d.run("heating", DN10, supply, "4 m 1r", top, **WRAP)
            d.run("heating", DN10, low, "4 m 1r", back, **WRAP)
            d.run("heating", DN10, top, "0.6 m 1b", *steps, "0.6 m 1b", low, **WRAP)
            supply, back = top, low
        else:
            d.run(
                "heating", DN10, supply, ("4 m 1e", [(x, 440)]), *steps, ("4 m 1e", [(x, 660)]), back, **WRAP
            )


def controls(d: Drafter) -> None:
    """Two room stats, the tank's aquastat, outdoor reset of the three-way valve."""
    d.item(
        "TH-1",
        "thermostat",
        950,
        380,
        label="Living room stat",
        senses=["R-1"],
        set_temperature="20 degC",
        differential="1 K",
        call=True,
    )
    d.item(
        "TH-2",
        "thermostat",
        1170,
        380,
        label="Bathroom stat",
        senses=["R-3"],
        set_temperature="22 degC",
        differential="1 K",
        call=True,
    )
    d.item(
        "AQ-1",
        "aquastat",
        950,
        200,
        label="Tank stat",
        senses=["CT-1", "mid"],
        set_temperature="60 degC",
        differential="6 K",
        call=True,
        priority=["TH-1", "TH-2"],
        priority_limit="60 min",
    )
    d.item(
        "OR-1",
        "outdoor_reset",
        690,
        540,
        label="Weather line",
        sets=["TV-1"],
        line=[["-8 degC", "58 degC"], ["16 degC", "29 degC"]],
    )


def make_up(d: Drafter) -> None:
    """The stop and the check in the make-up line."""
    bends = [(310, 330), (60, 330)]
    d.insert(
        "V-6",
        "shutoff",
        60,
        450,
        ("J-7", "BP-2"),
        "1 m",
        via=bends,
        via_behind=[(60, 560)],
        turn=90,
        cv=12,
        open=True,
    )
    d.insert("CV-4", "check_valve", 190, 560, ("BP-2", "FV-1"), "0.1 m", k=2.0, size="1/2 in")


def cases(d: Drafter) -> None:
    """Winter, spring, the tank's turn, a shower in summer, and rest."""
    warm = {"CT-1": "56 degC"}
    d.case("Design night", "-8 degC", {"AQ-1": False}, tanks=warm, season="winter", hours_per_year=250)
    d.case("Mild day", "8 degC", {"AQ-1": False}, tanks=warm, season="winter", hours_per_year=4600)
    d.case(
        "Tank first",
        "-8 degC",
        {},
        lasts="5 min",
        start={"CT-1": "42 degC", "R-1": "20 degC", "R-2": "18 degC", "R-3": "22 degC"},
        season="winter",
        hours_per_year=350,
        note="After heavy use the tank takes all the heat; the rooms go without for these minutes.",
    )
    d.case(
        "Summer shower",
        "24 degC",
        {"TH-1": False, "TH-2": False, "AQ-1": True},
        tanks={"CT-1": "54 degC"},
        draws={"F-1": "9 L/min"},
        season="summer",
        hours_per_year=120,
    )
    d.case(
        "All off",
        "22 degC",
        {"TH-1": False, "TH-2": False, "AQ-1": False},
        tanks=warm,
        season="summer",
        hours_per_year=3440,
    )


if __name__ == "__main__":
    OUT.write_text(write.dumps(read.from_data(loft().data)), encoding="utf-8")
