"""How a pipe's figures came about: velocity, Reynolds number, friction, loss, cooling, pressure.

The numbers are computed anew from the flow and the temperatures that the solver found.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from core.derivation.leaves import View, fluid_property, mean
from core.hydraulics.elements import port_height
from core.hydraulics.friction import LAMINAR_END, TURBULENT_START, friction_factor
from core.media.fittings import FITTINGS, fitting_k
from core.media.insulation import SURFACE_COEFFICIENT, loss_per_metre_kelvin
from core.media.tubes import material_of, tube_of
from core.plant.model import Pipe, PortRef
from core.vocabulary.words import InsulationValues
from core.working import Working, given, typed

G = 9.80665  # [m/s^2]
STILL = 1e-12  # [m^3/s]


def pipe_working(view: View, name: str, key: str) -> Working | None:
    """Working of one figure of a pipe; None where there is none (a pipe bolted face to face, unknown key)."""
    pipe = view.plant.pipes[name]
    if name not in view.solution.pipes or (pipe.si.joined and key not in ("flow_m3_s", *_ENDS)):
        return None
    if key not in _MAKERS:
        return None
    return _MAKERS[key](view, pipe)


def _flow(view: View, pipe: Pipe) -> Working:
    found = view.solved("Q", f"flow through {pipe.id}", pipe.id, "flow_m3_s")
    value = abs(float(found.value))
    return Working("Q", found.words, value, "flow", how=found.how, origin="solved")


def _bore(view: View, pipe: Pipe) -> Working:
    tube = pipe.tube or {}
    value = pipe.si.bore
    if "material" in tube:
        words = f"bore of {tube['size']} {str(tube['material']).replace('_', ' ')}"
        source = tube_of(str(tube["material"]), str(tube["size"])).source
        return Working(
            "d",
            words,
            value,
            "length",
            how="table of tubes",
            source=source,
            origin="table",
            path=f"pipes.{pipe.id}.tube",
        )
    return typed("d", "bore", value, "length", f"pipes.{pipe.id}.tube.bore", str(tube.get("bore", "")))


def _velocity(view: View, pipe: Pipe) -> Working:
    flow, bore = _flow(view, pipe), _bore(view, pipe)
    value = float(flow.value) / (math.pi * float(bore.value) ** 2 / 4.0)
    return Working(
        "v",
        f"velocity in {pipe.id}",
        value,
        "velocity",
        "Q / (π * d^2 / 4)",
        (flow, bore),
        source="continuity: flow over the bore's area",
    )


def _mean_temperature(view: View, pipe: Pipe) -> Working:
    first = view.solved("T_1", f"temperature at {pipe.start.item}", pipe.id, "temperature_in_c")
    second = view.solved("T_2", f"temperature at {pipe.end.item}", pipe.id, "temperature_out_c")
    return mean("T", f"mean temperature in {pipe.id}", first, second)


def _property(view: View, pipe: Pipe, what: str) -> Working:
    return fluid_property(view.fluid_at(pipe.id), what, _mean_temperature(view, pipe), view.display)


def _reynolds(view: View, pipe: Pipe) -> Working:
    inputs = (
        _property(view, pipe, "density"),
        _velocity(view, pipe),
        _bore(view, pipe),
        _property(view, pipe, "viscosity"),
    )
    rho, v, d, mu = (float(part.value) for part in inputs)
    return Working(
        "Re",
        f"Reynolds number in {pipe.id}",
        rho * v * d / mu,
        "",
        "ρ * v * d / μ",
        inputs,
        source="definition of the Reynolds number",
    )


def _roughness(pipe: Pipe) -> Working:
    tube = pipe.tube or {}
    value = pipe.si.roughness
    if "material" in tube:
        source = material_of(str(tube["material"])).roughness_source
        words = f"roughness of {str(tube['material']).replace('_', ' ')}"
        return given("ε", words, value, "length", "table", source)
    if "roughness" in tube:
        return typed(
            "ε", "roughness", value, "length", f"pipes.{pipe.id}.tube.roughness", str(tube["roughness"])
        )
    return given("ε", "roughness of drawn tube", value, "length", "default", "drawn tube")


def friction(view: View, pipe: Pipe) -> Working:
    """Darcy friction factor of a pipe with flow."""
    reynolds = _reynolds(view, pipe)
    re = float(reynolds.value)
    f = float(friction_factor(re, pipe.si.roughness / pipe.si.bore)) if re > 0.0 else 0.0
    words = f"Darcy friction factor of {pipe.id}"
    if re <= 0.0:
        return given("f", words, 0.0, origin="solved", source="no flow")
    if re <= LAMINAR_END:
        return Working(
            "f",
            words,
            f,
            "",
            "64 / Re",
            (reynolds,),
            source="Hagen-Poiseuille, laminar flow",
            holds="Re up to 2000",
            within=True,
        )
    rough, bore = _roughness(pipe), _bore(view, pipe)
    if re < TURBULENT_START:
        return Working(
            "f",
            words,
            f,
            "",
            inputs=(reynolds, rough, bore),
            how="cubic in Re that meets 64/Re at Re 2000 and Colebrook-White at Re 4000, in value and slope",
            source="our own bridge: no published law holds between laminar and turbulent flow",
            holds="Re 2000 to 4000",
            within=True,
        )
    before = given("f_0", "the same factor, found by trying until it gives itself", f, origin="solved")
    return Working(
        "f",
        words,
        f,
        "",
        "1 / (-2 * log10(ε / (3.7 * d) + 2.51 / (Re * sqrt(f_0))))^2",
        (rough, bore, reynolds, before),
        source="Colebrook, J. Inst. Civ. Eng. 11 (1939) 133",
        holds="Re above 4000, roughness to 0.05 of the bore",
        within=pipe.si.roughness / pipe.si.bore <= 0.05,
    )


def fittings(view: View, pipe: Pipe) -> Working:
    """Sum of the loss coefficients of a pipe's fittings and its own k."""
    bore = _bore(view, pipe)
    inputs: list[Working] = []
    terms: list[str] = []
    for name, count in pipe.fittings.items():
        fitting = FITTINGS[name]
        inputs.append(
            typed(
                f"n_{name}",
                f"number: {fitting.words}",
                float(count),
                "",
                f"pipes.{pipe.id}.fittings.{name}",
                str(count),
            )
        )
        k = fitting_k(name, pipe.si.bore)
        inputs.append(
            Working(
                f"K_{name}",
                f"loss coefficient, {fitting.words}",
                k,
                inputs=(bore,) if fitting.n else (),
                how=f"{fitting.n:g} fT at this bore" if fitting.n else "",
                source=fitting.source,
                origin="table",
            )
        )
        terms.append(f"n_{name} * K_{name}")
    if pipe.k:
        inputs.append(typed("k", "extra loss, typed", pipe.k, "", f"pipes.{pipe.id}.k", f"{pipe.k:g}"))
        terms.append("k")
    words = f"loss coefficient of the fittings in {pipe.id}"
    if not terms:
        return given("K", f"{words}: none are named", 0.0, origin="default")
    return Working("K", words, pipe.si.k_total, "", " + ".join(terms), tuple(inputs))


