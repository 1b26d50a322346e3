"""Expressions of signals in words, and words as expressions, so that who runs what can be typed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from core.errors import Refusal

ALWAYS, NEVER = "always", "never"
_TOKENS = re.compile(r"\s*(any of|all of|not|always|never|[(),]|[A-Za-z0-9_.-]+)", re.IGNORECASE)


def said(expression: Any, inner: bool = False) -> str:
    """A run_when or powered_by in words.

    Examples
    --------
    >>> said({"any": ["AQ-1", {"all": ["TH-1", {"not": "SW-2"}]}]})
    'any of AQ-1, (all of TH-1, not SW-2)'
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
        return said({"any": list(expression)}, inner)
    (word, part), *_ = expression.items()
    if word == "not":
        return f"not {said(part, True)}"
    parts = list(part) if isinstance(part, (list, tuple)) else [part]
    if not parts:
        return NEVER if word == "any" else ALWAYS
    if len(parts) == 1:
        return said(parts[0], inner)
    words = f"{word} of {', '.join(said(each, True) for each in parts)}"
    return f"({words})" if inner else words


def expression(text: str) -> Any:
    """Words as `said` writes them as an expression; None for "always" or nothing.

    Raises
    ------
    Refusal
        Where the words cannot be read; its path is empty

    Examples
    --------
    >>> expression("any of AQ-1, (all of TH-1, not SW-2)")
    {'any': ['AQ-1', {'all': ['TH-1', {'not': 'SW-2'}]}]}
    >>> expression("TH-1, TH-2"), expression("never"), expression("")
    ({'any': ['TH-1', 'TH-2']}, False, None)
    """
    if not text.strip():
        return None
    tokens = list(_tokens(text))
    value, rest = _list(tokens, text)
    if rest:
        raise _unread(text, f"{rest[0]} comes where nothing is expected")
    return None if value is True else value


def _tokens(text: str) -> Iterator[str]:
    place = 0
    while place < len(text.rstrip()):
        found = _TOKENS.match(text, place)
        if found is None:
            raise _unread(text, f"{text[place:].strip()[:1]} is not part of it")
        word = found.group(1)
        yield word.lower() if word.lower() in ("any of", "all of", "not", ALWAYS, NEVER) else word
        place = found.end()


def _list(tokens: list[str], text: str) -> tuple[Any, list[str]]:
    """`any of a, b`, `all of a, b`, or names with commas between them: any of these."""
    word = "any"
    stated = bool(tokens) and tokens[0] in ("any of", "all of")
    if stated:
        word, tokens = tokens[0][:3], tokens[1:]
    parts = []
    while True:
        part, tokens = _one(tokens, text)
        parts.append(part)
        if not tokens or tokens[0] != ",":
            break
        tokens = tokens[1:]
    return (parts[0] if len(parts) == 1 else {word: parts}), tokens


def _one(tokens: list[str], text: str) -> tuple[Any, list[str]]:
    if not tokens or tokens[0] in (",", ")"):
        raise _unread(text, "a name is missing")
    first, rest = tokens[0], tokens[1:]
    if first == "not":
        part, rest = _one(rest, text)
        return {"not": part}, rest
    if first == "(":
        part, rest = _list(rest, text)
        if not rest or rest[0] != ")":
            raise _unread(text, "a closing bracket is missing")
        return part, rest[1:]
    if first in ("any of", "all of"):
        return _list(tokens, text)
    if first in (ALWAYS, NEVER):
        return first == ALWAYS, rest
    return first, rest


def _unread(text: str, why: str) -> Refusal:
    return Refusal("", f'"{text}"', "signals such as any of AQ-1, TH-1 or all of SW-1, not AQ-2", why)


def plain_any(expression: Any) -> tuple[str, ...] | None:
    """The names of an expression that is a name or any-of of names; None where it is anything else.

    Examples
    --------
    >>> plain_any({"any": ["A", "B"]}), plain_any("A"), plain_any({"not": "A"}), plain_any(False)
    (('A', 'B'), ('A',), None, ())
    """
    if expression is False:
        return ()
    if isinstance(expression, str):
        return (expression,)
    parts: Any = expression
    if isinstance(expression, Mapping):
        (word, parts), *_ = expression.items()
        if word != "any" or isinstance(parts, str):
            return None
    if isinstance(parts, (list, tuple)) and all(isinstance(part, str) for part in parts):
        return tuple(parts)
    return None
