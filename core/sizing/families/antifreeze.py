"""Antifreeze: the glycol a system needs for the site, what it costs in flow; freezing and bursting apart.

Shares are by volume at 60 °F, with the share by mass beside them: the two are often confused. Freezing points
are those of the fluid tables; the margin of 5 °F below the lowest temperature is from memory of the handbook.

Freezes 5 °F below `outdoor_design`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from core.media.fluids import GLYCOLS, TOXIC, fluid_of, fraction_range, mass_fraction
from core.sizing.bodies import Body, bodies, hottest, items_in, water_content
from core.sizing.context import ZERO, Context, MissingInput
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, derived, given

MARGIN = 5.0 / 1.8  # [K]
MARGIN_SOURCE = (
    "freezing point 5 °F below the lowest temperature expected (from memory of ASHRAE Applications)"
)
BURST_SHARE = 0.35  # by volume, from which slush no longer bursts tubes (propylene; published trade article)
LEAST_SHARE = 0.25  # by volume; below it inhibitors are thin and life grows in it. Common practice, no source
SHARES = (0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60)
USUAL = "propylene_glycol"
COLD = 273.15  # [K]
NEAR = 0.5  # [K] by which a freezing point may miss, that of the tables themselves
CAUTIONS = (
    "Glycol must not reach drinking water: parting walls, backflow protection, labels as local code asks; a "
    "licensed trade decides. Test the strength each autumn.",
)


def needed_freezing(lowest: Working) -> Working:
    """Freezing point wanted, [K]; T_o the lowest temperature expected."""
    margin = given("Δ", "margin", MARGIN, "temperature_difference", "memory", MARGIN_SOURCE)
    return derived(
        "T_z", "freezing point wanted", "temperature", "T_o - Δ", lowest, margin, source=MARGIN_SOURCE
    )


def share_for(kind: str, freezing: float) -> float | None:
    """Least share by volume, 0..1, with first ice at or below a temperature [K]; None beyond the table.

    Examples
    --------
    >>> share_for("propylene_glycol", 273.15 - 100.0) is None
    True
    """
    low, high = fraction_range(kind)
    if freezing_of(kind, high) > freezing:
        return None
    if freezing_of(kind, low) <= freezing:
        return low
    for _ in range(40):
        middle = (low + high) / 2.0
        if freezing_of(kind, middle) <= freezing:
            high = middle
        else:
            low = middle
    return high


def freezing_of(kind: str, share: float) -> float:
    """Temperature at which the first ice forms, [K]."""
    fluid = fluid_of({"kind": kind, "fraction": share})
    assert fluid.freezing is not None
    return fluid.freezing


def carrying_ratio(
    density: Working, capacity: Working, water_density: Working, water_capacity: Working
) -> Working:
    """Flow for the same heat and difference over that of water, [-]."""
    return derived(
        "f",
        "flow for the same heat, over that of water",
        "",
        "ρ_w * c_w / (ρ * c)",
        water_density,
        water_capacity,
        density,
        capacity,
        source="heat balance",
    )


def glycol_volume(content: Working, share: Working) -> Working:
    """Glycol to pour in, [m^3]; V water content, x share by volume."""
    return derived("V_g", "glycol to pour in", "volume", "V * x", content, share)


def size(context: Context) -> list[Sized]:
    """Glycol of every system that can freeze, or has any."""
    found: list[Sized] = []
    for body in bodies(context):
        if not body.potable and (_outdoors(context, body) or _kind(context, body) in GLYCOLS):
            at = _place(context, body)
            if not any(sized.at == at for sized in found) and _wets_something(context, body):
                found += context.one_by_one([at], "antifreeze", partial(_sized, context, body))
    return found


def _place(context: Context, body: Body) -> str:
    """Item to say it at: what lies outdoors, else the tank."""
    for trait in (Trait.MELTS_SNOW, Trait.LIFTS_HEAT, Trait.EXPANDS):
        if found := items_in(context, body, trait):
            return found[0]
    return body.items[0]


def _wets_something(context: Context, body: Body) -> bool:
    """Not a branch that only feeds another body."""
    return bool(items_in(context, body, Trait.DRIVES, Trait.EXPANDS, Trait.MELTS_SNOW, Trait.LIFTS_HEAT))


def _outdoors(context: Context, body: Body) -> bool:
    """Whether water of a body stands in the cold: a melt circuit, or a pipe around which it freezes."""
    if items_in(context, body, Trait.MELTS_SNOW):
        return True
    pipes = (context.plant.pipes[name].si.around for name in body.pipes)
    return any(around is not None and around < COLD for around in pipes)


def _kind(context: Context, body: Body) -> str:
    return str(context.plant.systems[body.system].fluid.get("kind", "water"))


def _sized(context: Context, body: Body, at: str) -> Sized:
    drawn = _kind(context, body)
    if drawn == "custom":
        raise MissingInput(f"{body.system}: a custom fluid has no freezing point in the tables")
    kind = drawn if drawn in GLYCOLS else USUAL
    lowest = context.site("T_o", "outdoor design temperature", "outdoor_design")
    freezing = needed_freezing(lowest)
    share = share_for(kind, float(freezing.value))
    name = kind.replace("_", " ")
    if share is None:
        most = fraction_range(kind)[1]
        raise MissingInput(
            f"{body.system}: no mixture of {name} up to {100 * most:.0f} % stays liquid at "
            f"{freezing.shown(context.display)}"
        )
    needed = Working(
        "x",
        f"share of {name} by volume",
        share,
        "percent",
        inputs=(freezing,),
        how=f"table of freezing points of {name}: the least share at or below "
        f"{freezing.shown(context.display)}",
        source=fluid_of({"kind": kind, "fraction": share}).source,
        holds="10 to 60 % by volume",
        within=True,
        origin="table",
    )
    options = tuple(_options(context, body, kind, float(freezing.value)))
    words, enough = _verdict(context, body, drawn, needed, kind)
    chosen = "" if enough else next(o.name for o in options if o.serves)
    cautions = (*CAUTIONS, TOXIC) if kind == "ethylene_glycol" else CAUTIONS
    return Sized(
        at, "antifreeze", words, share, "", "percent", "", options, chosen, needed, (), cautions, not enough
    )


def _verdict(context: Context, body: Body, drawn: str, needed: Working, kind: str) -> tuple[str, bool]:
    """The answer as words, and whether what is drawn is strong enough."""
    show = context.shown
    share = float(needed.value)
    name = kind.replace("_", " ")
    mass = f"{100 * mass_fraction(kind, share):.0f} % by mass"
    words = f"{body.system}: {100 * share:.0f} % {name} by volume ({mass}) keeps it liquid to "
    words += show(float(needed.inputs[0].value), "temperature")
    enough = False
    if drawn in GLYCOLS:
        fluid = context.fluid(body.system)
        enough = (fluid.freezing or COLD) <= float(needed.inputs[0].value) + NEAR
        first = show(fluid.freezing or 0.0, "temperature")
        words += f"; the {100 * fluid.fraction:.0f} % in it form ice at {first}, "
        words += "enough." if enough else "too weak."
        if not enough and kind == USUAL and fluid.fraction >= BURST_SHARE:
            words += " It would turn to slush, which does not burst tubes but does not flow either."
    else:
        words += "; there is only water in it."
    return words, enough


def _options(context: Context, body: Body, kind: str, freezing: float) -> Iterator[Option]:
    warm = hottest(context, body, "T") or context.site("T", "indoor temperature", "indoor")
    content = water_content(context, body)
    for share in SHARES:
        if not fraction_range(kind)[0] <= share <= fraction_range(kind)[1]:
            continue
        ice = freezing_of(kind, share)
        ratio = _ratio(context, kind, share, warm)
        poured = glycol_volume(content, given("x", "share by volume", share, "percent", "practice"))
        serves = ice <= freezing + NEAR
        yield Option(
            f"{100 * share:.0f} % {kind.replace('_', ' ')}",
            {
                "fraction": share,
                "mass_fraction": mass_fraction(kind, share),
                "freezing_c": ice - ZERO,
                "flow_ratio": float(ratio.value),
                "viscosity_ratio": _thicker(kind, share, float(warm.value)),
                "glycol_m3": float(poured.value),
            },
            serves and share >= LEAST_SHARE,
            _option_words(context, kind, share, ice, serves, float(ratio.value), poured),
            None,
            ratio,
        )


def _option_words(
    context: Context, kind: str, share: float, ice: float, serves: bool, ratio: float, poured: Working
) -> str:
    words = f"first ice at {context.shown(ice, 'temperature')}, flow {100 * (ratio - 1.0):.0f} % more, "
    words += f"{poured.shown(context.display)} of glycol"
    if share < LEAST_SHARE:
        return f"{words}; thinner than usual (common practice)"
    if not serves:
        burst = kind == USUAL and share >= BURST_SHARE
        return f"{words}; {'slush in the design cold: does not burst, does not flow' if burst else 'freezes'}"
    return words


def _ratio(context: Context, kind: str, share: float, warm: Working) -> Working:
    """Flow over that of water, at the hottest temperature of the system."""
    mixture, water = fluid_of({"kind": kind, "fraction": share}), fluid_of({"kind": "water"})
    kelvin = float(warm.value)

    def leaf(symbol: str, what: str, value: float, of: str, source: str) -> Working:
        how = f"table at {warm.shown(context.display)}"
        return Working(
            symbol, f"{what.replace('_', ' ')} of {of}", value, what, "", (warm,), how, source, origin="table"
        )

    return carrying_ratio(
        leaf("ρ", "density", mixture.density(kelvin), mixture.name, mixture.source),
        leaf("c", "heat_capacity", mixture.heat_capacity(kelvin), mixture.name, mixture.source),
        leaf("ρ_w", "density", water.density(kelvin), "water", water.source),
        leaf("c_w", "heat_capacity", water.heat_capacity(kelvin), "water", water.source),
    )


def _thicker(kind: str, share: float, kelvin: float) -> float:
    """Viscosity over that of water, [-]."""
    mixture, water = fluid_of({"kind": kind, "fraction": share}), fluid_of({"kind": "water"})
    return mixture.viscosity(kelvin) / water.viscosity(kelvin)
