"""Who gets too little in a solved case, by which share of the need: circuits that are called, and taps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from core.calls.called import Reach
from core.calls.rows import call_row
from core.figures import OutletFigures, SourceFigures
from core.plant.model import Case, Plant
from core.solve import Solution

FULL = 0.999  # share of its capacity from which on a source gives all it can
LEAST_NEED = 1.0  # [W] of which a share is told


class Short(NamedTuple):
    """Who is shortest: an id, and the share of its need that it lacks; "" and 0 where nobody is."""

    at: str
    share: float


def shares_short(
    plant: Plant, case: Case, solution: Solution, reach: Reach | None = None
) -> dict[str, float]:
    """Share of its need that each called circuit lacks, by id.

    Parameters
    ----------
    plant : Plant
        The one solved
    case : Case
    solution : Solution
    reach : Reach or None
        Of the same plant; made where None
    """
    row = call_row(plant, case, solution, (), reach)
    return {key: max(0.0, c.short) / max(c.wanted, LEAST_NEED) for key, c in row.circuits.items() if c.called}


def taps_colder(plant: Plant, before: Solution, after: Solution) -> dict[str, float]:
    """Share of its heat over cold water that each tap loses against another answer, by id."""
    cold = plant.site_si.cold_water - 273.15
    found = {}
    for key, was in before.of(OutletFigures).items():
        now = after.at(key, OutletFigures)
        if now is None or was.flow_m3_s <= 0.0 or was.temperature_c - cold < 1.0:
            continue
        heat = was.flow_m3_s * (was.temperature_c - cold)
        found[key] = max(0.0, heat - now.flow_m3_s * (now.temperature_c - cold)) / heat
    return found


def shortest(shares: Mapping[str, float]) -> Short:
    """The one that lacks the greatest share."""
    at = max(shares, key=lambda key: shares[key], default="")
    return Short(at, shares.get(at, 0.0))


def gives_out(plant: Plant, solution: Solution) -> str:
    """A source at its limit: the one furthest below its set temperature, else one at its full capacity whose
    loads are cut; "" where none is."""
    running = {key: f for key, f in solution.of(SourceFigures).items() if f.running}
    over = {k: f.short_w / max(f.duty_w, 1.0) for k, f in running.items() if f.short_w > 1e-3 * f.duty_w}
    if over:
        return max(over, key=lambda key: over[key])
    for key, f in running.items():
        capacity = plant.items[key].si.get("capacity")
        if capacity and f.duty_w >= FULL * float(capacity):
            return key
    return ""
