"""What a place for a second circulator comes to, as data; where more flow is wanted, and circuits' flows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from core.figures import CoilTankFigures, EmitterFigures, ExchangerFigures, PumpFigures, SourceFigures
from core.plant.model import Plant
from core.sizing.second_circulator.available import Pump
from core.sizing.second_circulator.fit import Fit
from core.sizing.second_circulator.places import Place, Spot
from core.solve import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.working import Working

State = Literal["helps", "takes", "little", "none", "unsettled", "blocked"]


@dataclass(frozen=True)
class Wanted:
    """Where more flow is wanted: an id, or empty for the stretch of each place itself.

    `short` are the circuits that lack heat in the case, and how much, [W]; `met` says that every circuit has
    the heat it wants, so that nothing is gained by more flow.
    """

    at: str = ""
    words: str = "the plant"
    short: Mapping[str, float] = field(default_factory=dict)
    met: bool = False


@dataclass(frozen=True)
class Found:
    """One place tried with one curve. Flows [m^3/s], heads [m], pressures [Pa], power [W].

    `flow` and `head` are its own, `pair_…` those of it and the one beside it together; `lacking` is the
    share of its heat that the wanted circuit still lacks; `others` what other curves do at the same place.
    """

    place: Place
    pump: Pump
    spot: Spot | None
    fit: Fit
    opened: tuple[str, ...]
    state: State
    verdict: str
    flows: Mapping[str, tuple[float, float]]
    heat: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    gained_at: str = ""
    gain: float | None = None
    gain_share: float | None = None
    power: float | None = None
    water_power: float | None = None
    flow: float | None = None
    head: float | None = None
    pair_flow: float | None = None
    pair_head: float | None = None
    pair_power: float | None = None
    beside_speed: float | None = None
    pair_shut_off: float | None = None
    suction: float | None = None
    margin: Working | None = None
    per_flow: Working | None = None
    gained: Working | None = None
    checks: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    worth: bool = False
    undone: int = 0
    lacking: float | None = None
    others: tuple[Found, ...] = ()
    speed: float | None = None

    @property
    def short(self) -> str:
        """The place for a narrow list."""
        if self.place.how == "branch":
            return f"branch {self.spot.at if self.spot else self.place.at}"
        if self.place.how == "parallel":
            return f"parallel {self.place.at}"
        return f"series {self.place.at}"

    @property
    def title(self) -> str:
        """The place in a few words."""
        if self.place.how == "branch":
            return f"on the branch at {self.spot.at if self.spot else self.place.at}"
        if self.place.how == "parallel":
            return f"in parallel to {self.place.at}"
        if self.spot and self.spot.spacer:
            return f"in series with {self.place.at}, for {self.spot.spacer}"
        if self.spot and self.spot.touches:
            side = "outlet" if self.spot.port == "out" else "inlet"
            return f"in series with {self.place.at}, at its {side}"
        return f"in series with {self.place.at}, in {self.spot.at if self.spot else '?'}"


def wanted_of(plant: Plant, before: Solution, circuit: str, beside: str) -> Wanted:
    """Where the gain is looked for: as asked, else where most is short, else on each stretch itself."""
    short = {
        name: found.short_w
        for name, found in before.of(EmitterFigures).items()
        # What nobody calls for is not short.
        if found.short_w > 0.0 and abs(found.flow_m3_s) > NO_FLOW
    }
    met = bool(wants(plant, before)) and not short
    if circuit:
        return Wanted(circuit, f"{circuit}", short)
    if beside:
        return Wanted(beside, beside, short)
    if short:
        most = max(short, key=lambda name: short[name])
        return Wanted(most, f"{most}, the shortest of heat", short)
    return Wanted("", "any circuit", short, met=met)


def wants(plant: Plant, solution: Solution) -> tuple[str, ...]:
    """Circuits with flow whose wanted heat is stated."""
    return tuple(
        name
        for name, found in solution.of(EmitterFigures).items()
        if states_load(plant, name) and abs(found.flow_m3_s) > NO_FLOW
    )


def states_load(plant: Plant, name: str) -> bool:
    """Whether it is said how much heat a circuit is to give: its own load, or the loss of its room."""
    item = plant.items.get(name)
    if item is None or not item.has(Trait.GIVES_HEAT):
        return False
    room = plant.items.get(str(item.props.get("serves") or ""))
    return bool(item.si.get("load") or item.si.get("flux") or (room is not None and room.si.get("loss")))


def circuits(plant: Plant, solution: Solution) -> dict[str, float]:
    """Flow of each circuit: what gives or makes heat, both sides of exchangers, lines of circulators."""
    out: dict[str, float] = {}
    for name, found in solution.items.items():
        match found:
            case EmitterFigures() | SourceFigures() | PumpFigures():
                out[name] = found.flow_m3_s
            case ExchangerFigures():
                out |= {f"{name}.a": found.a_flow_m3_s, f"{name}.b": found.b_flow_m3_s}
            case CoilTankFigures():
                out[f"{name}.coil"] = found.coil_flow_m3_s
    return out


def flow_at(plant: Plant, solution: Solution, name: str) -> float | None:
    """Size of the flow through an item or pipe, [m^3/s]; an exchanger's heated side."""
    if name in solution.pipes:
        return abs(solution.pipes[name].flow_m3_s)
    for key in ("flow_m3_s", "b_flow_m3_s", "coil_flow_m3_s", "cross_flow_m3_s"):
        if (flow := solution.value(name, key)) is not None:
            return abs(flow)
    return None
