"""The least UA with which no case lacks heat, found by solving the cases again with other sizes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from core.figures import EmitterFigures
from core.sizing.context import Context
from core.sizing.families.exchanger_cases import (
    LEAST_DUTY,
    SHORT,
    Passing,
    emitters,
    gap,
    passing_in,
    temperature,
    wanted,
)
from core.sizing.trial import solved_with

FAR = 64.0  # times the UA drawn: where that does not serve, nothing does
STEP = 8.0  # times the UA, by which a bracket below is looked for
STEPS = 4  # of them at most
ROUNDS = 16
NEAR = 0.01  # of the logarithm of UA: the answer lies this near above the least
ALIKE = 0.002  # of the share wanted, within which the case looked at first stays the one named
CLEARLY = 1.0  # [K] warmer than what serves elsewhere: then it is not solved again
SAME = 1e-3  # share within which wants and flows are the same
FLAT = 1e-6  # of the share wanted: no nearer to all of it than that


@dataclass(frozen=True)
class Least:
    """The least clean UA that serves, and where.

    Attributes
    ----------
    ua : float or None
        [W/K]; None where no size serves in any case
    asks : Passing
        The case that decides, as drawn
    found : Passing
        The same case with that UA
    beyond : tuple of str
        Cases in which circuits stay short whatever the size
    """

    ua: float | None
    asks: Passing
    found: Passing
    beyond: tuple[str, ...]


def least(context: Context, passings: Sequence[Passing], drawn: float) -> Least:
    """Least UA with which nothing behind an exchanger is short in any case.

    Parameters
    ----------
    context : Context
    passings : sequence of Passing
        As drawn, the one that wants most first
    drawn : float
        Clean UA of the one drawn, [W/K]
    """
    best: Least | None = None
    beyond = []
    for passing in _different(context, passings):
        if best is not None and best.ua is not None and _served(context, passing, best, best.ua, drawn):
            continue
        one = _least_in(context, passing, drawn)
        if one is None:
            beyond.append(passing.case)
        elif best is None or one[0] > (best.ua or 0.0):
            best = Least(one[0], passing, one[1], ())
    if best is None:
        return Least(None, passings[0], passings[0], tuple(beyond))
    return Least(best.ua, best.asks, best.found, tuple(beyond))


def _served(context: Context, passing: Passing, best: Least, ua: float, drawn: float) -> bool:
    """Whether the UA found so far serves another case too; solved again where that is not known beforehand.

    The more UA, the less lacks: what serves as drawn is served by more, what lacks as drawn by no less.
    """
    lack = gap(context, passing)
    if lack <= SHORT and (ua >= drawn or amply_served(context, passing, best.found, ua)):
        return True
    if lack > SHORT + ALIKE and ua <= drawn:
        return False
    again = tried(context, passing, ua)
    return again is not None and gap(context, again) <= SHORT + ALIKE


def amply_served(context: Context, passing: Passing, found: Passing, ua: float) -> bool:
    """Whether each circuit in a case is sure to get what it has as drawn, by what `found` shows with that UA.

    No circuit wants more than there, or has less flow; and the case's own heat passes through that UA, by the
    log-mean difference at its own flows, even into water clearly warmer than what serves them there.
    """
    if passing.of.set != found.of.set:
        return False
    for item in emitters(context, passing):
        one, there = (case.solution.at(item, EmitterFigures) for case in (passing, found))
        if one is None or abs(one.flow_m3_s) <= 0.0:
            continue
        if there is None or one.wanted_w > there.wanted_w * (1.0 + SAME):
            return False
        if abs(one.flow_m3_s) < abs(there.flow_m3_s) * (1.0 - SAME):
            return False
    ends = [temperature(context, passing.solution, port) for port in (*passing.hot, passing.cold[0])]
    served = temperature(context, found.solution, found.cold[1])
    if served is None or None in ends:
        return False
    hot_in, hot_out, cold_in = (t or 0.0 for t in ends)
    cold_out = served + CLEARLY
    first, last = (hot_in - cold_out, hot_out - cold_in)
    if not passing.counter:
        first, last = (hot_in - cold_in, hot_out - cold_out)
    if min(first, last) <= 0.0:
        return False
    # The root of the product is the least that the log-mean can be.
    clean = 1.0 - float(context.plant.items[passing.item].si.get("fouling") or 0.0)
    return passing.figures.duty_w <= ua * clean * math.sqrt(first * last)


def _different(context: Context, passings: Iterable[Passing]) -> Iterable[Passing]:
    """Those behind which something is wanted, each of the same figures once."""
    seen = set()
    for passing in passings:
        want = wanted(context, passing)
        warm = [
            temperature(context, passing.solution, ports[0]) or 0.0 for ports in (passing.hot, passing.cold)
        ]
        key = (round(want, -1), round(passing.figures.duty_w, -1), *(round(one, 1) for one in warm))
        if want > LEAST_DUTY and key not in seen:
            seen.add(key)
            yield passing


def _least_in(context: Context, passing: Passing, drawn: float) -> tuple[float, Passing] | None:
    """Least UA that serves in one case; None where none does.

    A bracket in steps, then a secant through the two points nearest to the answer, on the logarithm of UA,
    kept within the bracket. Points where the circuits have all they take say nothing of the slope.
    """
    smooth: list[tuple[float, float]] = []

    def lacks(log: float) -> tuple[float, Passing | None]:
        found = passing if log == start else tried(context, passing, math.exp(log))
        lack = 1.0 if found is None else gap(context, found) - SHORT
        if found is not None and abs(lack + SHORT) > FLAT:
            smooth.append((log, lack))
            smooth.sort(key=lambda point: abs(point[1]))
        return lack, found

    start = math.log(drawn)
    here, found = lacks(start)
    if here > 0.0:
        low, high = start, start + math.log(FAR)
        lack, enough = lacks(high)
        if lack > 0.0 or enough is None:
            return None
    else:
        low, high, enough = start, start, passing
        for _ in range(STEPS):
            low = high - math.log(STEP)
            lack, found = lacks(low)
            if lack > 0.0 or found is None:
                break
            high, enough = low, found
    wide = high - low
    for count in range(ROUNDS):
        if high - low < NEAR:
            break
        middle = _between(smooth, low, high)
        if count % 3 == 2:
            if high - low > 0.5 * wide:
                middle = 0.5 * (low + high)
            wide = high - low
        lack, found = lacks(middle)
        if found is not None and lack <= 0.0:
            high, enough = middle, found
        else:
            low = middle
    return math.exp(high), enough


def _between(smooth: Sequence[tuple[float, float]], low: float, high: float) -> float:
    """Where to look next within a bracket: just above what a straight line promises, then just below."""
    if len(smooth) < 2 or smooth[0][1] == smooth[1][1]:
        return 0.5 * (low + high)
    (x, y), (before, y_before) = smooth[:2]
    goal = x - y * (x - before) / (y - y_before)
    aside = NEAR / 3.0
    goal += aside if goal + aside < high else -aside
    return min(max(goal, low + aside), high - aside)


def tried(context: Context, passing: Passing, ua: float, fouling: float | None = None) -> Passing | None:
    """The same case with another UA; None where it then passes no heat or does not come to rest."""
    props: dict[str, object] = {"ua": f"{ua!r} W/K"}
    if fouling is not None:
        props["fouling"] = fouling
    found = context.plant.items[passing.item]
    if "rated" in found.props:
        props["rated"] = None
    solution = solved_with(context, passing.of, {passing.item: props}, f"{passing.item} {ua:.9g} {fouling}")
    return passing_in(context, passing.item, passing.of, solution) if solution.converged else None
