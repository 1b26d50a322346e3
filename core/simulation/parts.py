"""What stores heat: its states, how the water meets them, and what warms and cools them.

Each part knows its states by their place in the vector of all states. Rooms and the masses of floors stand
here, vessels in `stores`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.simulation.melting import MELTING, Snow
from core.simulation.rows import Face, Rows
from core.solve.settle import Settled
from core.solve.setup import CaseSetup
from core.thermal.emitters import Emitter
from core.thermal.masses import GivingToMass
from core.thermal.roles import Giving, Holding

Array = npt.NDArray[np.float64]

FASTEST = 120.0  # [s] in which a room that stores nothing still follows: 0 is taken as this little
SLICES = 6  # parts of a mass along its circuit: within 0.5 % of one spread evenly, up to 1.5 transfer units


class Heats:
    """Heat to each state and to what is metered, as rows, [W]."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        self.into = np.zeros((rows.n, rows.n + 2))
        self.meters: dict[tuple[str, str], Array] = {}

    def add(self, state: int, row: Array) -> None:
        """Bring heat to a state."""
        self.into[state] += row

    def meter(self, what: str, at: str, row: Array) -> None:
        """Count heat: `what` is "heat", "gain", "loss", "draw" or "melt"."""
        before = self.meters.get((what, at))
        self.meters[what, at] = row if before is None else before + row


@dataclass
class Part:
    """States of one item: `first` is the place of the first, `capacity` what each stores, [J/K].

    What meets `straight` ones does not bend with their temperature but where it is guarded itself.
    """

    key: str
    first: int
    start: list[float]
    capacity: list[float]
    stores: ClassVar[bool] = True
    straight: ClassVar[bool] = False

    @property
    def at(self) -> slice:
        """Places of its states."""
        return slice(self.first, self.first + len(self.start))

    def mean(self, x: Array) -> float:
        """Mean temperature by what is stored, [K]."""
        weights = np.array(self.capacity)
        return float(x[self.at] @ weights / weights.sum())

    def elements(self) -> list[Element]:
        """Elements whose water meets its states; none where that may be any."""
        return []

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        """Put the temperatures into the roles of a case."""

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        """Where its states meet the water."""
        return iter(())

    def heat(self, heats: Heats) -> None:
        """What warms and cools its states."""

    def after(self, x: Array, seconds: float) -> float:
        """What happens at once at the end of a step; the largest change of a state, [K]."""
        return 0.0


@dataclass
class RoomPart(Part):
    """A room of known loss [W/K], with its gain of the hour [W]."""

    loss: float = 0.0
    gain: Callable[[], float] = lambda: 0.0
    outdoor: float | None = None  # [K] stands in for the weather where the room loses nothing
    wanted: float = 0.0

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        room, t = setup.roles.rooms[self.key], float(x[self.first])
        room.held = Holding("", t, pinned=True)
        if self.outdoor is None:
            room.gain = self.gain()
        for role in room.emitters:
            role.room = t

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        warmed = []
        for i, role in s.roles.of.items():
            if isinstance(role, Giving) and role.home == self.key and abs(s.balance.w[i]) > 0.0:
                kept = _kept(s, i, role)
                if kept is not None:
                    warmed.append((i, 1.0 - kept))
        yield Face({self.first: 1.0}, tuple(warmed))

    def heat(self, heats: Heats) -> None:
        rows = heats.rows
        around = rows.outdoor() if self.outdoor is None else rows.const(self.outdoor)
        lost = self.loss * (rows.state(self.first) - around)
        gain = rows.const(self.gain() if self.outdoor is None else 0.0)
        heats.add(self.first, gain - lost)
        heats.meter("loss", self.key, lost)
        heats.meter("gain", self.key, gain)
        for i, role in rows.s.roles.of.items():
            if isinstance(role, Giving) and role.home == self.key:
                heats.add(self.first, rows.given(i))


def _kept(s: Settled, i: int, role: Giving) -> float | None:
    """Share of its temperature over the room that water keeps in an emitter; None where a load decides."""
    solver = s.temperatures
    assert solver is not None
    flowing = solver.flowing
    if flowing is None or i not in flowing.loads or role.emitter.ua is None:
        return None
    if role.capped and s.thermal.load.get(i, "full") == "full":
        return None
    t_in, t_out = float(s.thermal.t_in[i]), float(s.thermal.t_out[i])
    return math.exp(-role.emitter.conductance(t_in, t_out, role.room) / flowing.rate(i))


