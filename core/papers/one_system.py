"""Standing words of rules and sources in the units of the paper: no gpm in an SI report, no kPa in a US one.

Figures of the plant are in its units already. What a rule, a caution or a source says in words may name
another system, or both: `51 °C (124 °F)`. Of both the paper's own stays; of the other alone the figure is
converted and rounded as it was. Words of the user stay as typed. Trade sizes of tube stay, they are names.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

from core.papers.blocks import BAND, Blank, Block, Caution, Grid, Heading, Said, Together
from core.plant.model import Plant
from core.working import Display


class _Pair(NamedTuple):
    """A US unit as it may be written, its SI partner, and SI = US x factor."""

    us: tuple[str, ...]
    si: tuple[str, ...]
    factor: float


# Factors exact or from the definitions of the units (NIST SP 811, from memory).
PAIRS: tuple[_Pair, ...] = (
    _Pair(("Btu/h per ft³/h and °F",), ("W per m³/h and K",), 18.6298),
    _Pair(("Btu/h/ft²", "Btu/h/ft2"), ("W/m²", "W/m2"), 3.154591),
    _Pair(("Btu/h/°F",), ("W/K",), 0.5275279),
    _Pair(("Btu/h a foot",), ("W a meter",), 0.9615),
    _Pair(("kBtu/h",), ("kW",), 0.29307107),
    _Pair(("Btu/h",), (), 0.29307107),
    _Pair(("gpm",), ("L/s",), 0.0630902),
    _Pair(("psi",), ("kPa",), 6.894757),
    _Pair(("ft/s",), ("m/s",), 0.3048),
    _Pair(("ft²", "ft2"), ("m²", "m2"), 0.09290304),
    _Pair(("ft",), ("m",), 0.3048),
    _Pair(("gal",), ("L",), 3.785412),
    _Pair(("lb/h",), ("kg/h",), 0.45359237),
    _Pair(("therm",), (), 29.3071),
)
TO_WATTS = {"Btu/h": "W", "therm": "kWh"}
DEGREES_US, DEGREES_SI = ("°F", "degF"), ("°C", "degC")
DIFFERENCE = re.compile(
    r"^ ?(?:below|above|warmer|colder|cooler|a day|over the|drop|difference|band|approach)|^ ?steps"
)
_NUMBER = r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?"
_NUMBERS = rf"{_NUMBER}(?:(?:, | ?(?:to|and|or|–|-) ?){_NUMBER})*"
DEGREE_WORD = re.compile(r"(?<=\d) deg([CF])\b")  # as a file says it
HEAD_LOSS = re.compile(r"ft of head per (100 |·)?ft, or m per (?:100 |·)?m\b")


def in_one_system(blocks: Sequence[Block], plant: Plant, display: Display) -> tuple[Block, ...]:
    """Blocks with every standing figure in one system of units; the plant's own words stay as they are."""
    keep = sorted(
        {word for word in _own_words(plant) if _foreign(display).search(word)}, key=len, reverse=True
    )
    parts = re.compile("(" + "|".join(map(re.escape, keep)) + ")") if keep else None

    def said(text: str) -> str:
        if parts is None:
            return in_system(text, display)
        return "".join(
            piece if place % 2 else in_system(piece, display) for place, piece in enumerate(parts.split(text))
        )

    return tuple(_block(block, said) for block in blocks)


def in_system(text: str, display: Display) -> str:
    """A text in the units of one system.

    Examples
    --------
    >>> in_system("returns below 51 °C (124 °F), or 2 ft/s", "si")
    'returns below 51 °C, or 0.61 m/s'
    >>> in_system("3 to 5 psi (20 to 35 kPa) at the top; 5 °F below", "si")
    '20 to 35 kPa at the top; 2.8 K below'
    >>> in_system("returns below 51 °C (124 °F)", "us")
    'returns below 124 °F'
    """
    text = DEGREE_WORD.sub(r" °\1", text)
    if not _foreign(display).search(text):
        return text
    text = HEAD_LOSS.sub(lambda m: f"{'m' if display == 'si' else 'ft'} of head per {m[1] or ''}"
                         f"{'m' if display == 'si' else 'ft'}", text)  # fmt: skip
    text = _both(display).sub(_own, text)
    return _foreign(display).sub(lambda m: _converted(m, display), text)


def _own(found: re.Match[str]) -> str:
    return next(part for part in found.groups() if part)


@lru_cache
def _signs(system: str) -> str:
    """The units of a system as alternatives, the longest first."""
    degrees = DEGREES_US if system == "us" else DEGREES_SI
    signs = [sign for pair in PAIRS for sign in (pair.us if system == "us" else pair.si)]
    return "|".join(re.escape(sign) for sign in sorted((*signs, *degrees), key=len, reverse=True))


