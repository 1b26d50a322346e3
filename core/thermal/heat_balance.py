"""One linear balance of heat at every node, exchanger side and room, for one layout of flows.

Junctions mix by heat content, elements pass water on as T_out = a T_in + b; exchanger sides are tied to each
other in the same matrix.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from core.thermal.exchanger import effectiveness
from core.thermal.flowing import Flowing, Run, ThermalState
from core.thermal.heat import HeatTables
from core.thermal.holding import HoldRows
from core.thermal.limits import governing_source
from core.thermal.roles import Coil, Plates, Roles, Side
from core.thermal.rooms import Reached, RoomRows
from core.thermal.steps import Steps, passed_on

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
Cells = list[tuple[int, int, float]]

ANCHOR = 1e-6  # [W/K] ties every unknown to the room, so that an endless loop has one answer
IDLE_ANCHOR = 1.0  # [W/K] where nothing heats or cools, and so nothing flows to it
DENSE_UP_TO = 250  # unknowns; above, scipy's sparse factors are quicker


class HeatBalance:
    """One linear balance of heat at every node, exchanger side and room, for one layout of flows."""

    def __init__(self, flowing: Flowing, roles: Roles) -> None:
        self.flowing, self.roles = flowing, roles
        self.rooms, self.holds = RoomRows(roles, flowing), HoldRows(roles, flowing)
        self.steps = steps = Steps(flowing, self.rooms.out)
        ways, runs = flowing.ways, flowing.runs
        self.nodes = np.arange(len(flowing.row))
        at_nodes = [ways.tables[ways.net.body_of[node]] for node in flowing.row]
        self.heat = HeatTables([*at_nodes, *(run.table for run in runs)])
        self.last = np.array([run.last for run in runs], np.intp)
        sides = [
            (flowing.side_row[(role.item, role.side)], steps.place[i])
            for run in runs
            for i, role in run.steps
            if isinstance(role, Side)
        ]
        self.sides = np.array([row for row, _ in sides], np.intp)
        self.side_at = np.array([at for _, at in sides], np.intp)
        self.ones = np.ones(len(sides))
        self.emitters = [(i, steps.place[i]) for i in self.rooms.out]
        self.governed: dict[int, list[int]] | None = None
        self.room_slopes: dict[int, float] = {}

    def take(self, state: ThermalState) -> None:
        """Take over the temperatures of the last pass, [K]."""
        indoor = self.flowing.ways.indoor
        self.node = np.array([state.node.get(node, indoor) for node in self.flowing.row])
        self.t_in, self.t_out = state.t_in, state.t_out
        self.mixed = self.t_out[self.last]  # what each run came to its end with
        if self.governed is not self.flowing.governed:
            self._lay_out()

    def _lay_out(self) -> None:
        """Number the unknowns and find the cells that every round fills."""
        flowing, steps = self.flowing, self.steps
        self.governed = flowing.governed
        first = flowing.unknowns
        idle = np.array([node in flowing.idle for node in flowing.row], bool)
        self.anchor = np.where(idle, IDLE_ANCHOR, ANCHOR)
        self.anchored_at = np.array([flowing.idle.get(node, flowing.ways.indoor) for node in flowing.row])
        self.share_row = {group: first + k for k, group in enumerate(flowing.governed)}
        self.n = n = first + len(self.share_row)
        rows = np.concatenate([flowing.ends, self.nodes, self.sides, self.sides])
        cols = np.concatenate([steps.end_row, self.nodes, self.sides, steps.inlet_row[self.side_at]])
        # The unknown share of each run's group: where its plain loads may be cut.
        self.run_share = np.array(
            [self.share_row.get(flowing.group[run.start], -1) for run in flowing.runs], np.intp
        )
        self.sharing = np.flatnonzero(self.run_share >= 0)
        side_share = self.run_share[steps.run[self.side_at]]
        self.side_sharing = np.flatnonzero(side_share >= 0)
        rows = np.concatenate([rows, flowing.ends[self.sharing], self.sides[self.side_sharing]])
        cols = np.concatenate([cols, self.run_share[self.sharing], side_share[self.side_sharing]])
        self.flat = rows * n + cols

    def solve(self, state: ThermalState) -> Array:
        """All unknown temperatures, from what is known of the last round, [K].

        What leaves a node carries the heat that came in; heat contents are straightened where they were.
        """
        flat, laid, cells, right = self.assemble(state)
        self.last_laid = (flat, laid), cells
        return self.solve_laid((flat, laid), cells, right, 1.0)

    def solve_laid(self, laid: tuple[Indices, Array], cells: Cells, right: Array, share: float) -> Array:
        """Solve the cells of `assemble`; `share` is what a share becomes that moves nothing.

        A share moves nothing at its governing source while another one, between the loads and it, still
        holds its own set point: nothing is cut until that one is found at its capacity.
        """
        try:
            return solve_cells(self.n, laid, cells, right)
        except np.linalg.LinAlgError:
            rows = list(self.share_row.values())
            cells = [cell for cell in cells if cell[0] not in rows] + [(row, row, 1.0) for row in rows]
            right[rows] = share
            return solve_cells(self.n, laid, cells, right)

    def assemble(self, state: ThermalState) -> tuple[Indices, Array, Cells, Array]:
        """The cells that every round fills, by place and value, the single ones, and the right side."""
        flowing, steps = self.flowing, self.steps
        steps.compose(self.t_in, self.t_out, state)
        many = len(self.nodes)
        contents, slopes = self.heat.content_and_capacity(np.concatenate([self.node, self.mixed]))
        here, capacity, content, cp = contents[:many], slopes[:many], contents[many:], slopes[many:]
        self.here, self.arriving_heat, self.carried = here, content, flowing.flow * cp
        # Written as for the nodes below, so that a loop without beginning or end cancels to the last digit.
        arriving = flowing.flow * (content + cp * (steps.b[steps.end] - self.mixed))
        right = np.zeros(self.n)
        right[:many] = flowing.inflow * (here - capacity * self.node) - self.anchor * self.anchored_at
        right[:many] -= np.bincount(flowing.ends, arriving, many)
        before = steps.before[self.side_at]
        right[self.sides] = steps.b[before]
        laid = np.concatenate(
            [
                self.carried * steps.a[steps.end],
                -flowing.inflow * capacity - self.anchor,
                self.ones,
                -steps.a[before],
                (self.carried * steps.c[steps.end])[self.sharing],
                -steps.c[before][self.side_sharing],
            ]
        )
        return self.flat, laid, self._single(state, right), right

    def _single(self, state: ThermalState, right: Array) -> Cells:
        """Cells of what there are few of: mains, tanks, exchangers, coils, rooms, shares of cut loads."""
        flowing, roles, steps = self.flowing, self.roles, self.steps
        cells: Cells = []
        for node, flow in flowing.brought.items():
            table = flowing.ways.tables[flowing.ways.net.body_of[node]]
            right[flowing.row[node]] -= flow * table.content(roles.main_temperature[node])
        for node, store in roles.stores.items():
            row = flowing.row.get(node)
            if row is not None:
                cells.append((row, row, -store.ua))
                right[row] -= store.element + store.ua * store.around
        for key, plates in roles.exchangers.items():
            _exchanger_rows(flowing, key, plates, cells, right)
        for coil, run in flowing.coils:
            _coil_rows(flowing, coil, run, cells, right)
        for i, at in self.emitters:
            role, run = flowing.loads[i]
            before = steps.before[at]
            reached = Reached(
                int(steps.inlet_row[at]),
                float(steps.a[before]),
                float(steps.b[before]),
                int(self.run_share[steps.run[at]]),
                float(steps.c[before]),
            )
            passed = passed_on(flowing, i, role, run, state)
            self.room_slopes[i] = passed[0]
            self.rooms.give(i, role, passed, reached, cells, right)
        self.rooms.balance(state, cells, right)
        self.holds.balance(state, cells, right)
        self._shares(state, cells, right)
        return cells

    def _shares(self, state: ThermalState, cells: Cells, right: Array) -> None:
        """Rows of the shares: all, none, or what lets the governing source leave just at its set point."""
        steps = self.steps
        for group, row in self.share_row.items():
            governing = governing_source(self.flowing, group, state)
            if governing is None and group in state.enclosed:
                cells.append((row, row, 1.0))
                right[row] = state.enclosed[group][2]
                continue
            if governing is None or state.cut[governing] == 0.0 or not self._adjustable(group, state):
                cells.append((row, row, 1.0))
                right[row] = 0.0 if governing is not None and state.cut[governing] == 0.0 else 1.0
                continue
            at = steps.place[governing]
            cells += [(row, int(steps.row[at]), float(steps.a[at])), (row, row, float(steps.c[at]))]
            right[row] = float(self.flowing.sources[governing][0].leaves_at or 0.0) - float(steps.b[at])

    def _adjustable(self, group: int, state: ThermalState) -> bool:
        """Whether any plain load of a group takes what its share says."""
        f = self.flowing
        return any(
            f.cut_group(i) == group and state.load.get(i, "full") == "full" and (role.wanted or 0.0) > 0.0
            for i, (role, _) in f.plain.items()
        )

    def walk(self, values: Array, state: ThermalState) -> float:
        """Put temperatures at every element, and say by how much the most moved one moved, [K]."""
        elements, many = self.steps.elements, len(self.nodes)
        share = self._take_shares(values, state)
        t_in, t_out = self.steps.walk(values, share)
        arrived, node = self.steps.arriving(values, share), values[:many]
        moved = np.concatenate([node - self.node, t_out - self.t_out[elements], arrived - self.mixed])
        self.node, self.mixed = node, arrived
        self.t_in[elements], self.t_out[elements] = t_in, t_out
        # What lies between two steps has the temperature that left the step before.
        known = np.concatenate([t_out, values[self.flowing.starts]])
        passing = self.steps.passing
        self.t_in[passing] = self.t_out[passing] = known[self.steps.passing_from]
        self.flowing.t_in, self.flowing.t_out = self.t_in.tolist(), self.t_out.tolist()
        state.node.update(zip(self.flowing.row, node.tolist(), strict=True))
        return float(np.abs(moved).max(initial=0.0))

    def _take_shares(self, values: Array, state: ThermalState) -> Array:
        """The share of its group by run, 1 where no load can be cut; by load and source in the state."""
        flowing = self.flowing
        state.given_share = {}
        for group, row in self.share_row.items():
            share = float(values[row])
            governing = governing_source(flowing, group, state)
            if governing is not None:
                state.cut[governing] = share
            users = (*flowing.plain.items(), *flowing.sources.items())
            state.given_share |= {i: share for i, (_, run) in users if flowing.group[run.start] == group}
        idle = flowing.idle
        state.given_share |= {i: 0.0 for i, (_, run) in flowing.plain.items() if run.start in idle}
        return np.where(self.run_share >= 0, values[self.run_share], 1.0)


def _coil_rows(flowing: Flowing, coil: Coil, run: Run, cells: Cells, right: Array) -> None:
    """Tie a coil's outlet to its inlet and its tank: heat C (1 - exp(-UA/C)) per kelvin between these two."""
    row = flowing.side_row[(coil.item, coil.side)]
    i = next(i for i, role in run.steps if role is coil)
    rate = flowing.rate(i)
    kept = math.exp(-coil.ua / rate)
    carried = flowing.carried(i)
    cells += [(row + 1, row + 1, 1.0), (row + 1, row, 1.0 - carried - kept)]
    right[row + 1] += (1.0 - carried) * flowing.t_in[i]
    if coil.given is not None:
        right[row + 1] += (1.0 - kept) * coil.given
        return
    tank, heat = flowing.row[coil.node], rate * (1.0 - kept)
    cells += [(row + 1, tank, kept - 1.0), (tank, row, heat), (tank, tank, -heat)]


