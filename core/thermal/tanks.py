"""Weight of the water standing in tanks and separators, which is not that of the water passing a tap."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.thermal.roles import Roles, Tap

Array = npt.NDArray[np.float64]
SLICES = 8


def tank_columns(net: Network, roles: Roles, rho: Array, node: dict[int, float]) -> Array:
    """Density whose weight stands in each element, [kg/m^3].

    Parameters
    ----------
    net, roles
        The network and what acts on its temperatures
    rho : ndarray, shape (n elements,)
        Density of the passing water, [kg/m^3]
    node : dict
        Temperature by node of the last pass, [K]

    Returns
    -------
    ndarray, shape (n elements,)
        `rho`, with the ways inside tanks at the tank's own density; between taps of given temperatures the
        tank's temperature is taken as straight by height
    """
    column = rho.copy()
    for key, ways in net.standing.items():
        item = net.plant.items[key]
        elements = [e for e in ways if e.z_start != e.z_end]  # a level way weighs nothing
        if not elements:
            continue
        fluid = net.bodies[net.body_of[elements[0].start]].fluid
        if item.kind in ("tank", "coil_tank"):
            given = [(e.z_start, r.given) for e in ways if isinstance(r := roles.of.get(e.index), Tap)]
            if given:
                known = sorted(given)
                zs, ts = [z for z, _ in known], [t for _, t in known]
                for e in elements:
                    heights = np.linspace(e.z_end, e.z_start, SLICES + 1)
                    column[e.index] = float(np.mean(fluid.density(np.interp(heights, zs, ts))))
                continue
        for e in elements:
            t = node.get(e.end)
            if t is not None:
                column[e.index] = float(fluid.density(t))
    return column
