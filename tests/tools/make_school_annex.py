"""Makes sample_plants/school_annex.plant.json: a plant of size, laid out as a regular grid of zones.

Run `python -m tests.tools.make_school_annex` from the checkout. The figures are our own invention; nothing in
the program reads this script. A radiator wing, a floor wing behind a buffer and an air wing hang on one
hydraulic separator with two boilers.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from core.files import read, write
from tests.tools.drafting import Drafter, Step
from tests.tools.sample_records import SCHOOL

OUT = Path(__file__).parents[2] / "sample_plants" / "school_annex.plant.json"
SITE = {"outdoor_design": "-14 degC", "cold_water": "9 degC", "indoor": "20 degC", "altitude": "320 m"}
SYSTEMS = {
    "potable": {"use": "potable", "fluid": {"kind": "water"}},
    "heating": {"use": "closed", "fluid": {"kind": "water"}, "fill_pressure": "1.3 bar"},
}
DN15, DN20, DN25, DN32, DN40 = (
    f"copper_en {size} mm" for size in ("15 x 1", "22 x 1", "28 x 1", "35 x 1.5", "42 x 1.5")
)
FULL_CV = {DN15: 12, DN20: 26, DN25: 44, DN32: 70, DN40: 110}
WRAP = {"insulation": {"thickness": "20 mm", "conductivity": "0.036 W/m/K"}}
SUPPLY_X, RETURN_X = 540, 580  # risers between the sources and the wings
FIRST_X = 830  # first column of zones
STATS = {
    "TH-1": "North classrooms",
    "TH-2": "South classrooms",
    "TH-3": "Infants' floor",
    "TH-4": "Library floor",
    "TH-5": "Hall and kitchen",
}
Points = list[tuple[str, str]]


class Annex(Drafter):
    """The drafter with this plant's usual parts."""

    def valve(self, name: str, x: float, y: float, tube: str, turn: int = 0, flip: bool = False) -> None:
        """A full-bore shut-off of the tube's size."""
        self.item(name, "shutoff", x, y, turn, flip, cv=FULL_CV[tube], open=True)

    def circulator(
        self,
        name: str,
        x: float,
        y: float,
        points: Points,
        calls: list[str],
        flip: bool = False,
        **props: Any,
    ) -> None:
        """A wet-rotor circulator; its curve in L/s and metres."""
        self.item(
            name,
            "circulator",
            x,
            y,
            0,
            flip,
            curve=[[f"{flow} L/s", f"{head} m_head"] for flow, head in points],
            body="cast_iron",
            shaft="horizontal",
            **{"run_when": {"any": calls}, **props},
        )

    def stub(self, joint: str, tube: str, end: str) -> None:
        """The short pipe to something that stands or hangs on a line."""
        self.run("heating", tube, joint, "0.1 m", end)


def sources(d: Annex) -> None:
    """Two boilers, each with its own circulator and check valve, on one hydraulic separator."""
    for n, y in ((1, 180), (2, 380)):
        boiler(d, n, y)
    d.item("HS-1", "separator", 420, 280, label="Hydraulic separator", volume="8 L")
    d.joint("J-1", 350, 260)
    d.joint("J-2", 320, 300)
    d.run("heating", DN32, "V-1", ("1.5 m 2e", [(350, 160)]), "J-1", **WRAP)
    d.run("heating", DN32, "V-3", ("1.5 m 2e", [(350, 360)]), "J-1", **WRAP)
    d.run("heating", DN40, "J-1", "0.6 m 1b", "HS-1:a_in", **WRAP)
    d.run("heating", DN40, "HS-1:a_out", "0.6 m 1b", "J-2", **WRAP)
    d.run("heating", DN32, "J-2", ("1.5 m 2e", [(320, 230)]), "V-2<", **WRAP)
    d.joint("J-3", 320, 430)
    d.run("heating", DN32, "J-2", "1.2 m 1r", "J-3", "0.4 m 1b", "V-4<", **WRAP)
    d.item(
        "ET-1",
        "expansion_tank",
        320,
        470,
        volume="50 L",
        acceptance="30 L",
        precharge="1.3 bar",
        max_pressure="4 bar",
    )
    d.stub("J-3", DN20, "ET-1")
    d.item("CM-1", "cold_main", 90, 560, label="Cold main", pressure="3.8 bar")
    d.valve("V-5", 150, 560, DN15)
    d.item(
        "BP-1", "backflow_preventer", 220, 560, drops=[["0.1 L/s", "25 kPa"]], **{"class": "reduced_pressure"}
    )
    d.item("FV-1", "fill_valve", 290, 560, set_pressure="1.3 bar")
    d.joint("J-11", 380, 500)
    d.run("potable", DN15, "CM-1", "0.5 m", "V-5", "0.2 m", "BP-1")
    d.run(
        "heating",
        DN15,
        "BP-1",
        "0.2 m",
        "FV-1",
        ("1 m 1e", [(380, 560)]),
        "J-11",
        ("1 m 1e", [(380, 430)]),
        "J-3",
    )
    d.item("PG-1", "gauge", 420, 500, 90)
    d.stub("J-11", DN15, "PG-1")


