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
