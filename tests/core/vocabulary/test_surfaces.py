"""What encloses a room: read from the file and from the field, refused at its place."""

import pytest

from core.errors import Refusal
from core.forms.typed import from_text, to_text
from core.plant.item_rules import check_props
from core.plant.setting_rules import check_site
from core.vocabulary import KINDS, to_si

ENVELOPE = KINDS["room"].properties["envelope"]
WALL = {"name": "wall", "area": "72 ft2", "u": "0.18 Btu/h/ft2/degF"}


def test_a_resistance_is_the_inverse_of_what_is_passed():
    (first, second) = to_si(ENVELOPE, [WALL, {"name": "roof", "area": "10 m2", "r": "4 m2*K/W"}])
    assert first.u == pytest.approx(0.18 * 5.678263, rel=1e-6)
    assert first.area == pytest.approx(72 * 0.3048**2)
    assert second.u == pytest.approx(0.25)
    assert second.beyond is None


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ([], "envelope"),
        ([{"name": "wall", "area": "72 ft2"}], "envelope[0]"),
        ([{**WALL, "r": "4 m2*K/W"}], "envelope[0]"),
        ([WALL, WALL], "envelope[1].name"),
        ([{**WALL, "u": "0.18"}], "envelope[0].u"),
        ([{**WALL, "u": "30 W/m2/K"}], "envelope[0].u"),
        ([{**WALL, "beyond": "400 degF"}], "envelope[0].beyond"),
        ([{**WALL, "angle": 3}], "envelope[0].angle"),
        ([{**WALL, "name": " "}], "envelope[0].name"),
    ],
)
def test_refused_at_its_place(wrong, place):
    with pytest.raises(Refusal) as refusal:
        to_si(ENVELOPE, wrong, "envelope")
    assert refusal.value.path == place


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ({"efficiency": 80}, "props.past_use.efficiency"),
        ({"share": 1.5}, "props.past_use.share"),
        ({"not_for_heat": "900 therm"}, "props.past_use.fuel"),
        ({"degree_days": "0 degF*day"}, "props.past_use.degree_days"),
    ],
)
def test_a_past_season_must_hang_together(wrong, place):
    use = {"fuel": "900 therm", "degree_days": "6200 degF*day", "efficiency": 0.85}
    check_props("room", {"past_use": use})
    with pytest.raises(Refusal) as refusal:
        check_props("room", {"past_use": {**use, **wrong}})
    assert refusal.value.path == place


def test_a_surface_survives_the_field():
    raw = [WALL, {"name": "party wall", "area": "136 ft2", "r": "3 ft2*h*degF/Btu", "beyond": "65 degF"}]
    text = to_text(ENVELOPE, raw)
    assert text.splitlines()[1] == "party wall: 136 ft², 3 ft²·h·°F/Btu, beyond 65 °F"
    assert from_text(ENVELOPE, text) == raw
    assert from_text(ENVELOPE, "wall: 72 sq ft, 0.18 Btu/h/ft2/F")[0] == WALL
    with pytest.raises(Refusal):
        from_text(ENVELOPE, "wall: 72 ft2")


def test_the_snow_of_a_site_is_checked():
    check_site({"snowfall": "0.1 in/h", "snow_wind": "10 mph", "snow_dew_point": "14 degF"})
    for key, wrong in (("snowfall", "0.1 in"), ("snow_wind", "500 mph"), ("snow_temperature", "90 degF")):
        with pytest.raises(Refusal) as refusal:
            check_site({key: wrong})
        assert refusal.value.path == f"site.{key}"
