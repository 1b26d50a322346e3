"""How many heaters: the heat asked of them at the calls that coincide, and the least they can give.

The heat asked is what the sources give in a solved case and what they are short of; every case counts, and
every combination of calls; where there are many, single calls and all of them. A tank that fills takes what
there is: it counts with no more than an hour's recovery.

An absent `min_output` is 0 and is said in words; it is not something missing. Heat pumps count at the
supply that serves in full.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from core.calls.combinations import all_calls, calls_of, solve_calls
from core.figures import CoilTankFigures, EmitterFigures, SourceFigures, TankFigures
from core.plant.model import PortRef
from core.sizing.bodies import Body, bodies, capacity_of, output_of, sources_in
from core.sizing.context import Context, MissingInput, memo, symbol_of
from core.sizing.demand.stores import recovery_heat
from core.sizing.result import Option, Sized
from core.sizing.trial import solved_with
from core.solve import Solution
from core.vocabulary import Trait
from core.working import Working, derived, given

SOURCE = "heat balance: what is asked of the sources over what one of them gives"
MOST_COMBINATIONS = 32  # beyond it only no call, single calls and all of them
LEAST = 50.0  # [W] below it nothing is asked
SAME = 0.3  # [K] within which one source counts as standing behind another in the same water
SPARE = 1e-4  # share by which a demand may pass a capacity
CAUTIONS = (
    "Gas, flue, combustion air and electric supply of a heater are for licensed trades and the local code.",
)


@dataclass(frozen=True)
class Asked:
    """Heat asked of a group of sources in one case or combination of calls, [W].

    `base` is the case whose weather holds.
    """

    name: str
    base: str
    heat: float
    solution: Solution
    is_case: bool
    supplied: Solution  # what the sources must supply: the same, or served in full where it is short


def size(context: Context) -> list[Sized]:
    """Number and least output of the sources of every body that has any."""
    found: list[Sized] = []
    for body in bodies(context):
        group = sources_in(context, body)
        if group:
            found += context.one_by_one(group[:1], "heaters", partial(_sized, context, body, tuple(group)))
    return found


def demands_of(context: Context, group: Sequence[str]) -> list[Asked]:
    """Heat asked of a group in every case and combination of calls that came to rest."""
    base = context.cases[0].name
    solved = [(case.name, solution, True) for case, solution in context.converged()]
    solved += [(base, solution, False) for solution in combinations_of(context) if solution.converged]
    return [_demand(context, group, *one) for one in solved]


def _demand(context: Context, group: Sequence[str], base: str, solution: Solution, is_case: bool) -> Asked:
    short = _wanting(context, solution, group) > LEAST
    supplied = (_served(context, solution, group) if short else None) or solution
    name = base if is_case else solution.case
    return Asked(name, base, _asked(context, solution, group), solution, is_case, supplied)


@memo
def combinations_of(context: Context) -> list[Solution]:
    """Solutions of the combinations of calls, without notes; of many only none, single ones and all."""
    calls = calls_of(context.plant)
    if not calls:
        return []
    cases = all_calls(context.plant)
    if len(cases) <= MOST_COMBINATIONS:
        return solve_calls(context.plant, keep_on=context.keep_on, noted=False)
    few = [c for c in cases if sum(c.signals[call] for call in calls) in (0, 1, len(calls))]
    return [context.solve(case) for case in few]


def _asked(context: Context, solution: Solution, group: Sequence[str]) -> float:
    given = sum(solution.duty(item) for item in group)
    beyond = sum(float(one.value) for one in _beyond_recovery(context, solution, group))
    return given + _lacking(context, solution, group) - beyond


def _beyond_recovery(context: Context, solution: Solution, group: Sequence[str]) -> Iterator[Working]:
    """What tanks take of sources that give all they can, beyond an hour's recovery, [W].

    It grows with the sources, so it is no need of theirs: a larger one would ask for a larger one again.
    """
    if not any(_spent(context, solution, item) for item in group):
        return
    everything = sum(found.duty_w for found in solution.of(SourceFigures).values())
    part = sum(solution.duty(item) for item in group) / everything
    for tank, figures in solution.of(TankFigures).items():
        hour = recovery_heat(context, tank) if figures.duty_w > LEAST else None
        if hour is None or part * figures.duty_w <= float(hour.value):
            continue
        words = f"heat of these sources that fills {tank} in {solution.case}"
        share = given(
            "a", "share of all sources' heat that is theirs", part, "", "solved", "by duty_w of each"
        )
        fills = given("Φ_f", words, figures.duty_w, "power", "solved", f"{tank} duty_w")
        yield derived(
            symbol_of("F", tank),
            f"heat that fills {tank} beyond an hour's recovery",
            "power",
            "max(a * Φ_f - Φ_h, 0)",
            share,
            fills,
            hour,
        )


def _lacking(context: Context, solution: Solution, group: Sequence[str]) -> float:
    """What a group is short of, [W]. A tank being filled with heat takes any; then only circuits can lack."""
    short = _wanting(context, solution, group)
    if short <= LEAST:
        return short
    short = _unlimited(context, solution, group, short)
    filling = any(
        tank.duty_w > LEAST or (isinstance(tank, CoilTankFigures) and tank.coil_duty_w > LEAST)
        for tank in solution.of(TankFigures).values()
    )
    if not filling or short <= LEAST:
        return short
    return min(short, sum(found.short_w for found in _called(solution).values()))


def _wanting(context: Context, solution: Solution, group: Sequence[str]) -> float:
    """What a group is short of at most, [W]: by its outlets, or by the circuits once one gives all it can.

    Loads that are cut to what there is let every outlet reach its set point, so outlets alone do not tell.
    """
    short = sum(_short(context, solution, item, group) for item in group)
    if not any(_spent(context, solution, item) for item in group):
        return short
    return max(short, sum(found.short_w for found in _called(solution).values()))


def _spent(context: Context, solution: Solution, item: str) -> bool:
    """Whether a source gives all it can; one whose output goes by a table may, so it counts as such."""
    duty = solution.duty(item)
    if duty <= LEAST:
        return False
    capacity = context.plant.items[item].si.get("capacity")
    return not isinstance(capacity, float) or duty >= capacity * (1.0 - SPARE)


def _served(context: Context, solution: Solution, group: Sequence[str]) -> Solution | None:
    """The same case with no limit to what a group gives; None where that does not come to rest."""
    case = next((c for c in (*context.cases, *all_calls(context.plant)) if c.name == solution.case), None)
    if case is None:
        return None
    items = context.plant.items
    limits = {one: {"table" if items[one].has(Trait.LIFTS_HEAT) else "capacity": None} for one in group}
    free = solved_with(context, case, limits, f"{', '.join(group)} without limit")
    return free if free.converged else None


def _unlimited(context: Context, solution: Solution, group: Sequence[str], short: float) -> float:
    """What a group would give more if it had no limit, [W].

    What the sources say they are short of counts the cold return of a plant that lacks heat; served in full,
    it comes back warmer and circuits take less.
    """
    free = _served(context, solution, group)
    if free is None:
        return short
    given = [sum(s.duty(i) for i in group) for s in (free, solution)]
    return min(short, max(0.0, given[0] - given[1]))


def _short(context: Context, solution: Solution, item: str, group: Sequence[str]) -> float:
    """What one source is short of, less what another gives that stands behind it in the same water, [W]."""
    figures = solution.at(item, SourceFigures)
    if figures is None or figures.short_w <= 0.0:
        return 0.0
    short = figures.short_w
    for other in group:
        warm = inlet_of(context, solution, other)
        if other != item and warm is not None and abs(warm - figures.temperature_c) < SAME:
            short -= solution.duty(other)
    return max(0.0, short)


def inlet_of(context: Context, solution: Solution, item: str) -> float | None:
    """Solved temperature at the inlet of a source, [°C]."""
    for pipe in context.plant.pipes_at.get(PortRef(item, "in"), ()):
        starts = context.plant.pipes[pipe].start == PortRef(item, "in")
        figures = solution.pipes.get(pipe)
        return None if figures is None else figures.temperature_at(starts)
    return None


def _called(solution: Solution) -> dict[str, EmitterFigures]:
    """Figures of the circuits through which water flows."""
    return {name: found for name, found in solution.of(EmitterFigures).items() if abs(found.flow_m3_s) > 0.0}


def asked_working(context: Context, asked: Asked, group: Sequence[str]) -> Working:
    """Heat asked of a group, from what each gives and what is lacking, [W]."""
    parts = []
    for item in group:
        value = asked.solution.duty(item)
        if value > 0.0:
            words = f"heat given by {item} in {asked.name}"
            how = f"solved: {item} duty_w"
            parts.append(Working(symbol_of("Q", item), words, value, "power", how=how, origin="solved"))
    lacking = _lacking(context, asked.solution, group)
    if lacking > 0.0:
        how = "solved without their limit, less what they give; no more than circuits lack while a tank fills"
        parts.append(Working("S", "heat short", lacking, "power", how=how, origin="solved"))
    beyond = list(_beyond_recovery(context, asked.solution, group))
    formula = " + ".join(part.symbol for part in parts) or "0"
    return derived(
        "Q",
        f"heat asked in {asked.name}",
        "power",
        " - ".join([formula, *(one.symbol for one in beyond)]),
        *parts,
        *beyond,
        source=SOURCE,
    )


def units_needed(asked: Working, capacity: Working) -> Working:
    """Heaters' worth of heat, [-]; the next whole number is how many."""
    return derived("n", "heaters' worth of heat asked", "", "Q / P", asked, capacity, source=SOURCE)