def boiler(d: Annex, n: int, y: float) -> None:
    """One boiler with relief valve, thermometer, shut-offs, circulator and check valve."""
    boiler_, first = f"B-{n}", 2 * n - 1
    d.item(
        boiler_,
        "boiler",
        90,
        y,
        label="Condensing boiler",
        capacity="36 kW",
        min_output="5 kW",
        set_temperature="65 degC",
        differential="6 K",
        water_content="4 L",
        condensing=True,
        condensate="through a neutralizer to the floor drain",
        efficiency=0.94,
        drops=[["0.3 L/s", "2.4 kPa"], ["0.6 L/s", "9 kPa"], ["1.0 L/s", "24 kPa"]],
        max_pressure="4 bar",
        high_limit="90 degC",
        low_water_cutoff=True,
        run_when={"any": list(STATS)},
    )
    relief, glass, hot, cold = f"J-B{n}1", f"J-B{n}2", f"V-{first}", f"V-{first + 1}"
    d.joint(relief, 160, y - 20)
    d.item(
        f"RV-{n}",
        "relief_valve",
        160,
        y - 60,
        set_pressure="3 bar",
        capacity="60 kW",
        inlet_size="20 mm",
        discharge="to the floor drain, full size, air gap",
    )
    d.joint(glass, 210, y - 20)
    d.item(f"TG-{n}", "thermometer", 210, y - 60)
    d.valve(hot, 270, y - 20, DN32)
    d.run("heating", DN32, f"{boiler_}:out", "0.3 m", relief, "0.3 m 1r", glass, "0.5 m 1r", hot, **WRAP)
    d.stub(relief, DN20, f"RV-{n}")
    d.stub(glass, DN15, f"TG-{n}")
    d.item(cold, "purge_set", 280, y + 50, cv=FULL_CV[DN32])
    d.circulator(
        f"P-{n}",
        230,
        y + 50,
        [("0", "3"), ("0.4", "2.35"), ("0.7", "1.2"), ("0.9", "0.2")],
        list(STATS),
        flip=True,
        label="Boiler pump",
        watts="45 W",
    )
    d.item(f"CV-{n}", "check_valve", 180, y + 50, 0, True, cv=24, opens_at="2 kPa")
    bends = [(140.0, y + 50), (140.0, y + 20)]
    d.run(
        "heating",
        DN32,
        f"{cold}<",
        "0.35 m / 0.35 m",
        f"P-{n}",
        "0.4 m / 0.4 m",
        f"CV-{n}",
        ("0.8 m 2e", bends),
        f"{boiler_}:in",
        **WRAP,
    )


