"""Where a room left alone comes to rest."""

import pytest

from core.thermal.rooms import rooms_of
from tests.support.builders import Board
from tests.support.calling import plant_of


def rest_of(loss: float, outdoor: float | None, **props: str) -> float:
    board = Board()
    board.item("R-1", "room", wanted="21 degC", **props)
    return rooms_of(plant_of(board), {"R-1": loss}, outdoor)["R-1"].rest


def test_a_room_rests_above_outdoors_by_its_gain_over_its_loss():
    assert rest_of(0.5, 268.15, gain="10 W") == pytest.approx(268.15 + 20.0)


def test_a_room_that_loses_nothing_stays_at_what_it_wants():
    assert rest_of(0.0, 268.15) == pytest.approx(294.15)


def test_without_a_case_outdoors_is_the_design_night():
    assert rest_of(100.0, None) == pytest.approx(263.15)