def _exchanger_rows(flowing: Flowing, key: str, plates: Plates, cells: Cells, right: Array) -> None:
    """Tie the outlet of each side to both inlets."""
    rows = [flowing.side_row.get((key, side)) for side in ("a", "b")]
    heat, rates = 0.0, [1.0, 1.0]
    if rows[0] is not None and rows[1] is not None:
        rates = [flowing.rate(e.index) for e in (plates.a, plates.b)]
        heat = conductance(plates.ua, rates[0], rates[1], running_arrangement(flowing, plates))
    sides = ((rows[0], rows[1], rates[0], plates.a.index), (rows[1], rows[0], rates[1], plates.b.index))
    for row, across, rate, i in sides:
        if row is None:
            continue
        k, carried = heat / rate, flowing.carried(i)
        cells += [(row + 1, row + 1, 1.0), (row + 1, row, k - carried)]
        right[row + 1] += (1.0 - carried) * flowing.t_in[i]
        if k > 0.0 and across is not None:
            cells.append((row + 1, across, -k))


def running_arrangement(flowing: Flowing, plates: Plates) -> str:
    """Counter-flow holds with both sides running as named, or both the other way."""
    if (flowing.w[plates.a.index] > 0.0) == (flowing.w[plates.b.index] > 0.0):
        return plates.arrangement
    return "parallel" if plates.arrangement == "counter" else "counter"


