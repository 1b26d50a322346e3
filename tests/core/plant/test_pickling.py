"""A plant goes to another process as it was read, while others may be computing from it."""

import pickle

from tests.support.calling import plant_of, two_zones


def test_what_was_computed_stays_at_home():
    plant = plant_of(two_zones())
    before = pickle.dumps(plant)
    assert [item.si for item in plant.items.values()]
    assert [pipe.si for pipe in plant.pipes.values()]
    assert plant.pipes_at
    assert len(pickle.dumps(plant)) == len(before)
    again = pickle.loads(before)
    assert again == plant
    assert again.items["P-1"].si == plant.items["P-1"].si
