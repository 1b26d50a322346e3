"""Pipes of the heating, and what moves water in them: headers, circulators, checks, zone valves, mixing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from core.errors import Refusal
from core.first_plant import drawing
from core.first_plant.drawing import (
    at_port,
    circuits,
    free,
    joint,
    lay,
    pipe,
    put_in,
    sources,
    system_of,
    tee,
)
from core.first_plant.wishes import Answers, Wish
from core.plant.changes import Change, SetPlant
from core.plant.edits import Draft
from core.plant.model import Item, Plant
from core.vocabulary import Trait
from core.vocabulary.guesses import Guess

SUPPLY_Y, SUPPLY_X, RETURN_X = 300.0, 960.0, 1200.0
UNDER = 80.0
"""From the lowest circuit to the return line."""
TANK_X = 670.0
EACH, ZONES = "each", "zones"
TUBES = (
    ("copper_l", "copper, Type L"),
    ("copper_m", "copper, Type M"),
    ("pex", "PEX"),
)
SIZE = "3/4 in"
COOLER = 4.0  # [K] under what the source sends out: from here on a mixing valve

PIPES = (
    Wish("tube", "Pipe", choices=TUBES),
    Wish(
        "run",
        "Source to rooms",
        "length",
        ("20 ft", "6 m"),
        "One way, along the pipe; a guess is good enough and is marked as one.",
        bare=("ft", "m"),
    ),
    Wish("fill", "Cold fill pressure", "pressure", ("15 psi", "1 bar"), bare=("psi", "bar")),
)
PUMPS = (
    Wish(
        "water",
        "Water to the rooms",
        "temperature",
        ("105 °F", "40 °C"),
        "Cooler than what the source sends out: a mixing valve goes in.",
        bare=("degF", "degC"),
    ),
    Wish(
        "how",
        "Rooms by",
        choices=((EACH, "a circulator each"), (ZONES, "one circulator and zone valves")),
    ),
)


def loose(plant: Plant) -> list[Item]:
    """Circuits that no pipe leads to."""
    return [one for one in circuits(plant) if free(plant, one.id, "in") and free(plant, one.id, "out")]


def join_all(plant: Plant, answers: Answers) -> list[Change]:
    """Supply and return from the source to every circuit, and to the coil of a tank."""
    draft = Draft(plant)
    source = next((one for one in sources(plant) if free(plant, one.id, "out")), None)
    ends = loose(plant)
    if source is None:
        raise Refusal("", "no source with free ports", "a boiler or heat pump that no pipe leads to")
    if not ends:
        raise Refusal("", "no circuit without pipes", "at least one room with heat")
    name = system_of(plant, "closed") or next(iter(plant.systems))
    system = plant.systems[name]
    filled = replace(system, fill_pressure=answers["fill"])
    draft.do(SetPlant({"systems": {**plant.systems, name: filled}}))
    fields: dict[str, Any] = {"system": name, "tube": {"material": answers["tube"], "size": SIZE}}
    long = {**fields, "length": Guess(answers["run"], 0.3)}
    low = max(one.at[1] for one in ends) + UNDER
    out = lay(draft, "shutoff", (300, SUPPLY_Y), "", {"open": True})
    back = lay(draft, "shutoff", (300, low), "", {"open": True}, flip=True)
    pipe(draft, (source.id, "out"), (out, "a"), **fields)
    pipe(draft, (back, "b"), (source.id, "in"), **fields)
    sent, taken = _coil(draft, (out, "b"), (back, "a"), low, fields)
    _supply(draft, ends, sent, fields, long)
    _return(draft, ends, taken, low, fields, long)
    return draft.changes


def _supply(
    draft: Draft, ends: list[Item], sent: tuple[str, str], fields: dict[str, Any], long: dict[str, Any]
) -> None:
    """From one circuit down to the next."""
    for number, one in enumerate(ends):
        here = long if number == 0 else fields
        if number < len(ends) - 1:
            part = joint(draft, (SUPPLY_X, one.at[1] - (10 if one.has(Trait.IN_FLOOR) else 0)))
            pipe(draft, sent, (part, "at"), **here)
            sent, here = (part, "at"), fields
        pipe(draft, sent, (one.id, "in"), **here)


def _return(
    draft: Draft,
    ends: list[Item],
    taken: tuple[str, str],
    low: float,
    fields: dict[str, Any],
    long: dict[str, Any],
) -> None:
    """From each circuit down the riser; all of it back along the lowest line."""
    up = ends[0].id, "out"
    for one in ends[1:]:
        part = joint(draft, (RETURN_X, one.at[1] + (10 if one.has(Trait.IN_FLOOR) else 20)))
        pipe(draft, up, (part, "at"), **fields)
        pipe(draft, (one.id, "out"), (part, "at"), **fields)
        up = part, "at"
    pipe(draft, up, taken, via=((RETURN_X, low),), **long)


def _coil(
    draft: Draft, sent: tuple[str, str], taken: tuple[str, str], low: float, fields: dict[str, Any]
) -> tuple[tuple[str, str], tuple[str, str]]:
    """Pipes to the coil of a tank, if there is one; where supply and return then go on."""
    tank = next(
        (one for one in draft.plant.with_trait(Trait.HAS_COIL) if free(draft.plant, one.id, "coil_in")), None
    )
    if tank is None:
        return sent, taken
    split, meet = joint(draft, (TANK_X + 60, SUPPLY_Y)), joint(draft, (TANK_X + 20, low))
    pipe(draft, sent, (split, "at"), **fields)
    pipe(draft, (split, "at"), (tank.id, "coil_in"), **fields)
    pipe(draft, (tank.id, "coil_out"), (meet, "at"), **fields)
    pipe(draft, (meet, "at"), taken, **fields)
    return (split, "at"), (meet, "at")


def needs_pump(plant: Plant) -> list[Item]:
    """Circuits that a pipe leads to, straight from a header: nothing stands in it yet."""
    found = []
    for one in circuits(plant):
        name = at_port(plant, one.id, "in")
        if name and plant.items[plant.pipes[name].start.item].has(Trait.JOINS, Trait.HAND_VALVE):
            found.append(one)
    return found


def put_pumps(plant: Plant, answers: Answers) -> list[Change]:
    """A circulator and a check valve a circuit, or one pair and zone valves; the same for a coil.

    Where rooms want cooler water than the source sends out, a mixing valve before them.
    """
    draft = Draft(plant)
    ends = needs_pump(plant)
    if not ends:
        expected = "one that pipes lead to and that has no circulator"
        raise Refusal("", "no such circuit", expected, "Take the pipes' step first")
    into = _mix(draft, answers, _into_rooms(plant, ends[0]))
    stats = {one.props.get("senses", [""])[0]: one.id for one in plant.with_trait(Trait.FEELS_ROOM)}
    calls = {one.id: stats.get(str(one.props.get("serves", "")), "") for one in ends}
    zones = answers["how"] == ZONES and len(ends) > 1
    if zones:
        every = {"run_when": {"any": [name for name in calls.values() if name]}}
        _pump_and_check(draft, into, (SUPPLY_X - 110, SUPPLY_Y), "Heating pump", every)
    for one in ends:
        name = at_port(draft.plant, one.id, "in")
        y = one.at[1] - (10 if one.has(Trait.IN_FLOOR) else 0)
        when = {"run_when": {"any": [calls[one.id]]}} if calls[one.id] else {}
        if zones:
            put_in(draft, "zone_valve", name, (SUPPLY_X + 110, y), "", when)
        else:
            _pump_and_check(draft, name, (SUPPLY_X + 80, y), f"{one.label} pump", when)
    _coil_pump(draft)
    return draft.changes


def _pump_and_check(
    draft: Draft, name: str, at: tuple[float, float], label: str, when: dict[str, Any], turn: int = 0
) -> None:
    """A circulator in a pipe, and the check valve after it."""
    pump = put_in(draft, "circulator", name, at, label, _pump(draft.plant) | when, turn=turn)
    after = (at[0], at[1] + 80) if turn else (at[0] + 80, at[1])
    spring = {"opens_at": "2 kPa" if draft.plant.units == "si" else "0.3 psi"}
    put_in(draft, "check_valve", at_port(draft.plant, pump, "out"), after, "", spring, turn=turn)


def _pump(plant: Plant) -> dict[str, Any]:
    """A small circulator: an invented curve, to be changed for that of the pump at hand."""
    if plant.units == "si":
        curve = [
            ["0 L/s", "5 m_head"],
            ["0.3 L/s", "4.2 m_head"],
            ["0.6 L/s", "2.6 m_head"],
            ["0.9 L/s", "0.4 m_head"],
        ]
    else:
        curve = [
            ["0 gpm", "16 ft_head"],
            ["5 gpm", "13.5 ft_head"],
            ["10 gpm", "8 ft_head"],
            ["15 gpm", "1 ft_head"],
        ]
    return {
        "curve": curve,
        "invented": True,
        "watts": Guess("45 W", 0.4),
        "body": "cast_iron",
        "shaft": "horizontal",
    }


def _into_rooms(plant: Plant, first: Item) -> str:
    """The pipe through which all of the rooms' water comes: followed back from the first circuit."""
    feeders = {one.end.item: one for one in plant.pipes.values()}
    with_coil = {
        one.start.item for one in plant.pipes.values() if plant.items[one.end.item].has(Trait.HAS_COIL)
    }
    pipe_in = plant.pipes[at_port(plant, first.id, "in")]
    while plant.items[pipe_in.start.item].has(Trait.JOINS) and pipe_in.start.item not in with_coil:
        pipe_in = feeders[pipe_in.start.item]
    return pipe_in.id


