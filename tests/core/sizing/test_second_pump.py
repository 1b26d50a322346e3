"""The second-circulator study against hand sums, against the plant really changed, and on odd plants."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import sample_plants
from core.diagram import symbols
from core.diagram.routes import route
from core.errors import Refusal
from core.files import save
from core.files.read import from_data, load
from core.plant.changes import fitted
from core.plant.model import Plant
from core.sizing.second_circulator.available import Pump, copy_of, named
from core.sizing.second_circulator.edit import put_in
from core.sizing.second_circulator.fit import best_spot
from core.sizing.second_circulator.study import LEFT_OUT, Bench, Found, Study, Wanted, rank, study
from core.solve import solve_case
from core.solve.solution import Dropped
from core.working import evaluate
from tests.plants.edits import file_of
from tests.support.builders import FT, GPM, Board, flow, pa
from tests.support.random_plants import random_plant

G, RHO = 9.80665, 1000.0


def head_text(feet: float) -> str:
    return f"{feet!r} ft_head"


def parabola(top: float, bend: float, end: float, points: int = 41) -> list[list[str]]:
    """Points of H = top - bend q^2 in feet and gpm."""
    flows = [end * k / (points - 1) for k in range(points)]
    return [[f"{q!r} gpm", head_text(top - bend * q * q)] for q in flows]


def textbook_loop(**props: Any) -> Board:
    """The closed loop of common practice: 0.03 q^2 against 20 - 0.05 q^2 (feet of head, gpm)."""
    board = Board()
    board.item("P-1", "circulator", curve=parabola(20.0, 0.05, 20.0), watts="80 W", **props)
    board.item("S-1", "strainer", drops=[["10 gpm", "3 ft_head"]])
    board.item("LD-1", "load")
    board.ring("P-1", "S-1", "LD-1", length="1 m")
    return board


def by_how(found: Study, how: str) -> Found:
    return next(one for one in found.found if one.place.how == how)


@pytest.mark.parametrize(("how", "want"), [("series", 17.5412), ("parallel", 21.6930)])
def test_textbook_series_and_parallel(how: str, want: float):
    """Common practice, by hand: 2 (20 - 0.05 q^2) = 0.03 q^2, and 20 - 0.05 (q/2)^2 = 0.03 q^2."""
    assert want == pytest.approx(
        math.sqrt(40 / 0.13) if how == "series" else math.sqrt(20 / (0.03 + 0.05 / 4)), abs=1e-3
    )
    one = by_how(study(from_data(textbook_loop().data()), beside="P-1"), how)
    before, after = one.flows["P-1"]
    assert before / GPM == pytest.approx(math.sqrt(20 / 0.08), rel=2e-3)
    assert after / GPM == pytest.approx(want, rel=5e-3)  # the metres of tube lose a little besides
    assert one.gain == pytest.approx(after - before, rel=1e-9)
    assert one.power == 80.0
    assert one.per_flow is not None
    assert one.per_flow.value == pytest.approx(80.0 / one.gain, rel=1e-9)


@pytest.mark.parametrize("how", ["series", "parallel"])
def test_published_pump_and_lift_with_a_second(how: str):
    """Worked example 11 (81/60/20 ft at 0/5000/7850 gpm, 30 ft of lift, 12.051 cfs), then two by hand.

    The book fits a + c q^2 to the three points; its system coefficient is 0.160 ft/cfs^2.
    """
    cfs = FT**3
    bend, top = np.polyfit((np.array([0.0, 5000.0, 7850.0]) * GPM / cfs) ** 2, [81.0, 60.0, 20.0], 1)

    def meet(heads: float, share: float) -> float:
        """Flow [cfs] where heads (top + bend (q share)^2) = 30 + 0.160 q^2."""
        return math.sqrt((heads * top - 30.0) / (0.160 - heads * bend * share**2))

    assert meet(1, 1) == pytest.approx(12.051, rel=1e-3)
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure=pa(0.0))
    board.item("CM-2", "cold_main", pressure=pa(30 * FT * RHO * G))
    points = np.linspace(0.0, 18.0, 61)
    curve = [[flow(float(q * cfs)), f"{float(top + bend * q * q)!r} ft_head"] for q in points]
    board.item("P-1", "circulator", curve=curve)
    board.item("S-1", "strainer", drops=[[flow(10 * cfs), pa(16.0 * FT * RHO * G)]])
    board.chain("CM-1", "P-1", "S-1", "CM-2", length="0 m", bore=3.0)
    one = by_how(study(from_data(board.data()), beside="P-1"), how)
    before, after = one.flows["P-1"]
    assert before / cfs == pytest.approx(12.051, rel=2e-3)
    assert after / cfs == pytest.approx(meet(2, 1) if how == "series" else meet(1, 0.5), rel=2e-3)


@pytest.mark.parametrize("backward", [False, True])
@pytest.mark.parametrize("where", ["before", "after", "both"])
def test_parallel_claimed_much_because_half_of_the_tube_beside_carried_one_pump_only(
    where: str, backward: bool
):
    """All 0.03 q^2 sit in the tube at the pump: 20 - 0.05 (q/2)^2 = 0.03 q^2 by hand, as anywhere else."""
    bore = 0.05
    area = math.pi * bore**2 / 4.0
    whole = 0.03 * FT * G * 2.0 * (area / GPM) ** 2  # K of 0.03 ft per gpm^2 in that bore
    before, after = {"before": (whole, 0.0), "after": (0.0, whole), "both": (whole / 2, whole / 2)}[where]
    board = Board()
    board.item("P-1", "circulator", curve=parabola(20.0, 0.05, 20.0), watts="80 W", integral_check=True)
    board.item("LD-1", "load")
    for name, k, ends in (("L-1", after, ("P-1:out", "LD-1:in")), ("L-2", before, ("LD-1:out", "P-1:in"))):
        board.pipe(*(reversed(ends) if backward else ends), name, length="0.1 m", bore=bore, k=k)
    plant = from_data(board.data())
    one = by_how(study(plant, beside="P-1"), "parallel")
    assert one.flows["P-1"][1] / GPM == pytest.approx(math.sqrt(20 / (0.03 + 0.05 / 4)), rel=3e-3)
    changed = inserted(plant, one)
    beside = [pipe for pipe in changed.pipes.values() if "P-1" in (pipe.start.item, pipe.end.item)]
    assert [pipe.si.length for pipe in beside] == [0.0, 0.0]


def inserted(plant: Plant, one: Found) -> Plant:
    return fitted(plant, put_in(plant, one.place, one.spot, one.pump).changes)


def check_promise(plant: Plant, bench: Bench, one: Found, folder: Path) -> None:
    """Write the plant with the circulator in it to a file, read it again, solve it from nothing."""
    path = folder / "with.plant.json"
    save.save(inserted(plant, one), path)
    again = load(path)
    case = next(case for case in again.solve_cases if case.name == bench.case.name)
    solution = solve_case(again, case)
    assert solution.converged, one.title
    new = (set(again.items) - set(plant.items)) & {
        name for name, item in again.items.items() if item.kind == "circulator"
    }
    for name, (_, after) in one.flows.items():
        item, _, side = name.partition(".")
        got = solution.value(item, f"{side}_flow_m3_s" if side else "flow_m3_s")
        if one.place.how == "parallel" and name == one.place.at:
            got += solution.items[next(iter(new))].flow_m3_s
        assert got == pytest.approx(after, rel=5e-3, abs=5e-8), (one.title, name)


@pytest.mark.parametrize(
    ("sample", "case", "every"),
    [("potting_shed", 0, 1), ("two_heater_clinic", 0, 12), ("school_annex", 0, 25)],
)
def test_promised_flows_are_those_of_the_changed_file(sample: str, case: int, every: int, tmp_path: Path):
    plant = load(file_of(sample))
    bench = Bench(plant, plant.solve_cases[case])
    todo = [place for place in bench.places() if not bench.blocked(place)]
    assert len(todo) >= 4
    ways = {place.how: place for place in todo}
    for place in dict.fromkeys([*todo[::every], *ways.values()]):
        check_promise(plant, bench, bench.try_out(place, bench.same(place), Wanted()), tmp_path)


def test_new_symbols_lie_apart_and_on_the_grid():
    plant = load(file_of("two_heater_clinic"))
    lines = route(plant)
    bench = Bench(plant, plant.solve_cases[0])
    for place in bench.places():
        pump = bench.same(place)
        spot, _ = best_spot(bench.context, place, pump)
        changed = fitted(plant, put_in(plant, place, spot, pump, lines).changes)
        for name in set(changed.items) - set(plant.items):
            x, y = changed.items[name].at
            assert x % 10 == 0, (place, name)
            assert y % 10 == 0, (place, name)
            same = [i.id for i in changed.items.values() if i.at == (x, y) and i.id != name]
            assert not same, (place, name, same)
        if place.tees is None:
            more = sum(len(line) for line in route(changed).values()) - sum(
                len(line) for line in lines.values()
            )
            parts = len(changed.pipes) - len(plant.pipes)
            assert more <= 2 * parts + 5, f"{place.at}: the pipes loop round what was put in"
        for one in set(changed.items) - set(plant.items):
            mine = symbols.body_box(changed.items[one])
            assert not [
                i.id for i in changed.items.values() if i.id != one and symbols.body_box(i).overlaps(mine)
            ]


def room(**props: Any) -> Board:
    board = Board()
    made = {"face_to_face": "6 1/2 in", "flange_thickness": "1/2 in", "connection": "flanged"}
    board.item("P-1", "circulator", curve=parabola(20.0, 0.05, 20.0), watts="80 W", **made, **props)
    board.item("S-1", "strainer", drops=[["10 gpm", "3 ft_head"]])
    return board


@pytest.mark.parametrize(
    ("straight", "want"), [("8 in", "yes"), ("7.6 in", "yes"), ("7 in", "no"), (None, "unknown")]
)
def test_straight_length_against_face_to_face_and_two_flanges(straight: str | None, want: str):
    board = room()
    keys = {"straight": straight} if straight else {}
    board.pipe("P-1:out", "S-1:in", "L-1", length="1 ft", **keys)
    board.pipe("S-1:out", "P-1:in", "L-2", length="3 in")
    one = by_how(study(from_data(board.data()), beside="P-1"), "series")
    assert one.fit.fits == want
    assert one.fit.needed is not None
    assert one.fit.needed.value == pytest.approx(7.5 * 0.0254)
    assert one.spot is not None
    assert (one.spot.touches, one.spot.port) == ("P-1", "out")


@pytest.mark.parametrize(
    ("face", "want"), [("6 1/2 in", "yes"), ("6 in", "no"), ("8 in", "yes"), (None, "unknown")]
)
def test_spacer_against_face_to_face(face: str | None, want: str):
    board = room()
    board.item("SP-1", "spacer", **({"face_to_face": face} if face else {}))
    board.pipe("P-1:out", "SP-1:in", "L-1", joined="flanged")
    board.pipe("SP-1:out", "S-1:in", "L-2", length="3 in")
    board.pipe("S-1:out", "P-1:in", "L-3", length="3 in")
    plant = from_data(board.data())
    one = by_how(study(plant, beside="P-1"), "series")
    assert one.spot is not None
    assert one.fit.fits == want
    if want == "yes":
        assert one.spot.spacer == "SP-1"
        assert "SP-1" not in inserted(plant, one).items


def test_blind_spacer_holds_the_way_shut():
    board = room()
    board.item("SP-1", "spacer", face_to_face="6 1/2 in", blind=True)
    board.ring("P-1", "S-1", "SP-1", length="0.2 m")
    found = study(from_data(board.data()))
    assert {one.state for one in found.found} == {"blocked"}
    assert all("SP-1 is shut" in one.verdict for one in found.found)


@pytest.mark.parametrize(
    ("stage", "words"),
    [("tested", "cut L-1"), ("existing", "cut L-1"), ("dry_fitted", "take L-1 out"), ("drawn", "nothing")],
)
def test_what_must_be_cut_follows_the_stages(stage: str, words: str):
    board = room()
    board.pipe("P-1:out", "S-1:in", "L-1", length="1 ft", straight="1 ft", stage=stage)
    board.pipe("S-1:out", "P-1:in", "L-2", length="3 in")
    one = by_how(study(from_data(board.data()), beside="P-1"), "series")
    assert any(words in text for text in one.opened), one.opened


def test_parallel_brings_the_check_valves_it_needs():
    plant = from_data(textbook_loop().data())
    bare = by_how(study(plant, beside="P-1"), "parallel")
    added = [i for i in inserted(plant, bare).items.values() if i.kind == "check_valve"]
    assert len(added) == 2
    assert "one behind P-1, which has none" in bare.checks
    inside = from_data(textbook_loop(integral_check=True).data())
    one = by_how(study(inside, beside="P-1"), "parallel")
    assert not [i for i in inserted(inside, one).items.values() if i.kind == "check_valve"]


def test_with_one_at_rest_the_check_valves_hold():
    """The first of two in parallel switched off: all the second gives goes round the loop, none runs back."""
    plant = from_data(textbook_loop().data())
    one = by_how(study(plant, beside="P-1"), "parallel")
    changed = inserted(plant, one)
    from core.plant import edits

    off = fitted(changed, edits.set_props(changed, "P-1", {"run_when": False}))
    solution = solve_case(off, off.solve_cases[0])
    assert solution.items["P-1"].flow_m3_s == pytest.approx(0.0, abs=1e-12)
    assert solution.items["LD-1"].flow_m3_s / GPM == pytest.approx(15.81, rel=0.01)


def heating(load: str, **pump: Any) -> Board:
    board = Board()
    board.item("P-1", "circulator", curve=parabola(20.0, 0.05, 20.0), watts="80 W", **pump)
    board.item("B-1", "boiler", set_temperature="80 degC", capacity="200 kW", drops=[["10 gpm", "2 ft_head"]])
    board.item("RA-1", "radiator", ua="2000 W/K", load=load,
               room_temperature="20 degC", drops=[["10 gpm", "1 ft_head"]])  # fmt: skip
    board.ring("P-1", "B-1", "RA-1", length="0.5 m")
    return board


def test_none_is_worth_it_where_all_heat_is_there():
    found = study(from_data(heating("20 kW").data()))
    assert not found.worth
    assert "not worth it" in found.summary
    assert "No circuit is short" in found.summary
    assert by_how(found, "series").gain > 0.0


def test_short_circuit_is_what_is_wanted_and_the_smaller_cure_wins():
    found = study(from_data(heating("110 kW").data()))
    assert found.wanted.at == "RA-1"
    assert found.wanted.short["RA-1"] > 0.0
    assert all(one.gained_at == "RA-1" for one in found.found if one.state != "blocked")


def test_delta_t_pump_that_has_head_to_spare_gains_nothing():
    board = heating("20 kW", control="delta_t", target="10 K", senses=[["RA-1", "in"], ["RA-1", "out"]])
    found = study(from_data(board.data()), beside="P-1")
    assert found.found
    assert all(one.state in ("none", "little", "helps", "unsettled") for one in found.found)


def test_resting_circulator_and_shut_valve_are_said():
    board = room(run_when="SW-1")
    board.item("SW-1", "switch")
    board.ring("P-1", "S-1", length="1 ft")
    found = study(
        from_data(board.data()), from_data(board.case("off", signals={"SW-1": False}).data()).cases[0]
    )
    assert {one.state for one in found.found} == {"blocked"}
    assert all("rests" in one.verdict for one in found.found)
    shut = room()
    shut.item("V-1", "shutoff", open=False)
    shut.ring("P-1", "S-1", "V-1", length="1 ft")
    found = study(from_data(shut.data()))
    assert all("V-1 is shut" in one.verdict for one in found.found)


def test_plant_without_circulator_without_loop_and_without_anything():
    assert study(Plant()).found == ()
    assert "No place" in study(Plant()).summary
    board = Board()
    board.item("B-1", "boiler", set_temperature="60 degC", capacity="10 kW")
    board.item("LD-1", "load", load="5 kW")
    board.ring("B-1", "LD-1", length="1 m")
    found = study(from_data(board.data()))
    assert found.found


def test_suction_margin_and_relief_are_cautioned():
    board = Board()
    board.body("loop", fill_pressure="0.1 bar")
    board.item("P-1", "circulator", curve=parabola(60.0, 0.05, 30.0), height="8 m")
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="0.1 bar")
    board.item("RV-1", "relief_valve", set_pressure="1 bar")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("S-1", "strainer", drops=[["10 gpm", "3 ft_head"]])
    board.ring("P-1", "J-1", "J-2", "S-1", length="1 m")
    board.pipe("J-1:at", "ET-1:at")
    board.pipe("J-2:at", "RV-1:at")
    one = by_how(study(from_data(board.data()), beside="P-1"), "series")
    assert one.margin is not None
    assert any("cavitate" in text for text in one.cautions) or float(one.margin.value) > 2.0
    assert any("RV-1" in text for text in one.cautions)


def test_every_working_says_what_its_formula_gives():
    plant = load(Path(sample_plants.__file__).parent / "potting_shed.plant.json")
    seen = 0
    for one in study(plant).found:
        for working in (one.gained, one.margin, one.per_flow, one.fit.needed):
            for _, part in working.walk() if working is not None else ():
                value = evaluate(part)
                if value is not None:
                    seen += 1
                    assert value == pytest.approx(part.value, rel=1e-6)
    assert seen > 8


@pytest.mark.parametrize("seed", range(6))
def test_random_plants_never_fail(seed: int):
    plant = from_data(random_plant(seed).data())
    found = study(plant, others=False)
    for one in found.found:
        assert one.verdict
        assert one.fit.fits in ("yes", "no", "unknown")
        assert all(math.isfinite(x) for pair in one.flows.values() for x in pair)
    json.dumps([one.flows for one in found.found], allow_nan=False)


@pytest.mark.parametrize(("sample", "case"), [("school_annex", 0), ("school_annex", 1), ("kennel_clinic", 3)])
def test_of_many_places_the_best_are_those_of_a_search_of_all(sample: str, case: int):
    """The other samples have no case with more places than are solved."""
    plant = load(Path(sample_plants.__file__).parent / f"{sample}.plant.json")
    bench = Bench(plant, plant.solve_cases[case])
    some = study(plant, bench=bench, others=False)
    every = study(plant, bench=bench, others=False, most=1000)
    left = [one for one in some.found if one.verdict == LEFT_OUT]
    assert left
    assert len(some.found) == len(every.found)
    assert [(one.title, one.gain) for one in some.found[:3]] == [(o.title, o.gain) for o in every.found[:3]]


def test_study_ends_when_it_is_no_longer_wanted():
    plant = load(file_of("two_heater_clinic"))
    asked = iter([True] * 60 + [False] * 1000)
    with pytest.raises(Dropped):
        study(plant, keep_on=lambda: next(asked))


def test_unknown_ids_are_refused_with_the_nearest():
    plant = load(file_of("two_heater_clinic"))
    with pytest.raises(Refusal, match="P-1"):
        study(plant, beside="P1")
    with pytest.raises(Refusal, match="FC-1"):
        study(plant, circuit="FC1")
    assert named(plant, "P-3") == copy_of(plant, "P-3")
    assert named(plant, "nothing") is None


def test_another_curve_is_taken_by_name():
    board = textbook_loop()
    plant = from_data(board.data())
    weak = Pump("weak", {"curve": parabola(5.0, 0.05, 10.0)})
    strong = by_how(study(plant, beside="P-1"), "series")
    assert by_how(study(plant, beside="P-1", pump=weak), "series").gain < strong.gain


def test_of_places_that_do_alike_the_one_with_fewer_cuts_comes_first():
    found = study(from_data(heating("110 kW").data()))
    likely = next(one for one in found.found if one.state == "helps")
    few, many = replace(likely, undone=1, power=90.0), replace(likely, undone=3, power=60.0)
    assert rank(few) < rank(many)
    assert rank(replace(few, power=60.0)) < rank(few)
    assert rank(
        replace(many, gain_share=(likely.gain_share or 0.0) + 0.5, lacking=likely.lacking and 0.0)
    ) < rank(few)
    assert rank(replace(few, worth=True)) < rank(replace(few, worth=False))


def test_the_first_places_put_178_w_on_a_return_that_needs_nothing() -> None:
    """Unasked, no place lies on the tap side: the return there keeps warm as it is, and no heat is short."""
    plant = load(file_of("two_heater_clinic"))
    bench = Bench(plant, plant.solve_cases[0])
    whole = {(one.how, one.at) for one in bench.places()}
    kept = {(one.how, one.at) for one in bench.places() if bench.is_wanted(one)}
    assert {("branch", "L-83"), ("series", "P-5"), ("parallel", "P-5")} <= whole - kept
    assert {("series", "P-4"), ("parallel", "P-3"), ("series", "P-2")} <= kept


def two_pumps_on_a_trunk(check: bool) -> Plant:
    """P-1 runs and P-2 rests, both fed by one trunk of some loss; P-2's branch with or without a check."""
    board = Board()
    curve = parabola(6.0, 0.05, 10.0)
    board.item("S-1", "strainer", drops=[["10 gpm", "3 ft_head"]])
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.item("P-1", "circulator", curve=curve, watts="30 W")
    board.item("P-2", "circulator", curve=curve, watts="30 W", run_when=False, stopped_cv=5.0)
    board.item("CV-1", "check_valve", cv=10.0, opens_at="1.5 psi" if check else "0 psi")
    for name in ("LD-1", "LD-2"):
        board.item(name, "load", drops=[["5 gpm", "4 ft_head"]])
    board.chain("J-2", "S-1", "J-1", length="1 m")
    board.chain("J-1", "P-1", "LD-1", "J-2", length="1 m")
    board.chain("J-1", "P-2", "CV-1", "LD-2", "J-2", length="1 m")
    return from_data(board.data())


def test_a_place_that_drives_water_through_a_resting_circulator_is_no_help():
    """In the trunk it pushes both branches; only a check that holds its head keeps P-2's still."""
    loose, held = (
        next(
            one for one in study(two_pumps_on_a_trunk(check), circuit="LD-1").found if "S-1" in one.place.run
        )
        for check in (False, True)
    )
    rested, driven = loose.flows["P-2"]
    assert rested == pytest.approx(0.0, abs=1e-9)
    assert driven > 1e-5
    assert (loose.state, loose.worth) == ("takes", False)
    assert "through P-2, which nobody calls" in loose.verdict
    assert held.flows["P-2"] == pytest.approx((0.0, 0.0), abs=1e-9)
    assert "P-2" not in held.verdict
