"""What all notes are made with: the settled case at hand, and figures in the plant's own units."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core import units
from core.hydraulics.network import Body
from core.hydraulics.pressures import Pressures
from core.solve.solution import Solution
from core.thermal.temperatures import STILL

if TYPE_CHECKING:
    from core.solve.settle import Settled

SCALDS = (
    43.0  # [degC] from about here caution is due; common limits at outlets lie at 43 to 49 degC (from memory)
)
NEAR = 0.1  # [K] a set temperature missed by less counts as held


class NoteWriter(units.Shown):
    """A settled case, its pressures and figures, and how figures are written.

    Parameters
    ----------
    s : Settled
    pressures : Pressures
    solution : Solution
        Its figures, without notes
    """

    def __init__(self, s: Settled, pressures: Pressures, solution: Solution) -> None:
        self.s, self.net, self.p, self.solution = s, s.net, pressures, solution
        self.plant = s.net.plant
        self.moves = np.abs(s.balance.w) > STILL
        super().__init__(self.plant.units)

    def body_at(self, element: int) -> Body:
        """The body of water an element is in."""
        return self.net.bodies[self.net.body_of[self.net.elements[element].start]]

    def extreme(self, body: Body, warmest: bool) -> str:
        """Where the water of a body is warmest or coldest, an id."""
        values = self.s.thermal.t_out[body.elements]
        k = int(values.argmax() if warmest else values.argmin())
        return self.net.elements[body.elements[k]].key
