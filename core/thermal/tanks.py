"""Weight of the water standing in tanks and separators, which is not that of the water passing a tap.

A coil between taps of given temperatures sees the tank's temperature straight by height at its middle.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.media.fluids import Fluid
from core.thermal.roles import Roles, Tap
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]
SLICES = 8


class TankColumns:
    """Columns of water inside the tanks and separators of a network in one case.

    Parameters
    ----------
    net, roles
        The network and what acts on its temperatures
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        given: dict[int, float] = {}  # density between taps of given temperatures, by element
        self.mixed: list[
            tuple[int, Fluid, list[int]]
        ] = []  # node, its fluid, ways that stand at its temperature
        for key, ways in net.standing.items():
            elements = [e for e in ways if e.z_start != e.z_end]  # a level way weighs nothing
            if not elements:
                continue
            fluid = net.bodies[net.body_of[elements[0].start]].fluid
            known: list[tuple[float, float]] = []
            if net.plant.items[key].has(Trait.TANK):
                known = sorted(
                    (e.z_start, r.given) for e in ways if isinstance(r := roles.of.get(e.index), Tap)
                )
            if known:
                given |= {e.index: _between_taps(e.z_end, e.z_start, tuple(known), fluid) for e in elements}
                continue
            for node in dict.fromkeys(e.end for e in elements):
                self.mixed.append((node, fluid, [e.index for e in elements if e.end == node]))
        self.given = np.array(list(given), np.intp)
        self.given_density = np.array(list(given.values()))

    def densities(self, rho: Array, node: dict[int, float]) -> Array:
        """Density whose weight stands in each element, [kg/m^3].

        Parameters
        ----------
        rho : ndarray, shape (n elements,)
            Density of the passing water, [kg/m^3]
        node : dict
            Temperature by node of the last pass, [K]

        Returns
        -------
        ndarray, shape (n elements,)
            `rho`, with the ways inside tanks at the tank's own density; between taps of given temperatures
            the tank's temperature is taken as straight by height
        """
        column = rho.copy()
        column[self.given] = self.given_density
        for place, fluid, ways in self.mixed:
            t = node.get(place)
            if t is not None:
                column[ways] = fluid.density(t)
        return column


@lru_cache(maxsize=256)
def _between_taps(low: float, high: float, known: tuple[tuple[float, float], ...], fluid: Fluid) -> float:
    """Mean density inside a tank from one height [m] to another between known temperatures [K], [kg/m^3]."""
    zs, ts = [z for z, _ in known], [t for _, t in known]
    heights = low + (high - low) * (np.arange(SLICES) + 0.5) / SLICES  # the middle of each slice
    return float(np.mean(fluid.density(np.interp(heights, zs, ts))))
