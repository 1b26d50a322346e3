"""`wetside shut-off FILE ID`: how an item or pipe is taken out of service, as a card of steps or as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING

from core.commands.arguments import Arguments, concerning, one_of
from core.errors import Refusal, escaped
from core.files import read
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.isolation.plan import ShutOff

WIDTH = 110  # characters of a line


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
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.isolation.plan import shut_off
    from core.water.ways import water_graph

    graph = water_graph(plant)
    wetted = [name for name in (*plant.items, *plant.pipes) if graph.places_of.get(name)]
    with concerning(given.file):
        if given.id not in wetted:
            expected = one_of(wetted, "an item or pipe that water wets; there is none")
            raise Refusal("ID", given.id, expected, nearest(given.id, wetted))
    plan = shut_off(plant, given.id, graph)
    if given.json:
        print(json.dumps(asdict(plan), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        lines = (f"{plant.title or 'untitled'} · shut-off of {given.id}", "", *_text(plan))
        print("\n".join(out for line in lines for out in (_wrapped(line) if line else [""])))
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
    yield ""
    yield from (f"caution: {text}" for text in plan.cautions)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(escaped(text), WIDTH, subsequent_indent="    ", break_on_hyphens=False)
