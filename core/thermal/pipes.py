"""Heat that insulated pipes give off. Pipes without an insulation entry give off none."""

from __future__ import annotations

from core.media.insulation import loss_per_metre_kelvin
from core.plant.model import Pipe


def pipe_conductance(pipe: Pipe) -> float:
    """Heat a pipe loses per kelvin between its water and what is around it, [W/K]."""
    si = pipe.si
    if si.insulation is None or si.joined:
        return 0.0
    if isinstance(si.insulation, (int, float)):
        return float(si.insulation) * si.length
    outside = max(si.outside, si.bore) / 2.0
    return loss_per_metre_kelvin(outside, si.insulation.thickness, si.insulation.conductivity) * si.length
