"""Pasted tables become curves of the plant file; what cannot be told is refused at its line."""

import pytest

from core.errors import Refusal
from core.files import read
from core.plant.changes import fitted
from core.sizing.curves.catalogue import GENERIC, INVENTED, at_hand, dropped, generic, kept, users
from core.sizing.curves.text import parse_curve
from tests.support.small_plant import small

POINTS = [["0 gpm", "20 ft_head"], ["6 gpm", "15.5 ft_head"], ["12 gpm", "4 ft_head"]]


@pytest.mark.parametrize(
    "text",
    [
        "Flow (gpm)\tHead (ft)\n0\t20\n6\t15.5\n12\t4",
        "Head [ft], Flow [GPM]\n20, 0\n15.5, 6\n4, 12\n",
        "flow;head\ngpm;ft\n12;4\n0;20\n6;15.5",
        "0 gpm   20 ft\n6 gpm   15.5 ft\n12 gpm   4 ft",
        "| Q, US gpm | H, feet | W |\n| 0 | 20 | 55 |\n| 6 | 15.5 | 60 |\n| 12 | 4 | 62 |",
        "0gpm 20ft\n\n6gpm 15.5ft\n12gpm 4ft",
        "Q (gpm) H (ft of head)\n0 20\n6 15.5\n12 4",
    ],
)
def test_tables_as_people_paste_them(text):
    assert parse_curve(text) == POINTS


def test_metric_and_pressure_columns():
    assert parse_curve("m³/h\tkPa\n0\t40\n1.5\t12") == [["0 m3/h", "40 kPa"], ["1.5 m3/h", "12 kPa"]]
    assert parse_curve("0 5\n1 3", "L/s", "m_head") == [["0 L/s", "5 m_head"], ["1 L/s", "3 m_head"]]


@pytest.mark.parametrize(
    ("text", "path", "found"),
    [
        ("", "", "nothing"),
        ("0 20\n6 15", "line 1", "no column with a unit of flow"),
        ("gpm\n0 20\n6 15", "line 2", "no column with a unit of head"),
        ("gpm ft\n0 20\nsix 15", "line 3", '"six 15"'),
        ("gpm ft\n0 20\n0 15", "line 3", '"0 gpm"'),
        ("gpm;ft\n0;20\n1,5;15", "", '"1,5"'),
        ("gpm;ft\n0;20\n3 psi;15", "line 3", '"3 psi"'),
        ("0 furlongs; 20 ft", "", '"0 furlongs"'),
    ],
)
def test_what_cannot_be_told_is_refused_at_its_line(text, path, found):
    with pytest.raises(Refusal) as refused:
        parse_curve(text)
    assert (refused.value.path, refused.value.found) == (path, found)


def test_a_pasted_curve_is_kept_replaced_and_dropped():
    plant = read.from_data(small())
    record = {"name": "shed pump", "curve": POINTS, "watts": "60 W"}
    plant = fitted(plant, kept(plant, record))
    plant = fitted(plant, kept(plant, {**record, "name": "Shed Pump", "watts": "50 W"}))
    assert [one.props["watts"] for one in users(plant)] == ["50 W"]
    assert "Shed Pump" in [one.name for one in at_hand(plant)]
    assert not fitted(plant, dropped(plant, "shed pump")).curves
    with pytest.raises(Refusal, match="your own"):
        kept(plant, {**record, "name": "Generic small"})
    with pytest.raises(Refusal, match="may not rise"):
        kept(plant, {**record, "curve": [["0 gpm", "4 ft_head"], ["6 gpm", "15.5 ft_head"]]})


def test_every_generic_size_is_a_valid_circulator_and_says_it_is_invented():
    for choice in generic():
        points = choice.item.si["curve"]
        heads = [lift.value for _, lift in points]
        assert heads == sorted(heads, reverse=True)
        assert choice.invented
        assert INVENTED in choice.title
        kept(read.from_data(small()), {"name": "x", "curve": choice.props["curve"]})
    assert len({str(props["curve"]) for props in GENERIC.values()}) == len(GENERIC)
