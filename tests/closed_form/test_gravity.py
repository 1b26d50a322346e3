"""Gravity flow of real water in two risers, against a root finder with IAPWS properties."""

from __future__ import annotations

import math

import pytest
from iapws import IAPWS97
from scipy.optimize import root

from tests.support.balance import factor
from tests.support.builders import Board, G, area, m
from tests.verification.checks import Agrees

SUBJECT = "Whole plants by a second method"

BORE, ARM, TRUNK, UA, SUPPLY, ROOM = 0.026, 6.0, 1.0, 50.0, 70.0, 20.0


def water(celsius: float) -> IAPWS97:
    return IAPWS97(T=celsius + 273.15, P=0.2)


def lost(mass: float, celsius: float, length: float) -> float:
    """Friction of a smooth tube [Pa]."""
    at = water(celsius)
    speed = mass / at.rho / area(BORE)
    return factor(at.rho * speed * BORE / at.mu, 0.0) * length / BORE * at.rho * speed**2 / 2


def cooled(mass: float) -> float:
    """Outlet of a radiator: its UA against the heat capacity at the mean temperature."""
    warm = 50.0
    for _ in range(20):
        carried = mass * water((SUPPLY + warm) / 2).cp * 1e3
        warm = ROOM + (SUPPLY - ROOM) * math.exp(-UA / carried)
    return warm


@pytest.mark.parametrize("heights", [(2.0, 5.0), (3.0, 3.0), (1.0, 6.0)])
def test_two_risers(agrees: Agrees, heights: tuple[float, float]) -> None:
    """Each riser's weight of cold less hot water is what its arms and the common trunk lose."""
    board = Board({"kind": "water"})
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="70 degC")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    tube = {"bore": BORE}
    for number, height in enumerate(heights):
        board.item(f"R-{number}", "radiator", ua=f"{UA} W/K", room_temperature="20 degC", height=m(height))
        board.pipe("J-1:at", f"R-{number}:in", f"up-{number}", length=ARM, **tube)
        board.pipe(f"R-{number}:out", "J-2:at", f"down-{number}", length=ARM, **tube)
    board.pipe("B-1:out", "J-1:at", "hot", length=TRUNK, **tube)
    board.pipe("J-2:at", "B-1:in", "cold", length=TRUNK, **tube)
    got = board.solve()

    def excess(masses: list[float]) -> list[float]:
        backs = [cooled(mass) for mass in masses]
        total = sum(masses)
        mixed = sum(mass * back for mass, back in zip(masses, backs, strict=True)) / total
        trunk = lost(total, SUPPLY, TRUNK) + lost(total, mixed, TRUNK)
        hot = water(SUPPLY).rho
        return [
            (water(back).rho - hot) * G * height - lost(mass, SUPPLY, ARM) - lost(mass, back, ARM) - trunk
            for mass, back, height in zip(masses, backs, heights, strict=True)
        ]

    answer = root(excess, [0.04, 0.05])
    assert max(abs(value) for value in excess(list(answer.x))) < 1e-3
    assert got.converged
    for number, mass in enumerate(answer.x):
        back = cooled(mass)
        found = got.flow(f"down-{number}") * water(back).rho
        second, riser = "second method: root finder with IAPWS-97", f"riser of {heights[number]} m"
        agrees(f"{riser}: flow by gravity", found, mass, "kg/s", rel=3e-3, source=second)
        agrees(f"{riser}: return", got.warm(f"down-{number}"), back, "degC", within=0.1, source=second)
