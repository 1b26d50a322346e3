"""Expressions of signals in words, such as `AQ-1 or (TH-2 and not SW-1)`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

ALWAYS, NEVER = "always", "never"


def said(expression: Any, inside: bool = False) -> str:
    """A run_when, powered_by or switched_by in words; `inside` another one it gets its brackets.

    Examples
    --------
    >>> said({"any": ["AQ-1", {"all": ["TH-1", {"not": "SW-2"}]}]})
    'AQ-1 or (TH-1 and not SW-2)'
    >>> said(None), said(False), said("SW-1")
    ('always', 'never', 'SW-1')
    """
    if expression is None or expression is True:
        return ALWAYS
    if expression is False:
        return NEVER
    if isinstance(expression, str):
        return expression
    if isinstance(expression, (list, tuple)):
        return said({"any": list(expression)}, inside)
    (word, part), *_ = expression.items()
    if word == "not":
        return f"not {said(part, True)}"
    parts = list(part) if isinstance(part, (list, tuple)) else [part]
    if not parts:
        return NEVER if word == "any" else ALWAYS
    joined = (" or " if word == "any" else " and ").join(said(each, True) for each in parts)
    return f"({joined})" if inside and len(parts) > 1 else joined


def plain(expression: Any, word: str = "any") -> tuple[str, ...] | None:
    """The names of an expression that is a name, or any (or all) of names; None where it is anything else.

    Examples
    --------
    >>> plain({"any": ["A", "B"]}), plain("A"), plain({"not": "A"}), plain(False), plain(None)
    (('A', 'B'), ('A',), None, (), None)
    """
    if expression is False and word == "any":
        return ()
    if isinstance(expression, str):
        return (expression,)
    parts: Any = expression
    if isinstance(expression, Mapping):
        (found, parts), *_ = expression.items()
        if found != word or isinstance(parts, str):
            return None
    if isinstance(parts, (list, tuple)) and all(isinstance(part, str) for part in parts):
        return tuple(parts)
    return None


Part = tuple[str, bool]
"""A signal's name, and whether it counts where it is off (`not`)."""


def ticked(expression: Any) -> tuple[str, tuple[Part, ...]] | None:
    """An expression as ticks: "any" or "all", and signals with their `not`; None where it is more than that.

    Examples
    --------
    >>> ticked({"all": ["A", {"not": "B"}]}), ticked("A"), ticked(False)
    (('all', (('A', False), ('B', True))), ('any', (('A', False),)), ('any', ()))
    >>> ticked({"any": [{"all": ["A", "B"]}]}), ticked(None)
    (None, ('any', ()))
    """
    if expression in (None, True, False):
        return "any", ()
    word, parts = "any", [expression]
    if isinstance(expression, Mapping) and "not" not in expression:
        (word, inner), *_ = expression.items()
        parts = list(inner) if isinstance(inner, (list, tuple)) else [inner]
    elif isinstance(expression, (list, tuple)):
        parts = list(expression)
    found: list[Part] = []
    for part in parts:
        if isinstance(part, str):
            found.append((part, False))
        elif isinstance(part, Mapping) and isinstance(part.get("not"), str):
            found.append((part["not"], True))
        else:
            return None
    return word, tuple(found)


def of_ticks(word: str, parts: tuple[Part, ...]) -> Any:
    """The expression of ticks; None of no ticks.

    Examples
    --------
    >>> of_ticks("any", (("A", False), ("B", True))), of_ticks("all", (("A", False),)), of_ticks("any", ())
    ({'any': ['A', {'not': 'B'}]}, 'A', None)
    """
    values = [{"not": name} if negated else name for name, negated in parts]
    if len(values) > 1:
        return {word: values}
    return values[0] if values else None
