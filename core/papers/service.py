"""The service calendar: what to look at, how often, with which valves, and a log to sign. Common practice."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from core.isolation.plan import CAUTIONS, DESCALING, TREATED, shut_off
from core.media.fluids import fluid_of
from core.papers.blocks import Block, Caution, Grid, Heading, Paper, Said
from core.papers.plant_words import by_tag, display_of, listed, parts_of, wets
from core.papers.settings import readings_grid
from core.plant.model import Item, Plant
from core.solve import Solution
from core.stillwater.map import STILL_DAYS, dead_water
from core.vocabulary import Trait
from core.water.ways import WaterGraph, water_graph
from core.working import show_value

LOG_ROWS = 14
RELIEF = (
    "A relief valve is tried by whoever local code allows, with its outlet piped and nobody before it: "
    "what comes "
    "out scalds. One that drips afterwards is replaced. It is never plugged, capped or shut off."
)
FLUSHING = "Flushing makes hot spray that can carry Legionella: start cold, by hose to a drain, faces away."
BURNER = (
    "Burners, venting and gas are licensed work; a carbon monoxide alarm that sounds empties the building."
)


@dataclass(frozen=True)
class Task:
    """One thing to do: how often, to what, what it is, and its caution."""

    often: str
    at: tuple[str, ...]
    words: str
    caution: str = ""


def service_tasks(plant: Plant, solutions: Sequence[Solution] = ()) -> list[Task]:
    """What this plant wants, from often to seldom; periods are common practice, no source."""
    return [*_often(plant, solutions), *_yearly(plant), *_seldom(plant)]


def _of(plant: Plant, *traits: Trait, only: Callable[[Item], bool] = lambda item: True) -> tuple[str, ...]:
    return tuple(item.id for item in by_tag(plant.with_trait(*traits)) if only(item))


def _tasks(*tasks: Task) -> Iterator[Task]:
    yield from (task for task in tasks if task.at)


def _often(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Task]:
    still: dict[str, None] = {}
    for row in dead_water(plant, solutions):
        system = plant.systems[plant.pipes[row.id].system]
        if row.still and row.flush_at and row.stands == "by use" and system.use == "potable":
            still[row.flush_at] = None
    yield from _tasks(
        Task(
            f"every {STILL_DAYS:.0f} days", tuple(still), "drinking water that nobody drew: run it", FLUSHING
        ),
        Task(
            "monthly",
            _of(plant, Trait.SHOWS_PRESSURE, Trait.SHOWS_TEMPERATURE),
            "read; compare with the table below",
        ),
        Task(
            "monthly",
            _of(plant, Trait.FIRED),
            "carbon monoxide alarm tried; vents, intake and trap free",
            BURNER,
        ),
        Task("every 3 months", _tempering(plant), "temperature measured at the outlets"),
    )


def _yearly(plant: Plant) -> Iterator[Task]:
    treated = tuple(
        name for name, system in plant.systems.items() if fluid_of(system.si.fluid).fraction > 0.0
    )
    yield from _tasks(
        Task(
            "after a week, then yearly",
            _of(plant, Trait.HOLDS_DIRT),
            "screen or dirt pot cleaned",
            CAUTIONS[0],
        ),
        Task("yearly", _of(plant, Trait.RELIEVES), "tried and looked at; outlet free", RELIEF),
        Task("yearly", _of(plant, Trait.STOPS_BACKFLOW), "tested by whoever local code names"),
        Task(
            "yearly",
            _of(plant, Trait.EXPANDS),
            "precharge measured, parted from the water and empty",
            CAUTIONS[1],
        ),
        Task("yearly", _of(plant, Trait.FIRED, Trait.LIFTS_HEAT), "serviced by its licensed trade", BURNER),
        Task("yearly", _flushed(plant), "flushed of scale on its drinking-water side", DESCALING),
        Task(
            "yearly",
            treated,
            "antifreeze: freezing point and acidity measured; renewed as its maker says",
            TREATED,
        ),
        Task(
            "yearly",
            _of(plant, Trait.TEMPERS),
            "checks, strainers and set temperature looked at; worked by hand",
        ),
        Task("yearly", _of(plant, Trait.HAND_VALVE), "each shut and opened once, so that it does not seize"),
        Task(
            "yearly",
            _of(plant, Trait.DRIVES),
            "listened to, flow or head compared, terminals by an electrician",
        ),
        Task("yearly", _of(plant, Trait.STAT, Trait.RESETS), "set point compared with a thermometer"),
    )


def _tempering(plant: Plant) -> tuple[str, ...]:
    return _of(plant, Trait.TEMPERS, only=lambda item: wets(plant, item, "potable"))


def _flushed(plant: Plant) -> tuple[str, ...]:
    """Heaters and exchangers that drinking water wets."""
    return _of(plant, Trait.EXCHANGES_HEAT, Trait.FIRED, only=lambda item: wets(plant, item, "potable"))


def _seldom(plant: Plant) -> Iterator[Task]:
    anodes = _of(plant, Trait.TANK, only=lambda item: wets(plant, item, "potable"))
    sediment = "anode looked at, sediment drained; the tank's maker says more"
    yield from _tasks(
        Task("every 1 to 2 years", anodes, sediment, CAUTIONS[0]),
        Task("every 5 years", _of(plant, Trait.HOLDS_OUTLET_PRESSURE), "strainer and seat looked at"),
    )


def service_paper(plant: Plant, solutions: Sequence[Solution]) -> Paper:
    """The calendar for the binder, with the valves to shut and a log."""
    graph = water_graph(plant)
    tasks = service_tasks(plant, solutions)
    rows = [(task.often, listed(task.at), task.words, " " * 9) for task in tasks]
    blocks: list[Block] = [
        Heading("Service calendar"),
        Said(
            "Periods are common practice, no source; makers and local code may ask for more and come first."
        ),
        Grid("", ("how often", "at", "what", "done"), tuple(rows)),
    ]
    cautions: dict[str, list[str]] = {}
    for task in tasks:
        if task.caution:
            cautions.setdefault(task.caution, []).extend(task.at)
    blocks += [Caution(f"{listed(dict.fromkeys(at))}: {text}") for text, at in cautions.items()]
    blocks += [Heading("Valves to shut for it"), *_valves(plant, graph)]
    grid = readings_grid(plant, solutions)
    if grid.rows:
        blocks += [Heading("What the instruments should show"), grid]
    blocks += [*_antifreeze(plant), Heading("Log")]
    blank = tuple((" " * 12, " " * 50, " " * 12) for _ in range(LOG_ROWS))
    blocks.append(Grid("", ("date", "what was found and done", "by"), blank))
    return Paper("Service calendar", tuple(blocks))


def _valves(plant: Plant, graph: WaterGraph) -> Iterator[Block]:
    rows = []
    wanted = (Trait.HOLDS_DIRT, Trait.EXPANDS, Trait.EXCHANGES_HEAT, Trait.FIRED, Trait.TANK, Trait.DRIVES)
    for item in by_tag(plant.with_trait(*wanted, Trait.STOPS_BACKFLOW, Trait.TEMPERS)):
        if not graph.places_of.get(item.id):
            continue
        plan = shut_off(plant, item.id, graph)
        if plan.possible:
            rows.append(
                (
                    item.id,
                    listed(plan.switch_off),
                    listed(plan.close),
                    listed(plan.drain),
                    listed(parts_of(plant, plan.also_dead)),
                )
            )
        else:
            rows.append((item.id, "", f"cannot be shut off: {plan.reason}", "", ""))
    yield Caution(" ".join(CAUTIONS))
    yield Grid.of("", ("to service", "switch off", "shut", "drain at", "dry or cold meanwhile"), rows)


def _antifreeze(plant: Plant) -> Iterator[Block]:
    display = display_of(plant)
    for name, system in plant.systems.items():
        fluid = fluid_of(system.si.fluid)
        if fluid.fraction > 0.0 and fluid.freezing is not None:
            yield Said(
                f"{name}: {fluid.name}, first ice at {show_value(fluid.freezing, 'temperature', display)}."
            )
