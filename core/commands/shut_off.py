"""`wetside shut-off FILE ID`: how an item or pipe is taken out of service, as a card of steps or as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING

from core.commands.answering import hanging
from core.commands.arguments import Arguments, concerning, one_of
from core.errors import Refusal
from core.files import read
from core.plant.model import Plant
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.isolation.flushing import Flushing
    from core.isolation.plan import ShutOff
    from core.papers.purging import Purge


def run(argv: list[str]) -> int:
    """Show the plan; 1 where there is none."""
    parser = Arguments(
        "wetside shut-off",
        description="Valves to close, what to switch off, where to drain and vent, what else stands.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("id", metavar="ID", help="the item or pipe to take out of service")
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument("-o", "--out", metavar="CARD", help="print it as a card: .pdf, .svg or .png")
    parser.add_argument("--sheet", metavar="SIZE", help="size of the card; by default letter or A4")
    given = parser.parse_args(argv)
    plant = wetted_plant(given.file, given.id)
    from core.isolation.flushing import flushings
    from core.isolation.plan import shut_off
    from core.papers.shut_off_card import refilled
    from core.water.ways import water_graph

    graph = water_graph(plant)
    plan = shut_off(plant, given.id, graph)
    flushed, purged = flushings(graph, given.id), refilled(plant, graph, plan)
    if given.json:
        more = {"flushing": [asdict(one) for one in flushed], "purging": [asdict(one) for one in purged]}
        print(json.dumps({**asdict(plan), **more}, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        title = f"{plant.title or 'untitled'} · shut-off of {given.id}"
        lines = (title, "", *_text(plan), *_further(flushed, purged), *_cautions(plan))
        print("\n".join(out for line in lines for out in (hanging(line) if line else [""])))
    return 0 if plan.possible else 1


def _text(plan: ShutOff) -> Iterator[str]:
    if not plan.possible:
        yield f"{plan.target} cannot be shut off: {plan.reason}."
        if plan.missing:
            yield f"A valve in {' and in '.join(plan.missing)} would make it possible."
    for number, step in enumerate(plan.steps, 1):
        yield f"{number:2}. {step}"
    if plan.also_dead:
        yield ""
        yield f"Dry or cold meanwhile: {', '.join(plan.also_dead)}."


def _further(flushed: list[Flushing], purged: list[Purge]) -> Iterator[str]:
    """Flushing in its place, and purging afterwards."""
    from core.papers.purging import loop_words, way_words
    from core.papers.shut_off_card import lacking_words

    for one in flushed:
        yield ""
        yield f"Flushing {one.at} from {one.ports[0]} to {one.ports[1]}:"
        if one.lacking:
            yield lacking_words(one)
        yield from (f"{number:2}. {step}" for number, step in enumerate(one.steps, 1))
    for purge in purged:
        yield ""
        way, back = way_words(purge)
        yield f"Purging after it is filled again, {way}"
        yield from (f"{number:2}. {loop_words(loop)}" for number, loop in enumerate(purge.loops, 1))
        yield f"Then every valve open again; {back}."


def _cautions(plan: ShutOff) -> Iterator[str]:
    yield ""
    yield from (f"caution: {text}" for text in plan.cautions)


def wetted_plant(file: str, target: str) -> Plant:
    """The plant of a file.

    Raises
    ------
    Refusal
        Where water wets no such item or pipe
    """
    from core.water.ways import water_graph

    plant = read.load(file)
    places = water_graph(plant).places_of
    wetted = [name for name in (*plant.items, *plant.pipes) if places.get(name)]
    with concerning(file):
        if target not in wetted:
            expected = one_of(wetted, "an item or pipe that water wets; there is none")
            raise Refusal("ID", target, expected, nearest(target, wetted))
    return plant
