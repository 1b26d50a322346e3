"""Wiring points: what is wired, from where, with how many amps, what calls it and what it calls.

For the licensed electrician to check; nothing here sizes a wire, a breaker or a circuit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from core import units
from core.calls.power import current
from core.calls.receptacles import CAUTION, CONTINUOUS_SOURCE, OutletLoad, feeds, outlet_loads
from core.controls.words import said
from core.papers.blocks import Block, Caution, Grid, Heading, Paper, Said
from core.papers.plant_words import by_tag, titled
from core.plant.model import Item, Plant
from core.solve import Solution
from core.vocabulary import Trait, signal_names
from core.working import Working, typed

QUESTIONS = (
    "Which branch circuits feed this room, and what else hangs on each of them?",
    "Which receptacles and devices need ground-fault or arc-fault protection here, and bonding of the "
    "piping?",
    "Which disconnects, emergency switches and interlocks (low water, flow, high limit, combustion air, "
    "venting) "
    "does the code in force ask for?",
    "Are control voltage, transformer size and the rating of each relay contact right for what it switches?",
    "Is every motor protected against overload, and every enclosure fit for a damp place?",
)
NOT_SET = "not set"


@dataclass(frozen=True)
class Point:
    """One thing to be wired.

    Attributes
    ----------
    at, what : str
    powered_by : str
        In words; empty where nothing is drawn
    receptacles : tuple of str
        Receptacles it hangs on
    volts, amps, watts : float or None
        None where not set, [V], [A], [W]
    called_by : str
        In words what lets it run, empty for a control
    calls : tuple of str
        What it helps to run or sets
    is_control : bool
    """

    at: str
    what: str
    powered_by: str
    receptacles: tuple[str, ...]
    volts: float | None
    amps: float | None
    watts: float | None
    called_by: str
    calls: tuple[str, ...]
    is_control: bool

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at, "what": self.what, "powered_by": self.powered_by,
            "receptacles": list(self.receptacles), "volts_v": self.volts, "amps_a": self.amps,
            "watts_w": self.watts, "called_by": self.called_by, "calls": list(self.calls),
        }  # fmt: skip


@dataclass(frozen=True)
class Circuit:
    """What a receptacle carries: all it feeds at once, and in the case that asks most of it."""

    at: str
    rating: float | None
    volts: float | None
    feeds: tuple[str, ...]
    connected: float
    unknown: tuple[str, ...]
    case: str
    worst: OutletLoad | None

    @property
    def over(self) -> bool:
        """Whether it carries more than it may, as far as is known."""
        return self.worst is not None and self.worst.verdict.startswith("over")

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        worst = self.worst
        return {
            "at": self.at, "rating_a": self.rating, "volts_v": self.volts, "feeds": list(self.feeds),
            "connected_a": self.connected, "unknown": list(self.unknown), "case": self.case,
            "amps_a": None if worst is None else worst.amps.value,
            "verdict": "" if worst is None else worst.verdict,
        }  # fmt: skip


@dataclass(frozen=True)
class WiringPoints:
    """Points in the order of their tags, devices first; circuits; what hangs on none."""

    points: tuple[Point, ...]
    circuits: tuple[Circuit, ...]

    @property
    def unfed(self) -> tuple[str, ...]:
        """Devices of which no receptacle is drawn."""
        return tuple(p.at for p in self.points if not p.receptacles and not p.is_control)


def wiring_points(plant: Plant, solutions: Sequence[Solution] = ()) -> WiringPoints:
    """What there is to wire in a plant; `solutions` are the cases by which circuits are loaded."""
    fed = feeds(plant)
    on: dict[str, list[str]] = {}
    for name, hung in fed.items():
        for key in hung:
            on.setdefault(key, []).append(name)
    items = [item for item in by_tag(plant.items.values()) if item.stays]
    points = [_point(plant, item, on.get(item.id, [])) for item in items if _is_wired(item, on)]
    points.sort(key=lambda point: point.is_control)
    return WiringPoints(tuple(points), tuple(_circuit(plant, name, fed, solutions) for name in fed))


def _is_wired(item: Item, on: Mapping[str, Sequence[str]]) -> bool:
    return (
        item.has(Trait.ELECTRIC, Trait.SIGNALS, Trait.RESETS) or item.id in on or bool(item.si.get("element"))
    )


def _number(item: Item, name: str) -> float | None:
    value = item.si.get(name)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _volts(plant: Plant, receptacles: Sequence[str]) -> Working | None:
    for name in receptacles:
        value = _number(plant.items[name], "volts")
        if value is not None:
            return typed("U", f"voltage of {name}", value, "voltage", f"items.{name}.props.volts", "")
    return None


def _point(plant: Plant, item: Item, receptacles: Sequence[str]) -> Point:
    control = item.has(Trait.SIGNALS, Trait.RESETS)
    volts = _volts(plant, [item.id] if item.has(Trait.FEEDS_POWER) else receptacles)
    amps = None if item.has(Trait.FEEDS_POWER) else current(item, volts)
    by = item.props.get("switched_by" if item.has(Trait.FEEDS_POWER) else "powered_by")
    return Point(
        item.id,
        titled(item),
        "" if by is None else said(by),
        tuple(receptacles),
        None if volts is None else float(volts.value),
        None if amps is None else float(amps.value),
        _number(item, "watts") or _number(item, "element"),
        "" if control else said(item.si.get("run_when")),
        tuple(_called(plant, item.id)),
        control,
    )


def _called(plant: Plant, signal: str) -> Iterator[str]:
    """Items that name a signal, and what an outdoor reset sets."""
    for other in plant.items.values():
        named = {
            n for key in ("run_when", "powered_by", "switched_by") for n in signal_names(other.si.get(key))
        }
        if other.stays and signal in named:
            yield other.id
    sets = plant.items[signal].si.get("sets") or ()
    yield from ((sets,) if isinstance(sets, str) else sets)


def _circuit(
    plant: Plant, name: str, fed: Mapping[str, Mapping[str, tuple[str, ...]]], solutions: Sequence[Solution]
) -> Circuit:
    item = plant.items[name]
    volts = _volts(plant, [name])
    amps = {key: current(plant.items[key], volts) for key in fed[name]}
    loads = [
        (solution.case, load)
        for solution in solutions
        for load in outlet_loads(plant, solution, fed)
        if load.at == name
    ]
    case, worst = max(loads, key=lambda pair: float(pair[1].amps.value), default=("", None))
    return Circuit(
        name,
        _number(item, "rating"),
        None if volts is None else float(volts.value),
        tuple(fed[name]),
        sum(float(each.value) for each in amps.values() if each is not None),
        tuple(key for key, each in amps.items() if each is None),
        case if worst is not None and float(worst.amps.value) > 0.0 else "",
        worst,
    )


# As a paper ------------------------------------------------------------------------------------------------


def wiring_blocks(plant: Plant, found: WiringPoints, level: int = 1) -> list[Block]:
    """Devices, controls, circuits, and what to ask the electrician."""
    out: list[Block] = [Heading("Wiring points", level), Caution(CAUTION)]
    for title, control in (("Devices", False), ("Controls", True)):
        rows = [_row(point) for point in found.points if point.is_control is control]
        if rows:
            heads = ("tag", "what", "on", "volts", "amps", "power", "called by", "calls")
            out.append(Grid.of(title, heads, rows, "volts, amps, power"))
    if found.unfed:
        out.append(
            Said(f"No receptacle is drawn for {', '.join(found.unfed)}: hard-wired, or still to be drawn.")
        )
    out += _circuit_blocks(found)
    out.append(Said("Ask the licensed electrician:", True))
    out += [Said(f"– {question}", indent=1) for question in QUESTIONS]
    return out


def _row(point: Point) -> tuple[str, ...]:
    on = ", ".join(point.receptacles) or point.powered_by
    return (
        point.at, point.what, on or "–",
        "–" if point.volts is None else f"{point.volts:.0f} V",
        NOT_SET if point.amps is None and not point.is_control else "–" if point.amps is None
        else f"{point.amps:.1f} A",
        "–" if point.watts is None else f"{point.watts:,.0f} W",
        point.called_by or "–", ", ".join(point.calls) or "–",
    )  # fmt: skip


def _circuit_blocks(found: WiringPoints) -> Iterator[Block]:
    if not found.circuits:
        yield Said("No receptacle or circuit is drawn, so no load on a circuit can be told.")
        return
    rows = []
    for circuit in found.circuits:
        most = "–" if circuit.worst is None else circuit.worst.words()
        unknown = f" and {', '.join(circuit.unknown)} not set" if circuit.unknown else ""
        rows.append(
            (
                circuit.at, "–" if circuit.volts is None else units.show(circuit.volts, "voltage", "si"),
                "–" if circuit.rating is None else f"{circuit.rating:.0f} A", ", ".join(circuit.feeds) or "–",
                f"{circuit.connected:.1f} A{unknown}", circuit.case or "–", most,
            )
        )  # fmt: skip
    heads = ("receptacle", "volts", "rated", "feeds", "all at once", "worst case", "in that case")
    yield Grid.of("Load on each circuit", heads, rows, "volts, rated")
    yield Said(f"Source of the 80 %: {CONTINUOUS_SOURCE}.")


def wiring_paper(plant: Plant, solutions: Sequence[Solution]) -> Paper:
    """The paper for the electrician."""
    return Paper("Wiring points", tuple(wiring_blocks(plant, wiring_points(plant, solutions))))