@lru_cache
def _foreign(display: Display) -> re.Pattern[str]:
    """Figures in units of the other system."""
    other = "si" if display == "us" else "us"
    return re.compile(rf"(?<![\w.,/]){_figures()} ?(?P<unit>{_signs(other)})(?![\w/²³])")


def _figures() -> str:
    return rf"(?P<numbers>[-−]?{_NUMBERS}|·)"


@lru_cache
def _both(display: Display) -> re.Pattern[str]:
    """A figure in both systems, one behind the other: `51 °C (124 °F)` or `2 ft/s, 0.6 m/s`."""
    own, other = _signs(display), _signs("si" if display == "us" else "us")
    ours = rf"[-−]?{_NUMBERS} ?(?:{own})(?![\w/²³])"
    theirs = rf"[-−]?{_NUMBERS} ?(?:{other})(?![\w/²³])"
    return re.compile(
        rf"(?<![\w.,])(?:{theirs} \((?P<a>{ours})\)|(?P<b>{ours}) \({theirs}\)"
        rf"|{theirs}, (?P<c>{ours})|(?P<d>{ours}), {theirs})"
    )


def _converted(found: re.Match[str], display: Display) -> str:
    numbers, unit = found["numbers"], found["unit"]
    if numbers == "·":  # a figure that stands for many
        return f"· {_partner(unit, display)[0]}"
    if unit in (*DEGREES_US, *DEGREES_SI):
        difference = DIFFERENCE.match(found.string[found.end() :]) is not None
        return _degrees(numbers, display, difference)
    sign, factor = _partner(unit, display)
    return f"{_each(numbers, lambda value: value * factor)} {sign}"


def _degrees(numbers: str, display: Display, difference: bool) -> str:
    if difference:
        factor = 5.0 / 9.0 if display == "si" else 1.8
        return f"{_each(numbers, lambda value: value * factor)} {'K' if display == 'si' else '°F'}"
    if display == "si":
        return f"{_each(numbers, lambda value: (value - 32.0) / 1.8, whole=True)} °C"
    return f"{_each(numbers, lambda value: value * 1.8 + 32.0, whole=True)} °F"


def _partner(unit: str, display: Display) -> tuple[str, float]:
    """The unit of the paper for one of the other system, and the factor to it."""
    for pair in PAIRS:
        if display == "si" and unit in pair.us:
            return (pair.si[0] if pair.si else TO_WATTS[unit]), pair.factor
        if display == "us" and unit in pair.si:
            return pair.us[0], 1.0 / pair.factor
    return ("°C" if display == "si" else "°F"), 1.0


def _each(numbers: str, change: Callable[[float], float], whole: bool = False) -> str:
    """Every number of a list changed, with about as many figures as it had."""

    def one(match: re.Match[str]) -> str:
        value = change(float(match[0].replace(",", "")))
        if whole:
            return f"{value:.0f}"
        figures = max(2, len(match[0].replace(",", "").replace(".", "").strip("0")))
        return f"{float(f'{value:.{min(figures, 3)}g}'):,.10g}"

    sign = -1 if numbers[:1] in "-−" and not numbers[:1].isdigit() else 1
    if sign < 0:
        value = change(-float(re.match(_NUMBER, numbers[1:])[0].replace(",", "")))  # type: ignore[index]
        return f"{value:.0f}" if whole else f"{value:.3g}"
    return re.sub(_NUMBER, one, numbers)


def _own_words(plant: Plant) -> Iterator[str]:
    """Free words of the user: names, labels, notes, reasons."""
    yield plant.title
    yield from (case.name for case in plant.solve_cases)
    yield from (word for item in plant.items.values() for word in (item.label, item.note))
    yield from (str(text.get("text", "")) for text in plant.texts)
    for entry in plant.logbook:
        yield from _strings(entry)
    for accepted in plant.accepted:
        yield from _strings(accepted)


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif is_dataclass(value):
        for each in fields(value):
            yield from _strings(getattr(value, each.name))
    elif isinstance(value, dict):
        for part in value.values():
            yield from _strings(part)
    elif isinstance(value, (list, tuple)):
        for part in value:
            yield from _strings(part)


def _block(block: Block, said: Callable[[str], str]) -> Block:
    if isinstance(block, Grid):
        rows = tuple(tuple(BAND.join(map(said, cell.split(BAND))) for cell in row) for row in block.rows)
        return replace(block, title=said(block.title), heads=tuple(map(said, block.heads)), rows=rows)
    if isinstance(block, Together):
        return Together(tuple(_block(each, said) for each in block.blocks))
    if isinstance(block, (Heading, Said, Caution, Blank)):
        return replace(block, text=said(block.text))
    return block
