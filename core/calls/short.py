"""Why a circuit is short of heat in a combination of calls: read off the combinations, nothing is tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from core import units
from core.calls.rows import CallRow, Circuit
from core.plant.model import Plant, PortRef
from core.water.numbers import reached
from core.water.ways import WaterGraph, water_graph

LESS = 0.02  # share of flow from which on less of it is told
COOLER = 0.5  # [K] from which on cooler water is told
FULL = 0.995  # share of its capacity from which on a source gives all it can


@dataclass(frozen=True)
class Short:
    """A circuit that is short in a combination, and why in a sentence."""

    case: str
    at: str
    because: str

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {"case": self.case, "at": self.at, "because": self.because}


def short_circuits(plant: Plant, rows: Sequence[CallRow]) -> tuple[Short, ...]:
    """Every circuit that is short in a solved combination, in the order of the rows."""
    short = [(row, c) for row in rows if row.solution.converged for c in row.circuits.values() if c.is_short]
    if not short:
        return ()
    graph = water_graph(plant)
    heaters = {c.at: _joined(graph, c.at) for _, c in short}
    return tuple(Short(row.name, c.at, _why(plant, rows, row, c, heaters[c.at])) for row, c in short)


def _joined(graph: WaterGraph, item: str) -> set[str]:
    """Items whose water, or heat through a wall, can come to an item."""

    def onward(place: PortRef) -> list[PortRef]:
        there = [way.end if way.start == place else way.start for way in graph.ways_at[place]]
        return there + [
            w.other if w.one == place else w.one for w in graph.walls if place in (w.one, w.other)
        ]

    return {place.item for place in reached(graph.places_of[item], onward)}


def _why(plant: Plant, rows: Sequence[CallRow], row: CallRow, circuit: Circuit, joined: set[str]) -> str:
    show = partial(units.show, system="si" if plant.units == "si" else "us")
    if circuit.flow <= 1e-8:
        return "no water flows through it"
    full = [s for s in row.sources.values() if s.at in joined and s.running and (s.share or 0.0) >= FULL]
    if full:
        given = show(sum(s.duty for s in full), "power")
        return f"{' and '.join(s.at for s in full)} can give no more than {given}"
    best = max(
        (r for r in rows if r.solution.converged and r.circuits[circuit.at].called),
        key=lambda r: r.circuits[circuit.at].delivered,
    )
    most = best.circuits[circuit.at].flow
    if circuit.flow < most * (1.0 - LESS):
        now, then = show(circuit.flow, "flow"), show(most, "flow")
        return f"only {now} flow through it, with {best.name} {then}"
    here, there = (_inlet(plant, r, circuit.at) for r in (row, best))
    if here is not None and there is not None and here < there - COOLER:
        now, then = show(here, "temperature"), show(there, "temperature")
        return f"its water comes at {now}, with {best.name} at {then}"
    if not any(s.at in joined and s.running for s in row.sources.values()):
        return "no source that could heat it runs"
    return (
        "no combination shown gives it more: its water is too cool, its flow too low or its surface too small"
    )


def _inlet(plant: Plant, row: CallRow, item: str) -> float | None:
    """Temperature at which water comes to a circuit, [K]."""
    forward = row.solution.flow(item) >= 0.0
    port = PortRef(item, "in" if forward else "out")
    for pipe in plant.pipes_at.get(port, ()):
        found = row.solution.pipes.get(pipe)
        if found is not None:
            return found.temperature_at(plant.pipes[pipe].start == port) + 273.15
    return None
