"""What may be said of the site, a system, its fluid, a pipe and a case: the same words as of kinds of items.

One `Property` each, by the key of the file. Not for the kinds of items, nor for rules between two values.
"""

from __future__ import annotations

from collections.abc import Mapping

from core.vocabulary.properties import choice, number, other, quantity, text
from core.vocabulary.words import Property

STAGES = ("existing", "to_remove", "drawn", "bought", "dry_fitted", "joined", "tested")
USES = ("potable", "closed")
FLUIDS: Mapping[str, tuple[str, ...]] = {
    "water": (),
    "propylene_glycol": ("fraction",),
    "ethylene_glycol": ("fraction",),
    "custom": ("density", "viscosity", "heat_capacity"),
}
"""Kinds of fluid, each with what must be said of it."""


def _table(*properties: Property) -> Mapping[str, Property]:
    return {prop.name: prop for prop in properties}


def _weather(name: str, meaning: str, default: str | None = None) -> Property:
    return quantity(name, "temperature", meaning, low="-60 degC", high="60 degC", default=default)


SITE = _table(
    _weather("outdoor_design", "Outdoor temperature of the design night.", "-10 degC"),
    _weather("cold_water", "Temperature of the water that comes in.", "10 degC"),
    _weather("indoor", "Temperature around pipes and circuits that name none.", "20 degC"),
    quantity(
        "altitude", "length", "Height above the sea: gives the pressure of the air.",
        low="-500 m", high="9000 m", default="0 m", typical="1200 ft",
    ),
    quantity(
        "snowfall", "snowfall", "Rate as water, such as 0.1 in/h: a tenth of the depth of fresh snow.",
        low="0 in/h", high="2 in/h", typical="0.1 in/h",
    ),
    quantity("snow_temperature", "temperature", "Air temperature while it snows.",
             low="-40 degC", high="5 degC"),
    quantity("snow_dew_point", "temperature", "Dew point while it snows.", low="-50 degC", high="5 degC"),
    quantity(
        "snow_wind", "velocity", "Wind near the ground while it snows, such as 10 mph.",
        low="0 mph", high="120 mph", typical="10 mph",
    ),
)  # fmt: skip
SNOW = tuple(name for name in SITE if name.startswith("snow"))
"""What is asked of the site for the sake of snow to be melted."""

SYSTEM = _table(
    choice("use", USES, "Whether its water is to drink, or goes round a closed system.", default="closed"),
    other("fluid", "fluid", "Its fluid; see the keys of a fluid.", default={"kind": "water"}),
    quantity("fill_pressure", "pressure", "Standing pressure at the expansion tank.", typical="15 psi"),
    number("still_ok_days", "Days that its water may stand without flow.", 0.0, 366.0, typical="7"),
)
FLUID = _table(
    choice("kind", tuple(FLUIDS), "What it is. Ethylene glycol is toxic."),
    number("fraction", "Share of glycol by volume.", 0.0, 1.0, typical="0.3"),
    quantity(
        "density", "density", "Of a custom fluid.",
        low="1 kg/m3", high="20000 kg/m3", typical="998 kg/m3",
    ),
    quantity(
        "viscosity", "viscosity", "Of a custom fluid.",
        low="0.001 mPa*s", high="100000 mPa*s", typical="1.0 mPa*s",
    ),
    quantity(
        "heat_capacity", "heat_capacity", "Of a custom fluid.",
        low="1 J/kg/K", high="50000 J/kg/K", typical="4182 J/kg/K",
    ),
    quantity(
        "conductivity", "conductivity", "Of a custom fluid.",
        low="0.001 W/m/K", high="500 W/m/K", typical="0.6 W/m/K",
    ),
    other(
        "expansion", "number_or_quantity", "Swelling of a custom fluid per degree.",
        dimension="expansion", low="-0.01 1/K", high="0.01 1/K", typical="0.0004 1/K",
    ),
    quantity("reference", "temperature", "Temperature at which the density of a custom fluid was given."),
)  # fmt: skip

PIPE = _table(
    other("tube", "tube", "Its tube; must be given unless it is joined."),
    quantity(
        "length", "length", "Developed length; must be given unless it is joined.",
        high="100000 ft", typical="12 ft",
    ),
    other("fittings", "fittings", "How many of each fitting it carries, by name."),
    number("k", "Loss coefficient besides its fittings, at its own bore.", 0.0, 1e6, default=0.0),
    choice("joined", ("flanged",), "Two items flange to flange, without tube, length or loss."),
    quantity(
        "straight", "length", "Straight run in it, such as a circulator would need.",
        high="100000 ft", typical="2 ft",
    ),
    other("insulation", "insulation", "Thickness and conductivity, or heat loss per length; bare if absent."),
    quantity(
        "around", "temperature", "Temperature around it; by default the site's indoor.", typical="50 degF"
    ),
    choice("stage", STAGES, "How far the work on it has come.", default="drawn"),
)  # fmt: skip
INSULATION = _table(
    quantity("thickness", "length", "Thickness; of two, one is needed: it or loss.", low="0 mm", high="1 m"),
    quantity(
        "conductivity", "conductivity", "Of the insulation.", default="0.040 W/m/K",
        low="0.001 W/m/K", high="100 W/m/K",
    ),
    quantity(
        "loss", "conductivity", "Heat loss per length and degree, nothing beside it.",
        low="0 W/m/K", high="1000 W/m/K",
    ),
)  # fmt: skip

CASE = _table(
    _weather("outdoor", "Outdoor temperature; by default the site's design night."),
    other("signals", "flags", "Which signals are on or off; the others follow what they sense."),
    other(
        "draws", "quantities", "Flow that each fixture draws.",
        dimension="flow", low="0 gpm", high="20000 gpm", typical='{"F-1": "2 gpm"}',
    ),
    other(
        "tanks", "quantities_by_tap", "Temperature of tanks, or of their taps, that the case fixes.",
        dimension="temperature", low="-60 degC", high="250 degC", typical='{"T-1": "120 degF"}',
    ),
    text("season", "Such as winter."),
    number("hours_per_year", "How long the case lasts in a year, in hours.", 0.0, 8784.0),
    other("set", "case_set", "Properties of items and pipes that are otherwise in this case, by id."),
    quantity(
        "lasts", "time", "How long it lasts from its start; without it, rooms and tanks are as they end up.",
        low="1 s", high="60 day", typical="90 min",
    ),
    other(
        "start", "quantities", "Temperature of rooms and tanks at the start of a case that lasts.",
        dimension="temperature", low="-60 degC", high="250 degC", typical='{"R-1": "60 degF"}',
    ),
)  # fmt: skip
