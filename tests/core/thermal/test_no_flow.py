"""Water that stands: what it shows between a warm and a cold end, behind a check, and on its own."""

import pytest

from tests.support.builders import Board, c


def two_tanks(between: str = "joint", **props: object) -> Board:
    """Tanks held at 30 and 50 degC on either side of an item; nothing flows."""
    board = Board()
    for name in ("T-1", "T-2"):
        board.item(name, "tank", volume="100 L", taps={"supply": "0.5 m"})
    board.item("X", between, **props)
    board.item("J", "joint")
    board.item("D", "drain")
    board.pipe("T-1:supply", board.ends("X")[0], length="1 m")
    board.chain("X", "J", length="1 m")
    board.pipe("J:at", "T-2:supply", length="1 m")
    board.pipe("J:at", "D:at", length="1 m")
    return board.case(tanks={"T-1": c(30.0), "T-2": c(50.0)})


def test_still_water_shows_its_warmer_end():
    got = two_tanks().solve()
    assert [got.warm(f"L-{n}") for n in (1, 2, 3, 4)] == pytest.approx([50.0] * 4, abs=0.01)


def test_still_water_ends_at_a_shut_valve():
    got = two_tanks("shutoff", open=False).solve()
    assert got.warm("L-1") == pytest.approx(30.0, abs=0.01)
    assert [got.warm(f"L-{n}") for n in (2, 3, 4)] == pytest.approx([50.0] * 3, abs=0.01)


def test_still_water_with_nothing_warm_stands_at_what_is_around_it():
    board = Board()
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("J-3", "joint")
    board.pipe("J-1:at", "J-2:at", length="1 m", around=c(31.0))
    board.pipe("J-2:at", "J-3:at", length="1 m", around=c(28.0))
    got = board.solve()
    assert got.warm_end("L-1") == pytest.approx(31.0)
    assert got.warm_end("L-2") == pytest.approx(31.0)
    plain = Board()
    plain.item("J-1", "joint")
    plain.item("J-2", "joint")
    plain.pipe("J-1:at", "J-2:at", length="1 m")
    assert plain.solve().warm("L-1") == pytest.approx(20.0)
