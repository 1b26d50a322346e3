"""The network of an edited plant, made from the one before, is the one that would be built anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from core.hydraulics.network import Network, build
from core.hydraulics.network_update import renewed
from core.plant.model import Plant
from tests.support.sizes import sample

SAMPLES = ("two_heater_clinic", "bakery_loft")


def same(a: Network, b: Network) -> bool:
    """Whether two networks have the same nodes, ways, bodies and branches."""
    plain = ("drawing", "elements", "bodies", "body_of", "branches", "parted", "mains", "airs", "piped")
    arrays = np.array_equal(a.branch_of, b.branch_of) and np.array_equal(a.sign_of, b.sign_of)
    ways = a.of_item == b.of_item and a.standing == b.standing
    return arrays and ways and all(getattr(a, name) == getattr(b, name) for name in plain)


def without_one_property(plant: Plant) -> Iterator[tuple[str, Plant]]:
    """The plant with each property of each item left out in turn."""
    for item in plant.items.values():
        for name in item.props:
            fewer = replace(item, props={k: v for k, v in item.props.items() if k != name})
            yield f"{item.id}.{name}", replace(plant, items={**plant.items, item.id: fewer})


@pytest.mark.parametrize("name", SAMPLES)
def test_leaving_out_any_property(name: str) -> None:
    plant = sample(name)
    last = build(plant)
    taken = 0
    for where, edited in [*without_one_property(plant)][::3]:
        try:
            wanted = build(edited)
        except (KeyError, TypeError):  # not a plant any more
            continue
        found = renewed(edited, last)
        if found is not None:
            taken += 1
            assert same(found, wanted), where
            assert found.plant is edited
    assert taken > 30
    assert same(last, build(plant))  # what was shared is as it was


@pytest.mark.parametrize("name", SAMPLES)
def test_other_pipes(name: str) -> None:
    plant = sample(name)
    last = build(plant)
    for pipe in [*plant.pipes.values()][::5]:
        for other in (
            replace(pipe, k=pipe.k + 1.0),
            replace(pipe, label="x"),
            replace(pipe, stage="to_remove"),
        ):
            edited = replace(plant, pipes={**plant.pipes, pipe.id: other})
            found = renewed(edited, last)
            if other.stage == "to_remove":
                assert found is None
            else:
                assert found is not None
                assert same(found, build(edited)), pipe.id


def test_other_ways_make_another_network() -> None:
    plant = sample("two_heater_clinic")
    last = build(plant)
    gone = next(iter(plant.pipes))
    assert renewed(replace(plant, pipes={k: p for k, p in plant.pipes.items() if k != gone}), last) is None
    name, system = next(iter(plant.systems.items()))
    other = replace(system, fluid={"kind": "propylene_glycol", "fraction": 0.4})
    assert renewed(replace(plant, systems={**plant.systems, name: other}), last) is None
