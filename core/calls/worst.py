"""The worst of all combinations, named: most heat at once, most short, most flow, most current."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from core.calls.rows import SAME, CallRow


@dataclass(frozen=True)
class Worst:
    """One extreme: what, at which id (empty: the whole plant), in which combination, its value in SI."""

    what: str
    words: str
    at: str
    case: str
    value: float
    unit: str
    dimension: str

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "what": self.what,
            "words": self.words,
            "at": self.at,
            "case": self.case,
            **({f"value_{self.unit}": self.value} if self.unit else {}),
        }


Measure = Callable[[CallRow], float]


def find_worst(rows: Sequence[CallRow]) -> tuple[Worst, ...]:
    """Every extreme that some combination reaches; on a tie the one with the fewest calls."""
    return tuple(_all(rows)) if rows else ()


def _all(rows: Sequence[CallRow]) -> Iterator[Worst]:
    first = rows[0]
    yield from _peak(rows, "heat", "most heat at once", "", lambda r: r.heat)
    yield from _peak(rows, "wanted", "most heat wanted at once", "", lambda r: r.wanted)
    yield from _peak(rows, "short", "shortest of heat", "", lambda r: r.short)
    yield from _peak(rows, "power", "most electric power of circulators", "", lambda r: r.power)
    for key in first.circuits:
        yield from _peak(rows, "circuit_short", "shortest of heat", key, partial(_circuit_short, key))
    for key in first.sources:
        yield from _peak(rows, "source_load", "gives most", key, partial(_source_load, key))
    for key in first.exchangers:
        yield from _peak(rows, "exchanger_load", "transfers most", key, partial(_exchanger_load, key))
    for key in first.circulators:
        yield from _peak(rows, "circulator_flow", "moves most", key, partial(_flow, key), "m3_s", "flow")
    for place, outlet in enumerate(first.outlets):
        yield from _peak(
            rows, "outlet_current", "carries most", outlet.at, partial(_amps, place), "a", "current"
        )
    for row in rows:
        if not row.solution.converged:
            yield Worst("not_settled", "not solved", "", row.name, 1.0, "", "")


def _circuit_short(key: str, row: CallRow) -> float:
    return row.circuits[key].short if row.circuits[key].is_short else 0.0


def _source_load(key: str, row: CallRow) -> float:
    return row.sources[key].duty


def _exchanger_load(key: str, row: CallRow) -> float:
    return row.exchangers[key].duty


def _flow(key: str, row: CallRow) -> float:
    return row.circulators[key].flow


def _amps(place: int, row: CallRow) -> float:
    return float(row.outlets[place].amps.value)


def _peak(
    rows: Sequence[CallRow],
    what: str,
    words: str,
    at: str,
    measure: Measure,
    unit: str = "w",
    dimension: str = "power",
) -> Iterator[Worst]:
    """The largest value above zero; of rows that come within the solver's own error, the first."""
    values = [measure(row) for row in rows]
    largest = max(values)
    if largest > 0.0:
        place = next(k for k, value in enumerate(values) if value >= largest * (1.0 - SAME))
        yield Worst(what, words, at, rows[place].name, values[place], unit, dimension)
