"""Makes sample_plants/templates: five small plants of our own invention to begin from.

Run `python -m tests.tools.make_templates` from the checkout. Nothing in the program reads this script. Every
length is a guess that may be half as far off again, so that the user types what he measured.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from core.files import read, write
from tests.tools.template_parts import (
    BACK,
    CV,
    DRINKING,
    GLYCOL,
    INCH,
    ROOMS,
    SUPPLY,
    THREE_4,
    WATER,
    WRAP,
    Logic,
    Template,
)
from tests.tools.template_tank import on_demand_tank

FOLDER = Path(__file__).parents[2] / "sample_plants" / "templates"


def boiler_two_floors() -> Template:
    """One condensing boiler, one circulator, two zone valves."""
    d = Template("One boiler and two floors", potable=DRINKING, heating=WATER)
    boiler = d.boiler(120, 260, ROOMS, "113 degF")
    stop = d.hot_start(boiler, SUPPLY)
    air, out = d.head(390, ROOMS, 16, THREE_4, control="delta_p_constant", target="10 ft_head")
    d.run("heating", THREE_4, stop, "1 ft", air, **WRAP)
    d.make_up("J-3", 460)
    low = d.floors(out, 890)
    d.home(low, f"{boiler}:in", 840, THREE_4, 320, [(200, BACK), (200, 280)])
    d.rooms()
    return d


def two_boilers() -> Template:
    """Two boilers with a circulator and a check each, a separator, two radiator circuits."""
    d = Template("Two boilers with separator", potable=DRINKING, heating=WATER)
    for y in (260, 520):
        boiler = d.boiler(120, y, ROOMS, "140 degF", 32)
        d.hot_start(boiler, y - 20)
    d.item("HS-1", "separator", 540, 260, label="Hydraulic separator", volume="2 gal")
    hot, cold = d.tee(450, SUPPLY), d.tee(490, 340)
    d.run("heating", INCH, "V-1", "1 ft", hot, "2 ft 1r", "HS-1:a_in", **WRAP)
    d.run("heating", INCH, "V-2", ("4 ft 2e 1b", [(450, 500)]), hot, **WRAP)
    d.run("heating", INCH, "HS-1:a_out", ("3 ft 1e", [(490, 280)]), cold, **WRAP)
    for boiler, y in (("B-1", 340), ("B-2", 600)):
        purge = d.add("PS", "purge_set", 410, y, flip=True, cv=CV[INCH])
        pump = d.pump(350, y, ROOMS, 3.5, flip=True, label=f"Pump of {boiler}")
        check = d.add("CV", "check_valve", 290, y, flip=True, cv=25, opens_at="0.3 psi")
        stop, drain = d.valve(240, y, INCH, flip=True), d.tee(200, y, "D", "drain", up=False)
        way: Any = "6 in 1b" if y == 340 else ("4 ft 1e 1r", [(490, y)])
        steps = (cold, way, purge, "1 ft", pump, "18 in", check, "6 in", stop, "6 in", drain)
        steps = (*steps, ("2 ft 1e 1b", [(200, y - 60)]), f"{boiler}:in")
        d.run("heating", INCH, *steps, **WRAP)
    air, out = d.head(
        620, ROOMS, 14, INCH, label="Radiator pump", control="delta_p_constant", target="5 ft_head"
    )
    d.run("heating", INCH, "HS-1:b_out", "1 ft", air, **WRAP)
    joint = next(p["to"][0] for p in d.data["pipes"] if p["from"] == [air, "out"])
    d.make_up(joint, 690)
    low = radiators(d, out, 1110)
    d.home(low, "HS-1:b_in", 1060, INCH, 760, [(620, BACK), (620, 280)])
    d.rooms()
    return d


def radiators(d: Template, before: str, x: float) -> str:
    """Two radiator circuits; gives the joint of their returns."""
    top, low = d.add("J", "joint", x, SUPPLY), d.add("J", "joint", x + 300, SUPPLY + 100)
    warm = d.tee(x - 40, SUPPLY, "TG", "thermometer")
    d.run("heating", INCH, before, "2 ft", warm, "1 ft 1r", top, **WRAP)
    for n, down in ((1, 0), (2, 100)):
        y = SUPPLY + down
        zone = d.add("ZV", "zone_valve", x + 60, y, cv=4, run_when={"any": [f"TH-{n}"]})
        balance = d.add("BV", "balance_valve", x + 130, y, cv=3, setting=0.5)
        radiator = d.add(
            "RA",
            "radiator",
            x + 220,
            y,
            label=f"Room {n}",
            room_temperature="68 degF",
            load="20 kBtu/h",
            rated={
                "heat": "23 kBtu/h",
                "flow": "2 gpm",
                "supply": "140 degF",
                "room": "68 degF",
                "exponent": 1.3,
            },
            drops=[["2 gpm", "1.5 ft_head"]],
        )
        way: Any = ("6 in 1b 1e", [(x, y)]) if down else "6 in 1r"
        back: Any = "15 ft 2e 1b" if down else ("15 ft 3e 1r", [(x + 300, y)])
        d.run("heating", THREE_4, top, way, zone, "6 in", balance, "15 ft 2e", radiator, back, low, **WRAP)
        d.stat(n, x + 180 + 90 * (n - 1), 150)
    return low


def heat_pump() -> Template:
    """A heat pump on its own circulator, a buffer, two floors."""
    d = Template("Heat pump with buffer", potable=DRINKING, heating=WATER)
    pump_ = d.add(
        "HP",
        "heat_pump",
        120,
        260,
        label="Heat pump",
        table=[
            ["0 degF", "85 degF", "16 kBtu/h", "1.9 kW"],
            ["0 degF", "120 degF", "14 kBtu/h", "2.4 kW"],
            ["47 degF", "85 degF", "28 kBtu/h", "2.0 kW"],
            ["47 degF", "120 degF", "25 kBtu/h", "2.6 kW"],
            ["75 degF", "85 degF", "34 kBtu/h", "2.0 kW"],
            ["75 degF", "120 degF", "31 kBtu/h", "2.7 kW"],
        ],
        set_temperature="110 degF",
        drops=[["4 gpm", "3 ft_head"], ["8 gpm", "11 ft_head"]],
        max_pressure="45 psi",
        run_when=ROOMS,
    )
    stop = d.hot_start(pump_, SUPPLY)
    d.item("BT-1", "buffer", 500, 280, label="Buffer", volume="40 gal")
    d.run("heating", INCH, stop, "2 ft", "BT-1:a_in", **WRAP)
    purge = d.add("PS", "purge_set", 410, 340, flip=True, cv=CV[INCH])
    pump = d.pump(350, 340, ROOMS, 12, flip=True, label="Heat pump circulator")
    dirt = d.add("ST", "strainer", 290, 340, flip=True, cv=28)
    back, drain = d.valve(240, 340, INCH, flip=True), d.tee(200, 340, "D", "drain", up=False)
    way = ("2 ft 2e", [(450, 320), (450, 340)])
    steps = ("BT-1:a_out", way, purge, "1 ft", pump, "1 ft", dirt, "6 in", back, "6 in", drain)
    d.run("heating", INCH, *steps, ("3 ft 1e 1b", [(200, 280)]), f"{pump_}:in", **WRAP)
    air, out = d.head(
        600, ROOMS, 16, THREE_4, label="Floor pump", control="delta_p_constant", target="10 ft_head"
    )
    d.run("heating", THREE_4, "BT-1:b_out", "1 ft", air, **WRAP)
    joint = next(p["to"][0] for p in d.data["pipes"] if p["from"] == [air, "out"])
    d.make_up(joint, 670)
    low = d.floors(out, 1100)
    d.home(low, "BT-1:b_in", 990, THREE_4, 700, [(570, BACK), (570, 320)])
    d.rooms()
    return d


def snow_melt() -> Template:
    """A boiler on water, an exchanger, a glycol loop filled by hand."""
    d = Template("Glycol snow-melt", potable=DRINKING, heating=WATER, melt=GLYCOL)
    d.data["site"] |= {"snowfall": "0.06 in/h", "snow_temperature": "26 degF", "snow_dew_point": "22 degF"}
    d.data["site"]["snow_wind"] = "5 mph"
    call = {"any": ["SW-1"]}
    boiler = d.boiler(120, 260, call, "140 degF", 120)
    stop = d.hot_start(boiler, SUPPLY)
    air, out = d.head(390, call, 22, INCH, label="Boiler pump")
    d.run("heating", INCH, stop, "1 ft", air, **WRAP)
    d.make_up("J-3", 460)
    d.item(
        "HX-1",
        "exchanger",
        860,
        260,
        label="Exchanger",
        ua="4500 Btu/h/degF",
        a_drops=[["8 gpm", "3 ft_head"]],
        b_drops=[["10 gpm", "4 ft_head"]],
        max_pressure="150 psi",
    )
    d.run("heating", INCH, out, "2 ft", "HX-1:a_in", **WRAP)
    low = d.add("J", "joint", 800, 340)
    d.run("heating", INCH, "HX-1:a_out", ("2 ft 1e", [(800, 280)]), low, **WRAP)
    d.home(low, f"{boiler}:in", 680, INCH, 320, [(200, BACK), (200, 280)])
    melt(d, call)
    d.item("SW-1", "switch", 1560, 150, label="Snow switch", on=False, call=True)
    d.weather(
        ("Snowfall", "26 degF", {"SW-1": True}, "winter", 150),
        ("No snow", "10 degF", {"SW-1": False}, "winter", 4300),
    )
    return d


def melt(d: Template, call: Logic) -> None:
    """The glycol side: relief, tank and gauge at the suction of its circulator, two melt circuits."""
    d.loop = "melt"
    relief = d.relief(940, SUPPLY, "200 kBtu/h")
    air, out = d.head(1060, call, 24, INCH, label="Melt pump")
    stop = d.valve(1000, SUPPLY, INCH)
    d.run("melt", INCH, "HX-1:b_out", "1 ft", relief, "1 ft 1r", stop, "1 ft", air, **WRAP)
    warm, top = d.tee(1500, SUPPLY, "TG", "thermometer"), d.add("J", "joint", 1550, SUPPLY)
    low = d.add("J", "joint", 1670, SUPPLY + 120)
    d.run("melt", INCH, out, "1 ft", warm, "1 ft 1r", top, **WRAP)
    for n, y in ((1, SUPPLY), (2, SUPPLY + 100)):
        balance = d.add("BV", "balance_valve", 1610, y, cv=10, setting=0.8)
        slab = d.add(
            "MC",
            "melt_circuit",
            1740,
            y + 10,
            label=f"Drive {n}",
            area="200 ft2",
            construction="slab",
            tube={"material": "pex", "size": "5/8 in"},
            oxygen_barrier=True,
            loops=["220 ft", "220 ft"],
            spacing="6 in",
            output_per_degree="400 Btu/h/degF",
            load="25 kBtu/h",
            clear=0.5,
        )
        way: Any = "1 ft 1r" if n == 1 else ("3 ft 1b 1e", [(1550, y)])
        home: Any = ("10 ft 2e 1r", [(1670, y + 20)]) if n == 1 else "10 ft 2e 1b"
        d.run("melt", INCH, top, way, balance, "10 ft 2e", slab, home, low, **WRAP)
    d.home(low, "HX-1:b_in", 1370, INCH, 1040, [(920, BACK), (920, 280)])


MAKERS: dict[str, Callable[[], Template]] = {
    "one_boiler_and_two_floors": boiler_two_floors,
    "on_demand_heater_with_tank": on_demand_tank,
    "two_boilers_with_separator": two_boilers,
    "glycol_snow_melt": snow_melt,
    "heat_pump_with_buffer": heat_pump,
}


if __name__ == "__main__":
    for name, maker in MAKERS.items():
        plant = read.from_data(maker().finished())
        (FOLDER / f"{name}.plant.json").write_text(write.dumps(plant), encoding="utf-8")