def risers(d: Annex) -> None:
    """Air and dirt separator, and the risers that the wings hang on."""
    d.item("AS-1", "air_separator", 480, 260, cv=110, size="42 mm")
    d.item("DS-1", "dirt_separator", 480, 300, 0, True, cv=110, size="42 mm")
    d.joint("J-4", SUPPLY_X, 260)
    d.joint("J-5", SUPPLY_X, 400)
    d.joint("J-6", RETURN_X, 320)
    d.joint("J-7", RETURN_X, 480)
    d.run("heating", DN40, "HS-1:b_out", "0.3 m", "AS-1", "0.5 m", "J-4", "1 m 1r", "J-5", **WRAP)
    d.run(
        "heating",
        DN40,
        "J-7",
        "1 m 1r",
        "J-6",
        ("0.6 m 1e", [(RETURN_X, 300)]),
        "DS-1",
        "0.3 m",
        "HS-1:b_in",
        **WRAP,
    )


def wing_head(
    d: Annex,
    y_supply: float,
    y_return: float,
    number: int,
    tube: str,
    points: Points,
    calls: list[str],
    label: str,
    **props: Any,
) -> tuple[str, str]:
    """Shut-offs, circulator, check valve and purge set of a wing; gives the ids at its two ends."""
    first = 2 * number
    d.valve(f"V-{first}", 630, y_supply, tube)
    d.circulator(f"P-{number}", 690, y_supply, points, calls, label=label, **props)
    d.item(f"CV-{number}", "check_valve", 750, y_supply, cv=FULL_CV[tube] / 2, opens_at="2 kPa")
    d.run(
        "heating",
        tube,
        f"V-{first}",
        "0.3 m / 0.3 m",
        f"P-{number}",
        "0.35 m / 0.35 m",
        f"CV-{number}",
        **WRAP,
    )
    d.item(f"PS-{number}", "purge_set", 750, y_return, 0, True, cv=FULL_CV[tube])
    d.valve(f"V-{first + 1}", 680, y_return, tube, flip=True)
    d.run("heating", tube, f"PS-{number}", "0.3 m", f"V-{first + 1}", **WRAP)
    return f"CV-{number}", f"PS-{number}"


def zones(
    d: Annex,
    wing: str,
    tube: str,
    branch: str,
    places: list[float],
    lines: tuple[float, float],
    ends: tuple[str, str],
    zone: Callable[[int, float], list[Step]],
    far: str,
) -> None:
    """Zones between a supply line above and a return line below; the last zone ends both."""
    above, below = lines
    supply, back = ends
    last = len(places)
    for n, x in enumerate(places, 1):
        steps = zone(n, x)
        if n < last:
            top, low = f"J-{wing}{n}s", f"J-{wing}{n}r"
            d.joint(top, x, above)
            d.joint(low, x, below)
            d.run("heating", tube, supply, f"{far} 1r", top, **WRAP)
            d.run("heating", tube, low, f"{far} 1r", back, **WRAP)
            d.run("heating", branch, top, "1.5 m 1b 2e", *steps, "1.5 m 1b 2e", low)
            supply, back = top, low
        else:
            out, home = (f"{far} 2e", [(x, above)]), (f"{far} 2e", [(x, below)])
            d.run("heating", branch, supply, out, *steps, home, back)


def radiators(d: Annex) -> None:
    """Eight classrooms, each with a zone valve, a row of radiators and a balance valve."""
    calls = ["TH-1", "TH-2"]
    ends = wing_head(
        d,
        80,
        320,
        3,
        DN25,
        [("0", "4.2"), ("0.3", "3.6"), ("0.6", "2.4"), ("0.9", "0.5")],
        calls,
        "Classroom pump",
        control="delta_p_constant",
        target="2.4 m_head",
        watts="40 W",
    )
    d.run("heating", DN25, "J-4", ("2 m 1b 1e", [(SUPPLY_X, 80)]), "V-6", **WRAP)
    d.run("heating", DN25, "V-7", "1 m 1b", "J-6", **WRAP)

    def zone(n: int, x: float) -> list[Step]:
        stat = "TH-1" if n <= 4 else "TH-2"
        d.item(f"ZV-{n}", "zone_valve", x, 140, 90, cv=2.5, run_when={"any": [stat]})
        d.item(
            f"RA-{n}",
            "radiator",
            x,
            200,
            90,
            label=f"Classroom {n}",
            room_temperature="20 degC",
            load="3.1 kW",
            rated={
                "heat": "3.3 kW",
                "flow": "0.053 L/s",
                "supply": "65 degC",
                "room": "20 degC",
                "exponent": 1.3,
            },
            drops=[["0.05 L/s", "2.5 kPa"]],
            height="1 m",
        )
        d.item(f"BV-{n}", "balance_valve", x, 260, 90, cv=2.4, setting=round(0.29 + 0.02 * n, 2))
        return [f"ZV-{n}", "4 m 2e", f"RA-{n}", "4 m 2e", f"BV-{n}"]

    zones(d, "A", DN25, DN15, [FIRST_X + 90 * n for n in range(8)], (80, 320), ends, zone, "5 m")


