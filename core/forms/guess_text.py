"""Guesses in a field: `~6 ft ± 30 %`, or `~120 °F ± 5 °F` for a temperature. No Qt."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from core.errors import Refusal
from core.units import parse_number
from core.vocabulary import spellings
from core.vocabulary.guesses import Guess, GuessedNumber

SIGN = "~"
_WHOLE = re.compile(r"~\s*(.+?)\s*(?:±|\+-|\+/-)\s*(.+)")
_SHARE = re.compile(r"(.+?)\s*(?:%|percent)")


def guess_shown(raw: Any) -> str:
    """A guess as its field shows it; empty for anything else."""
    if not isinstance(raw, (Guess, GuessedNumber)):
        return ""
    value = str(raw) if isinstance(raw, Guess) else f"{raw.typed:g}"
    within = raw.within if isinstance(raw.within, str) else f"{100 * raw.within:g} %"
    return spellings.readable(f"{SIGN}{value} ± {within}")


def guess_or(text: str, plain: Callable[[str], Any]) -> Any:
    """A guess where the text begins with ~, else what `plain` reads from it.

    Raises
    ------
    Refusal
        A guess that does not say how far off it may be
    """
    if not text.startswith(SIGN):
        return plain(text)
    whole = _WHOLE.fullmatch(text)
    if whole is None:
        raise Refusal("", f'"{text}"', 'a guess with how far off it may be, such as "~6 ft ± 30 %"')
    value, off = plain(whole[1]), whole[2]
    share = _SHARE.fullmatch(off)
    within = parse_number(share[1]) / 100.0 if share else spellings.quantity(off, "temperature_difference")
    return Guess(value, within) if isinstance(value, str) else GuessedNumber(value, within)
