"""What heats, and the rooms it heats: the first two steps."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from core import units
from core.errors import Refusal
from core.first_plant.drawing import change, circuits, lay, sources
from core.first_plant.wishes import Answers, Wish
from core.plant.changes import Change, SetPlant
from core.plant.edits import Draft
from core.plant.model import Plant
from core.vocabulary import KINDS
from core.vocabulary.guesses import Guess

SOURCE_AT = (160.0, 320.0)
FIRST_CIRCUIT, STEP_DOWN = (1280.0, 310.0), 120.0
LONGEST_LOOP = 76.2  # [m], 250 ft of 1/2 in tube; common practice, no source
SPACING = {"us": ("9 in", 0.2286), "si": ("200 mm", 0.2)}
WARMEST_FLOOR = 60.0 + 273.15  # [K] of water sent into a floor; common practice, no source
WARMEST_LIFTED = 65.6 + 273.15  # [K] from a heat pump; common practice, no source
EFFICIENT = 0.92
TYPICAL_COP = 2.5  # on a design night; common practice, no source

BOILER = "boiler"
HEAT_PUMP = "heat_pump"
FLOOR = "floor_circuit"
RADIATOR = "radiator"

SOURCE = (
    Wish("kind", "Heat source", choices=((BOILER, KINDS[BOILER].title), (HEAT_PUMP, KINDS[HEAT_PUMP].title))),
    Wish(
        "output",
        "Its full output",
        "power",
        ("60 kBtu/h", "18 kW"),
        "From its plate; a heat pump: on the design night.",
        bare=("Btu/h", "kW"),
    ),
    Wish(
        "supply",
        "Water it sends out",
        "temperature",
        ("160 °F", "70 °C"),
        "Floors alone: about 110 °F or 43 °C. A tank with a coil: 20 °F or 10 K over the tank.",
        bare=("degF", "degC"),
    ),
    Wish(
        "most",
        "Pressure it bears",
        "pressure",
        hint="From its plate; the relief valve is judged by it. Empty: not known yet.",
        open=True,
        bare=("psi", "bar"),
    ),
    Wish("outdoor", "Coldest night", "temperature", ("10 °F", "-12 °C"), "", bare=("degF", "degC")),
    Wish("indoor", "Rooms wanted at", "temperature", ("68 °F", "20 °C"), "", bare=("degF", "degC")),
)

ROOM = (
    Wish("name", "Room", first=("Living room", "Living room")),
    Wish("by", "Heated by", choices=((FLOOR, "floor"), (RADIATOR, KINDS[RADIATOR].title))),
    Wish("loss", "Heat loss", "power", ("9 kBtu/h", "2.6 kW"), "On the coldest night.", bare=("Btu/h", "kW")),
    Wish("area", "Floor", "area", ("350 ft2", "32 m2"), "Heated floor.", bare=("ft2", "m2")),
)
NAMES = ("Living room", "Bedroom", "Bath", "Kitchen", "Workshop", "Office", "Hall", "Garage")
ROOMS = (
    Wish(
        "water",
        "Water to the rooms",
        "temperature",
        ("105 °F", "40 °C"),
        "Cooler than what the source sends out: the pump step puts a mixing valve in.",
        bare=("degF", "degC"),
    ),
)


def place_source(plant: Plant, answers: Answers) -> list[Change]:
    """The source, and the temperatures of the site."""
    draft = Draft(plant)
    site = {"outdoor_design": answers["outdoor"], "indoor": answers["indoor"]}
    if answers.si("outdoor", "temperature") >= answers.si("indoor", "temperature"):
        raise Refusal("", f"{answers['outdoor']} outdoors", "a coldest night colder than the rooms")
    draft.do(SetPlant({"site": {**plant.site, **site}}))
    output, supply = answers["output"], answers["supply"]
    flow = answers.si("output", "power") / (4180.0 * 11.0)  # [m3/s], water cooled by 11 K or 20 °F
    props: dict[str, Any] = {
        "set_temperature": supply,
        "drops": [[_flow(plant, 1000.0 * flow), Guess("1 psi" if plant.units == "us" else "7 kPa", 0.5)]],
    }
    if answers["most"]:
        props["max_pressure"] = answers["most"]
    if answers["kind"] == HEAT_PUMP:
        if answers.si("supply", "temperature") > WARMEST_LIFTED:
            raise Refusal("", f"{supply} from a heat pump", "at most 150 °F or 65 °C", "As its papers say")
        power = answers.si("output", "power") / TYPICAL_COP
        row = [answers["outdoor"], supply, output, Guess(f"{power / 1000.0:.2g} kW", 0.3)]
        lay(draft, HEAT_PUMP, SOURCE_AT, "Heat pump", {**props, "table": [row]})
    else:
        props |= {"capacity": output, "condensing": True, "efficiency": EFFICIENT}
        lay(draft, BOILER, SOURCE_AT, "Boiler", props)
    return draft.changes


def _flow(plant: Plant, liters: float) -> str:
    """A flow in liters a second, in the plant's units."""
    return f"{liters:.2g} L/s" if plant.units == "si" else f"{liters * 15.85:.2g} gpm"


