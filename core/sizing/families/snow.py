"""Heat that melting snow takes from a surface: the balance of the ASHRAE Handbook HVAC Applications.

q = q_s + q_m + A_r (q_h + q_e): warming the snow, melting it, and from the part kept clear convection with
radiation and evaporation. Structure and weather inputs are published, the single terms from memory.
Air by the U.S. Standard Atmosphere 1976, moisture by the Magnus formula (WMO guide).

Snow without `site.snowfall` takes the middle of a trade class.
"""

from __future__ import annotations

from core.working import Working, derived, given

SOURCE = "ASHRAE Handbook HVAC Applications, snow melting (structure published, terms from memory)"
AIR_SOURCE = "U.S. Standard Atmosphere 1976"
MOISTURE_SOURCE = "Magnus formula, WMO guide to instruments"
MELTING = 273.15  # [K]
SURFACE = 273.7056  # [K] 33 °F


def warming(rate: Working, air: Working, surface: Working) -> Working:
    """Heat that brings falling snow to the surface's temperature, [W/m^2]; s, T_a, T_f."""
    return derived(
        "q_s",
        "warming the snow",
        "flux",
        "ρ_w * s * (c_i * max(0, T_0 - T_a) + c_w * (T_f - T_0))",
        *_water(),
        rate,
        given("c_i", "heat capacity of ice, J/kg/K", 2051.5, "", "memory", "0.49 Btu/lb/°F"),
        given("c_w", "heat capacity of water, J/kg/K", 4186.8, "", "memory", "1.0 Btu/lb/°F"),
        given("T_0", "melting point", MELTING, "temperature", "table", "ice"),
        air,
        surface,
        source=SOURCE,
    )


def melting(rate: Working) -> Working:
    """Heat that melts falling snow, [W/m^2]; s as water [m/s]."""
    latent = given("h_f", "heat of melting, J/kg", 333316.0, "", "memory", "143.3 Btu/lb")
    return derived("q_m", "melting the snow", "flux", "ρ_w * s * h_f", *_water(), rate, latent, source=SOURCE)


def _water() -> tuple[Working]:
    return (given("ρ_w", "density of water", 999.55, "density", "memory", "62.4 lb/ft³"),)


def film_temperature(air: Working, surface: Working) -> Working:
    """Mean of air and surface, [K]."""
    return derived("T", "mean of air and surface", "temperature", "(T_a + T_f) / 2", air, surface)


def convection(wind: Working, along: Working, film: Working, pressure: Working) -> Working:
    """Heat transfer by wind over a flat surface, [W/m^2/K]; v, L, T, p absolute."""
    viscosity = derived(
        "μ",
        "viscosity of air",
        "viscosity",
        "0.000001458 * T^1.5 / (T + 110.4)",
        film,
        source=AIR_SOURCE,
    )
    density = derived(
        "ρ_a", "density of air", "density", "p / (287.05 * T)", pressure, film, source="ideal gas"
    )
    conductivity = derived(
        "k",
        "conductivity of air",
        "conductivity",
        "0.00264638 * T^1.5 / (T + 245.4 * 10^(-12 / T))",
        film,
        source=AIR_SOURCE,
    )
    reynolds = derived(
        "Re", "Reynolds number along the surface", "", "ρ_a * v * L / μ", density, wind, along, viscosity
    )
    return derived(
        "h_c",
        "heat transfer by wind",
        "transmittance",
        "0.037 * k / L * Re^0.8 * Pr^(1 / 3)",
        conductivity,
        along,
        reynolds,
        given("Pr", "Prandtl number of air", 0.7, "", "memory", SOURCE),
        source=SOURCE,
        holds="turbulent flow over a flat plate",
    )


def losing(transfer: Working, air: Working, surface: Working, around: Working) -> Working:
    """Convection and radiation of a clear surface, [W/m^2]; h_c, T_a, T_f, T_r of cloud and sky."""
    return derived(
        "q_h",
        "convection and radiation where it is clear",
        "flux",
        "h_c * (T_f - T_a) + σ * ε * (T_f^4 - T_r^4)",
        transfer,
        surface,
        air,
        given("σ", "Stefan-Boltzmann constant, W/m²/K⁴", 5.670374e-8, "", "table", "CODATA"),
        given("ε", "emissivity of the wet surface", 0.9, "", "memory", SOURCE),
        around,
        source=SOURCE,
    )


def humidity(symbol: str, words: str, at: Working, pressure: Working) -> Working:
    """Water in saturated air, [kg/kg]; T (or a dew point) [K], p absolute [Pa]."""
    frozen = float(at.value) < MELTING
    a, b = ("22.46", "272.62") if frozen else ("17.62", "243.12")
    letter = at.symbol
    vapour = derived(
        "p_v",
        f"vapour pressure at {at.words}",
        "pressure",
        f"611.2 * exp({a} * ({letter} - 273.15) / ({b} + {letter} - 273.15))",
        at,
        source=MOISTURE_SOURCE,
    )
    return derived(symbol, words, "", "0.62198 * p_v / (p - p_v)", vapour, pressure, source=MOISTURE_SOURCE)


def evaporating(transfer: Working, wet: Working, dry: Working) -> Working:
    """Evaporation from a clear wet surface, [W/m^2]; h_c, W_f at the surface, W_a in the air."""
    return derived(
        "q_e",
        "evaporation where it is clear",
        "flux",
        "(Pr / Sc)^(2 / 3) * h_c / c_p * (W_f - W_a) * h_v",
        transfer,
        wet,
        dry,
        given("Pr", "Prandtl number of air", 0.7, "", "memory", SOURCE),
        given("Sc", "Schmidt number of vapour in air", 0.6, "", "memory", SOURCE),
        given("c_p", "heat capacity of air, J/kg/K", 1004.8, "", "memory", "0.24 Btu/lb/°F"),
        given("h_v", "heat of evaporation, J/kg", 2499520.0, "", "memory", "1074.6 Btu/lb"),
        source=SOURCE,
    )


def melt_flux(snow: tuple[Working, Working], clear: tuple[Working, Working], share: Working) -> Working:
    """Heat wanted at the surface, [W/m^2]; (q_s, q_m), (q_h, q_e), A_r."""
    return derived(
        "q",
        "heat wanted at the surface",
        "flux",
        "q_s + q_m + A_r * (q_h + q_e)",
        *snow,
        share,
        *clear,
        source=SOURCE,
    )


def idling_flux(losing_heat: Working) -> Working:
    """Heat that keeps a dry clear surface at its temperature while it does not snow, [W/m^2]."""
    return derived("q_i", "idling: a dry clear surface held warm", "flux", "q_h", losing_heat, source=SOURCE)


def fluid_by_rule(flux: Working, surface: Working) -> Working:
    """Mean water temperature by the handbook's rule, [K]: half a °F for each Btu/h/ft²."""
    per = given("r", "K of water over surface for each W/m²", 0.0880546, "", "memory", "0.5 °F per Btu/h/ft²")
    return derived(
        "T_w",
        "mean water temperature by the rule",
        "temperature",
        "T_f + r * q",
        surface,
        per,
        flux,
        source="older ASHRAE Applications: t_m = 0.5 q + t_f (from memory)",
        holds="3/4 in tube at 12 in, 3 in below the surface",
    )
