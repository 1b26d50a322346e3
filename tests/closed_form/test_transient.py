"""Cases of minutes or hours against exact exponentials: rooms by their mass, tanks by their water."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import RHO, Board, Solved, c

CP = 4000.0  # [J/kg/K]
C = 2000.0  # [W/K] of the ring
LOSS, MASS = 200.0, 4e6  # [W/K], [J/K]


def room(board: Board, mass: float | None = MASS, **more: str) -> None:
    board.item("R-1", "room", loss=f"{LOSS} W/K", wanted="20 degC", **more)
    if mass is not None:
        board.items["R-1"]["props"]["mass"] = f"{mass / 1e6} MJ/K"


def heated(ua: float = 500.0, supply: float = 60.0, mass: float | None = MASS, **more: str) -> Board:
    """A boiler and a radiator of `ua` in a room; outdoors 0 degC."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature=c(supply))
    room(board, mass, **more)
    board.item("RA-1", "radiator", ua=f"{ua} W/K", serves="R-1")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    return board


def warm(got: Solved, key: str) -> float:
    return float(got.items[key]["temperature_c"])


@pytest.mark.parametrize("hours", [0.5, 3.0, 12.0])
def test_a_room_cools_as_its_mass_over_its_loss(hours: float) -> None:
    board = Board()
    room(board)
    board.case(outdoor="-5 degC", lasts=f"{hours} h", start={"R-1": "21 degC"})
    got = board.solve()
    assert got.converged
    assert warm(got, "R-1") == pytest.approx(-5 + 26 * math.exp(-hours * 3600 * LOSS / MASS), abs=1e-3)
    assert got.noted("R-1", "goes from")


@pytest.mark.parametrize("minutes", [20.0, 90.0, 600.0])
def test_a_room_warms_toward_where_its_heat_and_loss_meet(minutes: float) -> None:
    """Heat g (60 - T), g = C (1 - e^-UA/C), loss 200 T: T tends to 60 g / (g + 200) at (g + 200) / mass."""
    board = heated().case(outdoor="0 degC", lasts=f"{minutes} min", start={"R-1": "10 degC"})
    got = board.solve()
    g = C * (1 - math.exp(-500 / C))
    end = 60 * g / (g + LOSS)
    want = end + (10 - end) * math.exp(-(g + LOSS) / MASS * minutes * 60)
    assert got.converged
    assert warm(got, "R-1") == pytest.approx(want, abs=2e-3)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(g * (60 - want), rel=1e-3)


def test_a_room_without_mass_stays_where_it_starts() -> None:
    got = heated(mass=None).case(outdoor="0 degC", lasts="5 h", start={"R-1": "10 degC"}).solve()
    assert got.converged
    assert warm(got, "R-1") == pytest.approx(10.0, abs=1e-6)
    assert got.noted("R-1", "mass is not set")


def test_a_room_starts_at_what_is_wanted() -> None:
    board = Board()
    room(board)
    got = board.case(outdoor="0 degC", lasts="1 s").solve()
    assert warm(got, "R-1") == pytest.approx(20.0, abs=2e-3)


def stat(board: Board, set_at: float, **more: object) -> None:
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature=c(set_at), **more)
    board.items["P-1"]["props"]["run_when"] = "TH-1"


@pytest.mark.parametrize("fixed", [False, True], ids=["free", "kept on by the case"])
def test_a_stat_is_on_until_its_room_is_warm_and_then_holds_it(fixed: bool) -> None:
    """From 10 degC it passes 20 after ln((e - 10) / (e - 20)) mass / (g + loss); then on for need / heat."""
    g = C * (1 - math.exp(-500 / C))
    end = 60 * g / (g + LOSS)
    reach = math.log((end - 10) / (end - 20)) * MASS / (g + LOSS)
    signals = {"signals": {"TH-1": True}} if fixed else {}
    for share, held in ((0.9, False), (1.1, True), (4.0, True)):
        board = heated()
        stat(board, 20.0)
        board.case(outdoor="0 degC", lasts=f"{share * reach} s", start={"R-1": "10 degC"}, **signals)
        got = board.solve()
        assert got.converged
        want = 20.0 if held else end + (10 - end) * math.exp(-(g + LOSS) / MASS * share * reach)
        assert warm(got, "R-1") == pytest.approx(want, abs=2e-3)
        duty = LOSS * 20 / (g * 40) if held else 1.0
        assert got.items["R-1"]["duty_share"] == pytest.approx(duty, rel=1e-3)
        assert got.items["TH-1"]["on"] is True


