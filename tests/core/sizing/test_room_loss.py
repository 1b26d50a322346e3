"""Design loss of rooms as sized: published rooms, ways that contradict, what serves, what is missing."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from core.files.read import from_data
from core.plant.model import Plant
from core.sizing.context import Context
from core.sizing.families.room_loss import size
from core.sizing.trial import with_props
from core.thermal.room_loss import loss_of
from tests.support.sizes import one, recompute

BTU_H = 1055.056 / 3600
DATA = Path(__file__).parents[2] / "reference" / "data" / "room_loss_published.csv"
USE = {"fuel": "1617 therm", "degree_days": "8382 degF*day", "efficiency": 0.94}


def rooms(*props: dict[str, Any], items: tuple[dict[str, Any], ...] = (), **site: str) -> Plant:
    placed = [
        {"id": f"R-{n}", "kind": "room", "at": [100 * n, 0], "props": each}
        for n, each in enumerate(props, start=1)
    ]
    data = {
        "format": "wetside-plant",
        "version": 2,
        "title": "rooms",
        "units": "us",
        "site": {"outdoor_design": "30 degF", "indoor": "70 degF", **site},
        "items": [*placed, *items],
        "pipes": [],
    }
    return from_data(data)


def published(room: str) -> tuple[list[dict[str, str]], float]:
    with DATA.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["room"] == room]
    surfaces = []
    for row in rows:
        one_of = {"name": row["element"], "area": f"{row['area_ft2']} ft2", "u": f"{row['U']} Btu/h/ft2/degF"}
        if row["T_out"] != "30":
            one_of["beyond"] = f"{row['T_out']} degF"
        surfaces.append(one_of)
    return surfaces, sum(float(row["loss_btuh"]) for row in rows)


@pytest.mark.parametrize(
    ("room", "wanted"), [("Dining", "70 degF"), ("Lounge", "70 degF"), ("Kitchen", "65 degF")]
)
def test_published_rooms(room: str, wanted: str) -> None:
    surfaces, total = published(room)
    found = size(Context(rooms({"envelope": surfaces, "wanted": wanted})))
    assert recompute(found) > len(surfaces)
    sized = one(found, "R-1", "room_loss")
    assert float(sized.value or 0) / BTU_H == pytest.approx(total, rel=2e-3)
    assert sized.cautions


def test_published_season_and_taking_the_option_types_the_loss() -> None:
    """62,000 Btu/h at a difference of 82 degF (Moaveni, example 11.19)."""
    plant = rooms({"past_use": USE}, outdoor_design="-12 degF")
    sized = one(size(Context(plant)), "R-1", "room_loss")
    assert float(sized.value or 0) / BTU_H == pytest.approx(62_000, rel=2e-3)
    (option,) = sized.options
    assert option.props is not None
    taken = with_props(plant, {"R-1": option.props})
    loss = loss_of(taken, taken.items["R-1"])
    assert loss is not None
    assert loss.origin == "typed"
    assert float(loss.value) == pytest.approx(option.figures["loss_w_k"], rel=1e-3)


def test_ways_that_contradict_are_said() -> None:
    surfaces, _ = published("Dining")
    both = {"envelope": surfaces, "past_use": USE, "loss": "90 Btu/h/degF"}
    sized = one(size(Context(rooms(both))), "R-1", "room_loss")
    assert len(sized.options) == 3
    assert "as typed" in sized.words
    assert "The ways differ: 3.1 kBtu/h by its envelope, 30.2 kBtu/h by past fuel use." in sized.words
    assert sized.cautions == ()


def test_what_serves_a_room_is_weighed() -> None:
    radiator = {
        "id": "RA-1",
        "kind": "radiator",
        "at": [0, 200],
        "props": {"serves": "R-1", "ua": "50 Btu/h/degF", "load": "3 kBtu/h"},
    }
    room = {"loss": "100 Btu/h/degF", "floor": "400 ft2"}
    sized = one(size(Context(rooms(room, items=(radiator,)))), "R-1", "room_loss")
    assert "RA-1 wants 3.0 kBtu/h, less than it loses." in sized.words
    assert "10.0 Btu/h/ft² of floor" in sized.words
    sunny = one(size(Context(rooms({**room, "gain": "1 kBtu/h"}, items=(radiator,)))), "R-1", "room_loss")
    assert "enough" in sunny.words
    assert "No circuit serves it." in one(size(Context(rooms(room))), "R-1", "room_loss").words


def test_a_room_without_any_says_so_and_the_next_is_sized() -> None:
    found = size(Context(rooms({}, {"loss": "100 Btu/h/degF"})))
    lost = one(found, "R-1", "room_loss")
    assert lost.value is None
    assert "neither props.loss nor props.envelope nor props.past_use" in lost.missing[0]
    assert one(found, "R-2", "room_loss").value == pytest.approx(4000 * BTU_H, rel=1e-6)
