"""Water at its boiling point: IAPWS saturation temperatures against the note that the solver gives."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from tests.support.builders import Board, constant_fluid

SEA = 101325.0  # [Pa]
HIGH = 70108.5  # [Pa] at 3000 m, U.S. Standard Atmosphere 1976, as published


def hot_loop(warm: float, fill: float | None, altitude: str = "0 m", fluid: str = "water") -> Board:
    """A boiler with nothing to heat, so all its water stands at the set temperature [degC]; fill in Pa."""
    known = constant_fluid() if fluid == "custom" else {"kind": fluid}
    board = Board(known, altitude=altitude)
    if fill is not None:
        board.body("loop", known, fill_pressure=f"{fill!r} Pa")
    board.item("J", "joint")
    board.item("ET", "expansion_tank", volume="8 L")
    board.item("B", "boiler", set_temperature=f"{warm!r} degC", capacity="10 kW")
    board.drive()
    board.ring("J", "P-1", "S-1", "B")
    board.pipe("ET:at", "J:at")
    return board


@pytest.mark.parametrize(
    ("gauge", "air", "altitude"), [(0.0, SEA, "0 m"), (50e3, SEA, "0 m"), (0.0, HIGH, "3000 m")]
)
def test_water_is_said_to_boil_from_its_saturation_temperature_on(gauge, air, altitude):
    boils = IAPWS97(P=(air + gauge) / 1e6, x=0).T - 273.15
    assert any("boils at" in text for _, text in hot_loop(boils + 0.4, gauge, altitude).solve().notes)
    assert not any("boils" in text for _, text in hot_loop(boils - 0.4, gauge, altitude).solve().notes)


def test_a_body_without_a_pressure_source_is_told_so_with_its_caution():
    board = hot_loop(104.0, None)
    del board.items["ET"]
    board.pipes = [pipe for pipe in board.pipes if pipe["from"][0] != "ET"]
    said = [text for _, text in board.solve().notes if "boils" in text]
    assert len(said) == 1
    assert "Nothing sets its pressure" in said[0]
    assert "local code" in said[0]


def test_a_fluid_of_ones_own_is_not_judged():
    assert not any("boil" in text for _, text in hot_loop(130.0, 0.0, fluid="custom").solve().notes)
