"""The laws of every plant, and those of single kinds, where valves, heat pumps and coils sit anywhere in it.

The ordinary run takes 60 plants. The long run is `WETSIDE_RANDOM_PLANTS=2000 pytest tests/invariants`.
"""

from __future__ import annotations

from collections import Counter

import pytest

from tests.invariants.test_random_plants import BATCHES, laws_broken, names_matter
from tests.support.balance import Balance
from tests.support.builders import solve_data
from tests.support.kind_laws import LAWS, kind_laws_broken
from tests.support.random_kinds import kinds_plant

# A heater lights and goes out with the flow that its own heat makes the mixing valve ask of it.
NO_REST = {1888}


def trouble_of(seed: int) -> list[str]:
    """Everything that is wrong with the solution of one plant, in words."""
    data = kinds_plant(seed).data()
    solved = solve_data(data)
    if not solved.converged:
        return [] if seed in NO_REST else [f"{seed}: not converged, residual {solved.raw.residual_kg_s}"]
    balance = Balance(data, solved)
    found = [*laws_broken(balance), *kind_laws_broken(balance), *names_matter(data, solved, seed)]
    return [f"{seed}: {text}" for text in found]


@pytest.mark.parametrize("batch", BATCHES, ids=lambda batch: f"{batch.start}-{batch.stop - 1}")
def test_laws_hold_with_every_kind(batch: range) -> None:
    trouble = [text for seed in batch for text in trouble_of(seed)]
    assert not trouble, "\n".join(trouble)


def test_every_kind_occurs_and_is_at_work() -> None:
    """Each kind in plants enough, and in some of them with water moving through it."""
    at_work: Counter[str] = Counter()
    for seed in range(60):
        data = kinds_plant(seed).data()
        solved = solve_data(data)
        for item in data["items"]:
            figures = solved.items.get(item["id"], {})
            flow = figures.get("coil_flow_m3_s", figures.get("flow_m3_s", 0.0))
            at_work[item["kind"]] += abs(flow) > 1e-6
    for kind in LAWS:
        assert at_work[kind] >= 3, (kind, dict(at_work))
