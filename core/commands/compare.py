"""`wetside compare FILE OTHER`: what was changed between two plants, and what that changed in behavior."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from core import units
from core.commands.answering import Progress, columns, print_json, wrapped
from core.commands.arguments import Arguments
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.vocabulary import Trait
from core.vocabulary.guesses import plain_data
from core.vocabulary.port_words import spoken_place

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.questions.compare import Changed, Comparison, Effect

LONGEST = 46  # characters of a value in a column
# What is told in words; --json has every figure.
TOLD = (
    *("converged", "delivered_w", "short_w", "duty_w", "flow_m3_s", "temperature_c", "power_w"),
    *("head_m", "speed", "running", "duty_share", "hot_share"),
)
TOLD_OF = (
    *(Trait.GIVES_HEAT, Trait.ROOM, Trait.DRAWS_WATER, Trait.STORES_HEAT),
    *(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.DRIVES, Trait.MIXES),
)
DIMENSIONS = {"W": "power", "m3/s": "flow", "degC": "temperature", "Pa": "pressure", "m": "head"}
WORDS = {
    "delivered_w": "delivered",
    "short_w": "short",
    "duty_w": "heat",
    "flow_m3_s": "flow",
    "temperature_c": "temperature",
    "power_w": "electric power",
    "head_m": "head",
    "converged": "solved",
    "duty_share": "share of the time on",
    "hot_share": "share of hot",
}


def run(argv: list[str]) -> int:
    """Compare the two files of `argv`; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside compare", description="Two plants side by side, case by case.", allow_abbrev=False
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("other", metavar="OTHER", help="another, or the same at another time")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    before, after = read.load(given.file), read.load(given.other)
    from core.questions.compare import compare

    progress = Progress("cases")
    found = compare(before, after, on_progress=progress)
    progress.done()
    if given.json:
        print_json(
            {
                "changed": [one.as_data() for one in found.changed],
                "effects": [one.as_data() for one in found.effects],
                "unmatched": list(found.unmatched),
                "unsolved": list(found.unsolved),
            }
        )
    else:
        print("\n".join(text(before, after, found)))
    return 1 if found.unsolved else 0


def text(before: Plant, after: Plant, found: Comparison) -> Iterator[str]:
    """The comparison in plain words and the first plant's units."""
    from core.questions.resting import NOTE

    yield escaped(f"{before.title or 'untitled'} · compared with {after.title or 'untitled'}")
    yield ""
    names = [case.name for case in before.solve_cases]
    if found.changed:
        rows: list[tuple[str, ...]] = [("changed", "what", "before", "after")]
        yield from columns([*rows, *(changed_row(one) for one in found.changed)])
    else:
        yield "Nothing was changed."
    said = [one for one in found.effects if told(before, one)]
    said.sort(key=lambda one: (names.index(one.case), first_told(before, one)))
    yield ""
    if said:
        rows = [("case", "at", "what", "before", "after")]
        yield from columns([*rows, *(effect_row(before, one) for one in said)])
    else:
        yield "No circuit, room, tap, source or pump behaves otherwise by a thousandth."
    if rest := len(found.effects) - len(said):
        yield f"{rest} more figures of pipes and parts differ; --json lists them."
    yield ""
    if any(mark for one in said for mark in one.marks):
        yield NOTE
    for name in found.unmatched:
        yield from wrapped(f"Only one of the two has the case {name}.")
    for name in found.unsolved:
        yield from wrapped(
            f"{name} is not solved in at least one of the two: its figures are not to be used."
        )
    yield from wrapped(CAUTION)


def changed_row(one: Changed) -> tuple[str, ...]:
    """At, what, before and after of a change."""
    if one.property is None:
        what = "removed" if one.after is None else "added"
        return one.at, what, _short(one.before), _short(one.after)
    if one.property in ("from", "to"):
        places = [spoken_place(*place) for place in (one.before, one.after)]
        return one.at, one.property, *places
    return one.at or "plant", one.property.replace("_", " "), _short(one.before), _short(one.after)


def _short(value: Any) -> str:
    if value is None:
        return "–"
    data = plain_data(value)
    shown = data if isinstance(data, str) else json.dumps(data, ensure_ascii=False)
    return shown if len(shown) <= LONGEST else shown[: LONGEST - 1] + "…"


def told(plant: Plant, one: Effect) -> bool:
    """Whether an effect is told in words; --json has every one."""
    item = plant.items.get(one.at)
    return one.what in TOLD and (not one.at or (item is not None and item.has(*TOLD_OF)))


def first_told(plant: Plant, one: Effect) -> int:
    """Place of an effect among those told: who is heated before what heats."""
    item = plant.items.get(one.at)
    return -1 if item is None else next(k for k, trait in enumerate(TOLD_OF) if item.has(trait))


def effect_row(plant: Plant, one: Effect) -> tuple[str, ...]:
    """Case, at, what, before and after of an effect, in the plant's units."""
    pair = zip(one.marks, (one.before, one.after), strict=True)
    shown = [mark + _shown(plant, one, value) for mark, value in pair]
    return one.case, one.at or "all", WORDS.get(one.what, one.what), *shown


def _shown(plant: Plant, one: Effect, value: float | bool | None) -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if one.unit not in DIMENSIONS:
        return f"{value:.3g}"
    if one.what == "power_w":
        return f"{value:.0f} W"
    si = value + 273.15 if one.unit == "degC" else value
    return units.show(si, DIMENSIONS[one.unit], plant.units)
