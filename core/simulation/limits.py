"""Whether a run keeps within its limits, and which settings of a sweep do not go together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

MINUTE = 60.0


class Broken(NamedTuple):
    """A limit that a run does not keep: where, and in words."""

    limit: str
    at: str
    by: float
    words: str


def broken_limits(summary: Mapping[str, Any], limits: Mapping[str, float]) -> list[Broken]:
    """Limits that a run does not keep, the worst place of each.

    Parameters
    ----------
    summary : mapping
        As `wetside simulate --json`
    limits : mapping
        longest_call, shortest_run, wait [s]; starts_per_hour; room_short [K h]; tap_short [K min]
    """
    found = []
    for name, limit in limits.items():
        rows = list(_rows(summary, name))
        if not rows:
            continue
        sign = -1.0 if name == "shortest_run" else 1.0
        at, value = max(rows, key=lambda row: sign * row[1])
        if sign * (value - limit) > 1e-9:
            words = _WORDS[name].format(at=at, value=_shown(name, value), limit=_shown(name, limit))
            found.append(Broken(name, at, sign * (value - limit), words))
    return found


_WORDS = {
    "longest_call": "{at} calls for {value} without a break, limit {limit}",
    "starts_per_hour": "{at} starts {value} times an hour, limit {limit}",
    "shortest_run": "{at} runs for only {value}, at least {limit} is wanted",
    "room_short": "{at} is {value} below what is wanted, limit {limit}",
    "tap_short": "{at} is {value} below its temperature, limit {limit}",
    "wait": "{at} waits {value} for warm water, limit {limit}",
}


def _shown(name: str, value: float) -> str:
    if name == "starts_per_hour":
        return f"{value:.3g}"
    if name == "room_short":
        return f"{value:.3g} K·h"
    if name == "tap_short":
        return f"{value:.3g} K·min"
    return f"{value:.0f} s" if value < 10 * MINUTE else f"{value / MINUTE:.0f} min"


def _rows(summary: Mapping[str, Any], name: str) -> list[tuple[str, float]]:
    items, hours = summary["items"], float(summary["hours"])
    if name == "longest_call":
        return [(key, float(row["longest_s"])) for key, row in summary["calls"].items()]
    if name == "starts_per_hour":
        return [(key, row["starts"] / hours) for key, row in items.items()]
    if name == "shortest_run":
        runs = ((key, row["shortest_run_s"]) for key, row in items.items())
        return [(key, float(value)) for key, value in runs if value is not None]
    if name == "room_short":
        return [(key, float(row["short_kh"])) for key, row in summary["rooms"].items()]
    key_of = "short_k_min" if name == "tap_short" else "longest_wait_s"
    taps = ((key, row[key_of]) for key, row in summary["fixtures"].items())
    return [(key, float(value)) for key, value in taps if value is not None]


def conflicts_of(
    paths: Sequence[str], runs: Sequence[tuple[Sequence[str], Sequence[Broken]]]
) -> list[dict[str, str]]:
    """Which settings do not go together, and why: by limit and place, values that fail alone first.

    Parameters
    ----------
    paths : sequence of str
        What was varied
    runs : sequence of (values, broken limits)
    """
    found: list[dict[str, str]] = []
    every = [{values[k] for values, _ in runs} for k in range(len(paths))]
    alone = [_alone(k, every[k], runs) for k in range(len(paths))]
    for k, path in enumerate(paths):
        for value in sorted(alone[k]):
            broken = alone[k][value]
            others = [other for n, other in enumerate(paths) if n != k]
            whatever = f" whatever {' and '.join(others)}" if others else ""
            found.append({"text": f"{path} {value} fails{whatever}: {broken.words}"})
    for values, broken_here in runs:
        if not broken_here or any(values[k] in alone[k] for k in range(len(paths))):
            continue
        together = " with ".join(f"{path} {value}" for path, value in zip(paths, values, strict=True))
        words = "; ".join(broken.words for broken in broken_here)
        found.append({"text": f"{together}: {words}"})
    return found


def _alone(
    k: int, values: set[str], runs: Sequence[tuple[Sequence[str], Sequence[Broken]]]
) -> dict[str, Broken]:
    """Values of one setting with which every run fails, with the reason that is met most."""
    found = {}
    for value in values:
        of = [broken for typed, broken in runs if typed[k] == value]
        if all(of) and len({typed[k] for typed, _ in runs}) > 1:
            reasons = [one for broken in of for one in broken]
            names = [(one.limit, one.at) for one in reasons]
            found[value] = max(reasons, key=lambda one: (names.count((one.limit, one.at)), one.by))
    return found
