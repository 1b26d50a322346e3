"""The iteration against a minimisation by scipy, on hard networks, and at the edges of its linear algebra."""

from dataclasses import dataclass, field

import numpy as np
import pytest
from scipy.optimize import minimize

from core.hydraulics import topology
from core.hydraulics.newton import solve
from core.hydraulics.topology import Topology
from tests.core.hydraulics.hard import balanced, closed, reduced, settled
from tests.support.balance import Balance, si
from tests.support.builders import RHO, Board, Solved, flow, k_for, pa, solve_data

KPA, LITRE = 1e3, 1e-3  # the minimisation counts in kPa and L/s, so that its figures are near 1


@dataclass
class Simple:
    """A network of known work: each way loses r q|q| + opens - head (1 - q/out) between its bounds."""

    joints: int
    ends: list[tuple[int, int]] = field(default_factory=list)
    rows: list[tuple[float, float, float, float, float, float]] = field(default_factory=list)

    def plant(self) -> Board:
        board = Board()
        for number in range(self.joints):
            board.item(f"J{number}", "joint")
        for number, ((a, b), (r, head, out, opens, low, high)) in enumerate(
            zip(self.ends, self.rows, strict=True)
        ):
            stops = [f"J{a}"]
            if head:
                stops.append(board.pump(f"P{number}", head * KPA, out * LITRE))
            if low == 0.0:
                stops.append(board.item(f"C{number}", "check_valve", opens_at=pa(opens * KPA)))
            if high < np.inf:
                stops.append(board.item(f"B{number}", "balance_valve", set_flow=flow(high * LITRE)))
            board.chain(*stops, f"J{b}")
            board.pipes[-1] |= {"id": f"way-{number}", "k": k_for(r * KPA / LITRE**2)}
        return board

    def least_work(self) -> np.ndarray:
        """Flows [L/s] of least work among those that keep mass, by sequential quadratic programming."""
        r, head, out, opens, low, high = np.array(self.rows).T
        meets = np.zeros((self.joints, len(self.ends)))
        for k, (a, b) in enumerate(self.ends):
            meets[a, k] -= 1.0
            meets[b, k] += 1.0
        fall = np.divide(head, out, out=np.zeros_like(head), where=head > 0.0)
        found = minimize(
            lambda q: float(np.sum(r * np.abs(q) ** 3 / 3 + (opens - head) * q + fall * q * q / 2)),
            np.zeros(len(r)),
            jac=lambda q: r * q * np.abs(q) + opens - head + fall * q,
            bounds=list(zip(low, high, strict=True)),
            constraints={"type": "eq", "fun": lambda q: (meets @ q)[1:], "jac": lambda q: meets[1:]},
            method="SLSQP",
            options={"ftol": 1e-15, "maxiter": 500},
        )
        return np.asarray(found.x)


def simple(seed: int) -> Simple:
    rng = np.random.default_rng(seed)
    net = Simple(int(rng.integers(3, 8)))
    net.ends = [(int(rng.integers(0, k)), k) for k in range(1, net.joints)]
    for _ in range(int(rng.integers(2, 6))):
        a, b = (int(x) for x in rng.choice(net.joints, 2, replace=False))
        net.ends.append((a, b))
    for _ in net.ends:
        kind = str(rng.choice(["plain", "pump", "check", "limited"], p=[0.4, 0.25, 0.2, 0.15]))
        head, out = (float(rng.uniform(5, 80)), float(rng.uniform(0.5, 3))) if kind == "pump" else (0.0, 0.0)
        opens = float(rng.choice([0.0, 3.0])) if kind == "check" else 0.0
        most = float(rng.uniform(0.05, 0.5)) if kind == "limited" else np.inf
        net.rows.append(
            (float(rng.uniform(0.5, 50)), head, out, opens, 0.0 if kind == "check" else -most, most)
        )
    net.rows[-1] = (2.0, 60.0, 2.0, 0.0, -np.inf, np.inf)
    return net


@pytest.mark.parametrize("seed", range(25))
def test_flows_are_those_of_least_work(seed):
    net = simple(seed)
    expected = net.least_work()
    solved = solve_data(net.plant().data())
    found = np.array([solved.flow(f"way-{k}") for k in range(len(net.ends))]) / LITRE
    pumps = np.array([row[1] > 0.0 for row in net.rows])
    assert solved.converged
    if (expected[pumps] < -1e-6).any():  # pushed back, a pump obeys another law than the one minimised here
        assert (found[pumps] < 0.0).any()
    else:
        assert found == pytest.approx(expected, abs=2e-4 * np.abs(expected).max() + 1e-9)