def length_of(view: View, pipe: Pipe) -> Working:
    """Developed length as typed."""
    return typed(
        "L", f"length of {pipe.id}", pipe.si.length, "length", f"pipes.{pipe.id}.length", pipe.length or ""
    )


def _drop(view: View, pipe: Pipe) -> Working:
    inputs = (
        friction(view, pipe),
        length_of(view, pipe),
        _bore(view, pipe),
        fittings(view, pipe),
        _property(view, pipe, "density"),
        _velocity(view, pipe),
    )
    f, length, d, k, rho, v = (float(part.value) for part in inputs)
    value = (f * length / d + k) * rho * v * v / 2.0
    return Working(
        "Δp",
        f"pressure loss of {pipe.id}",
        value,
        "pressure",
        "(f * L / d + K) * ρ * v^2 / 2",
        inputs,
        source="Darcy and Weisbach",
    )


def _conductance(view: View, pipe: Pipe) -> Working:
    """Heat lost per metre and kelvin."""
    si, path = pipe.si, f"pipes.{pipe.id}.insulation"
    words = f"heat loss of {pipe.id} per length and degree"
    if not isinstance(si.insulation, InsulationValues):
        typed_as = str((pipe.insulation or {}).get("loss", ""))
        return typed("u", words, float(si.insulation or 0.0), "conductivity", f"{path}.loss", typed_as)
    outside = max(si.outside, si.bore) / 2.0
    thick, k = si.insulation
    raw = pipe.insulation or {}
    inner = given("r_1", "outside radius of the tube", outside, "length", "table")
    layer = typed(
        "s",
        "thickness of the insulation",
        thick,
        "length",
        f"{path}.thickness",
        str(raw.get("thickness", "")),
    )
    if "conductivity" in raw:
        lam = typed(
            "λ",
            "conductivity of the insulation",
            k,
            "conductivity",
            f"{path}.conductivity",
            str(raw["conductivity"]),
        )
    else:
        lam = given("λ", "conductivity of the insulation", k, "conductivity", "default")
    surface = given(
        "h",
        "heat passed at the surface, W/m²/K",
        SURFACE_COEFFICIENT,
        "",
        "default",
        "still indoor air with radiation, fixed by the file's contract",
    )
    return Working(
        "u",
        words,
        loss_per_metre_kelvin(outside, thick, k),
        "conductivity",
        "1 / (ln((r_1 + s) / r_1) / (2 * π * λ) + 1 / (2 * π * (r_1 + s) * h))",
        (inner, layer, lam, surface),
        source="conduction through a cylinder and its surface, in series",
    )


