"""Rules of the make-up line: where it joins, what reduces its pressure, what it may feed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.media.fluids import GLYCOLS
from core.plant.model import Item, PortRef
from core.review.branches import items_of
from core.review.finding import Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.water.branches import branch
from core.water.connections import reach
from core.water.ways import Passes, Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = "Make-up lines and their backflow protection are for local code and a licensed plumber."
# What parts the tank's tee from the make-up's: between them the pressure moves as circulators start.
APART = (
    *(Trait.DRIVES, Trait.MAKES_HEAT, Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL),
    *(Trait.MIXES, Trait.OPENS_BY_SIGNAL, Trait.BALANCES, Trait.OPENS_BY_PRESSURE),
)
LIVES = (Trait.EXPANDS, Trait.DRIVES, Trait.MAKES_HEAT, Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT)


@dataclass(frozen=True)
class MakeUp:
    """A line from drinking water into a closed body.

    Attributes
    ----------
    entry : Item
        The fill valve or backflow preventer behind which the closed body begins
    line : tuple of Item
        What stands in it, from the fork on the drinking side to the fork in the closed body
    inside : tuple of Item
        Of these, what stands between the entry and the closed body
    end : PortRef
        Where it meets the closed body
    body : frozenset of PortRef
    """

    entry: Item
    line: tuple[Item, ...]
    inside: tuple[Item, ...]
    end: PortRef
    body: frozenset[PortRef]


def make_ups(study: Study) -> tuple[MakeUp, ...]:
    """Every line from a main into a closed body, in the order of the file."""
    return study.once("make-up lines", lambda: tuple(_found(study)))


def _found(study: Study) -> Iterator[MakeUp]:
    for item in study.items(Trait.PARTS_BODIES):
        out = PortRef(item.id, "out")
        if out not in study.body_at:
            continue
        body = study.bodies[study.body_at[out]]
        if study.is_potable(body) or not study.items_in(body, *LIVES):
            continue
        behind = reach(study.graph, [PortRef(item.id, "in")], _past(item.id))
        if not any(one.has(Trait.BRINGS_WATER) for one in study.graph.items_at(behind)):
            continue
        before, after = branch(study.graph, PortRef(item.id, "in")), branch(study.graph, out)
        inside = items_of(study, after.keys)
        line = (*reversed(items_of(study, before.keys)), item, *inside)
        yield MakeUp(item, line, tuple(inside), after.end, body)


def _past(key: str) -> Passes:
    return lambda way: way.key != key and not way.to_air


def sources_of(study: Study, made: MakeUp) -> list[str]:
    """Ids of the sources, else exchangers, of the body that a line fills."""
    sources = study.items_in(made.body, Trait.MAKES_HEAT)
    return [item.id for item in sources or study.items_in(made.body, Trait.EXCHANGES_HEAT)]


@rule(
    "make-up-away-from-tank",
    "Make-up joins away from the expansion tank",
    Severity.CONSIDER,
    "Only at the tank's tee does no circulator change the pressure: elsewhere the fill valve reads it wrong, "
    "and lets water in that is too much when the circulator stops.",
    "trade association text on component location, published",
    "Join the make-up line at the tank's tee.",
    origin="fill-at-tank",
)
def make_up_away_from_tank(study: Study) -> Iterator[Found]:
    """Make-up lines that meet the loop past a circulator, source or load from the tank."""
    items = study.plant.items

    def near(way: Way) -> bool:
        return way.is_pipe or not (way.parts or items[way.key].has(*APART))

    for made in make_ups(study):
        tanks = study.items_in(made.body, Trait.EXPANDS)
        if tanks and not any(PortRef(t.id, "at") in reach(study.graph, [made.end], near) for t in tanks):
            yield Found(
                (made.entry.id, tanks[0].id),
                f"A circulator, source or load stands between {made.entry.id} and {tanks[0].id}.",
            )


@rule(
    "make-up-unreduced",
    "Make-up without reducing valve or stop",
    Severity.MEND,
    "The main presses straight on the loop and its relief valve opens; without a stop nothing shuts it off.",
    PRACTICE,
    "Put a stop and a fill valve set to the fill pressure in the make-up line.",
    origin="fill-prv",
    ask=ASK,
)
def make_up_unreduced(study: Study) -> Iterator[Found]:
    """Make-up lines without a fill valve or reducer, or without a hand valve."""
    for made in make_ups(study):
        lacks = []
        if not any(item.has(Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE) for item in made.line):
            lacks.append("no fill valve or pressure reducer")
        if not any(item.has(Trait.HAND_VALVE) for item in made.line):
            lacks.append("no hand valve")
        if lacks:
            others = [name for name in sources_of(study, made) if name != made.entry.id]
            words = f"The make-up line through {made.entry.id} has {' and '.join(lacks)}."
            yield Found((made.entry.id, *others), words)


@rule(
    "make-up-into-glycol",
    "Automatic make-up into glycol",
    Severity.CONSIDER,
    "A leak is then replaced by water without a word, until the mixture is too thin and freezes.",
    PRACTICE,
    "Fill by hand past a closed valve, or from a tank of mixture with its own pump.",
    origin="fill-autofeed-glycol",
    ask=ASK,
)
def make_up_into_glycol(study: Study) -> Iterator[Found]:
    """Open make-up lines into a glycol body."""
    for made in make_ups(study):
        places = [PortRef(made.entry.id, "out"), made.end]
        shut = any(i.has(Trait.HAND_VALVE, Trait.FILLS) and i.si.get("open") is False for i in made.line)
        if not shut and study.fluid_kind(made.body) in GLYCOLS and places:
            yield Found(
                (made.entry.id,), f"{made.entry.id} feeds water from the main into glycol, open as drawn."
            )
