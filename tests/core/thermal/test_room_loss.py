"""Loss of a room: the published rooms surface by surface, air, a past season, and what is left out said."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from core.files.read import from_data
from core.plant.model import Plant
from core.thermal.room_loss import by_envelope, by_past_use, loss_of
from core.working import Working, evaluate
from tests.reference.cases import expected, given, source
from tests.verification.checks import Agrees

SUBJECT = "Loss of rooms"

BTU_H = 1055.056 / 3600
PER_F = BTU_H * 1.8
DATA = Path(__file__).parents[2] / "reference" / "data" / "room_loss_published.csv"
with DATA.open(newline="", encoding="utf-8") as _file:
    PUBLISHED = list(csv.DictReader(_file))


def plant_of(props: dict[str, Any], **site: str) -> Plant:
    data = {
        "format": "wetside-plant",
        "version": 2,
        "title": "rooms",
        "units": "us",
        "site": site,
        "items": [{"id": "R-1", "kind": "room", "at": [0, 0], "props": props}],
        "pipes": [],
    }
    return from_data(data)


def found(plant: Plant) -> Working:
    loss = loss_of(plant, plant.items["R-1"])
    assert loss is not None
    check(loss)
    return loss


def check(working: Working) -> None:
    for _, part in working.walk():
        if part.formula:
            assert evaluate(part) == pytest.approx(part.value, rel=1e-9)


def value(working: Working) -> float:
    return float(working.value)


@pytest.mark.parametrize("room", ["Dining", "Lounge", "Kitchen"])
def test_published_rooms_surface_by_surface(agrees: Agrees, room: str) -> None:
    rows = [row for row in PUBLISHED if row["room"] == room]
    assert all(row["source"] for row in rows)
    inside = float(rows[0]["T_in"])
    props = {"wanted": f"{inside} degF", "envelope": [_surface(row) for row in rows]}
    loss = found(plant_of(props, outdoor_design="30 degF"))
    for row, part in zip(rows, loss.inputs, strict=True):
        got, want = value(part) / PER_F * (inside - 30), float(row["loss_btuh"])
        agrees(f"{room}, {row['element']}", got, want, "Btu/h", within=1.0, source=row["source"])
    total = sum(float(row["loss_btuh"]) for row in rows)
    whole = value(loss) / PER_F * (inside - 30)
    agrees(f"{room}, whole", whole, total, "Btu/h", rel=1e-3, source=rows[0]["source"])
    assert "air that leaks in is not counted" in loss.extra["missing"][0]


def _surface(row: dict[str, str]) -> dict[str, str]:
    surface = {"name": row["element"], "area": f"{row['area_ft2']} ft2", "u": f"{row['U']} Btu/h/ft2/degF"}
    if float(row["T_out"]) != 30:
        surface["beyond"] = f"{row['T_out']} degF"
    return surface


def test_a_wall_and_air_of_the_handbook(agrees: Agrees) -> None:
    """Z01: 240 ft2 at 0.06 lose 1,008 Btu/h at 70 degF; Z02: 2,000 ft3 at half an air change 1,260 Btu/h."""
    wall, air = given("Z01"), given("Z02")
    props = {
        "envelope": [{"name": "wall", "area": f"{wall['A']} ft2", "u": f"{wall['U']} Btu/h/ft2/degF"}],
        "floor": f"{air['vol_ft3'] / 8} ft2",
        "ceiling": "8 ft",
        "air_changes": air["ach"],
    }
    loss = found(plant_of(props))
    by_symbol = {part.symbol: value(part) / PER_F for part in loss.inputs}
    through, leaking = by_symbol["H_1"] * wall["dT"], by_symbol["H_air"] * air["dT"]
    agrees("a wall", through, expected("Z01")["q"], "Btu/h", rel=1e-6, source=source("Z01"))
    agrees("air that leaks in", leaking, expected("Z02")["q"], "Btu/h", rel=1e-3, source=source("Z02"))
    assert loss.extra["missing"] == ()
    high = found(plant_of(props, altitude="5280 ft"))  # the air at a mile up weighs 0.832 of that at the sea
    assert value(high.inputs[-1]) / value(loss.inputs[-1]) == pytest.approx(0.8234, abs=1e-3)


def test_a_past_season(agrees: Agrees) -> None:
    """62,000 Btu/h at 82 degF, 8,382 degree days, 0.94: 161,700 ft3 of 1,000 Btu (Moaveni, ex. 11.19)."""
    use = {"fuel": "161700 kBtu", "degree_days": "8382 degF*day", "efficiency": 0.94}
    loss = found(plant_of({"past_use": use}))
    moaveni = "Moaveni, Engineering Fundamentals, Example 11.19"
    agrees("loss by a past season", value(loss) / PER_F * 82, 62000, "Btu/h", rel=1e-3, source=moaveni)
    half = found(plant_of({"past_use": {**use, "not_for_heat": "61700 kBtu", "share": 0.5}}))
    assert value(half) == pytest.approx(value(loss) * 0.5 * 1000 / 1617, rel=1e-9)


def test_a_second_published_season(agrees: Agrees) -> None:
    """52,000 Btu/h at 73 degF, 6,232 degree days: 106 million Btu a year (same book, problem 11.49)."""
    use = {"fuel": "106545 kBtu", "degree_days": "6232 degF*day", "efficiency": 1.0}
    got, moaveni = value(found(plant_of({"past_use": use}))) / PER_F * 73, "Moaveni, problem 11.49"
    agrees("loss by a past season", got, 52000, "Btu/h", rel=1e-3, source=moaveni)


def test_what_is_typed_wins_and_envelope_comes_before_fuel() -> None:
    envelope = [{"name": "wall", "area": "10 m2", "r": "2 m2*K/W"}]
    use = {"fuel": "100 kWh", "degree_days": "100 K*day", "efficiency": 1.0}
    both = {"envelope": envelope, "past_use": use}
    assert value(found(plant_of({"loss": "77 W/K", **both}))) == pytest.approx(77.0)
    assert value(found(plant_of(both))) == pytest.approx(5.0)
    assert value(found(plant_of({"past_use": use}))) == pytest.approx(100 * 1000 / (100 * 24))
    plant = plant_of({})
    assert loss_of(plant, plant.items["R-1"]) is None
    assert by_envelope(plant, plant.items["R-1"]) is None
    assert by_past_use(plant.items["R-1"]) is None


def test_a_warm_outdoors_leaves_out_what_faces_elsewhere() -> None:
    envelope = [
        {"name": "wall", "area": "10 m2", "u": "0.5 W/m2/K"},
        {"name": "party wall", "area": "10 m2", "u": "0.5 W/m2/K", "beyond": "15 degC"},
    ]
    loss = found(plant_of({"envelope": envelope}, outdoor_design="20 degC", indoor="20 degC"))
    assert value(loss) == pytest.approx(5.0)
    assert "party wall is not counted" in loss.extra["missing"][0]


def test_every_leaf_names_its_place() -> None:
    envelope = [{"name": "wall", "area": "10 m2", "r": "2 m2*K/W"}]
    loss = found(plant_of({"envelope": envelope}))
    paths = [leaf.path for leaf in loss.leaves() if leaf.origin == "typed"]
    assert paths == ["items.R-1.props.envelope[0].area", "items.R-1.props.envelope[0].r"]
