"""Properties that several kinds share, and short ways to write one down. Not the kinds."""

from __future__ import annotations

from typing import Any

from core.vocabulary.words import Property, PropertyType

# Ranges are wide: they catch slips of the unit or the decimal point, not bold designs.
_RANGES: dict[str, tuple[Any, Any]] = {
    "flow": ("0 gpm", "20000 gpm"),
    "volume": ("0 gal", "100000 gal"),
    "length": ("0 ft", "20000 ft"),
    "area": ("0 ft2", "1000000 ft2"),
    "pressure": ("0 psi", "1000 psi"),
    "power": ("0 Btu/h", "100000 kBtu/h"),
    "heat_per_kelvin": ("0 W/K", "10000000 W/K"),
    "flux": ("0 W/m2", "5000 W/m2"),
    "temperature": ("-60 degC", "250 degC"),
    "temperature_difference": ("0 K", "200 K"),
    "current": ("0 A", "1000 A"),
    "voltage": ("0 V", "1000 V"),
    "time": ("0 s", "7 day"),
    "heat_storage": ("0 kJ/K", "10000000 kJ/K"),
}
UA_OR_RATED = (("ua", "rated", "A rated point gives the UA itself"),)
"""What excludes one another in an exchanger or emitter."""


def quantity(
    name: str,
    dimension: str,
    text: str,
    *,
    low: Any = None,
    high: Any = None,
    default: Any = None,
    typical: str = "",
    safety: bool = False,
) -> Property:
    """A property typed with a unit; the range of its dimension unless given."""
    usual = _RANGES[dimension] if low is None or high is None else (low, high)
    return Property(
        name,
        "quantity",
        dimension,
        default,
        usual[0] if low is None else low,
        usual[1] if high is None else high,
        typical,
        help=text,
        safety=safety,
    )


def number(
    name: str,
    text: str,
    low: float | None,
    high: float | None,
    *,
    default: float | None = None,
    typical: str = "",
) -> Property:
    """A dimensionless property."""
    return Property(name, "number", None, default, low, high, typical, help=text)


def flag(name: str, text: str, *, default: bool | None = None, safety: bool = False) -> Property:
    """A yes or no."""
    return Property(name, "boolean", default=default, help=text, safety=safety)


def choice(
    name: str, choices: tuple[str, ...], text: str, *, default: str | None = None, safety: bool = False
) -> Property:
    """One of a closed list."""
    return Property(name, "choice", default=default, choices=choices, help=text, safety=safety)


def text(name: str, meaning: str, *, suggestions: tuple[str, ...] = (), safety: bool = False) -> Property:
    """Plain text; `suggestions` are offered, not demanded."""
    return Property(name, "text", choices=suggestions, help=meaning, safety=safety)


def other(name: str, kind_of: PropertyType, meaning: str, **more: Any) -> Property:
    """A property of one of the composed types."""
    return Property(name, kind_of, help=meaning, **more)


def drops(name: str = "drops", where: str = "the item") -> Property:
    """Measured pressure drop at one or more flows."""
    return Property(
        name,
        "points",
        columns=("flow", "lift"),
        typical='[["8 gpm", "4 ft_head"]]',
        help=f"Pressure drop of {where} at one or more flows: through the origin and the points, beyond the "
        "last with the square of the flow; for the fluid in the plant.",
    )


