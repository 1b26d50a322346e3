"""The start-up sheet: gate, flush, test, fill, purge, disinfect, set, balance, heat up, read, sign.

Order and periods: common practice, no source, unless said otherwise. What only licensed trades may say it
asks, and never says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core.isolation.plan import CAUTIONS, shut_off
from core.media.fluids import fluid_of
from core.papers.blocks import Blank, Block, Caution, Grid, Heading, Paper, Said, Together
from core.papers.plant_words import (
    by_tag,
    display_of,
    licensed_questions,
    listed,
    stages_blocks,
    titled,
    trimmed,
    value_of,
    wets,
)
from core.papers.purging import Purge, loop_words, purges, way_words
from core.papers.settings import balance_grid, case_readings, settings
from core.papers.shut_off_card import plan_blocks
from core.papers.takeoff import takeoff
from core.papers.valve_tags import valve_tags
from core.plant.model import Item, Plant
from core.solve import Solution
from core.vocabulary import Trait
from core.water.connections import bodies
from core.water.ways import WaterGraph, water_graph
from core.working import show_value

SIGN = "by"
AIR = (
    "Never test with air or gas: compressed air stores energy, and a joint that lets go then throws its "
    "parts. "
    "Test with water, all air let out, nobody before plugs and caps; the pressure, how long, and who "
    "witnesses it "
    "are local code's."
)
OFF_FOR_TEST = (
    "Off or parted, and its opening plugged, where it is rated for less than the test pressure; refitted and "
    "signed before anything is filled for good:"
)
FILLING = (
    "Fill with the heat locked out. Watch the gauge: the pressure stays well under what each relief "
    "valve is set "
    "to. Keep hands and face away from the end of a hose."
)
TOXIC = (
    "Antifreeze never goes where drinking water can be reached: what backflow protection a fill line "
    "needs is "
    "local code's. Ethylene glycol is poisonous, also to animals. Catch what drains."
)
FLUX = "Flux and cleaners burn skin and eyes: gloves and goggles, and fresh air."
DISINFECT = (
    "Disinfectant burns skin and eyes and gives off gas; never mix it with acid. Nobody draws water "
    "meanwhile. "
    "Dose, time, test and who may do it are local code's and the authority's."
)
SCALD = (
    "Water over 120 °F (49 °C) scalds within minutes, over 140 °F (60 °C) within seconds (common "
    "practice figures, "
    "from memory): measure at the outlets before anyone uses them. Storage too cool breeds Legionella. "
    "Local code "
    "says both limits."
)
HEAT_UP = (
    "A slab heated too early or too fast cracks: not before the one who poured it agrees. Never over "
    "what the "
    "floor's covering and the tube stand."
)
ELECTRIC = "Electricity kills: covers stay shut, and what is behind them is a licensed electrician's work."


def start_up_paper(plant: Plant, solutions: Sequence[Solution]) -> Paper:
    """The sheet that is taken to the boiler room.

    Parameters
    ----------
    plant : Plant
    solutions : sequence of Solution
        The cases whose readings are expected
    """
    graph = water_graph(plant)
    blocks: list[Block] = [
        *_gate(plant, graph), *_flush(plant, graph), *_test(plant), *_fill(plant),
        *_purge(purges(plant, graph)), *_vent(plant), *_disinfect(plant), *_settings(plant, solutions),
        *_slabs(plant), *_readings(plant, solutions), *_antifreeze(plant), *_sign(),
        *_valve_list(plant, graph, solutions), *_cards(plant, graph),
    ]  # fmt: skip
    return Paper("Start-up sheet", tuple(blocks))


def _ticks(lines: Sequence[str], write: str = SIGN) -> Iterator[Block]:
    yield from (Blank(line, write=write) for line in lines)


def _gate(plant: Plant, graph: WaterGraph) -> Iterator[Block]:
    display = display_of(plant)
    yield Heading("1 Gate: before any water or heat")
    yield Said("Nothing below begins before every line here is signed.", True)
    for item in by_tag(plant.with_trait(Trait.RELIEVES)):
        opens = [value_of(item, "set_pressure", "pressure", display, "pressure not set")]
        if "set_temperature" in item.props:
            opens.append(value_of(item, "set_temperature", "temperature", display))
        yield Blank(
            f"{item.id}, opens at {' and '.join(opens)}: no valve between it and what it guards; outlet "
            f"open, piped "
            "full size to a safe place as local code says, never plugged, capped or shut.",
            write=SIGN,
        )
    for words in _unguarded(plant, graph):
        yield Caution(words)
    for item in by_tag(plant.with_trait(Trait.EXPANDS)):
        precharge = value_of(item, "precharge", "pressure", display)
        yield Blank(
            f"{item.id}: connected and open; precharge {precharge}, measured while empty.", write="found"
        )
    for item in by_tag(plant.with_trait(Trait.STOPS_BACKFLOW)):
        yield Blank(f"{item.id}, {item.kind_info.title}: fitted and tested as local code says.", write=SIGN)
    yield Blank(
        "Fuel, venting, combustion air, condensate and carbon monoxide alarms: checked.", write="licensed by"
    )
    yield Blank("Electrical work: checked; heat and circulators locked out.", write="licensed by")
    yield Blank("Gauges and thermometers in place; drains and hoses lead to a safe place.", write=SIGN)
    yield from licensed_questions(plant)
    if any(part.stage not in ("drawn", "existing") for part in plant.items.values()):
        yield from stages_blocks(plant)


def _unguarded(plant: Plant, graph: WaterGraph) -> Iterator[str]:
    """A closed body that something heats and no relief valve guards."""
    for body in bodies(graph):
        items = [item for item in graph.items_at(body) if item.stays]
        heats = [i.id for i in items if i.has(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL)]
        if heats and not any(item.has(Trait.RELIEVES) for item in items):
            yield f"No relief valve is drawn in the water at {listed(heats)}. Stop here until it is settled."


def _flush(plant: Plant, graph: WaterGraph) -> Iterator[Block]:
    yield Heading("2 Flush")
    yield Caution(FLUX)
    for body in bodies(graph):
        pipes = [pipe for pipe in plant.pipes.values() if pipe.start in body and pipe.stage != "to_remove"]
        items = [item for item in graph.items_at(body) if item.stays]
        if not pipes:
            continue
        outs = listed((i.id for i in by_tag(items) if i.has(Trait.DRAINS)), "")
        where = f"at {outs}" if outs else "where it can be opened (no drain is drawn)"
        yield Blank(
            f"{pipes[0].system}, the water at {_known_by(items)}: flushed until clear {where}; "
            "flux and dirt out.",
            write=SIGN,
        )
    for item in by_tag(plant.with_trait(Trait.HOLDS_DIRT)):
        yield Blank(f"{item.id}: screen out, cleaned, back in.", write=SIGN)


def _known_by(items: Sequence[Item]) -> str:
    """A few parts by which a body of water is known."""
    telling = (Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.TANK, Trait.BRINGS_WATER, Trait.STOPS_BACKFLOW)
    parts = by_tag(item for item in items if not item.has(Trait.JOINS))
    known = [item.id for item in parts if item.has(*telling)] or [item.id for item in parts]
    return listed(known[:4], "its pipes")


def _test(plant: Plant) -> Iterator[Block]:
    display = display_of(plant)
    yield Heading("3 Pressure test with water")
    yield Caution(AIR)
    yield Blank("Test pressure and time as local code says", write="pressure", tick=False)
    yield Blank("", write="time", tick=False)
    rows = []
    for item in by_tag(plant.items.values()):
        if not item.stays:
            continue
        rated = ""
        if item.has(Trait.RELIEVES):
            rated = f"opens at {value_of(item, 'set_pressure', 'pressure', display)}"
        elif item.has(Trait.EXPANDS) or "max_pressure" in item.props:
            rated = value_of(item, "max_pressure", "pressure", display, "rating not set")
        elif item.has(Trait.VENTS, Trait.FILLS, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.TANK):
            rated = "rating not set"
        if rated:
            rows.append((item.id, titled(item), rated, " " * 8, " " * 8))
    yield Said(OFF_FOR_TEST)
    yield Grid("", ("tag", "what", "rated", "off", "refitted"), tuple(rows))
    yield Blank("Pressure held, no leak; water let out slowly; every part above refitted.", write=SIGN)


def _fill(plant: Plant) -> Iterator[Block]:
    display = display_of(plant)
    yield Heading("4 Filling")
    yield Caution(FILLING)
    content = {line.what: line.volume for line in takeoff(plant).lines if line.group == "fluid"}
    if any(system.fluid.get("kind") not in (None, "water") for system in plant.systems.values()):
        yield Caution(TOXIC)
    for name, system in plant.systems.items():
        volume = content.get(f"water content of {name}")
        if volume is None:
            continue
        shown = trimmed(show_value(volume, "volume", display))
        fluid = fluid_of(system.si.fluid)
        if fluid.fraction > 0.0:
            part = trimmed(show_value(volume * fluid.fraction, "volume", display))
            yield Blank(
                f"{name}: {shown} in all, of it {part} of {fluid.kind.replace('_', ' ')} mixed "
                f"beforehand with water "
                f"that suits it (its maker says which) to {100 * fluid.fraction:.0f} % by volume; "
                f"nothing poured in "
                "neat.",
                write=SIGN,
            )
        else:
            yield Blank(f"{name}: {shown} of water as drawn.", write=SIGN)
        pressure = system.si.fill_pressure
        if pressure is not None:
            yield Blank(
                f"{name}: filled cold to {trimmed(show_value(pressure, 'pressure', display))}.", write="read"
            )


def _purge(found: Sequence[Purge]) -> Iterator[Block]:
    if not found:
        return
    yield Heading("5 Purging, heat and circulators off")
    yield Caution(FILLING)
    for purge in found:
        way, back = way_words(purge)
        yield Said(way, True)
        for loop in purge.loops:
            yield Blank(loop_words(loop), write=SIGN, indent=1)
        yield Blank(f"{purge.system}: every valve open again as listed below; {back}.", write=SIGN)


def _vent(plant: Plant) -> Iterator[Block]:
    vents = [i.id for i in plant.with_trait(Trait.VENTS, Trait.REMOVES_AIR)]
    yield Heading("6 Venting")
    yield Blank(
        f"Air let out at {listed(vents, 'every high point')}; circulators run cold, no noise.", write=SIGN
    )
    yield Blank("Pressure made up to what the gauges below should show cold.", write=SIGN)


def _disinfect(plant: Plant) -> Iterator[Block]:
    potable = [name for name, system in plant.systems.items() if system.use == "potable"]
    if not potable:
        return
    yield Heading("7 Drinking water")
    yield Caution(DISINFECT)
    taps = listed((item.id for item in plant.with_trait(Trait.DRAWS_WATER)), "every outlet")
    yield Blank(f"{listed(potable)}: disinfected and tested as local code and the authority say.", write=SIGN)
    yield Blank(f"Rinsed at {taps} until nothing of it is left.", write=SIGN)


def _settings(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Block]:
    yield Heading("8 Settings and balancing")
    if plant.with_trait(Trait.TEMPERS, Trait.TANK):
        yield Caution(SCALD)
    rows = [(*row, " " * 12) for row in settings(plant)]
    yield Grid.of("Set by hand", ("tag", "what", "set to", "set, by"), rows)
    if plant.with_trait(Trait.BALANCES):
        yield balance_grid(plant, solutions)
    for item in plant.with_trait(Trait.TEMPERS):
        if not wets(plant, item, "potable"):
            continue
        target = value_of(item, "set_temperature", "temperature", display_of(plant))
        yield Blank(f"{item.id}: {target} measured at the farthest and nearest outlet.", write="read")


def _slabs(plant: Plant) -> Iterator[Block]:
    slabs = plant.with_trait(Trait.LOOPED)
    if not slabs:
        return
    step = "10 °F" if display_of(plant) == "us" else "5 K"
    yield Heading("9 First heat-up of slabs")
    yield Caution(HEAT_UP)
    yield Blank(
        f"{listed(item.id for item in slabs)}: concrete cured (often 28 days; common practice, no "
        f"source); water begun "
        f"near room temperature and raised by about {step} a day.",
        write=SIGN,
    )
    for day in range(1, 6):
        yield Blank(f"day {day}: water in", write="read", tick=False, indent=1)


def _readings(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Block]:
    yield Heading("10 Readings")
    grids = case_readings(plant, solutions)
    if grids:
        yield Said(
            "Bring about one case after the other, let it settle, and write what is read beside what is "
            "expected: what the solved case gives, gauge pressure, at the place of the instrument."
        )
        yield from grids
    else:
        yield Said("No gauge, thermometer or flow meter is drawn, so nothing can be compared.")


def _antifreeze(plant: Plant) -> Iterator[Block]:
    display = display_of(plant)
    for name, system in plant.systems.items():
        fluid = fluid_of(system.si.fluid)
        if fluid.fraction <= 0.0:
            continue
        yield Heading(f"Antifreeze in {name}", 2)
        first = "" if fluid.freezing is None else show_value(fluid.freezing, "temperature", display)
        yield Blank(
            f"{fluid.name}: first ice at {first or 'a temperature not known'}; measured after mixing by "
            f"circulation.",
            write="read",
        )


def _sign() -> Iterator[Block]:
    yield Heading("11 Labels and signatures")
    yield Blank(
        "Tags hung at every valve of the list; flow arrows, fluids and relief outlets labeled.", write=SIGN
    )
    yield Blank("This sheet, the drawing and the shut-off cards hang in the room.", write=SIGN)
    for who in ("Installer", "Licensed plumber", "Licensed electrician", "Fuel and venting", "Owner", "Date"):
        yield Blank(who, tick=False, write="_")


def _valve_list(plant: Plant, graph: WaterGraph, solutions: Sequence[Solution]) -> Iterator[Block]:
    grid = valve_tags(plant, graph, solutions)
    if grid.rows:
        yield Heading("Valve tags", new_page=False)
        yield grid


def _cards(plant: Plant, graph: WaterGraph) -> Iterator[Block]:
    wanted = by_tag(plant.with_trait(Trait.NEEDS_ISOLATION))
    targets = [item for item in wanted if graph.places_of.get(item.id)]
    if not targets:
        return
    yield Heading("Shut-off cards")
    yield Caution(" ".join(CAUTIONS))
    for item in targets:
        plan = shut_off(plant, item.id, graph)
        yield Together((Heading(f"{item.id}: {titled(item)}", 2), *plan_blocks(plant, plan)))
