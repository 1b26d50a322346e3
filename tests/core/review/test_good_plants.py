"""In good plants nothing is to stop for and nothing to mend."""

from __future__ import annotations

import pytest

from core.files.read import from_data
from core.review import Severity, review_plant
from tests.plants import good_plants


@pytest.mark.parametrize("make", [good_plants.whole_house], ids=lambda make: make.__name__)
def test_nothing_is_to_mend_in_a_good_plant(make):
    plant = from_data(make())
    found = [f for f in review_plant(plant) if f.severity is not Severity.CONSIDER]
    assert not found, [(f.rule.id, f.at, f.text) for f in found]
