"""Curves of the user's own in the plant: read, written, set, refused where a circulator's would be."""

import json

import pytest

from core.errors import Refusal
from core.files import read, write
from core.plant.changes import SetPlant, fitted, inverses
from tests.support.small_plant import small

MINE = {
    "name": "from the shed",
    "curve": [["0 gpm", "12 ft_head"], ["6 gpm", "4 ft_head"]],
    "watts": "40 W",
    "note": "read off its label",
}


def with_curves(*curves):
    return read.from_data({**small(), "curves": list(curves)})


def test_curves_come_back_as_typed_and_are_left_out_when_there_are_none():
    again = json.loads(write.dumps(with_curves(MINE)))
    assert again["curves"] == [MINE]
    assert "curves" not in json.loads(write.dumps(read.from_data(small())))


def test_setting_curves_is_one_change_with_an_inverse():
    plant = read.from_data(small())
    changes = [SetPlant({"curves": (MINE,)})]
    after = fitted(plant, changes)
    assert after.curves == (MINE,)
    assert fitted(after, inverses(plant, changes)) == plant


@pytest.mark.parametrize(
    ("curve", "path"),
    [
        ({**MINE, "curve": [["0 gpm", "4 ft_head"], ["6 gpm", "5 ft_head"]]}, "curves[0].curve[1][1]"),
        ({**MINE, "curve": [["0 gpm", "4 psi"]]}, "curves[0].curve"),
        ({**MINE, "watts": "40 gpm"}, "curves[0].watts"),
        ({**MINE, "speed": 0.5}, "curves[0].speed"),
        ({"name": "no points"}, "curves[0].curve"),
        ({**MINE, "name": 5}, "curves[0].name"),
    ],
)
def test_a_curve_that_cannot_be_is_refused_at_its_place(curve, path):
    with pytest.raises(Refusal) as refused:
        with_curves(curve)
    assert refused.value.path == path


def test_two_curves_of_one_name_are_refused():
    with pytest.raises(Refusal) as refused:
        with_curves(MINE, {**MINE, "name": "From the Shed"})
    assert refused.value.path == "curves[1].name"