def floors(d: Annex) -> None:
    """Five floor circuits at 38 degC behind a buffer that its own circulator charges."""
    calls = ["TH-3", "TH-4"]
    supply, back = wing_head(
        d,
        400,
        480,
        4,
        DN25,
        [("0", "1.1"), ("0.2", "0.9"), ("0.4", "0.5"), ("0.55", "0.1")],
        calls,
        "Buffer pump",
        watts="18 W",
    )
    d.run("heating", DN25, "J-5", "1 m 1b", "V-8", **WRAP)
    d.run("heating", DN25, "V-9", "1 m 1b", "J-7", **WRAP)
    d.item("BT-1", "buffer", 850, 440, label="Buffer", volume="120 L")
    d.item("MV-1", "mixing_valve", 950, 400, label="Floor mixing valve", cv=7, set_temperature="38 degC")
    d.circulator(
        "P-5",
        1010,
        400,
        [("0", "5.2"), ("0.3", "4.4"), ("0.6", "2.9"), ("0.9", "0.8")],
        calls,
        label="Floor pump",
        watts="60 W",
        control="delta_p_constant",
        target="3.8 m_head",
        run_when={"all": [{"any": calls}, {"not": "AQ-1"}]},
    )
    d.joint("J-8", 950, 480)
    d.joint("J-9", 1050, 400)
    d.item("TG-3", "thermometer", 1050, 360)
    d.run("heating", DN25, supply, "0.4 m", "BT-1:a_in", **WRAP)
    d.run("heating", DN25, "BT-1:a_out", "0.4 m", back, **WRAP)
    d.run("heating", DN25, "BT-1:b_out", "0.4 m", "MV-1:hot", **WRAP)
    d.run("heating", DN25, "MV-1:mixed", "0.3 m", "P-5", "0.4 m", "J-9", **WRAP)
    d.run("heating", DN25, "J-8", "0.3 m 1b", "MV-1:cold", **WRAP)
    d.run("heating", DN25, "J-8", "0.3 m 1r", "BT-1:b_in", **WRAP)
    d.stub("J-9", DN15, "TG-3")
    d.joint("J-10", 1010, 600)
    d.item("TG-4", "thermometer", 1010, 560)
    d.stub("J-10", DN15, "TG-4")
    d.run("heating", DN25, "J-10", ("2 m 2e", [(950, 600)]), "J-8", **WRAP)

    def zone(n: int, x: float) -> list[Step]:
        stat = "TH-3" if n <= 3 else "TH-4"
        d.item(f"ZV-{n + 8}", "zone_valve", x, 440, 90, cv=4, run_when={"any": [stat]})
        d.item(
            f"FC-{n}",
            "floor_circuit",
            x + 60,
            510,
            label=f"Floor {n}",
            area="48 m2",
            construction="slab",
            tube={"material": "pex_metric", "size": "16 x 2 mm"},
            loops=[[3, "95 m"]],
            spacing="150 mm",
            oxygen_barrier=True,
            output_per_degree="172 W/K",
            room_temperature="20 degC",
            load="2.4 kW",
        )
        d.item(f"BV-{n + 8}", "balance_valve", x, 560, 90, cv=4, setting=round(0.40 + 0.04 * n, 2))
        return [
            f"ZV-{n + 8}",
            ("3 m 2e", [(x, 500)]),
            f"FC-{n}",
            ("3 m 2e", [(x, 520)]),
            f"BV-{n + 8}",
        ]

    zones(d, "F", DN25, DN15, [1090 + 100 * n for n in range(5)], (400, 600), ("J-9", "J-10"), zone, "6 m")


