"""Every law of loss: its slope is its own, it never falls, and its bounds are walls."""

from typing import Any

import numpy as np
import pytest

from core.hydraulics.laws import BARRIER, FLOOR, Laws
from core.hydraulics.pressures import element_losses
from core.solve.settle import Settled
from tests.core.hydraulics.hard import closed, settled
from tests.support.builders import Board, flow, pa

CURVE = [[flow(0.0), pa(50e3)], [flow(1e-3), pa(40e3)], [flow(2e-3), pa(5e3)]]
PIECES: dict[str, tuple[str, dict[str, Any]]] = {
    "lossless": ("air_separator", {}),
    "cv": ("shutoff", {"cv": 5.0}),
    "one drop": ("strainer", {"drops": [["0.5 L/s", "20 kPa"]]}),
    "drops": ("strainer", {"drops": [["0.2 L/s", "3 kPa"], ["0.5 L/s", "20 kPa"], ["0.9 L/s", "21 kPa"]]}),
    "head drops": ("strainer", {"drops": [["0.2 L/s", "0.3 m_head"], ["0.5 L/s", "2 m_head"]]}),
    "check": ("check_valve", {"cv": 8.0, "opens_at": "2 kPa"}),
    "limiter": ("balance_valve", {"cv": 5.0, "set_flow": "0.4 L/s"}),
    "circulator": ("circulator", {"curve": CURVE}),
    "slow": ("circulator", {"curve": CURVE, "speed": 0.5}),
    "checked": ("circulator", {"curve": CURVE, "integral_check": True}),
    "stopped": ("circulator", {"curve": CURVE, "run_when": False}),
    "held": ("circulator", {"curve": CURVE, "control": "delta_p_constant", "target": "30 kPa"}),
}


def ring(name: str) -> Settled:
    """A ring of the piece, a circulator and a tube."""
    kind, props = PIECES[name]
    board = Board()
    board.pump("P-0", 40e3, 1.5e-3)
    board.ring(board.item("X", kind, **props), "P-0", bore=0.02, length=3.0, k=2.0)
    return settled(board)


def prepared(state: Settled) -> Laws:
    laws = Laws(state.net, np.arange(len(state.net.branches)))
    laws.prepare(state.settings, state.rho, state.mu, state.column - 1000.0)
    return laws


@pytest.mark.parametrize("name", PIECES)
def test_slope_is_the_losses_own_and_losses_never_fall(name):
    laws = prepared(ring(name))
    assert laws.m == 1
    flows = np.concatenate([-np.geomspace(2.0, 1e-6, 60), np.geomspace(1e-6, 2.0, 60)])
    losses = np.array([laws.loss(np.array([w]))[0][0] for w in flows])
    assert (np.diff(losses) >= 0.0).all()
    for w in flows:
        step = 1e-5 * abs(w)
        low, high = laws.loss(np.array([w - step]))[0], laws.loss(np.array([w + step]))[0]
        assert laws.loss(np.array([w]))[1] == pytest.approx((high - low) / (2 * step), rel=2e-3)


@pytest.mark.parametrize(("name", "bound"), [("check", 0.0), ("checked", 0.0), ("limiter", -0.4)])
def test_a_bound_is_a_wall(name, bound):
    """Whichever way the run is told, the bound lies at the least flow along the piece."""
    state = ring(name)
    laws, (piece,) = prepared(state), state.net.of_item["X"]
    sign = state.net.sign_of[piece.index]
    edge, _ = laws.loss(np.array([sign * bound]))
    loss, slope = laws.loss(np.array([sign * (bound - 1e-3)]))
    assert slope[0] == BARRIER
    assert sign * (edge[0] - loss[0]) == pytest.approx(1e-3 * BARRIER, rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_a_branch_loses_what_its_elements_lose(seed):
    state = settled(closed(np.random.default_rng(seed), 8))
    net, laws = state.net, prepared(state)
    flows = np.random.default_rng(seed).uniform(0.0, 1.0, laws.m)
    flows = np.minimum(np.maximum(flows, laws.low), laws.high)
    w = np.where(net.branch_of >= 0, net.sign_of * flows[net.branch_of], 0.0)
    each = element_losses(laws, net, state.settings, state.rho, state.mu, w)
    loss, _ = laws.loss(flows)
    for k, branch in enumerate(net.branches):
        if all(net.elements[i].opens_at == 0.0 or w[i] > 0.0 for i in branch.elements):
            total = sum(s * each[i] for i, s in zip(branch.elements, branch.signs, strict=True))
            assert loss[k] == pytest.approx(total + FLOOR * flows[k], rel=1e-9, abs=1e-6)