def _sized(context: Context, body: Body, group: tuple[str, ...], at: str) -> list[Sized]:
    missing = [f"{item}: its capacity is not given" for item in group if capacity_of(context, item) is None]
    known = [item for item in group if capacity_of(context, item) is not None]
    if not known:
        raise MissingInput(*missing)
    demands = demands_of(context, group)
    most = max(demands, key=lambda d: d.heat, default=None)
    if most is None or most.heat < LEAST:
        raise MissingInput(f"{at}: no case asks any heat of it")
    asked = asked_working(context, most, group)
    ranked = sorted(known, key=lambda item: -outputs_in(context, most, [item])[0])
    sizes = outputs_in(context, most, ranked)
    largest = output_of(context, ranked[0], most.base, most.supplied, "P")
    assert largest is not None
    ratio = units_needed(asked, largest)
    number = _count(most.heat, sizes)
    show = context.shown
    alike = max(sizes) - min(sizes) < 0.01 * max(sizes)
    each = f"{number} of {largest.shown(context.display)}" if alike else f"the {number} largest of them"
    words = f"{', '.join(group)}: {asked.shown(context.display)} asked in {most.name} need {each}; "
    words += f"{len(group)} {'are' if len(group) > 1 else 'is'} drawn"
    spare = sum(sizes) - most.heat
    if abs(spare) <= SPARE * most.heat:
        words += ", nothing to spare."
    else:
        words += f", {show(abs(spare), 'power')} {'to spare' if spare > 0 else 'too little'}."
    words += _diversity(context, demands, most)
    options = tuple(_options(context, demands, ranked))
    chosen = "" if number <= len(group) else next((o.name for o in options if o.serves), "")
    first = Sized(
        at,
        "heaters",
        words,
        float(number),
        "",
        "",
        most.name,
        options,
        chosen,
        ratio,
        tuple(missing),
        CAUTIONS,
        fails=spare < -SPARE * most.heat,
    )
    return [first, *_least(context, group, demands)]


