"""Exchangers in solved cases: how heat passes, what is wanted of the circuits behind, what lacks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.calls.combinations import all_calls
from core.figures import EmitterFigures, ExchangerFigures
from core.plant.model import Case, PortRef
from core.sizing.bodies import body_at, items_in
from core.sizing.context import ZERO, Context, MissingInput
from core.sizing.families.heaters import combinations_of
from core.solve import Solution
from core.vocabulary import Trait

SHORT = 0.005  # share of what is wanted below which nothing counts as short
LEAST_DUTY = 10.0  # [W]
COARSE = 200.0  # [W] within which two cases want the same


@dataclass(frozen=True)
class Passing:
    """An exchanger in one solved case: ports where hot and cold water come in and go out."""

    item: str
    of: Case
    solution: Solution
    hot: tuple[PortRef, PortRef]
    cold: tuple[PortRef, PortRef]
    counter: bool

    @property
    def case(self) -> str:
        return self.of.name

    @property
    def figures(self) -> ExchangerFigures:
        return self.solution.role(self.item, ExchangerFigures)


def passing_in(context: Context, item: str, case: Case, solution: Solution) -> Passing | None:
    """How an exchanger passes heat in a case; None where it passes none."""
    figures = solution.at(item, ExchangerFigures)
    if figures is None or figures.duty_w < LEAST_DUTY:
        return None
    ways = {}
    for side, flow in (("a", figures.a_flow_m3_s), ("b", figures.b_flow_m3_s)):
        ends = (PortRef(item, f"{side}_in"), PortRef(item, f"{side}_out"))
        ways[side] = ends if flow >= 0.0 else ends[::-1]
    warm = {side: temperature(context, solution, ways[side][0]) for side in ways}
    if None in warm.values():
        return None
    hot, cold = ("a", "b") if (warm["a"] or 0.0) >= (warm["b"] or 0.0) else ("b", "a")
    named = context.plant.items[item].si.get("arrangement") or "counter"
    same = (ways["a"][0].port == "a_in") == (ways["b"][0].port == "b_in")
    counter = same if named == "counter" else not same
    return Passing(item, case, solution, ways[hot], ways[cold], counter)


def temperature(context: Context, solution: Solution, port: PortRef) -> float | None:
    """Solved temperature at a port, [K]; None where nothing is piped to it."""
    found = temperature_key(context, port)
    if found is None:
        return None
    t = solution.value(*found)
    return None if t is None else t + ZERO


def temperature_key(context: Context, port: PortRef) -> tuple[str, str] | None:
    """Pipe and key of the solved temperature at a port."""
    for pipe in context.plant.pipes_at.get(port, ()):
        starts = context.plant.pipes[pipe].start == port
        return pipe, "temperature_in_c" if starts else "temperature_out_c"
    return None


def everywhere(context: Context, item: str) -> list[Passing]:
    """The cases and combinations of calls in which heat passes, the one that wants most first.

    Raises
    ------
    MissingInput
        Where heat passes in none
    """
    found = [
        one
        for case, solution in (*context.converged(), *_combined(context))
        if (one := passing_in(context, item, case, solution)) is not None
    ]
    if not found:
        raise MissingInput(f"{item}: passes no heat in any case, so nothing says what it must do")
    # Coarse, so that of cases that want the same the plant's own, which come first, are named.
    return sorted(found, key=lambda one: (-_coarse(_heat(context, one)), -_coarse(short(context, one))))


def _heat(context: Context, passing: Passing) -> float:
    return max(wanted(context, passing), passing.figures.duty_w)


def _coarse(watts: float) -> int:
    return round(watts / COARSE)


def _combined(context: Context) -> Iterator[tuple[Case, Solution]]:
    """Combinations of calls that came to rest, each as a case of its own."""
    solutions = {solution.case: solution for solution in combinations_of(context) if solution.converged}
    if solutions:
        for case in all_calls(context.plant):
            if case.name in solutions:
                yield case, solutions[case.name]


def emitters(context: Context, passing: Passing) -> list[str]:
    """Circuits on the cold side."""
    body = body_at(context, passing.item, passing.cold[0].port)
    return items_in(context, body, Trait.GIVES_HEAT) if body is not None else []


def called(context: Context, passing: Passing) -> Iterator[EmitterFigures]:
    """Figures of the circuits on the cold side through which water flows; the others are not asked."""
    for item in emitters(context, passing):
        figures = passing.solution.at(item, EmitterFigures)
        if figures is not None and abs(figures.flow_m3_s) > 0.0:
            yield figures


def wanted(context: Context, passing: Passing) -> float:
    """Heat wanted of the circuits on the cold side, [W]; 0 where none says."""
    return sum(figures.wanted_w for figures in called(context, passing))


def short(context: Context, passing: Passing) -> float:
    """Heat that they lack together, [W]."""
    return sum(figures.short_w for figures in called(context, passing))


def gap(context: Context, passing: Passing) -> float:
    """Greatest share of what is wanted that a circuit on the cold side lacks; below 0 where all have more."""
    gaps = [
        1.0 - figures.delivered_w / figures.wanted_w
        for figures in called(context, passing)
        if figures.wanted_w > LEAST_DUTY
    ]
    return max(gaps, default=-1.0)