def shut_rightly(data: dict, solved: Solved) -> list[str]:
    """Checks and reducers whose pressures do not fit their being shut, open or holding."""
    wrong, checker = [], Balance(data, solved)
    for ident, item in checker.items.items():
        if item["kind"] not in ("check_valve", "pressure_reducer"):
            continue
        before, after = (checker.port_pressure((ident, port)) for port in ("in", "out"))
        pipe, sign = checker.touch[ident, "in"][0]
        passed = -sign * solved.flow(pipe)
        slack = 5.0 + 1e-5 * max(abs(before), abs(after))
        if item["kind"] == "check_valve":
            opens = si(item["props"]["opens_at"], "pressure")
            fits = passed > 1e-12 or before - after <= opens + slack
        else:
            held = si(item["props"]["set_pressure"], "pressure")
            wide = abs(before - after) <= slack
            fits = after <= held + slack if passed > 1e-9 else after >= min(before, held) - slack
            fits = fits and (passed <= 1e-9 or wide or abs(after - held) <= slack)
        if passed < -1e-9 or not fits:
            wrong.append(ident)
    return wrong


@pytest.mark.parametrize("seed", range(40))
def test_hard_closed_networks_obey_their_laws(seed):
    rng = np.random.default_rng(1000 + seed)
    data = closed(rng, int(rng.integers(2, 14))).data()
    obeyed(data, solve_data(data))


@pytest.mark.parametrize("seed", range(25))
def test_reducers_beside_and_after_one_another_obey_their_laws(seed):
    data = reduced(np.random.default_rng(seed)).data()
    obeyed(data, solve_data(data))


def obeyed(data: dict, solved: Solved) -> None:
    checker = Balance(data, solved)
    top = max(abs(p) for pipe in solved.pipes.values() for p in (pipe["pressure_in_pa"], pipe["drop_pa"]))
    assert solved.converged
    assert solved.raw.residual_kg_s < 1e-9
    assert checker.worst_mass()[0] < 1e-9
    assert checker.worst_pipe()[0] < 1e-5 * top + 5.0
    assert checker.worst_joint() < 1e-6 * top + 0.5
    assert checker.worst_leak()[0] < 1e-9
    assert shut_rightly(data, solved) == []


def test_sparse_and_dense_factors_agree(monkeypatch):
    """Some 300 joints with over a hundred shut checks, where islands hang on next to nothing."""
    state = settled(closed(np.random.default_rng(3), 500))
    sparse, balancer = balanced(state)
    (_, made), *_ = balancer.kept.values()
    assert made.n > topology.DENSE_UP_TO
    monkeypatch.setattr(topology, "DENSE_UP_TO", 1000)
    dense, _ = balanced(state)
    assert sparse.converged
    assert dense.converged
    assert sparse.residual < 1e-10
    assert sparse.w == pytest.approx(dense.w, abs=1e-6 * np.abs(dense.w).max())


@pytest.mark.parametrize("dense", [True, False])
def test_an_island_lost_in_round_off_still_gets_a_correction(monkeypatch, dense):
    """Two junctions joined by 1e6 hang on the rest by 1e-13: the matrix is singular as stored."""
    monkeypatch.setattr(topology, "DENSE_UP_TO", 10 if dense else 0)
    made = Topology([0, 1], [1, 2], [2], [])
    y = np.array([1e6, 1e-13])
    assert made.n == 2
    assert np.isfinite(made.correction(y, y, np.array([1e-9, 0.0]))).all()


def test_a_warm_start_needs_few_passes():
    state = settled(closed(np.random.default_rng(1003), 12))
    cold, balancer = balanced(state)
    warm = balancer.balance(state.settings, state.rho, state.mu, state.column, cold.branch_flow)
    assert warm.passes <= 3 < cold.passes
    assert warm.w == pytest.approx(cold.w, abs=1e-7 * np.abs(cold.w).max() + 1e-8)


def test_flows_end_exactly_on_their_bounds():
    state = settled(closed(np.random.default_rng(1011), 13))
    balance, balancer = balanced(state)
    (laws, made), *_ = balancer.kept.values()
    flows = solve(laws, made, np.zeros(laws.m)).w
    assert ((flows >= laws.low) & (flows <= laws.high)).all()
    assert (flows == laws.low).any()
    assert flows == pytest.approx(balance.branch_flow[laws.active], abs=1e-6 * np.abs(flows).max())


def test_what_is_asked_of_a_closed_path_is_said_to_be_impossible():
    """A main, a tap of 0.1 L/s, and a check against the flow between: nothing comes, and all is at rest."""
    board = Board(use="potable")
    board.item("M", "cold_main", pressure="300 kPa")
    board.item("C", "check_valve")
    board.item("F", "fixture")
    board.pipe("M:at", "C:out", length=1.0, bore=0.02)
    board.pipe("C:in", "F:cold", length=1.0, bore=0.02)
    solved = board.case(draws={"F": "0.1 L/s"}).solve()
    assert solved.converged
    assert solved.flow("L-1") == 0.0
    assert solved.noted("F")
    assert RHO * solved.items["F"]["flow_m3_s"] == 0.0
