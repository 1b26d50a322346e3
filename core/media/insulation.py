"""Pipe insulation: conductivities by material and the heat a pipe loses per metre; no temperatures."""

from __future__ import annotations

import math
from dataclasses import dataclass

SURFACE_COEFFICIENT = (
    10.0  # [W/m^2/K], outside, still indoor air with radiation; fixed by the plant file's contract
)
DEFAULT_CONDUCTIVITY = 0.040  # [W/m/K], fixed by the plant file's contract


@dataclass(frozen=True)
class Insulation:
    """A material: name, trade words, conductivity at about 40 °C [W/m/K], source."""

    name: str
    words: str
    conductivity: float
    source: str


INSULATIONS: dict[str, Insulation] = {
    material.name: material
    for material in (
        Insulation(
            "elastomeric_foam", "flexible elastomeric foam", 0.038, "from memory, texts give 0.034 to 0.040"
        ),
        Insulation("polyethylene_foam", "polyethylene foam", 0.040, "from memory, texts give 0.035 to 0.043"),
        Insulation(
            "glass_fibre", "glass fibre pipe section", 0.037, "from memory, texts give 0.033 to 0.040"
        ),
        Insulation(
            "mineral_wool", "mineral wool pipe section", 0.038, "from memory, texts give 0.034 to 0.042"
        ),
        Insulation(
            "polyurethane_foam", "rigid polyurethane foam", 0.027, "from memory, texts give 0.022 to 0.030"
        ),
        Insulation("phenolic_foam", "phenolic foam", 0.023, "from memory, texts give 0.020 to 0.025"),
        Insulation("calcium_silicate", "calcium silicate", 0.055, "from memory, texts give 0.050 to 0.060"),
    )
}


def loss_per_metre_kelvin(
    outside_radius: float,
    thickness: float,
    conductivity: float = DEFAULT_CONDUCTIVITY,
    surface: float = SURFACE_COEFFICIENT,
) -> float:
    """Heat that an insulated pipe gives off, per metre and kelvin between its water and the surroundings.

    Parameters
    ----------
    outside_radius : float
        Outside radius of the bare tube, [m]
    thickness : float
        Thickness of the insulation, 0 for a bare tube, [m]
    conductivity : float
        Of the insulation, [W/m/K]
    surface : float
        Heat transfer coefficient at the outside, [W/m^2/K]

    Returns
    -------
    float
        Loss, [W/m/K]

    Notes
    -----
    The tube's own wall and the film inside are left out: the tube stands at the water's temperature.
    Source: conduction through a cylinder, textbook identity.

    Examples
    --------
    >>> round(loss_per_metre_kelvin(0.014, 0.013), 4)
    0.3122
    """
    outer = outside_radius + thickness
    through = math.log(outer / outside_radius) / (2.0 * math.pi * conductivity)
    return 1.0 / (through + 1.0 / (2.0 * math.pi * outer * surface))
