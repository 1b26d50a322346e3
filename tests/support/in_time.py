"""Runs of small plants for tests: a board, what the run says, and what came of it."""

from __future__ import annotations

from typing import Any

from core.files.read import from_data
from core.simulation.engine import Simulation
from core.simulation.runs import chosen_run
from core.simulation.summary import summary_of
from tests.support.builders import Board


class Ran:
    """A run that is over: its summary by name, and the simulation itself."""

    def __init__(self, data: dict[str, Any], name: str | None = None) -> None:
        self.plant = from_data(data)
        self.sim = Simulation(chosen_run(self.plant, name))
        self.seen = self.sim.simulate()
        self.all = summary_of(self.seen)
        self.items, self.rooms, self.tanks = self.all["items"], self.all["rooms"], self.all["tanks"]
        self.taps, self.energy, self.cautions = (
            self.all["fixtures"],
            self.all["energy_kwh"],
            self.all["cautions"],
        )

    def states(self, key: str) -> list[float]:
        """Temperatures of an item's states at the end, [degC]."""
        part = next(part for part in self.sim.layout.parts if part.key == key)
        return [float(t) - 273.15 for t in self.sim.x[part.at]]

    def now(self, what: str, at: str) -> float:
        """Something counted, at the end of the run, [W]."""
        stretch = self.sim.moment()
        return stretch.rows.value(stretch.heats.meters[what, at])

    def closes(self) -> bool:
        """Whether energy closes within 0.1 % of the heat turned over."""
        turned = max(self.energy["heat"] + self.energy["gains"], abs(self.energy["draws"]), 1e-3)
        turned = max(turned, abs(self.energy["stored"]), abs(self.energy["losses"]))
        return bool(abs(self.energy["imbalance"]) <= 1e-3 * turned)


def simulated(board: Board, hours: float, *, profiles: dict[str, Any] | None = None, **run: Any) -> Ran:
    """Simulate a board for some hours."""
    data = board.data()
    data["profiles"] = profiles or {}
    data["runs"] = [{"name": "run", "hours": hours, **run}]
    return Ran(data)
