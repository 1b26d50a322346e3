"""The takeoff: what a plant is built from, grouped as one orders it. Counts and lengths; no prices, no files.

What is marked to be removed is not counted, what is there already is counted apart. Tube lengths are the
developed lengths of the file; what is cut away stands beside them as a share.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from core import units
from core.errors import WetsideError
from core.media import tubes
from core.papers import takeoff_fittings
from core.papers.takeoff_fittings import Piece
from core.plant.model import Item, Pipe, Plant
from core.vocabulary import KINDS, Schedule, Trait
from core.working import Display, show_value

GROUPS = ("tube", "fittings", "valves", "equipment", "instruments", "controls", "insulation", "fluid")
WASTE = 0.10
WASTE_SOURCE = "common practice, no source"
CAUTIONS = (
    "A takeoff counts what is drawn. What a drawing leaves out (hangers, sleeves, vents, gas and electrical "
    "work, discharge piping) is not in it: check it against the room before ordering.",
    "Only parts listed for drinking water go into potable piping; which parts may be used, and relief valves "
    "above all, is for local code and licensed trades.",
)


@dataclass(frozen=True)
class Line:
    """One thing to order.

    Attributes
    ----------
    group : str
        One of GROUPS
    what, size : str
        As a supply house would name it
    count : float or None
        Pieces; None of what goes by length or volume
    length, volume : float or None
        As drawn, without waste, [m], [m^3]
    unit : str
        ea, m or m3
    waste : float
        Share added when ordering, [-]
    to_buy : float
        Of count, length or volume, what is neither there nor bought yet
    at : tuple of str
        Ids of the items or pipes
    cost : float or None
        Of what is still to buy, in the money of the price list; None without a price
    """

    group: str
    what: str
    size: str = ""
    count: float | None = None
    length: float | None = None
    volume: float | None = None
    unit: str = "ea"
    waste: float = 0.0
    to_buy: float = 0.0
    at: tuple[str, ...] = ()
    cost: float | None = None
    price: float | None = None

    @property
    def amount(self) -> float:
        """Count, length [m] or volume [m^3], whichever it goes by."""
        return {"ea": self.count, "m": self.length, "m3": self.volume}[self.unit] or 0.0

    @property
    def order(self) -> float:
        """What is to be ordered, waste included, in the same unit."""
        return self.to_buy * (1.0 + self.waste)

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "group": self.group,
            "what": self.what,
            "size": self.size,
            "count": self.count,
            "length_m": self.length,
            "volume_m3": self.volume,
            "unit": self.unit,
            "waste": self.waste,
            "order": self.order,
            "cost": self.cost,
            "at": list(self.at),
        }


@dataclass(frozen=True)
class Takeoff:
    """Lines by group, what is there already, how far the work is, and remarks in full sentences."""

    lines: tuple[Line, ...]
    existing: tuple[str, ...] = ()
    stages: tuple[tuple[str, int], ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def cost(self) -> float | None:
        """Sum of the known costs; None where none is known."""
        known = [line.cost for line in self.lines if line.cost is not None]
        return sum(known) if known else None

    @property
    def unpriced(self) -> tuple[Line, ...]:
        """What is still to buy and has no price."""
        return tuple(line for line in self.lines if line.cost is None and line.to_buy and line.at)


def takeoff(plant: Plant, waste: float = WASTE) -> Takeoff:
    """Count a plant.

    Parameters
    ----------
    plant : Plant
    waste : float
        Share of tube and insulation that is cut away, [-]
    """
    fluid, remarks = _fluid(plant)
    lines = sorted(_together([*_parts_lines(plant, waste), *fluid]), key=_rank)
    there = tuple(part.id for part in _parts(plant) if part.stage == "existing")
    return Takeoff(tuple(lines), there, _stages(plant), tuple(remarks))


def parts_lines(plant: Plant, waste: float = WASTE) -> list[Line]:
    """The lines of a takeoff without what stands in it as water and antifreeze, in no order."""
    return _together(_parts_lines(plant, waste))


def _parts_lines(plant: Plant, waste: float) -> list[Line]:
    display: Display = "si" if plant.units == "si" else "us"
    items = [item for item in plant.items.values() if item.stage not in takeoff_fittings.THERE]
    pipes = [pipe for pipe in plant.pipes.values() if pipe.stage not in takeoff_fittings.THERE]
    found = [*_tube(pipes, waste), *_loops(items), *_insulation(pipes, display, waste)]
    found += [_piece_line(piece) for piece in takeoff_fittings.pieces(plant)]
    found += [line for item in items if (line := _item_line(plant, item, display)) is not None]
    return found


def _parts(plant: Plant) -> list[Item | Pipe]:
    return [*plant.items.values(), *plant.pipes.values()]


def _rank(line: Line) -> tuple[int, str, float, str]:
    """Groups in their order, within them by name, then from small to large."""
    number = 0.0
    with suppress(WetsideError):
        number = units.parse_number(line.size.split(" ")[0].replace("-", " ")) if line.size else 0.0
    return GROUPS.index(line.group), line.what.split(",")[0], number, line.what + line.size


def _stages(plant: Plant) -> tuple[tuple[str, int], ...]:
    counts: dict[str, int] = {}
    for part in _parts(plant):
        counts[part.stage] = counts.get(part.stage, 0) + 1
    return tuple(counts.items())


def _together(lines: Iterable[Line]) -> list[Line]:
    """Lines that name the same thing made one, in the order of their first."""
    found: dict[tuple[str, str, str, float], Line] = {}
    for line in lines:
        key = (line.group, line.what, line.size, line.waste)
        old = found.get(key)
        if old is None:
            found[key] = line
            continue
        found[key] = replace(
            old,
            count=_sum(old.count, line.count),
            length=_sum(old.length, line.length),
            volume=_sum(old.volume, line.volume),
            to_buy=old.to_buy + line.to_buy,
            at=(*old.at, *(name for name in line.at if name not in old.at)),
        )
    return list(found.values())


def _sum(one: float | None, other: float | None) -> float | None:
    return other if one is None else one if other is None else one + other


# Tube and insulation ---------------------------------------------------------------------------------------


def _tube(pipes: Sequence[Pipe], waste: float) -> Iterator[Line]:
    for pipe in sorted(pipes, key=lambda pipe: (_material(pipe), pipe.si.outside, pipe.si.bore)):
        if pipe.joined or pipe.si.length <= 0.0:
            continue
        length = pipe.si.length
        what, size = takeoff_fittings.named(pipe.tube)
        yield Line(
            "tube", f"{what} tube" if "tube" not in what else what, size, None, length, None, "m", waste,
            length * _buys(pipe), (pipe.id,),
        )  # fmt: skip


def _material(pipe: Pipe) -> str:
    return str((pipe.tube or {}).get("material", "~"))


def _loops(items: Sequence[Item]) -> Iterator[Line]:
    """Loops of floors and slabs, each of one piece: their lengths as typed, nothing cut away."""
    for item in items:
        loops = item.si.get("loops")
        if not item.has(Trait.LOOPED) or not loops or not item.props.get("tube"):
            continue
        what, size = takeoff_fittings.named(item.props["tube"])
        count = sum(int(times) for times, _ in loops)
        total = sum(times * length for times, length in loops)
        yield Line(
            "tube", f"{what} tube in loops of one piece each", size, float(count), total, None, "m", 0.0,
            total * _buys(item), (item.id,),
        )  # fmt: skip


def _buys(part: Item | Pipe) -> bool:
    return part.stage == "drawn"


def _insulation(pipes: Sequence[Pipe], display: Display, waste: float) -> Iterator[Line]:
    for pipe in pipes:
        raw = pipe.insulation
        if raw is None or pipe.joined or pipe.si.length <= 0.0:
            continue
        thick = "thickness not set"
        if "thickness" in raw:
            inches = units.to_unit(units.parse(raw["thickness"], "length"), "in" if display == "us" else "mm")
            thick = f"{inches:.3g} {'in' if display == 'us' else 'mm'} thick"
        what, size = takeoff_fittings.named(pipe.tube)
        length = pipe.si.length
        yield Line(
            "insulation", f"pipe insulation, {thick}", f"for {size} {what}".strip(), None, length, None, "m",
            waste, length * _buys(pipe), (pipe.id,),
        )  # fmt: skip


# Items -----------------------------------------------------------------------------------------------------

# What an order names besides the kind: properties with their dimension, words, and what is true of an item.
ORDERED_BY: tuple[tuple[str, str], ...] = (
    ("capacity", "power"),
    ("volume", "volume"),
    ("ua", "heat_per_kelvin"),
    ("area", "area"),
    ("face_to_face", "length"),
    ("rating", "current"),
    ("volts", "voltage"),
)
WORDS = ("class", "duty", "body", "connection", "fixture_type")
FLAGS = {
    "double_wall": "double wall",
    "condensing": "condensing",
    "integral_check": "with integral check",
    "potable": "for drinking water",
    "potable_listed": "listed for drinking water",
}
CHOSEN_BY_CV = (Trait.BALANCES, Trait.OPENS_BY_SIGNAL, Trait.MIXES, Trait.OPENS_BY_PRESSURE)
CONTROLS = (Trait.SIGNALS, Trait.RESETS)
INSTRUMENTS = (Trait.SHOWS_PRESSURE, Trait.SHOWS_TEMPERATURE, Trait.SHOWS_FLOW)
NO_PART = (Trait.JOINS, Trait.ROOM, Trait.TAKES_FIXED_HEAT, Trait.BRINGS_WATER)


def _piece_line(piece: Piece) -> Line:
    return Line(
        piece.group,
        piece.what,
        piece.size,
        float(piece.pieces),
        to_buy=piece.pieces * piece.to_buy,
        at=(piece.at,),
    )


def _item_line(plant: Plant, item: Item, display: Display) -> Line | None:
    """The line of one item; None of what is no part one orders (a joint, a room, a load, the supply)."""
    if item.has(*NO_PART) or (item.has(Trait.LOOPED) and item.props.get("loops")):
        return None
    group = _group(item)
    return Line(
        group, ", ".join([item.kind_info.title, *_about(item, display)]), _size(plant, item), 1.0,
        to_buy=float(_buys(item)), at=(item.id,),
    )  # fmt: skip


def _group(item: Item) -> str:
    if item.has(*CONTROLS):
        return "controls"
    if item.has(*INSTRUMENTS):
        return "instruments"
    if item.has(Trait.CLOSES_PORT):
        return "fittings"
    listed = KINDS[item.kind].schedule is Schedule.VALVES or item.has(Trait.DRAINS, Trait.VENTS, Trait.CHECKS)
    return "valves" if listed and not item.has(Trait.EXPANDS) else "equipment"


def _about(item: Item, display: Display) -> Iterator[str]:
    """What an order names of an item besides its kind and size."""
    si = item.si
    if si.get("curve"):
        flow, lift = si["curve"][len(si["curve"]) // 2]
        head = show_value(lift.value, "head" if lift.is_head else "pressure", display)
        yield f"{_trim(units.show(flow, 'flow', display))} at {_trim(head)} on its curve"
    named = [(name, dimension) for name, dimension in ORDERED_BY if name in item.props]
    named += [("set_pressure", "pressure"), ("set_temperature", "temperature")] * item.has(Trait.RELIEVES)
    for name, dimension in named:
        if isinstance(si.get(name), float):
            yield _trim(show_value(si[name], dimension, display))
    rated = si.get("rated") or {}
    if "heat" in rated:
        yield f"{_trim(show_value(rated['heat'], 'power', display))} rated"
    if item.has(Trait.DIVIDES):
        yield f"{si['branches']} branches"
    if item.has(*CHOSEN_BY_CV) and isinstance(si.get("cv"), int | float):
        yield f"Cv {si['cv']:g}"
    for name in WORDS:
        if isinstance(item.props.get(name), str):
            yield str(item.props[name]).replace("_", " ")
    yield from (words for name, words in FLAGS.items() if item.props.get(name) is True)


def _trim(text: str) -> str:
    """A typed figure without the zero that only rounding shows: 30 psi."""
    number, _, unit = text.partition(" ")
    return f"{number.removesuffix('.0')} {unit}"


def _size(plant: Plant, item: Item) -> str:
    """The trade size of an item: as typed, else that of the tube at it."""
    typed = item.props.get("size") or item.props.get("inlet_size")
    if isinstance(typed, str):
        return tubes.dashed(typed)
    sizes = [takeoff_fittings.named(pipe.tube)[1] for pipe, _ in takeoff_fittings.tube_ends(plant, item)]
    return " x ".join(dict.fromkeys(sizes)) if item.has(Trait.JOINS) or _group(item) == "valves" else ""


def _fluid(plant: Plant) -> tuple[list[Line], list[str]]:
    """Water content of each system and the antifreeze in it; remarks on what is not counted."""
    from core.sizing.bodies import bodies, water_content
    from core.sizing.context import Context

    context = Context(plant)
    volumes: dict[str, float] = {}
    missing: dict[str, list[str]] = {}
    for body in bodies(context):
        content = water_content(context, body)
        volumes[body.system] = volumes.get(body.system, 0.0) + float(content.value)
        missing.setdefault(body.system, []).extend(content.extra.get("uncounted", ()))
    lines: list[Line] = []
    for name, volume in volumes.items():
        system = plant.systems[name]
        share = float(system.si.fluid.get("fraction") or 0.0)
        kind = str(system.fluid.get("kind", "water")).replace("_", " ")
        lines.append(Line("fluid", f"water content of {name}", "", None, None, volume, "m3", at=(name,)))
        if share > 0.0:
            lines.append(
                Line(
                    "fluid", f"{kind} for {name}", f"{100 * share:.0f} % by volume", None, None,
                    share * volume, "m3", 0.0, share * volume, (name,),
                )
            )  # fmt: skip
    remarks = [
        f"Water in {', '.join(names)} is not counted in {system}: its water content is not set."
        for system, names in missing.items()
        if names
    ]
    return lines, remarks
