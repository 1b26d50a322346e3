"""The template of drinking water for `make_templates`: a tank that an on-demand heater charges."""

from __future__ import annotations

from tests.tools.template_parts import DRINKING, FULL_SIZE, HALF, INCH, THREE_4, WRAP, Template


def on_demand_tank() -> Template:
    """Drinking water: an on-demand heater charges a tank through a bronze circulator; a mixing valve."""
    d = Template("On-demand heater with tank", potable=DRINKING)
    d.loop = "potable"
    low = cold_side(d)
    d.item(
        "T-1",
        "tank",
        900,
        380,
        label="Storage tank",
        volume="50 gal",
        tall="4 ft",
        taps={
            "hot": "3.8 ft",
            "cold": "0.3 ft",
            "hot_in": "3.4 ft",
            "to_heater": "0.2 ft",
            "top": "4 ft",
            "bottom": "0 ft",
        },
        sensors={"mid": "1.5 ft"},
        ua_loss="3 Btu/h/degF",
        max_pressure="150 psi",
        max_temperature="210 degF",
        potable_listed=True,
    )
    d.item(
        "H-1",
        "heater",
        1300,
        300,
        flip=True,
        label="On-demand heater",
        capacity="60 kBtu/h",
        min_output="12 kBtu/h",
        set_temperature="143 degF",
        min_flow="0.5 gpm",
        max_flow="9 gpm",
        max_inlet="160 degF",
        efficiency=0.94,
        drops=[["3 gpm", "1.2 psi"], ["6 gpm", "4.5 psi"]],
        max_pressure="150 psi",
        high_limit=True,
        flow_switch=True,
        potable_listed=True,
    )
    charging(d)
    taps(d, low)
    d.item(
        "AQ-1",
        "aquastat",
        1060,
        520,
        label="Tank stat",
        senses=["T-1", "mid"],
        set_temperature="140 degF",
        differential="5 delta_degF",
        call=True,
    )
    showers = {"draws": {"F-1": "2 gpm", "F-2": "1 gpm"}, "tanks": {"T-1": "140 degF"}}
    d.case("Morning showers", "40 degF", {"AQ-1": False}, hours_per_year=300, **showers)
    d.case("Tank is heated", "40 degF", {"AQ-1": True}, hours_per_year=700, tanks={"T-1": "125 degF"})
    d.case("At rest", "40 degF", {"AQ-1": False}, hours_per_year=7700, tanks={"T-1": "140 degF"})
    return d


def cold_side(d: Template) -> str:
    """Main, stop, reducer, check, expansion tank and gauge on the way to the tank; gives the last joint."""
    main = d.add("CM", "cold_main", 120, 420, label="Cold main", pressure="70 psi")
    stop, first = d.valve(190, 420, THREE_4), d.tee(400, 420)
    reducer = d.add("PR", "pressure_reducer", 270, 420, set_pressure="50 psi")
    check = d.add("CV", "check_valve", 450, 420, cv=12, opens_at="0.3 psi")
    last, swell = d.valve(510, 420, THREE_4), d.tee(560, 420)
    props = {"volume": "4.5 gal", "acceptance": "3 gal", "precharge": "50 psi", "max_pressure": "150 psi"}
    d.hang(swell, "ET", "expansion_tank", up=False, potable=True, **props)
    gauge, low = d.tee(610, 420, "PG", "gauge", up=False), d.tee(660, 420)
    steps = (main, "4 ft", stop, "1 ft", reducer, "2 ft", first, "2 ft 1r", check, "1 ft", last)
    d.run("potable", THREE_4, *steps, "6 in", swell, "6 in 1r", gauge, "1 ft 1r", low)
    return low