def solve_cells(n: int, laid: tuple[Indices, Array], cells: Cells, right: Array) -> Array:
    """Solve a linear system given by its cells (repeated ones add up), dense while small.

    Parameters
    ----------
    n : int
        Unknowns
    laid : (ndarray of int, ndarray)
        Cells by their place in the flattened matrix, and their values
    cells : list of (int, int, float)
        Further cells: row, column, value
    right : ndarray, shape (n,) or (n, k)
        Right side, or several

    Returns
    -------
    ndarray, shaped as `right`
    """
    flat, values = laid
    if cells:
        flat = np.concatenate([flat, np.array([row * n + col for row, col, _ in cells], np.intp)])
        values = np.concatenate([values, np.array([value for _, _, value in cells])])
    if n <= DENSE_UP_TO:
        matrix = np.bincount(flat, values, n * n).reshape(n, n)
        # Rows that hold a temperature (1e12 W/K) beside rows of 1 cost nine digits: a noise of 1e-3 K.
        scale = 1.0 / np.maximum(np.abs(matrix).max(axis=1, initial=0.0), 1e-300)
        matrix = matrix * scale[:, None]
        return np.asarray(np.linalg.solve(matrix, right * (scale if right.ndim == 1 else scale[:, None])))
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    try:
        return np.asarray(splu(csc_matrix((values, np.divmod(flat, n)), shape=(n, n))).solve(right))
    except RuntimeError as singular:  # said as the dense way says it
        raise np.linalg.LinAlgError(str(singular)) from singular


def conductance(ua: float, rate_a: float, rate_b: float, arrangement: str) -> float:
    """Heat an exchanger passes per kelvin between its two inlets, effectiveness times C_min, [W/K].

    Parameters
    ----------
    ua, rate_a, rate_b : float
        Conductance and capacity rates, [W/K]
    arrangement : str
        "counter" or "parallel"

    Returns
    -------
    float
        [W/K]

    Notes
    -----
    Source as of `effectiveness`.
    """
    low, high = min(rate_a, rate_b), max(rate_a, rate_b)
    return low * effectiveness(ua / low, low / high, arrangement) if low > 0.0 else 0.0
