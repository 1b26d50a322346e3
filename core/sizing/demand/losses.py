"""Pressure lost in a tube or an item at any flow, with its working: the solver's laws, one piece at a time.

Nothing is solved here. What turns with a control (mixing valves) is taken as it stood in a solved case.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from core.hydraulics.elements import CV_DENSITY, GPM, PSI, Element
from core.hydraulics.friction import friction_factor
from core.media.fittings import fitting_k
from core.media.tubes import Tube, material_of, spoken, tube_of
from core.plant.model import Pipe
from core.sizing.context import ZERO, Context, G, MissingInput
from core.sizing.demand.fixtures import open_outlets
from core.vocabulary import Trait
from core.working import Working, derived, given

FRICTION_SOURCE = "Darcy-Weisbach; Colebrook and White (1939) from Re 4000, 64/Re to Re 2000, cubic between"
STILL = 1e-8  # [m^3/s]
GPM_LEAF = given("u_Q", "1 gpm", GPM, "flow", "default", "US gallon a minute")
PSI_LEAF = given("u_p", "1 psi", PSI, "pressure", "default", "pound a square inch")
WATER_LEAF = given(
    "ρ_w", "water the flow coefficient is stated for", CV_DENSITY, "density", "default", "SG 1"
)
GRAVITY_LEAF = given("g", "gravity", G, "", "default", "9.80665 m/s², standard gravity")
WARMED = 5.0  # [K] above the cold water, from which drinking water counts as heated
TURBULENT, LAMINAR = 4000.0, 2000.0


@dataclass(frozen=True)
class Water:
    """Flow [m^3/s], density [kg/m^3] and viscosity [Pa s] of the water in a piece."""

    flow: Working
    density: Working
    viscosity: Working

    @property
    def q(self) -> float:
        return float(self.flow.value)

    @property
    def rho(self) -> float:
        return float(self.density.value)


def water_at(context: Context, system: str, temperature: Working, flow: Working) -> Water:
    """The water of a system at a temperature, with the flow it has."""
    density = context.fluid_leaf("density", system, temperature)
    return Water(flow, density, context.fluid_leaf("viscosity", system, temperature))


def water_temperature(context: Context, pipe: Pipe, case: str) -> Working:
    """Mean temperature of a pipe in the case that decides; without one, of its last solved case or 50 °C."""
    if not any(c.name == case for c, _ in context.converged()):
        worst = context.worst(pipe.id, "flow_m3_s")
        case = worst.case if worst is not None and abs(worst.value) > STILL else ""
    if not case and context.plant.systems[pipe.system].use == "potable":
        return _with_outlets_open(context, pipe)
    if not case:
        words = "water temperature, no case having flow here"
        return given("T", words, 50.0 + ZERO, "temperature", "practice")
    ends = [
        context.solved(symbol, f"{words} of {pipe.id}", pipe.id, key, case)
        for symbol, words, key in (("T_1", "start", "temperature_in_c"), ("T_2", "end", "temperature_out_c"))
    ]
    value = 0.5 * (float(ends[0].value) + float(ends[1].value))
    return Working("T", f"water in {pipe.id}", value, "temperature", "(T_1 + T_2) / 2", tuple(ends))


def _with_outlets_open(context: Context, pipe: Pipe) -> Working:
    """Temperature of drinking water in a pipe that no case draws from: as with every outlet open, [K].

    Where that warms it at all, it counts as warm as 50 °C at least, since all outlets together may ask more
    than the heaters give.
    """
    cold = context.site("T", "cold water, no case drawing any here", "cold_water")
    found = []
    for on in (False, True):
        solution = open_outlets(context, on)
        figures = solution.pipes.get(pipe.id)
        if solution.converged and figures is not None and abs(figures.flow_m3_s) > STILL:
            found.append(figures.warmest_c + ZERO)
    if found and max(found) <= float(cold.value) + WARMED:
        return replace(cold, value=max(found), how="solved with every outlet open", origin="solved")
    words = "water temperature, no case having flow here"
    return given("T", words, max([50.0 + ZERO, *found]), "temperature", "practice")


def present_tube(pipe: Pipe) -> Tube:
    """The tube as drawn; one given by its bore counts as a size of its own.

    Raises
    ------
    MissingInput
        No tube at all
    """
    if pipe.tube is None:
        raise MissingInput(f"{pipe.id}: tube is not given, so its loss cannot be found")
    if "material" in pipe.tube:
        return tube_of(str(pipe.tube["material"]), str(pipe.tube["size"]))
    si = pipe.si
    return Tube("", str(pipe.tube["bore"]), si.bore, si.outside, si.roughness, "typed")


def tube_name(tube: Tube) -> str:
    """A tube in words, e.g. 1 in Type L copper."""
    return spoken(tube.material, tube.nominal) if tube.material else f"bore {tube.nominal}"


def pipe_loss(context: Context, pipe: Pipe, tube: Tube, water: Water) -> Working:
    """Loss of a pipe made of some tube, [Pa]: i L + K rho v^2/2.

    `inputs` holds the loss per metre as `i` and the velocity as `v`.

    Notes
    -----
    Source: Darcy-Weisbach with Colebrook and White; fittings Crane TP-410, n fT at the tube's own bore.
    """
    name = tube_name(tube)
    bore = given("d", f"bore of {name}", tube.bore, "length", "table", tube.source)
    speed = water.q / (math.pi * tube.bore**2 / 4.0)
    velocity = Working("v", f"velocity in {name}", speed, "velocity", "Q / (π * d^2 / 4)", (water.flow, bore))
    per_metre = _per_metre(context, tube, bore, velocity, water)
    k = pipe.k + sum(n * fitting_k(fitting, tube.bore) for fitting, n in pipe.fittings.items())
    counted = ", ".join(f"{n} {fitting.replace('_', ' ')}" for fitting, n in pipe.fittings.items())
    words = f"fittings ({counted or 'none'}) and k"
    fittings = given("K", words, k, "", "table", "Crane TP-410, n fT at this bore")
    value = float(per_metre.value) * pipe.si.length + k * water.rho * speed**2 / 2.0
    parts = (per_metre, context.pipe_length(pipe.id), fittings, water.density, velocity)
    words = f"loss of {pipe.id} in {name}"
    return Working("Δp", words, value, "pressure", "i * L + K * ρ * v^2 / 2", parts, source="Darcy-Weisbach")


def _per_metre(context: Context, tube: Tube, bore: Working, velocity: Working, water: Water) -> Working:
    """Friction per length, [Pa/m]."""
    friction = friction_leaf(tube, bore, velocity, water)
    speed = float(velocity.value)
    slope = float(friction.value) / tube.bore * water.rho * speed**2 / 2.0
    inputs = (friction, bore, water.density, velocity)
    how = f"in Pa per m; {100.0 * slope / (water.rho * G):.2f} ft of head per 100 ft, or m per 100 m"
    return Working(
        "i", "loss per metre", slope, "", "f / d * ρ * v^2 / 2", inputs, how, source="Darcy-Weisbach"
    )


def friction_leaf(tube: Tube, bore: Working, velocity: Working, water: Water) -> Working:
    """Darcy friction factor with Reynolds number and roughness beneath it."""
    source = material_of(tube.material).roughness_source if tube.material else "typed, or as drawn tube"
    rough = given("ε", f"roughness of {tube_name(tube)}", tube.roughness, "length", "table", source)
    number = water.rho * float(velocity.value) * tube.bore / float(water.viscosity.value)
    parts = (water.density, velocity, bore, water.viscosity)
    reynolds = Working("Re", "Reynolds number", number, "", "ρ * v * d / μ", parts)
    f = float(friction_factor(number, tube.roughness / tube.bore)) if number > 0.0 else 0.0
    if number > TURBULENT:
        how = "solved from 1/√f = −2 log10(ε/(3.7 d) + 2.51/(Re √f))"
    elif number > LAMINAR:
        how = "between laminar and turbulent: the cubic in Re that meets both in value and slope"
    else:
        how = ""
    return Working(
        "f",
        "friction factor",
        f,
        "",
        "64 / Re" if 0.0 < number <= LAMINAR else "",
        (reynolds, rough, bore),
        how,
        FRICTION_SOURCE,
        "Re to 2000 and from 4000",
        not LAMINAR < number < TURBULENT,
    )


def way_loss(context: Context, e: Element, water: Water, opened: float = 1.0) -> Working:
    """Loss of one way through an item, [Pa], at the flow in `water` along it.

    Parameters
    ----------
    e : Element
        The way as the solver has it
    opened : float
        Flow coefficient of a valve over the one it has as drawn
    """
    words = f"loss of {e.key}" + (f", {e.part}" if e.part else "")
    if e.bore > 0.0 and e.length > 0.0:
        return _loops_loss(context, e, water, words)
    if e.curve is not None and not e.has(Trait.DRIVES):
        scale = water.rho * G if e.is_head else 1.0
        value = e.curve.at(water.q) * scale
        inputs = (water.flow, water.density) if e.is_head else (water.flow,)
        how = "read from its typed drops: monotone curve through the points, as the square beyond the last"
        return Working(
            "Δp", words, value, "pressure", inputs=inputs, how=how, source="Fritsch and Butland (1984)"
        )
    if e.square > 0.0:
        return _valve_loss(context, e, water, opened, words)
    how = "it states neither cv, k nor drops: no loss"
    return Working("Δp", words, e.opens_at if water.q > 0.0 else 0.0, "pressure", how=how, origin="default")


def _valve_loss(context: Context, e: Element, water: Water, opened: float, words: str) -> Working:
    """Loss by flow coefficient: dp[psi] = SG (Q[gpm]/Cv)^2; a k is turned into the Cv of the same loss."""
    coefficient = _coefficient(context, e, opened)
    opens = None
    if e.opens_at > 0.0:
        opens = context.prop("p_o", f"pressure that opens {e.key}", e.key, "opens_at")
    inputs: tuple[Working, ...] = (GPM_LEAF, PSI_LEAF, water.density, WATER_LEAF, water.flow, coefficient)
    formula = "u_p * ρ / ρ_w * (Q / (C_v * u_Q))^2"
    if opens is not None:
        inputs, formula = (opens, *inputs), f"p_o + {formula}"
    source = "definition of the flow coefficient"
    return derived("Δp", words, "pressure", formula, *inputs, source=source)


def _coefficient(context: Context, e: Element, opened: float) -> Working:
    """Flow coefficient of a valve as it stands: typed, a share of what is typed, or from its k and size."""
    cv = math.sqrt(PSI / CV_DENSITY / e.square) / GPM * opened
    words = f"flow coefficient of {e.key}"
    typed_cv = context.prop("C_v", words, e.key, "cv")
    if typed_cv is None or not isinstance(typed_cv.value, float | int):
        how = "from its k and size, or the branch's own" if typed_cv is None else "typed"
        return Working("C_v", words, cv, how=how, origin="default")
    share = cv / float(typed_cv.value)
    if abs(share - 1.0) < 1e-9:
        return typed_cv
    how = f"{100.0 * share:.1f} % of its Cv wide open, as set or as it stands in the solved case"
    return Working("C_v", words, cv, inputs=(replace(typed_cv, symbol="C_wide"),), how=how, origin="solved")


def _loops_loss(context: Context, e: Element, water: Water, words: str) -> Working:
    """Parallel loops of tube: each takes its part of the flow."""
    tube = Tube("", f"{1000.0 * e.bore:.1f} mm", e.bore, e.bore, e.roughness, "typed")
    count = _of_item(e, "n", "loops", float(e.count), "", "loops")
    each = Working("Q", "flow of one loop", water.q / e.count, "flow", "Q_all / n",
                   (Working("Q_all", water.flow.words, water.q, "flow", water.flow.formula, water.flow.inputs,
                            water.flow.how, water.flow.source, origin=water.flow.origin), count))  # fmt: skip
    one = Water(each, water.density, water.viscosity)
    bore = _of_item(e, "d", "bore of the tube", e.bore, "length", "tube")
    speed = float(each.value) / (math.pi * e.bore**2 / 4.0)
    velocity = Working("v", "velocity in a loop", speed, "velocity", "Q / (π * d^2 / 4)", (each, bore))
    per_metre = _per_metre(context, tube, bore, velocity, one)
    length = _of_item(e, "L", "length of a loop", e.length, "length", "loops")
    value = float(per_metre.value) * e.length
    return Working("Δp", words, value, "pressure", "i * L", (per_metre, length), source="Darcy-Weisbach")


def _of_item(e: Element, symbol: str, words: str, value: float, dimension: str, prop: str) -> Working:
    """A number inside a typed list or tube of an item."""
    path = f"items.{e.key}.props.{prop}"
    return Working(symbol, f"{words} of {e.key}", value, dimension, origin="typed", path=path)


def split_loops(ways: list[Element], flow: float, rho: float, mu: float) -> list[float]:
    """Shares of a circuit's flow in its groups of loops, 0..1, so that each loses the same.

    Groups of one circuit may differ in length; found by halving on the common loss.
    """
    if len(ways) == 1 or flow <= 0.0:
        return [1.0 / len(ways)] * len(ways)

    def carried(e: Element, loss: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            if _friction_at(e, middle * flow, rho, mu) < loss:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    low, high = 0.0, max(_friction_at(e, flow, rho, mu) for e in ways)
    for _ in range(60):
        middle = 0.5 * (low + high)
        if sum(carried(e, middle) for e in ways) < 1.0:
            low = middle
        else:
            high = middle
    shares = np.array([carried(e, 0.5 * (low + high)) for e in ways])
    return [float(share) for share in shares / shares.sum()]


def _friction_at(e: Element, flow: float, rho: float, mu: float) -> float:
    speed = flow / e.count / (math.pi * e.bore**2 / 4.0)
    number = rho * speed * e.bore / mu
    if number <= 0.0:
        return 0.0
    f = float(friction_factor(number, e.roughness / e.bore))
    return f * e.length / e.bore * rho * speed**2 / 2.0