CV = number(
    "cv", "Flow coefficient: gpm of water at a drop of 1 psi.", 1e-4, 1e6, typical="3/4 in ball valve: 25"
)
K = number("k", "Loss coefficient, referred to the bore of size.", 0.0, 1e6, typical="0.05 to 10")
SIZE = quantity(
    "size", "length", "Bore, as a nominal size or a length.", low="0.5 mm", high="2 m", typical="3/4 in"
)
OPEN = flag("open", "Whether it stands open.", default=True)
RUN_WHEN = Property(
    "run_when",
    "signals",
    default=True,
    typical='{"any": ["AQ-1", "TH-2"]}',
    help="Signals that make it run: a name, any, all or not of names, or true or false.",
)
POWERED_BY = Property(
    "powered_by",
    "signals",
    default=True,
    typical='"SW-1"',
    help="Signal of the switch or outlet that feeds it; unpowered means off.",
)
WATTS = quantity("watts", "power", "Most electric power it draws.", low="0 W", high="500 kW", typical="90 W")
AMPS = quantity("amps", "current", "Most electric current it draws.", typical="0.8 A")
ROOM_TEMPERATURE = quantity(
    "room_temperature",
    "temperature",
    "Room or ground it heats; by default the room served, else the site's indoor.",
    typical="68 degF",
)
LEAST_RETURN = quantity(
    "least_return",
    "temperature",
    "Temperature below which it takes no heat from the water; by default its room's.",
    typical="90 degF",
)
SERVES = other("serves", "item", "Id of the room it heats.")
TIMING = (
    quantity("min_on", "time", "Least time it stays on once it has started.", typical="5 min"),
    quantity("min_off", "time", "Least time it stays off once it has stopped.", typical="5 min"),
    quantity("post_run", "time", "Time it stays on after run_when ends.", typical="2 min"),
    quantity("delay", "time", "Time from the call to its start.", typical="30 s"),
    quantity("lock_out", "time", "Least time from one start to the next.", typical="10 min"),
)
EFFICIENCY = number("efficiency", "Heat to the water per heat in the fuel.", 0.01, 1.2, typical="0.95")
CAPACITY = quantity("capacity", "power", "Most heat it gives to the water.", typical="80 kBtu/h")
MIN_OUTPUT = quantity(
    "min_output",
    "power",
    "Least heat it can give; below it, it cycles.",
    default="0 Btu/h",
    typical="12 kBtu/h",
)
WATER_CONTENT = quantity("water_content", "volume", "Water it holds.", typical="2 gal")
SET_TEMPERATURE = quantity("set_temperature", "temperature", "Outlet temperature held.", typical="120 degF")

LOSS = (CV, K, SIZE)
LOSS_OR_DROPS = (CV, K, SIZE, drops())

# Of every item that has water in it.
WETTED = (
    quantity(
        "height",
        "length",
        "Height above the plant's datum.",
        low="-2000 ft",
        high="5000 ft",
        default="0 ft",
        typical="4 ft",
    ),
    Property(
        "port_heights",
        "heights",
        "length",
        {},
        "-1000 ft",
        "1000 ft",
        '{"hot": "4 ft"}',
        help="Height of single ports above the item's own.",
    ),
)

# Of every item: the review asks after them, the solver does not use them.
SAFETY = (
    quantity("max_pressure", "pressure", "Highest pressure it is rated for.", typical="125 psi", safety=True),
    quantity(
        "max_temperature",
        "temperature",
        "Highest temperature it is rated for.",
        typical="230 degF",
        safety=True,
    ),
    flag("potable_listed", "Whether it is listed for drinking water.", safety=True),
    flag("ferrous", "Whether iron or steel touches the water.", safety=True),
    flag("oxygen_barrier", "Whether its plastic tube keeps oxygen out.", safety=True),
    flag("senses_tank_top", "Whether its probe sits in the top 6 in of the tank.", safety=True),
    Property(
        "high_limit",
        "flag_or_quantity",
        "temperature",
        None,
        "-60 degC",
        "250 degC",
        "200 degF",
        help="An independent high limit: true, false, or the temperature at which it acts.",
        safety=True,
    ),
    flag("low_water_cutoff", "Whether it has a low-water cutoff.", safety=True),
    flag("flow_switch", "Whether it has a flow switch.", safety=True),
    quantity("clearance", "length", "Free space in front of it for service.", typical="30 in", safety=True),
    choice("shaft", ("horizontal", "vertical", "tilted"), "How the shaft lies.", safety=True),
)