def _temperature(view: View, pipe: Pipe, end: str) -> Working:
    downstream = "out" if view.solution.pipes[pipe.id].flow_m3_s >= 0.0 else "in"
    words = f"temperature of {pipe.id} at {(pipe.end if end == 'out' else pipe.start).item}"
    key = f"temperature_{end}_c"
    flow = _flow(view, pipe)
    if float(flow.value) <= STILL or end != downstream or pipe.si.insulation is None or pipe.si.joined:
        plain = "no insulation is given, so no heat loss is computed; " if pipe.si.insulation is None else ""
        return view.solved("T", words, pipe.id, key, plain + "found by the solver with all heat that meets")
    other = "in" if end == "out" else "out"
    first = view.solved("T_1", f"where the water enters {pipe.id}", pipe.id, f"temperature_{other}_c")
    last = view.solved("T_2", f"where the water leaves {pipe.id}", pipe.id, key)
    density = fluid_property(
        view.fluid_at(pipe.id), "density", mean("T_m", "mean temperature", first, last), view.display
    )
    capacity = fluid_property(
        view.fluid_at(pipe.id), "heat_capacity", mean("T_m", "mean temperature", first, last), view.display
    )
    around = pipe.si.around
    if around is not None:
        air = typed("T_a", "surroundings", around, "temperature", f"pipes.{pipe.id}.around", str(pipe.around))
    else:
        air = given(
            "T_a", "surroundings: the site's indoor temperature", view.plant.site_si.indoor, "temperature"
        )
    inputs = (air, first, _conductance(view, pipe), length_of(view, pipe), density, flow, capacity)
    t_a, t_1, u, length, rho, q, c = (float(part.value) for part in inputs)
    value = t_a + (t_1 - t_a) * math.exp(-u * length / (rho * q * c))
    return Working(
        "T",
        words,
        value,
        "temperature",
        "T_a + (T_1 - T_a) * exp(-u * L / (ρ * Q * c))",
        inputs,
        source="heat balance of a pipe along its length",
    )


def _pressure(view: View, pipe: Pipe, end: str) -> Working:
    """Pressure at one end from the other: loss and height between."""
    key, other = f"pressure_{end}_pa", "in" if end == "out" else "out"
    here, there = (pipe.end, pipe.start) if end == "out" else (pipe.start, pipe.end)
    words = f"pressure at {here.item}"
    if end == "in" or pipe.si.joined:
        how = "found by the solver: from the fixed pressure of this body, less losses and heights on the way"
        return view.solved("p", words, pipe.id, key, how)
    first = view.solved(
        "p_1", f"pressure at {there.item}", pipe.id, f"pressure_{other}_pa", "found by the solver"
    )
    loss = view.solved("Δp", f"loss of {pipe.id}, against the flow negative", pipe.id, "drop_pa")
    low, high = _height(view, pipe.start), _height(view, pipe.end)
    rise = given("z", "height gained from start to end", high - low, "length", "typed")
    density = _property(view, pipe, "density")
    g = given("g", "standard gravity, m/s²", G, "", "table")
    value = float(first.value) - float(loss.value) - float(density.value) * G * (high - low)
    return Working(
        "p",
        words,
        value,
        "pressure",
        "p_1 - Δp - ρ * g * z",
        (first, loss, density, g, rise),
        source="Bernoulli's equation with losses, static pressures",
    )


def _height(view: View, ref: PortRef) -> float:
    item = view.plant.items.get(ref.item)
    return port_height(item, ref.port) if item is not None else 0.0


_ENDS = ("temperature_in_c", "temperature_out_c", "pressure_in_pa", "pressure_out_pa")
_MAKERS: dict[str, Callable[[View, Pipe], Working]] = {
    "flow_m3_s": _flow,
    "velocity_m_s": _velocity,
    "reynolds": _reynolds,
    "drop_pa": _drop,
    "temperature_in_c": lambda view, pipe: _temperature(view, pipe, "in"),
    "temperature_out_c": lambda view, pipe: _temperature(view, pipe, "out"),
    "pressure_in_pa": lambda view, pipe: _pressure(view, pipe, "in"),
    "pressure_out_pa": lambda view, pipe: _pressure(view, pipe, "out"),
}