def test_a_stat_of_a_room_that_starts_too_warm_waits_for_it_to_cool() -> None:
    """25 to 20 degC takes ln(25 / 20) mass / loss; before that its stat is off."""
    cool = math.log(25 / 20) * MASS / LOSS
    for share, want in ((0.5, 25 * math.exp(-0.5 * cool * LOSS / MASS)), (1.5, 20.0)):
        board = heated()
        stat(board, 20.0)
        board.case(outdoor="0 degC", lasts=f"{share * cool} s", start={"R-1": "25 degC"})
        got = board.solve()
        assert got.converged
        assert warm(got, "R-1") == pytest.approx(want, abs=2e-3)
        assert got.items["TH-1"]["on"] is (share > 1)


def test_a_stat_that_cannot_reach_its_point_is_on_all_the_time() -> None:
    board = heated(supply=30.0)
    stat(board, 28.0)
    got = board.case(outdoor="0 degC", lasts="40 h", start={"R-1": "10 degC"}).solve()
    g = C * (1 - math.exp(-500 / C))
    end = 30 * g / (g + LOSS)
    want = end + (10 - end) * math.exp(-(g + LOSS) / MASS * 144e3)
    assert warm(got, "R-1") == pytest.approx(want, abs=2e-3)
    assert got.items["R-1"]["duty_share"] == 1.0


VOLUME = 0.2  # [m3]
HOLDS = VOLUME * RHO * CP  # [J/K]


def coil(supply: float = 60.0, **tank: str) -> Board:
    """A coil of 900 W/K in 200 L, on a ring of 2000 W/K behind a boiler."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature=c(supply))
    taps = {"hot": "1 m", "cold": "0 m"}
    board.item("T-1", "coil_tank", volume="200 L", taps=taps, tall="1 m", coil_ua="900 W/K", **tank)
    board.ring("P-1", "S-1", "B-1", "T-1:coil_in>coil_out")
    board.body("drinking", use="potable")
    board.item("CM-1", "cold_main", pressure="3 bar", temperature="10 degC")
    board.item("F-1", "fixture", flow="0.1 L/s")
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot")
    return board


@pytest.mark.parametrize("key", ["start", "tanks"])
def test_a_tank_warms_through_its_coil(key: str) -> None:
    """g (60 - T) with g = C (1 - e^-900/C), less 5 W/K to 20 degC."""
    board = coil(ua_loss="5 W/K").case(lasts="45 min", **{key: {"T-1": "15 degC"}})
    got = board.solve()
    g = C * (1 - math.exp(-900 / C))
    end = (60 * g + 5 * 20) / (g + 5)
    want = end + (15 - end) * math.exp(-(g + 5) / HOLDS * 2700)
    assert got.converged
    assert warm(got, "T-1") == pytest.approx(want, abs=3e-3)


def test_a_tank_drawn_from_mixes_with_what_comes_in() -> None:
    """0.1 L/s x 4 kJ/kg/K = 400 W/K of water at 10 degC against the coil's g (60 - T)."""
    board = coil().case(lasts="20 min", start={"T-1": "50 degC"}, draws={"F-1": "0.1 L/s"})
    got = board.solve()
    g = C * (1 - math.exp(-900 / C))
    end = (60 * g + 10 * 400) / (g + 400)
    want = end + (50 - end) * math.exp(-(g + 400) / HOLDS * 1200)
    assert warm(got, "T-1") == pytest.approx(want, abs=3e-3)
    assert got.items["F-1"]["temperature_c"] == pytest.approx(want, abs=3e-3)


def test_a_tank_named_nowhere_starts_at_its_stat_or_at_the_end_state() -> None:
    board = coil()
    assert warm(board.case(lasts="1 s").solve(), "T-1") == pytest.approx(60.0, abs=0.01)
    board = coil()
    board.item("AQ-1", "aquastat", senses=["T-1", "hot"], set_temperature="52 degC", differential="5 K")
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    got = board.case(lasts="1 h").solve()
    assert warm(got, "T-1") == pytest.approx(52.0, abs=1e-3)


