"""How many heaters: the heat asked of them at the calls that coincide, and the least they can give.

The heat asked is what the sources give in a solved case and what they are short of; every case counts, and
every combination of calls as long as there are not too many of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from core.calls.combinations import all_calls, calls_of, solve_calls
from core.sizing.bodies import Body, bodies, capacity_of, sources_in
from core.sizing.context import Context, Lacking, symbol_of
from core.sizing.result import Option, Sized
from core.solve import Solution
from core.working import Working, derived

SOURCE = "heat balance: what is asked of the sources over what one of them gives"
MOST_COMBINATIONS = 64  # beyond it only the plant's own cases count
EMITTERS = ("floor_circuit", "melt_circuit", "radiator", "fan_coil", "load")
LEAST = 50.0  # [W] below it nothing is asked
SPARE = 1e-4  # share by which a demand may pass a capacity
CAUTIONS = (
    "Gas, flue, combustion air and electric supply of a heater are for licensed trades and the local code.",
)


@dataclass(frozen=True)
class Asked:
    """Heat asked of a group of sources in one case or combination of calls, [W]."""

    name: str
    heat: float
    solution: Solution
    is_case: bool


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
    found = [Asked(case.name, _asked(solution, group), solution, True) for case, solution in context.sound()]
    found += [
        Asked(solution.case, _asked(solution, group), solution, False)
        for solution in combinations_of(context)
        if solution.converged
    ]
    return found


def combinations_of(context: Context) -> list[Solution]:
    """Solutions of all combinations of calls; none where there are none or too many."""

    def make() -> list[Solution]:
        if not calls_of(context.plant) or len(all_calls(context.plant)) > MOST_COMBINATIONS:
            return []
        return solve_calls(context.plant, keep_on=context.keep_on)

    return context.once("combinations", make)


def _asked(solution: Solution, group: Sequence[str]) -> float:
    figures = [solution.items.get(item, {}) for item in group]
    return sum(float(f.get("duty_w", 0.0)) + float(f.get("short_w", 0.0)) for f in figures)


def asked_working(context: Context, asked: Asked, group: Sequence[str]) -> Working:
    """Heat asked of a group, from what each gives and is short of, [W]."""
    parts = []
    for item in group:
        figures = asked.solution.items.get(item, {})
        for key, letter, words in (("duty_w", "Q", "heat given"), ("short_w", "S", "heat short")):
            if float(figures.get(key, 0.0)) > 0.0:
                parts.append(
                    Working(
                        symbol_of(letter, item),
                        f"{words} by {item} in {asked.name}" if letter == "Q" else f"{words} at {item}",
                        float(figures[key]),
                        "power",
                        how=f"solved: {item} {key}",
                        origin="solved",
                    )
                )
    return derived(
        "Q",
        f"heat asked in {asked.name}",
        "power",
        " + ".join(part.symbol for part in parts) or "0",
        *parts,
        source=SOURCE,
    )


def units_needed(asked: Working, capacity: Working) -> Working:
    """Heaters' worth of heat, [-]; the next whole number is how many."""
    return derived("n", "heaters' worth of heat asked", "", "Q / P", asked, capacity, source=SOURCE)


def _sized(context: Context, body: Body, group: tuple[str, ...], at: str) -> list[Sized]:
    missing = [f"{item}: its capacity is not given" for item in group if capacity_of(context, item) is None]
    known = [item for item in group if capacity_of(context, item) is not None]
    if not known:
        raise Lacking(*missing)
    demands = demands_of(context, group)
    most = max(demands, key=lambda d: d.heat, default=None)
    if most is None or most.heat < LEAST:
        raise Lacking(f"{at}: no case asks any heat of it")
    asked = asked_working(context, most, group)
    sizes = sorted((float(_capacity(context, item).value) for item in known), reverse=True)
    largest = max(known, key=lambda item: float(_capacity(context, item).value))
    ratio = units_needed(asked, _capacity(context, largest, "P"))
    number = _count(most.heat, sizes)
    show = context.shown
    each = ratio.inputs[1].shown(context.display)
    names = ", ".join(group)
    words = f"{names}: {asked.shown(context.display)} asked in {most.name} need {number} of {each}; "
    words += f"{len(group)} {'are' if len(group) > 1 else 'is'} drawn"
    spare = sum(sizes) - most.heat
    words += f", {show(abs(spare), 'power')} {'to spare' if spare >= 0 else 'too little'}."
    words += _diversity(context, demands, most)
    options = tuple(_options(context, demands, sizes))
    chosen = "" if number == len(group) else next((o.name for o in options if o.serves), "")
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
    )
    return [first, *_least(context, group, demands)]


