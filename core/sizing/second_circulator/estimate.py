"""What another circulator would bring at many places, estimated together to choose those worth solving.

Temperatures, positions and speeds stay as they are. A circulator is first a push, by the head it has at the
flow there is; what that moves, and its curve, tell where it would work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from core.hydraulics.balance import Balancer
from core.hydraulics.circulators import G, at_speed
from core.hydraulics.laws import Settings
from core.hydraulics.together import balance_together
from core.sizing.second_circulator.available import Pump
from core.sizing.second_circulator.places import Place
from core.solve.settle import Settled
from core.water.no_flow import NO_FLOW

HALVINGS = 20


def estimated_gains(
    settled: Settled, places: Sequence[Place], pumps: Sequence[Pump], at: str = ""
) -> list[tuple[float, float]]:
    """Gain of flow as a share of what flows now (0 where nothing does), and in [m^3/s].

    Parameters
    ----------
    settled : Settled
    places, pumps : sequence
        A pump with a curve for each place
    at : str
        Item or pipe where it is to be; empty for each stretch itself
    """
    s = settled
    trials = [_Trial(s, place, pump) for place, pump in zip(places, pumps, strict=True)]
    cases = [trial.pushed() for trial in trials]
    found = balance_together(Balancer(s.net), cases, s.rho, s.mu, s.column, start=s.balance.branch_flow)
    gains = []
    for trial, balance in zip(trials, found, strict=True):
        flow = abs(s.balance.w) / s.rho
        more = abs(balance.w) / s.rho - flow
        here = [e.index for e in s.net.of_item[at]] if at else [trial.element]
        most = here[int(more[here].argmax())]
        gain, now = trial.part(float(more[trial.element])) * float(more[most]), float(flow[most])
        gains.append((gain / now if now > NO_FLOW else 0.0, gain))
    return gains


class _Trial:
    """One place: the element pushed, in which sense, and the flow there is, [m^3/s]."""

    def __init__(self, s: Settled, place: Place, pump: Pump) -> None:
        assert pump.curve is not None
        self.s, self.pump, self.curve = s, pump, pump.curve
        spot = place.spots[0] if place.spots else None
        self.element = s.net.of_item[spot.at if spot else place.at][0].index
        self.sense = -1.0 if spot and not spot.forward else 1.0
        self.rho = float(s.rho[self.element])
        self.flow = max(0.0, self.sense * float(s.balance.w[self.element])) / self.rho
        self.beside = None if spot else s.settings.drives.get(self.element)

    def head(self, more: float) -> float:
        """What it adds where `more` flows than now, [m]; in parallel each moves half of it."""
        flow = self.flow + more
        if self.beside is None:
            return at_speed(self.curve, self.pump.speed, flow)[0]
        return at_speed(self.curve, self.pump.speed, 0.5 * flow)[0] - self.beside.head(flow)[0]

    def pushed(self) -> Settings:
        """The case with the head at the flow there is as a push."""
        push = self.s.settings.push.copy()
        push[self.element] += self.sense * self.head(0.0) * self.rho * G
        return replace(self.s.settings, push=push)

    def part(self, moved: float) -> float:
        """Part of what the push moves that its falling head would: where both need the same head."""
        top, low, high = self.head(0.0), 0.0, 1.0
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.head(middle * moved) > middle * top else (low, middle)
        return low
