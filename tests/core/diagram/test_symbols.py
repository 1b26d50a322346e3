"""Drawings, ports and places of the symbols."""

from __future__ import annotations

import pytest

from core.diagram.drawing import drawing
from core.diagram.symbols import body_box, box, outward, port_place, shape
from core.plant.model import Item
from core.vocabulary import KINDS


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_port_of_every_kind_is_drawn_on_the_grid(kind: str) -> None:
    item = Item("X-1", kind, (0.0, 0.0))
    drawn = shape(item)
    assert set(drawn.ports) == set(item.ports)
    assert all(x % 10 == 0 and y % 10 == 0 for x, y in drawn.ports.values())
    assert len(set(drawn.ports.values())) == len(drawn.ports)
    assert drawn.parts, "a symbol has strokes"


@pytest.mark.parametrize("kind", list(KINDS))
def test_ports_look_away_from_the_body(kind: str) -> None:
    item = Item("X-1", kind, (0.0, 0.0))
    body = body_box(item)
    for port in item.ports:
        (x, y), (dx, dy) = port_place(item, port), outward(item, port)
        if kind == "joint":
            assert (dx, dy) == (0.0, 0.0)
            continue
        assert abs(dx) + abs(dy) == 1
        ahead = (x + 5 * dx, y + 5 * dy)
        assert not (body.x0 < ahead[0] < body.x1 and body.y0 < ahead[1] < body.y1)


def test_kinds_have_their_own_drawing() -> None:
    plain = drawing("no such kind").parts
    assert [kind for kind in KINDS if drawing(kind).parts == plain] == []


def test_mirrors_first_then_turns_clockwise() -> None:
    item = Item("P-1", "circulator", (100.0, 200.0))
    assert port_place(item, "out") == (120.0, 200.0)
    turned = Item("P-1", "circulator", (100.0, 200.0), 90)
    assert port_place(turned, "out") == (100.0, 220.0)
    assert outward(turned, "out") == (0.0, 1.0)
    both = Item("P-1", "circulator", (100.0, 200.0), 90, True)
    assert port_place(both, "out") == (100.0, 180.0)
    assert outward(both, "in") == (0.0, 1.0)
    boiler = Item("B-1", "boiler", (0.0, 0.0), 0, True)
    assert port_place(boiler, "out") == (-30.0, -20.0)
    assert outward(boiler, "out") == (-1.0, 0.0)


def test_box_turns_with_the_item() -> None:
    level, upright = Item("F", "radiator", (0.0, 0.0)), Item("F", "radiator", (0.0, 0.0), 90)
    assert (box(level).width, box(level).height) == (box(upright).height, box(upright).width)


@pytest.mark.parametrize("branches", [1, 2, 3, 4, 12])
def test_manifold_widens_by_its_branches(branches: int) -> None:
    item = Item("M-1", "manifold", (0.0, 0.0), props={"branches": branches})
    ports = shape(item).ports
    xs = [ports[str(i)][0] for i in range(1, branches + 1)]
    assert xs == [xs[0] + 20 * i for i in range(branches)]
    assert ports["trunk"][0] == -ports["end"][0] == -10 * branches - 10
    assert all(outward(item, str(i)) == (0.0, 1.0) for i in range(1, branches + 1))


def test_tank_keeps_the_usual_places_and_sorts_other_taps_by_height() -> None:
    taps = {"hot": "5 ft", "cold": "3 in", "upper": "4 ft", "middle": "30 in", "lower": "1 ft"}
    item = Item("T-1", "tank", (0.0, 0.0), props={"volume": "80 gal", "tall": "5 ft", "taps": taps})
    ports = shape(item).ports
    assert ports["hot"] == (-40.0, -40.0)
    assert ports["cold"] == (-40.0, 40.0)
    assert ports["upper"][1] < ports["middle"][1] < ports["lower"][1]
    assert len(set(ports.values())) == 5


def test_tank_with_many_taps_grows_instead_of_sharing_places() -> None:
    taps = {f"tap{i}": f"{i + 1} in" for i in range(40)}
    item = Item("T-1", "tank", (0.0, 0.0), props={"tall": "5 ft", "taps": taps})
    ports = shape(item).ports
    assert len(set(ports.values())) == 40
    assert all(x % 10 == 0 and y % 10 == 0 for x, y in ports.values())
    assert box(item).height > box(Item("T-2", "tank", (0.0, 0.0))).height
