"""Drinking water: the main, what heats it, a mixing valve that guards the taps, and the fixtures."""

from __future__ import annotations

from typing import Any

from core import units
from core.errors import Refusal
from core.first_plant.drawing import below, joint, lay, pipe, sources, system_of
from core.first_plant.wishes import Answers, Wish
from core.plant import systems
from core.plant.changes import Change, SetPlant
from core.plant.edits import Draft
from core.plant.model import Plant, System
from core.vocabulary.guesses import Guess

TANK = "coil_tank"
ON_DEMAND = "heater"
HIGHEST = 551_581.0  # [Pa], 80 psi: IPC 2021 section 604.8 wants a reducing valve above it; from memory
REDUCED = {"us": "60 psi", "si": "4 bar"}
FAR = {"us": Guess("15 ft", 0.5), "si": Guess("5 m", 0.5)}
LEGIONELLA = 60.0 + 273.15  # [K], 140 °F for stored water; ASHRAE Guideline 12-2020, from memory
SCALD = 322.05  # [K], 120 °F at taps; common limit of US plumbing codes, from memory

FIXTURES: tuple[tuple[str, str, str, tuple[str, str]], ...] = (
    ("shower", "Shower", "shower", ("2 gpm", "0.13 L/s")),
    ("sink", "Kitchen sink", "kitchen_sink", ("1.5 gpm", "0.1 L/s")),
    ("basin", "Wash basin", "lavatory", ("", "")),
    ("tub", "Bathtub", "bathtub", ("", "")),
)
"""Key, name, type of fixture, usual flow; empty where the first plant has none."""

DRINKING = (
    Wish(
        "by",
        "Heated by",
        choices=((TANK, "tank with coil"), (ON_DEMAND, "on-demand heater")),
    ),
    Wish("pressure", "Pressure of the main", "pressure", ("60 psi", "4 bar"), bare=("psi", "bar")),
    Wish("cold", "Cold water", "temperature", ("50 °F", "10 °C"), bare=("degF", "degC")),
    Wish(
        "hot",
        "Kept at",
        "temperature",
        ("140 °F", "60 °C"),
        "Stored water at 140 °F or 60 °C or warmer, against Legionella.",
        bare=("degF", "degC"),
    ),
    Wish("taps", "At the taps", "temperature", ("120 °F", "49 °C"), bare=("degF", "degC")),
    Wish("size", "Tank", "volume", ("50 gal", "200 L"), "A tank's volume.", bare=("gal", "L")),
    Wish(
        "tank_most",
        "Pressure it bears",
        "pressure",
        hint="Tank or heater, from its plate; its relief valve is judged by it. Empty: not known yet.",
        open=True,
        bare=("psi", "bar"),
    ),
    Wish("demand", "On-demand heater", "power", ("150 kBtu/h", "40 kW"), bare=("Btu/h", "kW")),
    *(
        Wish(key, name, "flow", first, "Flow; empty: there is none.", open=True, bare=("gpm", "L/s"))
        for key, name, _, first in FIXTURES
    ),
)


def place_drinking(plant: Plant, answers: Answers) -> list[Change]:
    """The main to the taps, piped: cold water needs no pump, so that this is done in one step."""
    draft = Draft(plant)
    wanted = [one for one in FIXTURES if answers[one[0]]]
    if not wanted:
        raise Refusal("", "no fixture", "the flow of at least one")
    if answers.si("taps", "temperature") > answers.si("hot", "temperature"):
        raise Refusal("", f"{answers['taps']} at the taps", f"at most the {answers['hot']} it is kept at")
    name = system_of(plant, "potable") or "potable"
    if name not in plant.systems:
        draft.do(*systems.put(plant, System(name, "potable")))
    draft.do(SetPlant({"site": {**plant.site, "cold_water": answers["cold"]}}))
    y = below(plant, 300.0)
    fields: dict[str, Any] = {"system": name}
    cold, mixer = _main(draft, answers, y, fields), _mixer(draft, answers, y)
    if answers["by"] == TANK:
        _tank(draft, answers, y, cold, mixer, fields)
    else:
        _heater(draft, answers, y, cold, mixer, fields)
    _fixtures(draft, answers, y, cold, mixer, fields)
    return draft.changes


def _main(draft: Draft, answers: Answers, y: float, fields: dict[str, Any]) -> str:
    """Main, shut-off, reducing valve where the street is over 80 psi, up to where cold water parts."""
    main = lay(draft, "cold_main", (100, y + 120), "Cold water supply", {"pressure": answers["pressure"]})
    valve = lay(draft, "shutoff", (180, y + 120), "Main shut-off", {"open": True})
    end = joint(draft, (360, y + 120))
    first = pipe(draft, (main, "at"), (valve, "a"), **fields)
    assert first
    last = valve, "b"
    if answers.si("pressure", "pressure") > HIGHEST:
        to = REDUCED["si" if draft.plant.units == "si" else "us"]
        reducer = lay(draft, "pressure_reducer", (270, y + 120), "", {"set_pressure": to})
        pipe(draft, last, (reducer, "in"), **fields)
        last = reducer, "out"
    pipe(draft, last, (end, "at"), **fields)
    return end