@dataclass
class MassPart(Part):
    """The mass of a floor or slab between its water and its room, in parts along the circuit.

    `share` of the resistance lies on the water's side. Its far side is a room's state (`home`), a temperature
    that stands (`around`, [K]), or outdoors; under snow it is melting ice.
    """

    element: Element | None = None
    emitter: Emitter | None = None
    share: float = 0.3
    home: RoomPart | None = None
    around: float | None = None
    melts: bool = False
    snow: Snow = field(default_factory=Snow)

    @property
    def way(self) -> int:
        """Its element."""
        assert self.element is not None
        return self.element.index

    def elements(self) -> list[Element]:
        return [] if self.element is None else [self.element]

    @property
    def far(self) -> float:
        """Conductance of each part to the far side, [W/K]."""
        assert self.emitter is not None
        return float(self.emitter.ua or 0.0) / (1.0 - self.share) / len(self.start)

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        assert self.emitter is not None
        i, parts = self.way, tuple(x[self.at].tolist())
        before = setup.roles.of[i]
        if isinstance(before, GivingToMass):
            before.parts = parts
            return
        assert isinstance(before, Giving)
        water = replace(self.emitter, ua=float(self.emitter.ua or 0.0) / self.share, wanted=None)
        setup.roles.of[i] = GivingToMass(self.key, water, before.room, "", least=before.least, parts=parts)
        assert self.element is not None
        setup.roles.uncut |= {self.element.start, self.element.end}

    def _units(self, s: Settled) -> float:
        assert self.element is not None
        role, solver = s.roles.of[self.element.index], s.temperatures
        assert isinstance(role, GivingToMass)
        assert solver is not None
        assert solver.flowing is not None
        return float(role.emitter.ua or 0.0) / solver.flowing.rate(self.element.index)

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        assert self.element is not None
        i = self.element.index
        role = s.roles.of[i]
        if abs(s.balance.w[i]) <= 0.0 or not isinstance(role, GivingToMass):
            return
        solver = s.temperatures
        assert solver is not None
        if solver.flowing is None or i not in solver.flowing.loads:
            return
        units = self._units(s)
        for k, weight in enumerate(role.weights(units)):
            yield Face({self.first + k: 1.0}, ((i, -math.expm1(-units) * weight),))

    def heat(self, heats: Heats) -> None:
        assert self.element is not None
        rows, i = heats.rows, self.element.index
        self._from_water(heats, i)
        covered, falls = self._under_snow(rows)
        for k in range(self.first, self.first + len(self.start)):
            melts = covered and rows.value(rows.state(k)) > MELTING
            if self.home is not None:
                beyond = rows.state(self.home.first)
            elif melts:
                beyond = rows.const(MELTING)
            else:
                beyond = rows.outdoor() if self.around is None else rows.const(self.around)
            out = self.far * (rows.state(k) - beyond)
            heats.add(k, -out)
            if self.home is not None:
                heats.add(self.home.first, out)
            else:
                heats.meter("melt" if melts else "loss", self.key, out)
            if falls > 0.0:
                heats.add(k, rows.const(-falls))
                heats.meter("melt", self.key, rows.const(falls))

    def _under_snow(self, rows: Rows) -> tuple[bool, float]:
        """Whether snow covers it, and what snow that melts as it falls takes from each part, [W]."""
        if not self.melts or not self.snow.covers:
            return False, 0.0
        wanted = self.snow.falling * self.snow.heat
        if self.snow.lying > 0.0 or wanted <= 0.0:
            return True, 0.0
        warm = [rows.value(rows.state(k)) - MELTING for k in range(self.first, self.first + len(self.start))]
        if self.far * sum(max(0.0, over) for over in warm) < wanted:
            return True, 0.0
        return False, wanted / len(self.start)

    def _from_water(self, heats: Heats, i: int) -> None:
        """Heat of the water to each part it passes, so that they add up to what the water gives."""
        rows = heats.rows
        solver = rows.s.temperatures
        assert solver is not None
        flowing = solver.flowing
        if not rows.flows(i) or flowing is None or i not in flowing.loads:
            return
        units = self._units(rows.s)
        own = -math.expm1(-units / len(self.start))
        t, falls = rows.t_in[i].copy(), []
        for k in range(self.first, self.first + len(self.start)):
            falls.append(own * (t - rows.state(k)))
            t = t - falls[-1]
        rate = rows.given(i)
        fall = rows.t_in[i] - rows.t_out[i]
        scale = flowing.rate(i)
        left = rate - scale * fall  # what a changing heat capacity adds: shared alike
        for n, k in enumerate(range(self.first, self.first + len(self.start))):
            heats.add(k, scale * falls[n] + left / len(self.start))