def outputs_in(context: Context, asked: Asked, items: Sequence[str]) -> list[float]:
    """Most heat of each of several sources in a case, [W]."""
    found = (output_of(context, item, asked.base, asked.supplied) for item in items)
    return [0.0 if one is None else float(one.value) for one in found]


def _count(heat: float, sizes: Sequence[float]) -> int:
    """Fewest units, the largest first, that give a heat; further ones count as the largest."""
    total, number = 0.0, 0
    while total < heat * (1.0 - SPARE):
        total += sizes[number] if number < len(sizes) else sizes[0]
        number += 1
        if sizes[0] <= 0.0:
            raise MissingInput("a heater of no capacity gives no heat")
    return max(number, 1)


def _diversity(context: Context, demands: Sequence[Asked], most: Asked) -> str:
    """What all circuits and tanks would ask if they did so together, beside what coincides."""
    greatest: dict[str, float] = {}
    for demand in demands:
        asked = {name: found.wanted_w for name, found in _called(demand.solution).items()}
        asked |= {name: found.duty_w for name, found in demand.solution.of(TankFigures).items()}
        for name, heat in asked.items():
            greatest[name] = max(greatest.get(name, 0.0), heat)
    total = sum(greatest.values())
    if total <= most.heat * 1.02 or total <= LEAST:
        return ""
    share = f"{100 * most.heat / total:.0f} %"
    shown = context.shown(total, "power")
    return f" All circuits and tanks at their most would ask {shown}; {share} coincide in what was solved."