def _mixer(draft: Draft, answers: Answers, y: float) -> str:
    """Tempers what leaves for the taps."""
    props = {"set_temperature": answers["taps"], "checks": True, "duty": "master", "cv": 4}
    return lay(draft, "mixing_valve", (440, y), "Tap mixing valve", props, flip=True)


def _tank(draft: Draft, answers: Answers, y: float, cold: str, mixer: str, fields: dict[str, Any]) -> None:
    si = draft.plant.units == "si"
    source = next(iter(sources(draft.plant)), None)
    if source is None:
        raise Refusal(
            "",
            "no boiler or heat pump",
            "one to heat the coil",
            "Take the first step, or an on-demand heater",
        )
    if source.si.get("set_temperature", 0.0) < answers.si("hot", "temperature") + 5.0:
        raise Refusal(
            "",
            f"{source.id} at {source.props.get('set_temperature')}",
            f"a source at least 10 °F or 5 K over the {answers['hot']} the tank is kept at",
            "Set it higher in its particulars, or take an on-demand heater",
        )
    volume = units.parse(answers["size"], "volume")
    tall = 1.2 if volume < 0.25 else 1.6

    def meters(share: float) -> str:
        return f"{share * tall:.3g} m" if si else f"{share * tall / 0.3048:.3g} ft"

    props = {
        "volume": answers["size"],
        "tall": meters(1.0),
        "sensors": {"mid": meters(0.5)},
        "taps": {"hot": meters(0.97), "cold": meters(0.05), "top": meters(1.0), "bottom": meters(0.0)},
        "coil_heights": {"coil_in": meters(0.6), "coil_out": meters(0.15)},
        "coil_ua": Guess("500 W/K" if si else "950 Btu/h/degF", 0.4),
        "ua_loss": Guess("2 W/K" if si else "4 Btu/h/degF", 0.4),
        "coil_drops": [["0.3 L/s", Guess("6 kPa", 0.5)]] if si else [["5 gpm", Guess("1 psi", 0.5)]],
        "potable_listed": True,
    }
    if answers["tank_most"]:
        props["max_pressure"] = answers["tank_most"]
    tank = lay(draft, TANK, (620, y + 40), "Hot water tank", props)
    stat = {"senses": [tank, "mid"], "set_temperature": answers["hot"], "call": True}
    band = "5 K" if si else "10 delta_degF"
    lay(draft, "aquastat", (800, y + 120), "Tank aquastat", {**stat, "differential": band})
    part = joint(draft, (440, y + 80))
    pipe(draft, (cold, "at"), (part, "at"), **fields)
    pipe(draft, (part, "at"), (tank, "cold"), **fields)
    pipe(draft, (part, "at"), (mixer, "cold"), **fields)
    pipe(draft, (tank, "hot"), (mixer, "hot"), **fields)


def _heater(draft: Draft, answers: Answers, y: float, cold: str, mixer: str, fields: dict[str, Any]) -> None:
    si = draft.plant.units == "si"
    props = {
        "capacity": answers["demand"],
        "set_temperature": answers["hot"],
        "efficiency": 0.9,
        "drops": [["0.15 L/s", Guess("20 kPa", 0.5)]] if si else [["2.4 gpm", Guess("3 psi", 0.5)]],
        "min_flow": Guess("0.03 L/s" if si else "0.5 gpm", 0.3),
        "potable_listed": True,
    }
    if answers["tank_most"]:
        props["max_pressure"] = answers["tank_most"]
    heater = lay(draft, ON_DEMAND, (620, y - 60), "On-demand heater", props, flip=True)
    part = joint(draft, (440, y + 80))
    pipe(draft, (cold, "at"), (part, "at"), **fields)
    pipe(draft, (part, "at"), (heater, "in"), **fields)
    pipe(draft, (part, "at"), (mixer, "cold"), **fields)
    pipe(draft, (heater, "out"), (mixer, "hot"), **fields)


def _fixtures(
    draft: Draft, answers: Answers, y: float, cold: str, mixer: str, fields: dict[str, Any]
) -> None:
    """One below the other, hot and cold risers beside them."""
    si = draft.plant.units == "si"
    wanted = [one for one in FIXTURES if answers[one[0]]]
    hot_at, cold_at = (mixer, "mixed"), (cold, "at")
    for number, (key, name, sort, _) in enumerate(wanted):
        down = y + 220 + 80 * number
        warm = "41 degC" if si else "105 degF"
        props = {"flow": answers[key], "fixture_type": sort, "set_temperature": warm}
        fixture = lay(draft, "fixture", (460, down), name, props)
        far = {**fields, "length": FAR["si" if si else "us"]}
        if number < len(wanted) - 1:
            hot, cool = joint(draft, (300, down - 10)), joint(draft, (360, down + 10))
            pipe(draft, hot_at, (hot, "at"), **far)
            pipe(draft, cold_at, (cool, "at"), **far)
            hot_at, cold_at = (hot, "at"), (cool, "at")
        pipe(draft, hot_at, (fixture, "hot"), **far)
        pipe(draft, cold_at, (fixture, "cold"), **far)