def air(d: Annex) -> None:
    """Five fan coils in the hall and one fixed load in the kitchen."""
    ends = wing_head(
        d,
        680,
        870,
        6,
        DN25,
        [("0", "5"), ("0.3", "4.3"), ("0.6", "2.9"), ("0.9", "0.9")],
        ["TH-5"],
        "Hall pump",
        control="delta_p_proportional",
        target="3.2 m_head",
        watts="55 W",
    )
    d.run("heating", DN25, "J-5", ("2.5 m 1r 1e", [(SUPPLY_X, 680)]), "V-12", **WRAP)
    d.run("heating", DN25, "V-13", ("2.5 m 1e", [(RETURN_X, 870)]), "J-7", **WRAP)

    def zone(n: int, x: float) -> list[Step]:
        if n <= 5:
            d.item(
                f"FN-{n}",
                "fan_coil",
                x,
                750,
                90,
                label=f"Hall {n}",
                ua="125 W/K",
                room_temperature="20 degC",
                load="4 kW",
                drops=[["0.065 L/s", "8 kPa"]],
                height="2.5 m",
            )
            name = f"FN-{n}"
        else:
            name = d.item(
                "LD-1",
                "load",
                x,
                750,
                90,
                label="Kitchen preheater",
                note="Runs with the hall: the kitchen cooks when the hall is used, and not else.",
                load="6 kW",
                drops=[["0.1 L/s", "9 kPa"]],
            )
        d.item(f"BV-{n + 13}", "balance_valve", x, 820, 90, cv=3, setting=round(0.34 + 0.03 * n, 2))
        return [name, "5 m 2e", f"BV-{n + 13}"]

    zones(d, "H", DN25, DN15, [FIRST_X + 110 * n for n in range(6)], (680, 870), ends, zone, "6 m")
    for pipe in d.data["pipes"][-3:]:  # to the kitchen, which no floor or fan coil warms
        pipe |= WRAP


def cases(d: Annex) -> None:
    """Weather and calls."""
    for n, (name, room) in enumerate(STATS.items()):
        d.item(
            name,
            "thermostat",
            110 + 90 * n,
            690,
            label=room,
            set_temperature="20 degC",
            differential="0.5 K",
            call=True,
        )

    def calling(*names: str) -> dict[str, bool]:
        return {name: name in names for name in STATS} | {"AQ-1": False}

    d.case("Design night", "-14 degC", calling(*STATS), season="winter", hours_per_year=500)
    d.case("Mild day", "8 degC", calling("TH-1", "TH-3", "TH-4"), season="shoulder", hours_per_year=1800)
    d.case("Weekend", "0 degC", calling("TH-3", "TH-4"), season="winter", hours_per_year=1200)
    d.case("Evening in the hall", "4 degC", calling("TH-5"), season="winter", hours_per_year=300)
    d.case("All off", "18 degC", calling(), season="summer", hours_per_year=2500)


def make_up(d: Annex) -> None:
    """The check in the make-up line, put in behind its fill valve."""
    bends = [(380, 560)]
    d.insert(
        "CV-20", "check_valve", 340, 560, ("FV-1", "J-11"), "0.8 m", via_behind=bends, k=2.0, size="1/2 in"
    )


def limit(d: Annex) -> None:
    """What stops the floors' circulator when their mixing valve fails."""
    d.item(
        "AQ-1",
        "aquastat",
        890,
        360,
        label="Floor limit",
        senses=["MV-1", "mixed"],
        set_temperature="45 degC",
        differential="3 K",
        makes_on="rise",
    )


def annex() -> Annex:
    """The whole plant."""
    d = Annex("School annex", "si", SITE, SYSTEMS)
    for part in (sources, risers, radiators, floors, air, cases, make_up, limit):
        part(d)
    d.data |= SCHOOL
    return d


if __name__ == "__main__":
    OUT.write_text(write.dumps(read.from_data(annex().data)), encoding="utf-8")
