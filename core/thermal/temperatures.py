"""Temperatures everywhere for given flows: a balance of heat, repeated while sources and loads change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.thermal.flowing import STILL, Flowing, ThermalState, Waterways
from core.thermal.heat_balance import HeatBalance, conductance
from core.thermal.heat_response import Response, respond
from core.thermal.limits import Limits
from core.thermal.roles import Roles, Source

Array = npt.NDArray[np.float64]

FREE_ROUNDS = 100
MOST_ROUNDS = 300  # while shares are enclosed
SETTLED = 1e-6  # [K]

__all__ = ["SETTLED", "STILL", "TemperatureSolver", "ThermalState", "conductance"]


class TemperatureSolver:
    """Temperatures of one network in one case.

    Parameters
    ----------
    net : Network
    roles : Roles
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        self.net = net
        self.roles = roles
        self.ways = Waterways(net, roles)
        self.sources = [role for role in roles.of.values() if isinstance(role, Source)]
        self.made_for = b""
        self.kept: HeatBalance | None = None

    def fresh(self) -> ThermalState:
        """A first guess: all at room temperature, sources at their set points."""
        n, indoor = len(self.net.elements), self.ways.indoor
        return ThermalState(np.full(n, indoor), np.full(n, indoor))

    @property
    def flowing(self) -> Flowing | None:
        """What flowed when it was asked last."""
        return None if self.kept is None else self.kept.flowing

    def solve(
        self, w: Array, branch_flow: Array, state: ThermalState, precision: float = SETTLED
    ) -> ThermalState:
        """Temperatures for the given flows.

        Parameters
        ----------
        w : ndarray, shape (n elements,)
            Mass flow of each element, [kg/s]
        branch_flow : ndarray, shape (n branches,)
            Mass flow of each branch, [kg/s]
        state : ThermalState
            To start from; changed in place and returned
        precision : float
            Change of temperature that counts as rest, [K]

        Returns
        -------
        ThermalState
        """
        balance = self._laid_out(branch_flow)
        flowing, rooms = balance.flowing, balance.rooms
        flowing.take(w, branch_flow, state)
        balance.take(state)
        limits = Limits(flowing, rooms, balance.holds)
        state.settled = False
        state.enclosed = {}
        for state.rounds in range(1, MOST_ROUNDS + 1):
            if state.rounds > FREE_ROUNDS and not state.enclosed:
                break
            values = balance.solve(state)
            state.moved = moved = max(rooms.take(values, state), balance.walk(values, state))
            if not limits.review(state) and moved < precision:
                state.settled = True
                break
        return state

    def response(
        self, state: ThermalState, flows: Array, heats: Mapping[int, Sequence[tuple[int, float]]]
    ) -> Response:
        """How temperatures answer to small changes, near the answer last found; as of `respond`."""
        assert self.kept is not None
        return respond(self.kept, state, flows, heats)

    def _laid_out(self, branch_flow: Array) -> HeatBalance:
        """The balance for the ways that flow now; kept while they do."""
        sense = self.ways.sense(branch_flow)
        made_for = (
            sense.tobytes() + bytes(role.on for role in self.sources) + repr(self.roles.stands).encode()
        )
        if self.kept is None or made_for != self.made_for:
            self.made_for, self.kept = made_for, HeatBalance(Flowing(self.ways, sense), self.roles)
        return self.kept
