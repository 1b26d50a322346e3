"""Expressions of signals (run_when, powered_by, switched_by): whether they hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def holds(expression: Any, on: Mapping[str, bool]) -> bool:
    """Whether a run_when or powered_by holds.

    Parameters
    ----------
    expression : None, bool, str, list or mapping
        Absent (true), true or false, a signal's name, names taken as any-of, or any / all / not of these
    on : mapping
        State of each signal; a name that is no signal counts as off

    Examples
    --------
    >>> holds({"all": ["TH-1", {"not": "AQ-1"}]}, {"TH-1": True, "AQ-1": False})
    True
    """
    if expression is None:
        return True
    if isinstance(expression, bool):
        return expression
    if isinstance(expression, str):
        return on.get(expression, False)
    if isinstance(expression, (list, tuple)):
        return any(holds(part, on) for part in expression)
    (word, part), *_ = expression.items()
    if word == "not":
        return not holds(part, on)
    parts = part if isinstance(part, (list, tuple)) else [part]
    return all(holds(p, on) for p in parts) if word == "all" else any(holds(p, on) for p in parts)


def share(expression: Any, on: Mapping[str, bool], shares: Mapping[str, float]) -> float:
    """Share of the time a run_when or powered_by holds, where some of its signals cycle together.

    Parameters
    ----------
    expression, on
        As of `holds`
    shares : mapping
        Share of the time of each signal that cycles, 0..1

    Returns
    -------
    float
        Of any the greatest share, of all the least, of not what is left of 1

    Examples
    --------
    >>> share({"any": ["AQ-1", "AQ-2"]}, {"AQ-1": True, "AQ-2": False}, {"AQ-1": 0.4})
    0.4
    """
    if isinstance(expression, str):
        return shares.get(expression, float(on.get(expression, False)))
    if isinstance(expression, (list, tuple)):
        return max((share(part, on, shares) for part in expression), default=0.0)
    if expression is None or isinstance(expression, bool):
        return float(holds(expression, on))
    (word, part), *_ = expression.items()
    if word == "not":
        return 1.0 - share(part, on, shares)
    parts = [share(p, on, shares) for p in (part if isinstance(part, (list, tuple)) else [part])]
    return min(parts, default=1.0) if word == "all" else max(parts, default=0.0)


def runs(si: Mapping[str, Any], on: Mapping[str, bool]) -> bool:
    """Whether an item's run_when and powered_by both hold."""
    return holds(si.get("run_when"), on) and holds(si.get("powered_by"), on)
