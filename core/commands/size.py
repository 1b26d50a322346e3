"""`wetside size FILE [ID …]`: what size, and why, as tables with one sentence an answer, or as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, Any

from core.commands.answering import columns, wrapped
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION
from core.errors import Refusal, escaped
from core.files import read
from core.papers.change_costs import Costs, with_costs
from core.papers.prices import read_prices
from core.plant.model import Plant
from core.sizing.everything import size
from core.sizing.table import grouped, rows, title, told_once
from core.solve import Solver
from core.vocabulary import KINDS
from core.vocabulary.values import nearest
from core.working import lines

if TYPE_CHECKING:
    from core.sizing.result import Sized
    from core.working import Display

ROWS_WITHOUT_IDS = ("circulator", "balance", "expansion_tank", "exchanger")
NAMED = 8  # ids of one group that a line names


def run(argv: list[str]) -> int:
    """Size what `argv` names; refusals are raised, the caller shows them."""
    parser = Arguments("wetside size", description="Sizes with their reasons.", allow_abbrev=False)
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("ids", metavar="ID", nargs="*", help="items and pipes to answer for (default: all)")
    parser.add_argument("--working", action="store_true", help="how each number came about, as a tree")
    parser.add_argument("--prices", metavar="CSV", help="your price list: what,size,unit,price")
    parser.add_argument("--json", action="store_true", help="SI figures and workings as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    with concerning(given.file):
        check_ids(plant, given.ids)
    solver = Solver(plant)
    solutions = {case.name: solver.solve(case) for case in plant.solve_cases}
    sized = size(plant, given.ids or None, solutions)
    costs = Costs(plant, read_prices(given.prices)) if given.prices else None
    if given.json:
        # An answer a line: workings nest so deep that indenting them makes most of the text and of the time.
        told = (json.dumps(_data(one, costs), ensure_ascii=False, allow_nan=False) for one in sized)
        print('{"sized": [', ",\n".join(told), "]}", sep="\n")
    else:
        print("\n".join(_text(plant, sized, bool(given.ids), given.working, costs)))
    unsolved = any(not KINDS[i.kind].solved for i in plant.items.values() if i.stage != "to_remove")
    loose = not all(solution.converged for solution in solutions.values())
    return 1 if unsolved or loose or any(one.missing or one.fails for one in sized) else 0


def _data(sized: Sized, costs: Costs | None) -> dict[str, Any]:
    """One answer as plain data; with a price list each option carries what it costs."""
    data = _told_once(sized).as_data()
    if costs is not None:
        for option, said in zip(sized.options, data["options"], strict=True):
            said["cost"] = costs.of_option([sized.at], option)
    return data


def check_ids(plant: Plant, ids: Sequence[str]) -> None:
    """Refuse an id that neither an item nor a pipe has, with the nearest one."""
    known = (*plant.items, *plant.pipes)
    for name in ids:
        if name not in known:
            expected = one_of(known, "an id; the plant is empty")
            raise Refusal("ID", name, expected, nearest(name, known))


def _told_once(sized: Sized) -> Sized:
    """One answer with no branch of its workings told twice: the options share most of theirs."""
    told: set[tuple[str, object]] = set()
    working = sized.working and told_once(sized.working, told)
    options = tuple(
        option if option.working is None else replace(option, working=told_once(option.working, told))
        for option in sized.options
    )
    return replace(sized, working=working, options=options)


def _text(
    plant: Plant, sized: list[Sized], narrow: bool, working: bool, costs: Costs | None
) -> Iterator[str]:
    """The answers, those that say the same together, by what is sized."""
    from core.questions.resting import NOTE, Marks

    display: Display = "si" if plant.units == "si" else "us"
    marks, guessed = Marks(plant), False
    yield escaped(f"{plant.title or 'untitled'} · sizes")
    cautions: list[str] = []
    ordered = sorted(sized, key=lambda one: _order(sized, one.what))
    for what, answers in groupby(ordered, key=lambda one: one.what):
        yield ""
        yield title(what).upper()
        for group in grouped(answers):
            guess = marks.of(group.first.working)
            guessed = guessed or bool(guess)
            yield from wrapped(f"{guess} {_shortened(group.ids, group.sentence)}".lstrip())
            if narrow or what in ROWS_WITHOUT_IDS:
                table = rows(group.first, display)
                table = table if costs is None else with_costs(table, group, costs)
                yield from (f"    {line}" for line in columns(table))
            if working:
                yield from _working(group.first, display)
            cautions += [text for text in group.first.cautions if text not in cautions]
    if not sized:
        yield "Nothing here asks for a size: no load, no source, no flow in any case."
    yield ""
    if guessed:
        yield NOTE
    for text in cautions:
        yield from wrapped(f"caution: {text}")
    yield from wrapped(CAUTION)


def _order(sized: list[Sized], what: str) -> int:
    return next(place for place, one in enumerate(sized) if one.what == what)


def _shortened(ids: tuple[str, ...], sentence: str) -> str:
    if len(ids) <= NAMED:
        return sentence
    named = ", ".join(ids)
    short = f"{', '.join(ids[: NAMED - 1])} … {ids[-1]} ({len(ids)} in all)"
    return sentence.replace(named, short, 1)


def _working(sized: Sized, display: Display) -> Iterator[str]:
    if sized.working is not None:
        tree = lines(told_once(sized.working), display)
        yield from (escaped("    " + "  " * depth + text) for depth, text in tree)