def test_rooms_go_cold_while_a_tank_has_the_heat_to_itself() -> None:
    """Priority: the room's pump waits for the tank's stat. It cools, then warms from where it then is."""
    board = heated()
    board.items["P-1"]["props"]["run_when"] = {"not": "AQ-1"}
    taps = {"hot": "1 m", "cold": "0 m"}
    board.item("T-1", "coil_tank", volume="200 L", taps=taps, tall="1 m", coil_ua="900 W/K")
    board.item("AQ-1", "aquastat", senses=["T-1", "hot"], set_temperature="50 degC")
    board.drive("P-2", "S-2")
    board.item("B-2", "boiler", capacity="200 kW", set_temperature="60 degC")
    board.items["P-2"]["props"]["run_when"] = "AQ-1"
    board.ring("P-2", "S-2", "B-2", "T-1:coil_in>coil_out")
    board.body("drinking", use="potable")
    board.item("CM-1", "cold_main", pressure="3 bar", temperature="10 degC")
    board.pipe("CM-1:at", "T-1:cold")
    g_tank, g = C * (1 - math.exp(-900 / C)), C * (1 - math.exp(-500 / C))
    charging = math.log((60 - 20) / (60 - 50)) * HOLDS / g_tank
    board.case(outdoor="0 degC", lasts=f"{charging + 1800} s", start={"T-1": "20 degC", "R-1": "20 degC"})
    got = board.solve()
    cooled = 20 * math.exp(-charging * LOSS / MASS)
    end = 60 * g / (g + LOSS)
    want = end + (cooled - end) * math.exp(-(g + LOSS) / MASS * 1800)
    assert got.converged
    assert warm(got, "T-1") == pytest.approx(50.0, abs=0.01)
    assert warm(got, "R-1") == pytest.approx(want, abs=0.01)


def test_halving_the_step_moves_no_temperature(monkeypatch: pytest.MonkeyPatch) -> None:
    """A radiator of exponent 1.3 in a room, so that nothing is straight: steps an eighth as long agree."""
    from core.solve import transient

    def solved() -> float:
        board = heated()
        rated = {"heat": "20 kW", "flow": "0.5 L/s", "supply": "60 degC", "room": "20 degC", "exponent": 1.3}
        board.items["RA-1"]["props"] = {"rated": rated, "serves": "R-1"}
        return warm(board.case(outdoor="0 degC", lasts="2 h", start={"R-1": "5 degC"}).solve(), "R-1")

    usual = solved()
    monkeypatch.setattr(transient, "CLOSE", transient.CLOSE / 500.0)
    assert solved() == pytest.approx(usual, abs=0.02)


def test_a_buffer_between_a_source_and_a_load_moves_as_one_body_of_water() -> None:
    """C (60 - T) comes in; out go 30 kW, but below 35 degC only C (T - 20), down to the load's room.

    So first T = 40 - 10 e^(-2 C t / stored), which is 35 after ln 2 of that time; then it tends to 45.
    """
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    board.item("BT-1", "buffer", volume="200 L")
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.drive("P-2", "S-2")
    board.item("LD-1", "load", load="30 kW")
    board.ring("P-2", "S-2", "BT-1:b_in>b_out", "LD-1")
    got = board.case(lasts="4 min", start={"BT-1": "30 degC"}).solve()
    want = 45 - 10 * math.exp(-C / HOLDS * (240 - math.log(2) * HOLDS / (2 * C)))
    assert got.converged
    assert got.items["BT-1"]["lower_temperature_c"] == pytest.approx(want, abs=3e-3)
    assert got.items["BT-1"]["upper_temperature_c"] == pytest.approx(want, abs=3e-3)
    assert got.items["LD-1"]["delivered_w"] == pytest.approx(30e3, rel=1e-6)


def test_a_tank_without_volume_and_taps_that_differ() -> None:
    board = coil().case(lasts="1 h", start={"T-1": "40 degC"})
    del board.items["T-1"]["props"]["volume"]
    got = board.solve()
    assert warm(got, "T-1") == pytest.approx(40.0, abs=1e-6)
    assert got.noted("T-1", "volume is not set")
    board = coil().case(lasts="1 s", tanks={"T-1": {"hot": "60 degC", "cold": "20 degC"}})
    assert warm(board.solve(), "T-1") == pytest.approx(40.0, abs=0.1), "its mean by height"


def test_a_case_that_lasts_stands_alone() -> None:
    """The same alone, after the end state of the same plant, and twice."""
    board = heated()
    stat(board, 20.0)
    board.case("hour", outdoor="0 degC", lasts="1 h", start={"R-1": "10 degC"}).case("end", outdoor="0 degC")
    from core.files.read import from_data
    from core.solve.solver import Solver

    plant = from_data(board.data())
    solver = Solver(plant)
    hour, end = plant.solve_cases
    first = solver.solve(hour).items["R-1"].temperature_c
    solver.solve(end)
    assert solver.solve(hour).items["R-1"].temperature_c == pytest.approx(first, abs=1e-6)
    assert Solver(plant).solve(hour).items["R-1"].temperature_c == pytest.approx(first, abs=1e-6)
