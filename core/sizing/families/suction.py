"""Pressure at a circulator's inlet against boiling: the margin above vapour pressure, as a head."""

from __future__ import annotations

from dataclasses import replace

from core.media.vapour import atmosphere, vapour_pressure
from core.plant.model import PortRef
from core.sizing.context import Context
from core.sizing.demand.losses import GRAVITY_LEAF
from core.sizing.result import Sized
from core.vocabulary import Trait
from core.working import Working, derived

ENOUGH = 3.0  # [m] usual wish of small circulators with hot water; common practice, no source
BOILS = 1.0  # [m]


def size(context: Context) -> list[Sized]:
    """Every circulator that runs in some case."""
    names = [i.id for i in context.plant.with_trait(Trait.DRIVES)]
    return context.one_by_one(names, "suction", lambda name: _of(context, name))


def margin(context: Context, name: str, case: str) -> Working | None:
    """Head at a circulator's inlet above that at which its water boils, [m]; None without a pipe there.

    Notes
    -----
    (p + p_air - p_vapour) / (rho g), the velocity head left out (safe side). Sources: vapour pressure of
    water Wagner and Pruss (1993), safe for glycol too; air U.S. Standard Atmosphere 1976.
    """
    pipes = context.plant.pipes_at.get(PortRef(name, "in"), ())
    if not pipes:
        return None
    pipe = context.plant.pipes[pipes[0]]
    end = "in" if pipe.start == PortRef(name, "in") else "out"
    pressure = context.solved("p", f"pressure at the inlet of {name}", pipe.id, f"pressure_{end}_pa", case)
    water = context.solved("T", f"water at the inlet of {name}", pipe.id, f"temperature_{end}_c", case)
    altitude = context.site("z", "altitude", "altitude")
    air = Working(
        "p_air", "air pressure, absolute", atmosphere(float(altitude.value)), "pressure",
        inputs=(altitude,), how="by altitude", source="U.S. Standard Atmosphere 1976", origin="table",
    )  # fmt: skip
    vapour = Working(
        "p_v", "vapour pressure of water, absolute", vapour_pressure(float(water.value)), "pressure",
        inputs=(water,), how="by temperature", origin="table",
        source="Wagner and Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783",
    )  # fmt: skip
    density = replace(context.fluid_leaf("density", pipe.system, water), symbol="ρ")
    return derived(
        "H_s", f"suction margin of {name}", "head", "(p + p_air - p_v) / (ρ * g)",
        pressure, air, vapour, density, GRAVITY_LEAF,
        source="definition of the suction head, velocity left out",
    )  # fmt: skip


def _of(context: Context, name: str) -> Sized | None:
    found = [
        (margin_, case.name)
        for case, _ in context.converged()
        if context.solution(case.name).running(name)
        and (margin_ := margin(context, name, case.name)) is not None
    ]
    if not found:
        return None
    least, case = min(found, key=lambda pair: float(pair[0].value))
    head = float(least.value)
    pressure, water = least.inputs[0], least.inputs[2].inputs[0]
    words = (
        f"{name} has {context.shown(head, 'head')} at its inlet above boiling in {case}: "
        f"{pressure.shown(context.display)} there, water at {water.shown(context.display)}"
    )
    cautions = []
    if head < BOILS:
        words += ": it boils, runs dry and fails"
    elif head < ENOUGH:
        words += f", less than the {context.shown(ENOUGH, 'head')} small circulators usually want"
    else:
        words += ", enough for small circulators as a rule"
    if float(pressure.value) < 0.0:
        cautions.append(
            f"{name} stands below the air's pressure at its inlet in {case}: vents there draw in air."
        )
    if head < ENOUGH or cautions:
        cautions.append(
            "A higher fill pressure, or the expansion tank joined at the circulator's inlet, raises it; keep "
            "below the relief valve's setting. What a circulator needs at its inlet its maker says."
        )
    return Sized(
        name,
        "suction",
        f"{words}.",
        head,
        "m",
        "head",
        case,
        working=least,
        cautions=tuple(cautions),
        fails=head < BOILS,
    )