def _options(context: Context, demands: Sequence[Asked], ranked: Sequence[str]) -> Iterator[Option]:
    """One heater, two, up to one more than drawn, the largest first; a further one is like the largest."""
    most = max(demands, key=lambda demand: demand.heat)
    outputs = {id(demand): outputs_in(context, demand, ranked) for demand in demands}
    for number in range(1, len(ranked) + 2):

        def capacity(demand: Asked, number: int = number) -> float:
            sizes = outputs[id(demand)]
            return sum(sizes[:number]) + sizes[0] * max(0, number - len(sizes))

        over = [d for d in demands if d.heat > capacity(d) * (1.0 + SPARE)]
        hours = sum(context.case(d.name).hours_per_year or 0.0 for d in over if d.is_case)
        verdict = "carries every case and call" if not over else f"short in {over[0].name}"
        if len(over) > 1:
            verdict += f" and {len(over) - 1} more"
        if hours:
            verdict += f", {hours:.0f} hours a year"
        whole = capacity(most)
        yield Option(
            f"{number} heater{'s' if number > 1 else ''}",
            {"capacity_w": whole, "spare_w": whole - most.heat, "short_h": hours},
            not over,
            verdict,
        )


def giving(asked: Asked, group: Sequence[str]) -> list[str]:
    """Which of a group give heat in a case; the first where none does."""
    return [item for item in group if asked.solution.duty(item) > LEAST] or list(group[:1])


def least_of(context: Context, asked: Asked, item: str, symbol: str) -> Working:
    """Least heat of one source, [W]: its least output, 0 where none is given (the file's meaning of absent);
    all it has where its kind cannot be turned down."""
    if turns_down(context, item):
        found = context.prop(symbol, f"least output of {item}", item, "min_output")
        words = f"least output of {item}: not given, which means none"
        return found if found is not None else given(symbol, words, 0.0, "power")
    whole = output_of(context, item, asked.base, asked.solution, symbol)
    if whole is None:
        raise MissingInput(f"{item}: neither its least output nor its capacity is given")
    return whole


def turns_down(context: Context, item: str) -> bool:
    """Whether its kind has a least output to state; a heat pump of the table runs or rests."""
    return "min_output" in context.plant.items[item].si


def unsaid(context: Context, items: Sequence[str]) -> str:
    """A sentence on sources that could be turned down but do not say how far; empty without any.

    Not something missing: the file's meaning of an absent least output is 0.
    """
    named = [i for i in items if turns_down(context, i) and "min_output" not in context.plant.items[i].props]
    if not named:
        return ""
    return f" {', '.join(named)}: no props.min_output is given, which counts as 0: it follows any call."


def _least(context: Context, group: Sequence[str], demands: Sequence[Asked]) -> Iterator[Sized]:
    """The smallest call against the least output of one heater; heaters that run together share it."""
    asking = [demand for demand in demands if demand.heat > LEAST]
    smallest = min(asking, key=lambda d: d.heat / len(giving(d, group)))
    together = giving(smallest, group)
    at = together[0]
    least = least_of(context, smallest, at, "P_l")
    asked = asked_working(context, smallest, group)
    how = "solved: duty_w of each"
    running = Working("r", "heaters that give heat then", float(len(together)), how=how, origin="solved")
    each = derived("q", "for each of them", "power", "Q / r", asked, running, source=SOURCE)
    words = f"{at}: the smallest call, {smallest.name}, asks {asked.shown(context.display)}"
    if len(together) > 1:
        words += f", {each.shown(context.display)} of each of {len(together)} that run"
    value = float(each.value)
    working = each
    if float(least.value) <= value:
        words += f"; the least output, {least.shown(context.display)}, follows it."
    else:
        working = derived("s", "share of the time it fires then", "", "q / P_l", each, least, source=SOURCE)
        words += (
            f"; it cannot give less than {least.shown(context.display)}, so it starts and stops, running "
            f"{100 * float(working.value):.0f} % of the time: see the buffer volume."
        )
    yield Sized(
        at,
        "least_output",
        words + unsaid(context, together),
        value,
        "w",
        "power",
        smallest.name,
        working=working,
    )