def _capacity(context: Context, item: str, symbol: str = "") -> Working:
    found = capacity_of(context, item, symbol)
    assert found is not None
    return found


def _count(heat: float, sizes: Sequence[float]) -> int:
    """Fewest units, the largest first, that give a heat; further ones count as the largest."""
    total, number = 0.0, 0
    while total < heat * (1.0 - SPARE):
        total += sizes[number] if number < len(sizes) else sizes[0]
        number += 1
        if sizes[0] <= 0.0:
            raise Lacking("a heater of no capacity gives no heat")
    return max(number, 1)


def _diversity(context: Context, demands: Sequence[Asked], most: Asked) -> str:
    """What all circuits and tanks would ask if they did so together, beside what coincides."""
    items = context.plant.items
    greatest: dict[str, float] = {}
    for demand in demands:
        for name, figures in demand.solution.items.items():
            kind = items[name].kind
            if kind in EMITTERS and abs(float(figures.get("flow_m3_s", 0.0))) > 0.0:
                greatest[name] = max(greatest.get(name, 0.0), float(figures.get("wanted_w", 0.0)))
            elif kind in ("tank", "coil_tank"):
                greatest[name] = max(greatest.get(name, 0.0), float(figures.get("duty_w", 0.0)))
    total = sum(greatest.values())
    if total <= most.heat * 1.02 or total <= LEAST:
        return ""
    share = f"{100 * most.heat / total:.0f} %"
    asked = context.shown(total, "power")
    return f" All circuits and tanks at their most would ask {asked}; {share} coincide in what was solved."


def _options(context: Context, demands: Sequence[Asked], sizes: Sequence[float]) -> Iterator[Option]:
    """One heater, two, up to one more than drawn."""
    most = max(demand.heat for demand in demands)
    for number in range(1, len(sizes) + 2):
        capacity = sum(sizes[:number]) + sizes[0] * max(0, number - len(sizes))
        over = [d for d in demands if d.heat > capacity * (1.0 + SPARE)]
        hours = sum(context.case(d.name).hours_per_year or 0.0 for d in over if d.is_case)
        verdict = "carries every case and call" if not over else f"short in {over[0].name}"
        if len(over) > 1:
            verdict += f" and {len(over) - 1} more"
        if hours:
            verdict += f", {hours:.0f} hours a year"
        yield Option(
            f"{number} heater{'s' if number > 1 else ''}",
            {"capacity_w": capacity, "spare_w": capacity - most, "short_h": hours},
            not over,
            verdict,
        )


def _least(context: Context, group: Sequence[str], demands: Sequence[Asked]) -> Iterator[Sized]:
    """The smallest call against the least output of one heater; heaters that run together share it."""
    asking = [demand for demand in demands if demand.heat > LEAST]
    smallest = min(asking, key=lambda d: d.heat / _running(d, group))
    together = _running(smallest, group)
    at = min(group, key=lambda item: float(context.plant.items[item].si.get("min_output") or 0.0))
    least = context.prop("P_l", f"least output of {at}", at, "min_output")
    asked = asked_working(context, smallest, group)
    running = Working("r", "heaters that run then", float(together), how="solved: running", origin="solved")
    each = derived("q", "for each of them", "power", "Q / r", asked, running, source=SOURCE)
    words = f"{at}: the smallest call, {smallest.name}, asks {asked.shown(context.display)}"
    words += f", {each.shown(context.display)} of each of {together} that run; " if together > 1 else "; "
    value = float(each.value)
    missing: tuple[str, ...] = ()
    working = each
    if least is None or float(least.value) <= 0.0:
        missing = (f"{at}: props.min_output is not given",)
        words += "its least output is not given."
    elif float(least.value) <= value:
        words += f"the least output, {least.shown(context.display)}, follows it."
    else:
        working = derived("s", "share of the time it fires then", "", "q / P_l", each, least, source=SOURCE)
        words += (
            f"it cannot give less than {least.shown(context.display)}, so it starts and stops, firing "
            f"{100 * float(working.value):.0f} % of the time: see the buffer volume."
        )
    yield Sized(
        at, "least_output", words, value, "w", "power", smallest.name, working=working, missing=missing
    )


def _running(asked: Asked, group: Sequence[str]) -> int:
    """How many of a group run in a case, at least one."""
    return max(1, sum(bool(asked.solution.items.get(item, {}).get("running")) for item in group))
