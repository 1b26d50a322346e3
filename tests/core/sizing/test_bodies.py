"""Pressures of a body over the cases."""

import pytest

from core.files.read import from_data
from core.plant.model import PortRef
from core.sizing.bodies import above
from core.sizing.context import Context
from tests.support.builders import Board


def test_the_most_by_which_a_place_lies_above_another_is_that_of_the_worst_case():
    """A pump of 30 kPa at half and at full speed against a shut valve, its inlet at the expansion tank."""
    board = Board()
    board.pump("P", 30e3, 1e-3)
    board.item("V", "shutoff", open=False)
    board.item("ET", "expansion_tank", volume="12 L", precharge="100 kPa")
    board.item("J", "joint")
    board.chain("J", "P", "V", "J")
    board.pipe("J:at", "ET:at")
    board.case("full").case("half", set={"P": {"speed": 0.5}}).case("most of it", set={"P": {"speed": 0.8}})
    found = above(Context(from_data(board.data())), PortRef("V", "a"), PortRef("ET", "at"))
    assert found is not None
    assert found[0] == pytest.approx(30e3, abs=1.0)
    assert found[1] == "full"
