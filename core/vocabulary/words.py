"""The shapes of the vocabulary: what a kind and a property are. Not the table itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from core.vocabulary.heat_roles import HeatRole
from core.vocabulary.traits import Report, Trait
from core.vocabulary.waterways import Waterway

if TYPE_CHECKING:
    from core.vocabulary.figures import Figure

Check = Callable[[Mapping[str, Any], Mapping[str, Any], str], None]

PropertyType = Literal[
    "quantity",  # "3/4 in"
    "lift",  # a head or a pressure
    "target",  # a circulator's: a difference of temperature, a head or a pressure
    "number",  # JSON number
    "integer",
    "boolean",
    "choice",
    "text",
    "flag_or_quantity",  # true, false, or the value at which it acts
    "points",  # list of rows, rising in the first column
    "table",  # list of rows
    "rated",  # object of named quantities
    "heights",  # object name -> length
    "number_list",  # a number, or one per branch
    "loops",  # list of lengths or [count, length]
    "surfaces",  # list of {name, area, u or r, beyond}
    "tube",  # catalogue size or bore
    "signals",  # signal name, any/all/not, true or false
    "place",  # [item or pipe, port or sensor]
    "places",  # two of them
    "item",  # id of another item
    "items",  # id, or list of ids
    "intervals",  # list of [time of day, time of day]
    "days",  # list of days of the week
    "number_or_quantity",
    "fluid",  # object of `document.FLUID`
    "insulation",  # object of `document.INSULATION`
    "fittings",  # object name -> count
    "flags",  # object id -> true or false
    "quantities",  # object id -> quantity
    "quantities_by_tap",  # object id -> quantity, or object tap -> quantity
    "case_set",  # object id -> object of properties
]

UNKNOWN = "unknown"


class Lift(NamedTuple):
    """A head or a pressure as typed: [m] of the fluid flowing there, or [Pa]."""

    value: float
    is_head: bool

    def pascal(self, rho: float) -> float:
        """Pressure at density `rho` [kg/m^3], [Pa]."""
        return self.value * rho * 9.80665 if self.is_head else self.value

    def metres(self, rho: float) -> float:
        """Head at density `rho` [kg/m^3], [m]."""
        return self.value if self.is_head else self.value / (rho * 9.80665)


class TubeValues(NamedTuple):
    """A tube's inner diameter, roughness and outer diameter, [m]."""

    bore: float
    roughness: float
    outside: float


class InsulationValues(NamedTuple):
    """Insulation of a pipe: thickness [m], conductivity [W/m/K]."""

    thickness: float
    conductivity: float


# Of a tube given by its bore alone: drawn copper or plastic, the published figure for both.
SMOOTH = 1.5e-6


class Property(NamedTuple):
    """One property of a kind.

    `default`, `low` and `high` stand as they would in a file: text with a unit for quantities,
    JSON numbers else. `columns` gives the dimension of each column of points and tables ("number"
    for a bare number), `fields` the dimension of each key of a rated point.
    """

    name: str
    type: PropertyType
    dimension: str | None = None
    default: Any = None
    low: Any = None
    high: Any = None
    typical: str = ""
    choices: tuple[str, ...] = ()
    help: str = ""
    safety: bool = False
    columns: tuple[str, ...] = ()
    fields: Mapping[str, str] = MappingProxyType({})
    required: tuple[str, ...] = ()


class FreePorts(StrEnum):
    """Ports that an item names or counts by itself, in words."""

    TAPS = "taps by name"
    BRANCHES = "1 … branches"


class Schedule(StrEnum):
    """Which table of the sheet lists the items of a kind."""

    CIRCULATORS = "circulators"
    SOURCES = "sources, exchangers, storage"
    HEAT_PUMPS = "heat pumps"
    CIRCUITS = "heat circuits and fixtures"
    ROOMS = "rooms"
    VALVES = "valves and safety"


class CaseSets(StrEnum):
    """What a case may set at an item."""

    DRAW = "draws"
    TEMPERATURE = "tanks"


class Kind(NamedTuple):
    """One kind of item: all that the program knows of it, save its drawing.

    Attributes
    ----------
    joined : tuple
        Groups of ports that one body of water runs through inside the item; ports of different groups are
        parted by a wall or a device (exchanger, coil, fill valve)
    prefix : str
        Starts a fresh tag
    traits : frozenset of Trait
        What is true of it
    waterway : Waterway or None
        The ways inside it; None of kinds without ports, and of those that are not solved
    heat : HeatRole or None
        What it does to heat
    report : Report or None
        Which figures a solved case gives of it
    essential : tuple of str
        The properties that most who draw one must type: a form asks them first; () for all of its own
    content : str
        The property that says how much water it holds, "" for none
    drawing : str
        Its drawing in icons/; "" for that of its own name
    capped : tuple of str
        Ports that are as a rule left without a pipe: capped by the item itself
    schedule : Schedule or None
        The table of the sheet that lists it
    free_ports : FreePorts or None
        Ports besides `ports` that each item names for itself
    cases_set : CaseSets or None
        What a case may set at it
    excluding, ordered, checks : tuple
        Rules of validity: pairs of which one may be given, with the reason; pairs of which the first may not
        exceed the second; and functions of raw properties, SI values and place that raise Refusal
    """

    name: str
    title: str
    group: str
    ports: tuple[str, ...]
    properties: Mapping[str, Property]
    help: str
    prefix: str = ""
    joined: tuple[tuple[str, ...], ...] = ()
    traits: frozenset[Trait] = frozenset()
    waterway: Waterway | None = None
    heat: HeatRole | None = None
    report: Report | None = None
    essential: tuple[str, ...] = ()
    content: str = ""
    drawing: str = ""
    capped: tuple[str, ...] = ()
    schedule: Schedule | None = None
    free_ports: FreePorts | None = None
    cases_set: CaseSets | None = None
    excluding: tuple[tuple[str, str, str], ...] = ()
    ordered: tuple[tuple[str, str], ...] = ()
    checks: tuple[Check, ...] = ()

    @property
    def solved(self) -> bool:
        """Whether the solver knows how water passes it."""
        return self.waterway is not None or not self.ports

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Figures that a solved case gives of it."""
        from core.vocabulary.figures import FIGURES  # 1 ms of start-up, and asked for by few

        return FIGURES[self.report] if self.report is not None else ()

    def has(self, *traits: Trait) -> bool:
        """Whether any of some traits is true of it."""
        return not self.traits.isdisjoint(traits)
