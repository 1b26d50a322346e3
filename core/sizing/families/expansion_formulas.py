"""Formulas of expansion tanks: what swells, what a tank must hold, what it then stands at.

Those of the ASHRAE Handbook HVAC Systems and Equipment, hydronic system design, and the short form of
the mechanical code. Each takes workings and gives one; a capital P is absolute, a small p gauge.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.sizing.context import G
from core.working import Working, derived, given

SOURCE = "ASHRAE Handbook HVAC Systems and Equipment, closed expansion tanks"
CODE_SOURCE = "International Mechanical Code 1009 and ASME BPVC Section IV HG-709 (from memory)"
SHORT_FORM = (344.261, 383.15)  # [K] 160 to 230 °F, where the short form holds


def net_expansion(
    volume: Working, cold: Working, hot: Working, filled: Working, warmest: Working, growth: Working
) -> Working:
    """Water that the tank must take in, [m^3].

    Parameters
    ----------
    volume : Working
        V, water in the system, [m^3]
    cold, hot : Working
        ρ_f, ρ_h, densities when filled and at the hottest, [kg/m^3]
    filled, warmest : Working
        T_f, T_h, [K]
    growth : Working
        α, linear expansion of tubes and vessels, [1/K]
    """
    return derived(
        "V_e",
        "water that swells out of the system",
        "volume",
        "V * (ρ_f / ρ_h - 1 - 3 * α * (T_h - T_f))",
        volume,
        cold,
        hot,
        growth,
        warmest,
        filled,
        source=SOURCE,
    )


def diaphragm_volume(taken: Working, first: Working, last: Working, symbol: str = "V_t") -> Working:
    """Whole volume of a tank with diaphragm or bladder, [m^3]; V_e, P_1 and P_2 absolute."""
    words = "least volume of a tank with diaphragm"
    return derived(symbol, words, "volume", "V_e / (1 - P_1 / P_2)", taken, first, last, source=SOURCE)


def plain_volume(taken: Working, first: Working, last: Working, air: Working) -> Working:
    """Whole volume of a plain steel tank filled from atmospheric pressure, [m^3]."""
    return derived(
        "V_p",
        "least volume of a plain tank without diaphragm",
        "volume",
        "V_e / (p_a / P_1 - p_a / P_2)",
        taken,
        air,
        first,
        last,
        source=SOURCE,
    )


def code_volume(volume: Working, warmest: Working, first: Working, last: Working) -> Working:
    """Diaphragm tank by the code's short form, [m^3]; T_h in kelvin, the form itself is in °F."""
    within = SHORT_FORM[0] <= float(warmest.value) <= SHORT_FORM[1]
    return derived(
        "V_c",
        "tank by the short form of the code",
        "volume",
        "(0.00041 * (1.8 * T_h - 459.67) - 0.0466) * V / (1 - P_1 / P_2)",
        warmest,
        volume,
        first,
        last,
        source=CODE_SOURCE,
        holds="water, about 160 to 230 °F average",
        within=within,
    )


def pressure_when_hot(taken: Working, first: Working, size: Working, air: Working) -> Working:
    """Gauge pressure at the tank with everything hot, [Pa]: the cushion's air at one temperature."""
    return derived(
        "p_h",
        "pressure at the tank when hot",
        "pressure",
        "P_1 * V_t / (V_t - V_e) - p_a",
        first,
        size,
        taken,
        air,
        source="Boyle's law",
    )


@dataclass(frozen=True)
class Cushion:
    """The air of one tank: the tank's volume [m^3] and its precharge, absolute [Pa]."""

    volume: Working
    precharge: Working


def cushion_when_hot(taken: Working, first: Working, cushions: list[Cushion], air: Working) -> Working | None:
    """Gauge pressure at the tanks with everything hot, from the air they were charged with, [Pa].

    Water already in a tank charged below the pressure before heating leaves less air to press together; a
    tank charged higher takes no water until the system has reached its precharge.

    Parameters
    ----------
    taken, first : Working
        V_e [m^3]; P_1, pressure before heating, absolute [Pa]
    cushions : list of Cushion
        All tanks of one body, at one pressure
    air : Working
        p_a, atmospheric pressure, [Pa]

    Returns
    -------
    Working or None
        None where the air left is less than what swells out
    """
    ordered = sorted(cushions, key=lambda one: float(one.precharge.value))
    found = None
    for number in range(1, len(ordered) + 1):
        taking = ordered[:number]
        found = _pressed_together(taken, first, taking, air)
        higher = ordered[number:]
        if found is not None and (
            not higher or float(found.value) + float(air.value) <= float(higher[0].precharge.value)
        ):
            return found
    return found


def _pressed_together(
    taken: Working, first: Working, cushions: list[Cushion], air: Working
) -> Working | None:
    """The same, where every one of these tanks takes water."""
    content = " + ".join(f"{one.precharge.symbol} * {one.volume.symbol}" for one in cushions)
    left = " + ".join(f"{one.volume.symbol} * min(1, {one.precharge.symbol} / P_1)" for one in cushions)
    room = sum(
        float(one.volume.value) * min(1.0, float(one.precharge.value) / float(first.value))
        for one in cushions
    )
    if room <= float(taken.value):
        return None
    inputs = [part for one in cushions for part in (one.precharge, one.volume)]
    formula = f"({content}) / ({left} - V_e) - p_a"
    words = "pressure at the tank when hot"
    return derived("p_h", words, "pressure", formula, first, *inputs, taken, air, source="Boyle's law")


def absolute(symbol: str, words: str, gauge: Working, air: Working) -> Working:
    """Absolute pressure from gauge and atmospheric, [Pa]."""
    return derived(symbol, words, "pressure", f"{gauge.symbol} + {air.symbol}", gauge, air)


def fill_pressure(density: Working, top: Working, tank: Working, margin: Working) -> Working:
    """Gauge pressure at the tank that leaves a margin at the highest point, [Pa]."""
    return derived(
        "p_n",
        "least pressure at the tank when cold",
        "pressure",
        "ρ * g * (z_t - z_e) + p_t",
        density,
        given("g", "gravity, m/s²", G, "", "table", "standard gravity"),
        top,
        tank,
        margin,
        source="hydrostatics; 3 to 5 psi (20 to 35 kPa) at the top: common practice, no source",
    )
