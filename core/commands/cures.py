"""`wetside cures FILE ID`: changes that would bring a circuit or tap what it lacks, solved and ranked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from core import units
from core.commands.answering import Progress, print_json, wrapped
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION
from core.errors import PlainRefusal, Refusal, escaped
from core.files import read
from core.files.save import save
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.cures.tried import Cure, Cures
    from core.plant.model import Plant

TRADES = (
    "Fuel, venting, electricity and drinking water are for licensed trades; relief valves, limits, tempering "
    "and storage temperatures are changed by none of these. Local code and the authority having jurisdiction "
    "decide."
)


PROBLEMS = {
    "delivered_w": "{at} gets {is_}, {wanted} needed, in {case}.",
    "temperature_c": "{at} gets {is_}, {wanted} needed, in {case}.",
    "velocity_m_s": "Water runs at {is_} in {where}, over the limit of {wanted}, in {case}.",
    "run_s": "{where} runs {is_} at a time, at least {wanted} is wanted, in {case}.",
    "beyond_k": "{where} switches within one round: its water changes by {is_} more than its differential, "
    "in {case}.",
}


def run(argv: list[str]) -> int:
    """Seek cures, or take one; refusals are raised, the caller shows them."""
    given = _parser().parse_args(argv)
    plant = read.load(given.file)
    from core.cures.judged import can_cure
    from core.cures.tried import seek, take
    from core.papers.change_costs import Costs
    from core.papers.prices import read_prices

    with concerning(given.file):
        if not can_cure(plant, given.id):
            known = [key for key in (*plant.items, *plant.pipes) if can_cure(plant, key)]
            expected = one_of(known, "a circuit, tap, pipe, source or stat; there is none")
            raise Refusal("ID", given.id, expected, nearest(given.id, known))
    if (given.take is None) != (given.new is None):
        raise Refusal("--take", "one of --take and -o", "both: which cure, and the file to write it to")
    if given.new is not None and (Path(given.new).exists() or Path(given.new).is_symlink()):
        raise PlainRefusal("it is there already; name a new file after -o", given.new)
    prices = read_prices(given.prices) if given.prices else []
    progress = Progress("changes")
    found = seek(plant, given.id, on_progress=progress)
    progress.done()
    if given.take is not None:
        if not 1 <= given.take <= len(found.cures):
            count = len(found.cures)
            expected = f"a number from 1 to {count}" if count else "nothing: no cure was found"
            raise Refusal("--take", str(given.take), expected)
        cure = found.cures[given.take - 1]
        save(take(plant, cure), given.new)
        if not given.json:
            print("\n".join(wrapped(f"{given.new}: {given.id} with {cure.candidate.text}.")))
    priced = Costs(plant, prices) if prices else None
    costs = [priced.of(take(plant, cure)) for cure in found.cures] if priced is not None else []
    if given.json:
        print_json(found.as_data(costs))
    elif given.take is None:
        print("\n".join(text(plant, found, costs)))
    return 0 if found.cures or found.sign == 0.0 else 1


def _parser() -> Arguments:
    parser = Arguments(
        "wetside cures",
        description="Changes that would bring a circuit or tap what it lacks, each solved, the best first.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("id", metavar="ID", help="a circuit or tap; a pipe, source or stat")
    parser.add_argument("--take", metavar="N", type=int, help="write the plant with the cure of that number")
    parser.add_argument("-o", dest="new", metavar="NEW", help="the file to write, with --take")
    parser.add_argument("--prices", metavar="CSV", help="your price list: what,size,unit,price")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    return parser


def text(
    plant: Plant, found: Cures, costs: Sequence[float | None] = (), tables: bool = True
) -> Iterator[str]:
    """The answer in plain words; without `tables` where the cures stand elsewhere."""
    from core.questions.resting import NOTE

    yield escaped(f"{plant.title or 'untitled'} · what would cure {found.at}")
    yield ""
    if found.wanted is None or found.before is None:
        yield from wrapped(f"{found.at} has no part in any case that is solved: nothing can be tried.")
        return
    if found.sign == 0.0:
        yield from wrapped(f"{found.at} gets what it needs in every case that is solved.")
        return
    yield from wrapped(_problem(plant, found))
    yield ""
    for number, cure in enumerate(found.cures if tables else (), 1):
        yield from _cure(plant, number, cure, _cost(costs, number))
    if not found.cures:
        yield from wrapped(f"None of {found.tried} changes brings a hundredth of what is wanted.")
    elif not any(cure.reaches and not cure.harms for cure in found.cures):
        yield from wrapped("Neither one change nor two together reach what is wanted without harm.")
    elif all(cure.pair for cure in found.cures if cure.reaches and not cure.harms):
        yield from wrapped("No single change reaches what is wanted without harm; two together do.")
    if found.not_tried:
        yield ""
        yield "Not tried:"
        for one in found.not_tried:
            yield from wrapped(f"{one.change.replace('_', ' ')}: {one.text}", "  ")
    yield ""
    priced = "Costs are parts by the price list given, without labor." if costs else "Prices are not known."
    yield from wrapped(f"{found.tried} changes were put in and solved. {priced}")
    if any(cure.mark for cure in found.cures):
        yield NOTE
    yield from wrapped(TRADES)
    yield from wrapped(CAUTION)


def _problem(plant: Plant, found: Cures) -> str:
    """What is wrong, in one sentence."""
    is_, wanted = (_shown(plant, value or 0.0, found.unit) for value in (found.before, found.wanted))
    words = {"at": found.at, "where": found.where, "case": found.case}
    return PROBLEMS[found.what].format(is_=is_, wanted=wanted, **words)


def _shown(plant: Plant, value: float, unit: str) -> str:
    from core.cures.tried import SHOWN

    dimension, zero = SHOWN[unit]
    return units.show(value + zero, dimension, plant.units)


HEAD = ("cure", "brings", "reaches", "power", "joints to open", "harms")


def row(plant: Plant, number: int, cure: Cure) -> tuple[str, ...]:
    """A cure, what it brings and what it asks."""
    power = "not known" if cure.power is None else f"{cure.power:+.0f} W"
    harms = "; ".join(cure.harms) or "nobody"
    reaches = "all" if cure.reaches else "not all"
    brings = cure.mark + cure.effect.shown(plant.units)
    return f"{number}. {cure.candidate.text}", brings, reaches, power, str(cure.candidate.opens), harms


def _brings(plant: Plant, cure: Cure) -> list[str]:
    before, after = (
        _shown(plant, value, cure.effect.unit) for value in (cure.effect.before, cure.effect.after)
    )
    reach = "all that is needed" if cure.reaches else "not all that is needed"
    parts = [f"{cure.mark}{before} to {cure.mark}{after}, {reach}"]
    if cure.power:
        parts.append(f"{cure.power:+.0f} W")
    opens = cure.candidate.opens
    if opens:
        parts.append(f"{opens} made joints to open")
    return parts


def _cost(costs: Sequence[float | None], number: int) -> str:
    if not costs:
        return ""
    cost = costs[number - 1]
    return "not all of it has a price" if cost is None else f"parts {cost:,.2f}"


def _cure(plant: Plant, number: int, cure: Cure, cost: str) -> Iterator[str]:
    yield from wrapped(f"{number}. {cure.candidate.text}")
    parts = [*_brings(plant, cure), *([cost] if cost else [])]
    yield from wrapped("; ".join(parts), "   ")
    for harm in cure.harms:
        yield from wrapped(f"harm: {harm}", "   ")
    if cure.candidate.trade:
        yield from wrapped(f"for others: {cure.candidate.trade}", "   ")
