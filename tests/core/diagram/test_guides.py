"""Ports drawn into line with other ports, and the lines that show it."""

from __future__ import annotations

from dataclasses import replace

from core.diagram.guides import Guides
from core.diagram.symbols import port_place
from core.plant.model import Item, Plant


def test_a_port_near_a_line_is_drawn_onto_it_and_one_far_off_to_the_grid() -> None:
    boiler = Item("B-1", "boiler", (300.0, 403.0))  # as an older file may have it: off the grid
    pump = Item("P-1", "circulator", (500.0, 300.0))
    guides = Guides(Plant(items={"B-1": boiler, "P-1": pump}), {"P-1"})
    wanted = port_place(boiler, "in")[1]
    for off in (-6.0, -2.0, 0.0, 4.0, 6.5):
        by = guides.pulled([pump], (12.0, wanted - 300.0 + off))
        assert by == (10.0, wanted - 300.0), off
    assert guides.pulled([pump], (12.0, wanted - 300.0 + 8.0))[1] % 10 == 0
    moved = replace(pump, at=(510.0, wanted))
    ((a, b),) = guides.lines([moved])
    assert (a, b) == (port_place(boiler, "in"), port_place(moved, "in"))
    assert guides.lines([replace(pump, at=(510.0, wanted + 1.0))]) == []


def test_ports_that_look_another_way_do_not_count() -> None:
    tank = Item("ET-1", "expansion_tank", (300.0, 403.0))
    pump = Item("P-1", "circulator", (500.0, port_place(tank, "at")[1]))
    guides = Guides(Plant(items={"ET-1": tank, "P-1": pump}), {"P-1"})
    assert guides.lines([pump]) == []
    upright = replace(pump, turn=90, at=(300.0, 200.0))
    assert len(guides.lines([upright])) == 1


def test_far_ports_do_not_count() -> None:
    one, other = Item("V-1", "shutoff", (0.0, 0.0)), Item("V-2", "shutoff", (2000.0, 0.0))
    guides = Guides(Plant(items={"V-1": one, "V-2": other}), {"V-2"})
    assert guides.lines([other]) == []
    assert len(guides.lines([replace(other, at=(200.0, 0.0))])) == 1