def place_rooms(plant: Plant, answers: Answers) -> list[Change]:
    """A room, a thermostat and a floor circuit or radiator a row; the source runs when any of them calls."""
    draft = Draft(plant)
    if not answers.rows:
        raise Refusal("", "no room", "at least one, with its heat loss")
    down = circuits(plant)
    top = down[-1].at[1] + STEP_DOWN if down else FIRST_CIRCUIT[1]
    for number, row in enumerate(answers.rows):
        _room(draft, row, answers, top + STEP_DOWN * number)
    calls = [one.id for one in draft.plant.items.values() if one.kind_info.prefix == "TH"]
    for source in sources(draft.plant):
        change(draft, source.id, run_when={"any": calls})
    return draft.changes


def _room(draft: Draft, row: Mapping[str, str], answers: Answers, y: float) -> None:
    plant, x = draft.plant, FIRST_CIRCUIT[0]
    indoor = str(plant.site.get("indoor") or ("20 degC" if plant.units == "si" else "68 degF"))
    outdoor = str(plant.site.get("outdoor_design") or ("-12 degC" if plant.units == "si" else "10 degF"))
    loss = units.parse(row["loss"], "power")
    colder = units.parse(indoor, "temperature") - units.parse(outdoor, "temperature")
    per_degree = loss / colder
    shown = f"{per_degree:.4g} W/K" if plant.units == "si" else f"{per_degree * 1.89563:.4g} Btu/h/degF"
    name = row["name"]
    room = lay(draft, "room", (x + 160, y), name, {"loss": shown, "wanted": indoor, "floor": row["area"]})
    stat = {"senses": [room], "set_temperature": indoor, "differential": _band(plant), "call": True}
    lay(draft, "thermostat", (x + 80, y), f"{name} thermostat", stat)
    water = answers.si("water", "temperature")
    if row["by"] == RADIATOR:
        flow = loss / (4180.0 * 11.0)
        point = {"heat": row["loss"], "flow": _flow(plant, 1000.0 * flow), "supply": answers["water"]}
        rated = dict(point, room=indoor, exponent=1.3)
        lay(draft, RADIATOR, (x - 10, y - 10), name, {"rated": rated, "serves": room})
        return
    if water > WARMEST_FLOOR:
        expected = "at most 140 °F or 60 °C into a floor"
        raise Refusal("", f"{answers['water']} to the rooms", expected, "Take radiators, or cooler water")
    spacing, meters = SPACING["si" if plant.units == "si" else "us"]
    tube = units.parse(row["area"], "area") / meters
    loops = max(1, math.ceil(tube / LONGEST_LOOP))
    each = f"{tube / loops:.3g} m" if plant.units == "si" else f"{tube / loops / 0.3048:.3g} ft"
    circuit = {
        "area": row["area"],
        "construction": "slab",
        "spacing": spacing,
        "serves": room,
        "tube": {"material": "pex", "size": "1/2 in"},
        "oxygen_barrier": True,
        "loops": [[loops, Guess(each, 0.15)]],
    }
    lay(draft, FLOOR, (x, y), f"{name} floor", circuit)


def _band(plant: Plant) -> str:
    return "1 K" if plant.units == "si" else "2 delta_degF"
