"""Shares of a whole among causes that act together: each cause removed in every order, and averaged.

The shares add up to the whole less what is left with all causes removed. Source: L. S. Shapley, A value for
n-person games, Contributions to the Theory of Games II (1953).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import permutations
from typing import NamedTuple

MOST = 5  # causes averaged over every order

Left = Callable[[frozenset[str]], tuple[float, ...]]
"""What is left of the whole with some causes removed: one or more figures."""


class Share(NamedTuple):
    """What a cause takes of each figure: the mean over all orders, the least and the greatest."""

    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


def shares(causes: Sequence[str], left: Left) -> dict[str, Share]:
    """Share of every cause.

    Parameters
    ----------
    causes : sequence of str
        At most five, each once
    left : callable
        Asked once for each set of causes that is needed

    Examples
    --------
    >>> whole = {(): 10.0, ("a",): 4.0, ("b",): 7.0, ("a", "b"): 0.0}
    >>> found = shares(["a", "b"], lambda gone: (whole[tuple(sorted(gone))],))
    >>> found["a"].mean, found["a"].low, found["b"].mean
    ((6.5,), (6.0,), (3.5,))
    """
    known: dict[frozenset[str], tuple[float, ...]] = {}

    def of(gone: frozenset[str]) -> tuple[float, ...]:
        if gone not in known:
            known[gone] = left(gone)
        return known[gone]

    steps: dict[str, list[tuple[float, ...]]] = {cause: [] for cause in causes}
    for order in permutations(causes):
        gone: frozenset[str] = frozenset()
        for cause in order:
            after = gone | {cause}
            pairs = zip(of(gone), of(after), strict=True)
            steps[cause].append(tuple(one - other for one, other in pairs))
            gone = after
    return {cause: _share(found) for cause, found in steps.items()}


def _share(found: Sequence[tuple[float, ...]]) -> Share:
    columns = list(zip(*found, strict=True))
    return Share(
        tuple(sum(c) / len(c) for c in columns),
        tuple(min(c) for c in columns),
        tuple(max(c) for c in columns),
    )
