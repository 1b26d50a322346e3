"""The eight steps, in the order in which a room is planned; each tells what the plant has of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from core.first_plant.circuits import PIPES, PUMPS, join_all, loose, needs_pump, put_pumps
from core.first_plant.drawing import circuits, sources
from core.first_plant.drinking import DRINKING, place_drinking
from core.first_plant.heating import NAMES, ROOM, ROOMS, SOURCE, place_rooms, place_source
from core.first_plant.safety import CAUTION, SAFETY, lacking, put_safety
from core.first_plant.wishes import Answers, Wish
from core.plant.changes import Change, apply
from core.plant.model import Plant
from core.plant.usual_cases import add_usual
from core.vocabulary import Trait

Make = Callable[[Plant, Answers], list[Change]]
Told = Callable[[Plant], str]


class Step(NamedTuple):
    """One step. `words` say what it is about, `does` is on its button, `made` tells what the plant has of it.

    `row` is asked once a line, for as many lines as there are `names` at most. `page` is a page under the
    board that the step opens, `command` what it runs after its changes; one without `make` changes nothing.
    """

    key: str
    title: str
    words: str
    does: str
    made: Told
    make: Make | None = None
    wishes: tuple[Wish, ...] = ()
    row: tuple[Wish, ...] = ()
    names: tuple[str, ...] = ()
    caution: str = ""
    page: str = ""
    command: str = ""


def _names(found: list[str]) -> str:
    return ", ".join(found[:4]) + (f" and {len(found) - 4} more" if len(found) > 4 else "")


def _source(plant: Plant) -> str:
    return _names([one.id for one in sources(plant)])


def _rooms(plant: Plant) -> str:
    return _names([one.label or one.id for one in plant.with_trait(Trait.ROOM)])


def _drinking(plant: Plant) -> str:
    return _names([one.label or one.id for one in plant.with_trait(Trait.DRAWS_WATER)])


def _pipes(plant: Plant) -> str:
    done = bool(circuits(plant)) and not loose(plant)
    return f"{len(plant.pipes)} pipes" if done else ""


def _pumps(plant: Plant) -> str:
    pumps = [one.id for one in plant.with_trait(Trait.DRIVES)]
    return _names(pumps) if pumps and not needs_pump(plant) and _pipes(plant) else ""


def _safety(plant: Plant) -> str:
    found = [one.id for one in plant.with_trait(Trait.RELIEVES)]
    return _names(found) if found and not lacking(plant) else ""


def _cases(plant: Plant) -> str:
    return _names([case.name for case in plant.cases])


def put_cases(plant: Plant, answers: Answers) -> list[Change]:
    """Cases that sizes are found for: the coldest night; with fixtures, summer and morning showers."""
    keys = ["design_night"] if circuits(plant) else []
    keys += ["summer", "morning_showers"] if plant.with_trait(Trait.DRAWS_WATER) else []
    changes: list[Change] = []
    for key in keys:
        more, _ = add_usual(plant, key)
        plant = apply(plant, more)
        changes += more
    return changes


STEPS: tuple[Step, ...] = (
    Step(
        "source",
        "What heats",
        "A boiler or a heat pump goes on the board with your numbers, from its plate or its papers. A first"
        " guess does for now: everything can be changed later in the particulars at the right.",
        "Place it",
        _source,
        place_source,
        SOURCE,
    ),
    Step(
        "rooms",
        "Rooms and their heat",
        "A room, its thermostat and its floor or radiator for each line. The heat loss is what the room loses"
        " on the coldest night.",
        "Place the rooms",
        _rooms,
        place_rooms,
        ROOMS,
        ROOM,
        NAMES,
    ),
    Step(
        "drinking",
        "Drinking water",
        "The main, a tank or an on-demand heater, the valve that keeps the taps from scalding, and your"
        " fixtures, piped. Leave it out where the plant only heats rooms.",
        "Place and pipe it",
        _drinking,
        place_drinking,
        DRINKING,
        caution="Water over 120 °F or 49 °C scalds in seconds; under 140 °F or 60 °C Legionella may grow in a"
        " tank. Local code decides both.",
    ),
    Step(
        "pipes",
        "Pipes",
        "Supply and return between what heats and the rooms. You may pull them yourself instead: point at a"
        " port, press, and pull to the next.",
        "Lay the pipes",
        _pipes,
        join_all,
        PIPES,
    ),
    Step(
        "pumps",
        "Circulators and checks",
        "A circulator with a check valve for each room, or one with zone valves; one more for a tank's coil."
        " The pump curve is an invented one until you give that of yours.",
        "Put them in",
        _pumps,
        put_pumps,
        PUMPS,
    ),
    Step(
        "safety",
        "Safety parts",
        "Relief valves, expansion tanks, air separator, gauge, drain, and the fill line with its backflow"
        " preventer.",
        "Put them in",
        _safety,
        put_safety,
        SAFETY,
        caution=CAUTION,
    ),
    Step(
        "sizes",
        "Cases and sizes",
        "The cases that decide sizes are added, and the page Size all opens: what is drawn against what is"
        " proposed. Tick there what you would take, read what it does together, then take it.",
        "Add cases, show sizes",
        _cases,
        put_cases,
        page="size_all",
    ),
    Step(
        "print",
        "Print",
        "The sheet with its figures as PDF, SVG or PNG. The punch list tells what is still open.",
        "Print the sheet",
        lambda plant: "",
        page="punch",
        command="print_sheet",
    ),
)


def make(step: Step, plant: Plant, answers: Answers) -> list[Change]:
    """What a step changes; nothing where it only shows.

    Raises
    ------
    Refusal
        The plant lacks what the step needs, or an answer cannot be
    """
    return step.make(plant, answers) if step.make is not None else []
