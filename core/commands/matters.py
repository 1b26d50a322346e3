"""`wetside matters FILE`: what the guesses leave open in every answer, and which of them to measure first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from core import units
from core.commands.answering import Progress, columns, print_json, wrapped
from core.commands.arguments import Arguments
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.questions.matters import Answer, Matters

MEASURE = 0.05  # mean share of the variance from which on a guess is worth measuring
NAMED = 0.1  # share of one answer's variance from which on a guess is named beside it
DIMENSIONS = {"W": "power", "degC": "temperature", "Pa": "pressure"}
WORDS = {
    "delivered_w": "heat",
    "temperature_c": "temperature",
    "pressure_pa": "pressure",
    "pressure_in_pa": "suction pressure",
    "pressure_out_pa": "suction pressure",
}


def run(argv: list[str]) -> int:
    """Solve the samples; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside matters",
        description="The span of every answer over the guesses of a file, and which guess makes it.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.questions.matters import matters

    progress = Progress("samples")
    found = matters(plant, on_progress=progress)
    progress.done()
    if given.json:
        answers = [one.as_data() for one in found.answers]
        data = {"answers": answers, "samples": found.samples, "solved": dict(found.solved)}
        print_json({**data, "unsolved": list(found.unsolved)})
    else:
        print("\n".join(text(plant, found)))
    return 1 if found.unsolved else 0


HEAD = ("case", "at", "what", "as typed", "from", "to", "hangs on")


def text(plant: Plant, found: Matters, tables: bool = True) -> Iterator[str]:
    """The answer in plain words; without `tables` where these stand elsewhere."""
    yield escaped(f"{plant.title or 'untitled'} · which guess matters")
    yield ""
    if not found.guesses:
        yield from wrapped(
            "Nothing in this file is typed as a guess. A quantity may be one: its value, and within which "
            "share of it, or how many degrees, it may be off."
        )
        return
    yield from wrapped(_verdict(found))
    yield ""
    told = [one for one in found.answers if one.guesses]
    rows = [HEAD, *(row(plant, one) for one in told)]
    if not told:
        yield "No answer is moved by them."
    elif tables:
        yield from columns(rows)
    yield ""
    still = len(found.answers) - len(told)
    if still:
        yield f"{still} more answers are moved by none of them."
    for case, solved in found.solved.items():
        if solved < found.samples:
            yield from wrapped(f"{case}: {found.samples - solved} of {found.samples} samples are not solved.")
    for case in found.unsolved:
        yield from wrapped(f"{case} is not solved as typed: nothing is said about it.")
    yield from wrapped(
        f"{found.samples} plants were solved with all guesses put otherwise at once, each evenly within its "
        "span. From and to hold nine of ten of them. * a straight fit explains less than 0.8 of what the "
        "answer varies: the parts tell little there."
    )
    yield from wrapped(CAUTION)


def _verdict(found: Matters) -> str:
    from core.questions.matters import ranking

    ranked = ranking(found)
    first = [one for one in ranked if one.share >= MEASURE]
    rest = len(ranked) - len(first)
    if not first:
        return f"None of the {len(ranked)} guesses matters to any answer."
    names = [f"{one.at} {_label(one.property)} ({one.share:.0%})" for one in first]
    others = f" The other {rest} matter little." if rest else ""
    return f"Measure first: {', '.join(names)}.{others} In brackets the mean share of what answers vary."


def _label(path: str) -> str:
    """A property as a person reads it, and which of its values where it has several."""
    from core.forms.property_labels import LABELS

    name = path.split(".")[0].split("[")[0]
    words = LABELS.get(name, name.replace("_", " "))
    return words[0].lower() + words[1:] + path[len(name) :].replace("_", " ")


def row(plant: Plant, one: Answer) -> tuple[str, ...]:
    """What an answer varies by, and which guesses make it."""
    from core.questions.matters import GOOD_FIT

    def shown(value: float) -> str:
        si = value + 273.15 if one.unit == "degC" else value
        return units.show(si, DIMENSIONS[one.unit], plant.units)

    named = [g for g in one.guesses if g.share >= NAMED][:3]
    parts = ", ".join(f"{g.at} {_label(g.property)} {g.share:.0%}" for g in named)
    mark = "" if one.r2 >= GOOD_FIT else "* "
    what = WORDS.get(one.what, one.what)
    return one.case, one.at, what, f"~{shown(one.value)}", shown(one.low), shown(one.high), mark + parts