def _mix(draft: Draft, answers: Answers, into: str) -> str:
    """A valve that mixes return into the supply, where rooms want it cooler; the pipe that then leads on."""
    plant = draft.plant
    source = next(iter(sources(plant)), None)
    sent = source.si.get("set_temperature") if source is not None else None
    if not answers["water"] or not isinstance(sent, float):
        return into
    if sent < answers.si("water", "temperature") + COOLER:
        return into
    system = plant.pipes[into].system
    back = next((one for one in plant.pipes.values() if one.via and one.system == system), None)
    if back is None:
        raise Refusal("", "no return line as the pipes' step lays it", "one to mix from", "Pull it by hand")
    at = SUPPLY_X - 180
    props = {"target": answers["water"], "cv": 8}
    valve = put_in(draft, "three_way_valve", into, (at, SUPPLY_Y), "Mixing valve", props, ports=("a", "ab"))
    meet = tee(draft, back.id, (at, back.via[-1][1]))
    pipe(draft, (meet, "at"), (valve, "b"))
    return at_port(draft.plant, valve, "ab")


def _coil_pump(draft: Draft) -> None:
    """A circulator and a check valve into the coil of a tank, run by its aquastat, as is the source."""
    for tank in draft.plant.with_trait(Trait.HAS_COIL):
        name = at_port(draft.plant, tank.id, "coil_in")
        if not name or not draft.plant.items[draft.plant.pipes[name].start.item].has(Trait.JOINS):
            continue
        stat = next(
            (s.id for s in draft.plant.with_trait(Trait.FEELS_WATER) if tank.id in s.props.get("senses", ())),
            "",
        )
        when = {"run_when": {"any": [stat]}} if stat else {}
        _pump_and_check(draft, name, (TANK_X + 60, tank.at[1] - 180), "Tank pump", when, turn=90)
        for source in sources(draft.plant):
            run = source.props.get("run_when")
            if stat and isinstance(run, dict) and stat not in run.get("any", ()):
                drawing.change(draft, source.id, run_when={"any": [*run.get("any", ()), stat]})
