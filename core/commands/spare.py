"""`wetside spare FILE [ID]`: what each shared part has left for one more circuit, and what gives out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from core.commands.answering import Progress, print_json, wrapped
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION
from core.errors import Refusal, escaped
from core.files import read
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.questions.spare import Spare

MOST_PIPES = 6  # shared pipes told about, the tightest


def run(argv: list[str]) -> int:
    """Search what is left; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside spare",
        description="What heaters, exchangers, pumps, shared pipes and expansion tanks have left.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("id", metavar="ID", nargs="?", default="", help="one part or pipe (default: all)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.questions.spare import can_answer, every, spare

    with concerning(given.file):
        if given.id and not can_answer(plant, given.id):
            known = list(every(plant))
            expected = one_of(known, "a heater, exchanger, pump, pipe or expansion tank; there is none")
            raise Refusal("ID", given.id, expected, nearest(given.id, known))
    progress = Progress("parts")
    found = spare(plant, given.id, on_progress=progress)
    progress.done()
    if given.json:
        print_json({"parts": [one.as_data() for one in found]})
    else:
        print("\n".join(text(plant, found, given.id)))
    return 0


def text(plant: Plant, found: Sequence[Spare], at: str) -> Iterator[str]:
    """The answer in plain words."""
    from core.questions.resting import NOTE
    from core.solve.solution import GUESSED

    yield escaped(f"{plant.title or 'untitled'} · what is left for one more circuit")
    yield ""
    told = [one for one in found if at or one.at not in plant.pipes]
    pipes = [one for one in found if one not in told]
    tight = sorted((one for one in pipes if one.first_limit), key=lambda one: one.spare)
    for one in (*told, *tight[:MOST_PIPES]):
        yield from wrapped(one.text)
    wide = len(pipes) - len(tight[:MOST_PIPES])
    if wide:
        yield f"{wide} more shared runs of pipe have more left; --json lists them."
    if not found:
        what = at or "any part that circuits share"
        yield from wrapped(f"No case that is solved has flow through {what}: nothing can be said about it.")
    yield ""
    if any(GUESSED in one.text for one in found):
        yield NOTE
    yield from wrapped(
        "Each figure is the most that could be added before somebody is more than 1 % short, found by "
        "solving every case again. A load goes into the water right after the part; a flow goes beside the "
        "circuits, without loss. What is added to several parts at once leaves less."
    )
    lasting = [case.name for case in plant.solve_cases if case.lasts is not None]
    if lasting:
        yield from wrapped(
            f"Left out: {', '.join(lasting)}. What can be added in minutes or hours is mostly what rooms and "
            "tanks give up meanwhile, and is gone with it."
        )
    yield from wrapped(CAUTION)