def charging(d: Template) -> None:
    """The way from the foot of the tank through the heater and back to its upper part."""
    pump = d.pump(1060, 420, {"any": ["AQ-1"]}, 20, label="Tank pump", body="bronze", potable_listed=True)
    stop = d.valve(1000, 420, INCH)
    check = d.add("CV", "check_valve", 1130, 420, cv=12, opens_at="0.3 psi")
    cold = d.add("SV", "service_valve", 1200, 420, cv=25, open=True)
    steps = (stop, "1 ft", pump, "18 in", check, "1 ft", cold, ("3 ft 1e", [(1310, 420)]), "H-1:in")
    d.run("potable", INCH, "T-1:to_heater", "1 ft", *steps, **WRAP)
    relief = d.tee(1240, 350)
    props = {"set_pressure": "150 psi", "capacity": "150 kBtu/h", "inlet_size": "3/4 in"}
    d.hang(relief, "RV", "relief_valve", discharge=FULL_SIZE, **props)
    hot = d.add("SV", "service_valve", 1180, 350, flip=True, cv=25, open=True)
    glass = d.tee(1100, 350, "TG", "thermometer")
    way = ("2 ft 1e", [(1290, 350)])
    steps = ("H-1:out", way, relief, "6 in 1r", hot, "1 ft", glass, "4 ft 1r", "T-1:hot_in")
    d.run("potable", INCH, *steps, **WRAP)
    tall = {"set_temperature": "210 degF", "senses_tank_top": True}
    top = d.add("RV", "relief_valve", 900, 270, discharge=FULL_SIZE, **props, **tall)
    d.run("potable", THREE_4, "T-1:top", "0 ft", top)
    d.run("potable", THREE_4, "T-1:bottom", "3 in", d.add("D", "drain", 900, 480))


def taps(d: Template, low: str) -> None:
    """Mixing valve behind the tank, and two fixtures."""
    d.item(
        "MV-1",
        "mixing_valve",
        660,
        340,
        flip=True,
        label="Mixing valve",
        cv=4,
        set_temperature="120 degF",
        checks=True,
        duty="master",
        min_flow="0.5 gpm",
    )
    d.run("potable", THREE_4, low, "6 ft 1r", "T-1:cold")
    side = d.valve(660, 390, THREE_4, 270)
    d.run("potable", THREE_4, low, "1 ft 1b", side, "1 ft", "MV-1:cold")
    warm, stop = d.tee(820, 340, "TG", "thermometer"), d.valve(770, 340, THREE_4, flip=True)
    screen = d.add("ST", "strainer", 720, 340, flip=True, cv=18)
    steps = ("T-1:hot", "1 ft", warm, "6 in 1r", stop, "6 in", screen, "6 in", "MV-1:hot")
    d.run("potable", THREE_4, *steps, **WRAP)
    mixed, after, out = (
        d.tee(590, 340, "TG", "thermometer"),
        d.valve(530, 340, THREE_4, 0, True),
        d.tee(460, 340),
    )
    d.run("potable", THREE_4, "MV-1:mixed", "1 ft", mixed, "6 in 1r", after, "10 ft", out, **WRAP)
    cold = d.tee(400, 360)
    d.run("potable", THREE_4, "J-1", "6 ft 1b", cold)
    guard = {"set_temperature": "108 degF", "checks": True, "duty": "point_of_use", "min_flow": "0.5 gpm"}
    d.item("MV-2", "mixing_valve", 400, 260, flip=True, label="Shower valve", cv=2, **guard)
    d.item("F-1", "fixture", 320, 270, flip=True, label="Shower", flow="2 gpm", set_temperature="105 degF")
    d.item("F-2", "fixture", 320, 350, flip=True, label="Sink", flow="1.5 gpm", set_temperature="110 degF")
    d.run("potable", HALF, out, ("15 ft 1b 1e", [(460, 260)]), "MV-2:hot", **WRAP)
    d.run("potable", HALF, cold, "15 ft 1r", "MV-2:cold")
    d.run("potable", HALF, "MV-2:mixed", "3 ft 1e", "F-1:hot")
    d.run("potable", HALF, out, "15 ft 1r", "F-2:hot", **WRAP)
    d.run("potable", HALF, cold, "15 ft 1b", "F-2:cold")
