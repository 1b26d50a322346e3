"""Design flows, tubes, circulators, valves: workings recomputed, answers tried, what is lacking."""

from __future__ import annotations

import importlib
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import pytest

from core.figures import PipeFigures
from core.files.read import from_data
from core.plant.model import Plant
from core.plant.validity import require
from core.sizing.context import Context
from core.sizing.curves.catalogue import INVENTED
from core.sizing.demand import flows
from core.sizing.demand.demands import demands
from core.sizing.demand.losses import pipe_loss, present_tube, water_at, water_temperature
from core.sizing.demand.paths import critical_path
from core.sizing.demand.tracing import Place, Trace
from core.sizing.everything import size
from core.sizing.families import balance, circulators, outlets, pipes, potable
from core.sizing.result import Sized
from core.sizing.table import grouped, rows, told_once
from core.sizing.trial import with_props
from core.solve import Solution, Solver
from core.units import parse
from core.working import Working
from tests.support.builders import Board
from tests.support.random_plants import random_plant
from tests.support.random_rooms import room_plant
from tests.support.sizes import SAMPLES, changed, context_of, one, recompute, sample

MINE = ("flows", "pipes", "circulators", "suction", "balance", "recirculation", "potable", "outlets")
GPM = parse("1 gpm", "flow")


@cache
def shared(name: str) -> Context:
    """A sample's context, one for all tests here: none changes it."""
    return context_of(name)


@cache
def answers(name: str, family: str) -> tuple[Sized, ...]:
    """What a family says of a sample."""
    return tuple(importlib.import_module(f"core.sizing.families.{family}").size(shared(name)))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_formula_of_every_sample_gives_the_number_beside_it(name: str) -> None:
    found = [sized for family in MINE for sized in answers(name, family)]
    told: set[tuple[str, object]] = set()
    once = [
        replace(
            sized,
            working=sized.working and told_once(sized.working, told),
            options=tuple(
                replace(o, working=o.working and told_once(o.working, told)) for o in sized.options
            ),
        )
        for sized in found
    ]
    assert recompute(once) > 100
    assert {sized.what for sized in found} >= {"design_flow", "tube", "circulator", "suction"}


# Whose water ------------------------------------------------------------------------------------------------


def test_water_of_a_mixed_floor_goes_through_the_exchanger_in_the_share_that_is_mixed_in() -> None:
    context = shared("two_heater_clinic")
    way = demands(context).found[Place("FC-1")].way
    share = demands(context).solution(way.traced).items["MV-2"].hot_share
    through = [way.shares[pipe] for pipe in ("L-115", "L-150") if pipe in way.shares]
    assert through == pytest.approx([share] * len(through), rel=0.01)
    assert way.givers == {Place("HX-1", "b"): pytest.approx(1.0)}


@pytest.mark.parametrize("name", SAMPLES)
def test_shares_keep_the_water_at_every_joint(name: str) -> None:
    """What comes to a joint of one circuit's water leaves it again."""
    context = shared(name)
    for demand in demands(context).found.values():
        trace = demands(context).trace(demand.way.traced)
        for item in context.plant.items.values():
            place = Place(item.id)
            if item.kind != "joint":
                continue
            comes = sum(demand.way.shares.get(pipe, 0.0) for pipe in trace.arriving.get(place, ()))
            goes = sum(demand.way.shares.get(pipe, 0.0) for pipe in trace.leaving.get(place, ()))
            assert comes == pytest.approx(goes, abs=2e-3), (demand.at, item.id)


def test_a_walk_past_another_circuit_does_not_count() -> None:
    def water(**flows_: float) -> Trace:
        board = Board()
        for ident in ("B-1", "LD-1", "LD-2"):
            board.item(ident, {"B": "boiler", "L": "load"}[ident[0]], load="1 kW") if ident[0] == "L" else (
                board.item(ident, "boiler")
            )
        board.item("J-1", "joint")
        board.item("J-2", "joint")
        board.pipe("B-1:out", "J-1:at", "main")
        board.pipe("J-1:at", "LD-1:in", "one")
        board.pipe("J-1:at", "LD-2:in", "two")
        board.pipe("LD-1:out", "J-2:at", "back_one")
        board.pipe("LD-2:out", "J-2:at", "back_two")
        board.pipe("J-2:at", "B-1:in", "back")
        figures = {name: PipeFigures(value, *[0.0] * 7) for name, value in flows_.items()}
        return Trace(from_data(board.case().data()), Solution("x", pipes=figures))

    trace = water(main=3.0, one=1.0, two=2.0, back_one=1.0, back_two=2.0, back=3.0)
    places = [Place("LD-1"), Place("LD-2")]
    assert trace.shares(places[0], places) == pytest.approx(
        dict.fromkeys(("main", "one", "back_one", "back"), 1.0)
    )


# Design flow ------------------------------------------------------------------------------------------------


def test_a_typed_difference_beats_the_solved_one_and_says_so() -> None:
    sized = one(answers("two_heater_clinic", "flows"), "FC-1", "design_flow")
    assert "typed: difference held by P-2" in sized.words
    assert sized.working is not None
    paths = [leaf.path for leaf in sized.working.leaves() if leaf.path]
    assert "items.P-2.props.target" in paths
    assert "items.FC-1.props.load" in paths


def test_two_circuits_that_never_call_together_are_not_added() -> None:
    """Kennel clinic: melt and heating meet in one case only, tank charging in another too."""
    context = shared("two_heater_clinic")
    flow = flows.design_flow(context, "L-49")
    assert flow is not None
    assert flow.extra["case"] == "Snowfall with tank recovery"
    total, case, _ = flows.together(context, "L-49", "Design night")
    assert total is not None
    assert case == "Design night"
    assert float(total.value) == pytest.approx(float(demands(context).found[Place("HX-1", "a")].flow.value))


def test_a_circuit_without_a_load_is_named_and_the_others_are_sized() -> None:
    nothing = dict.fromkeys(("load", "serves", "output_per_degree", "area"))
    plant = changed(sample("potting_shed"), {"FC-2": nothing})
    sized = size(plant)
    lacking = one(sized, "FC-2", "design_flow")
    assert lacking.value is None
    assert lacking.missing == ("FC-2: props.load is not given, so its design flow cannot be found",)
    assert one(sized, "FC-1", "design_flow").value
    assert one(sized, "P-1", "circulator").value


def test_a_circuit_that_wants_nothing_asks_for_no_flow() -> None:
    sized = size(changed(sample("potting_shed"), {"FC-2": {"load": "0 W"}}), ["FC-1", "FC-2", "P-1"])
    assert not [each for each in sized if (each.at, each.what) == ("FC-2", "design_flow")]
    alone = one(sized, "FC-1", "design_flow")
    flow = one(sized, "P-1", "circulator").working
    assert flow is not None
    assert flow.inputs[0].value == pytest.approx(alone.value)


@pytest.mark.parametrize("seed", [3, 27, 67])
def test_random_plants_are_sized_without_a_fault(seed: int) -> None:
    for make in (random_plant, room_plant):
        context = Context(from_data(make(seed).data()))
        for family in MINE:
            for each in importlib.import_module(f"core.sizing.families.{family}").size(context):
                assert not any("no answer" in text for text in each.missing), each.missing


def test_ids_restrict_the_answer() -> None:
    plant = sample("potting_shed")
    assert {sized.at for sized in size(plant, ["L-1", "FC-1"])} == {"L-1", "FC-1"}


# Tubes ------------------------------------------------------------------------------------------------------


def test_a_tube_that_does_not_keep_the_limits_is_told_with_the_one_that_does() -> None:
    sized = one(answers("two_heater_clinic", "pipes"), "L-1", "tube")
    assert sized.chosen == "1 in Type L copper"
    assert sized.fails
    drawn = next(option for option in sized.options if option.name == "3/4 in Type L copper")
    assert not drawn.serves
    assert drawn.figures["loss_ft_100ft"] > 4.0
    assert "Drawn is 3/4 in Type L copper, which does not keep the limits" in sized.words
    assert "4 ft of head per 100 ft" in sized.words


def test_table_of_options_marks_chosen_and_failing() -> None:
    sized = one(answers("two_heater_clinic", "pipes"), "L-1", "tube")
    table = rows(sized, "us")
    assert table[0][:4] == ("", "option", "bore", "velocity")
    assert [row[1] for row in table if row[0] == "→"] == ["1 in Type L copper"]
    assert "3/4 in Type L copper" in [row[1] for row in table if row[0] == "–"]
    assert any(
        "L-1" in group.ids and len(group.ids) > 3
        for group in grouped([sized, *answers("two_heater_clinic", "pipes")])
    )


def test_losses_are_the_solvers_own_at_the_flow_solved() -> None:
    """The same pipe at the solved flow loses what the solver says, to a thousandth."""
    context, case = shared("school_annex"), "Design night"
    compared = 0
    for name, figures in context.solution(case).pipes.items():
        pipe = context.plant.pipes[name]
        if pipe.joined or abs(figures.flow_m3_s) < 1e-6:
            continue
        flow = Working("Q", "flow solved", abs(figures.flow_m3_s), "flow")
        water = water_at(context, pipe.system, water_temperature(context, pipe, case), flow)
        loss = pipe_loss(context, pipe, present_tube(pipe), water)
        assert loss.value == pytest.approx(abs(figures.drop_pa), rel=1e-3, abs=0.1)
        compared += 1
    assert compared >= 8


# Circulators and valves -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["potting_shed", "school_annex", "bakery_loft"])
def test_the_critical_path_asks_what_the_solver_finds(name: str) -> None:
    """Where valves stand wide open and flows are those needed, the path's head is the circulator's."""
    context = shared(name)
    for item in context.plant.items.values():
        if item.kind != "circulator" or (path := critical_path(context, item.id)) is None:
            continue
        figures = demands(context).solution(path.case).items[item.id]
        if abs(figures.flow_m3_s / float(path.flow.value) - 1.0) < 0.1 and figures.running:
            # Own balance valves count wide open: the path asks no more than the circulator gives there.
            assert path.system.at(figures.flow_m3_s) <= figures.head_m * 1.03
        assert path.ids
        assert float(path.head.value) > 0.0


def accepted(plant: Plant, sized: Iterable[Sized]) -> Plant:
    """The plant with every chosen option taken."""
    for each in sized:
        option = next((o for o in each.options if o.name == each.chosen), None)
        if option is None or not option.props:
            continue
        if each.at in plant.pipes:
            pipe = replace(plant.pipes[each.at], **option.props)
            plant = replace(plant, pipes={**plant.pipes, each.at: pipe})
        else:
            plant = with_props(plant, {each.at: option.props})
    return require(plant)


def deviations(context: Context, plant: Plant, sized: list[Sized]) -> dict[str, float]:
    """Share by which each circuit with a valve that can be set misses its design flow, in the solver."""
    solver = Solver(plant)
    found = {}
    for each in sized:
        if not each.options or not each.options[0].serves:
            continue
        solution = solver.solve(context.case(each.case))
        assert solution.converged
        branch = balance.branches(context)[each.at]
        ports = branch.demand.way.ports
        assert ports is not None
        pipe = plant.pipes_at[ports[0]][0]
        wanted = float(branch.demand.by_case[each.case].value)
        found[branch.demand.at] = abs(solution.pipes[pipe].flow_m3_s) / wanted - 1.0
    return found


def test_valve_settings_give_every_circuit_its_flow_within_2_percent() -> None:
    """Brute force: settings of all valves put in at once, the circulators left as drawn.

    P-6 as drawn gives too little for the six valves behind it, whatever their settings.
    """
    context = shared("school_annex")
    sized = list(answers("school_annex", "balance"))
    missed = deviations(context, accepted(context.plant, sized), sized)
    assert len(missed) == 13
    assert max(abs(share) for share in missed.values()) < 0.02


@pytest.mark.parametrize("name", ["potting_shed", "orchard_packhouse", "two_heater_clinic"])
def test_tubes_circulators_and_settings_taken_together_give_the_flows_promised(name: str) -> None:
    """Brute force: accept every tube, then every circulator, then every setting; solve."""
    plant = sample(name)
    plant = accepted(plant, answers(name, "pipes"))
    plant = accepted(plant, circulators.size(Context(plant)))
    context = Context(plant)
    sized = balance.size(context)
    missed = deviations(context, accepted(plant, sized), sized)
    assert missed
    assert max(abs(share) for share in missed.values()) < 0.02


def test_a_chosen_circulator_gives_what_it_promises() -> None:
    context = shared("potting_shed")
    sized = one(answers("potting_shed", "circulators"), "P-1", "circulator")
    chosen = next(option for option in sized.options if option.name == sized.chosen)
    assert INVENTED in chosen.name
    assert chosen.props is not None
    assert chosen.props["invented"] is True
    plant = accepted(context.plant, [sized])
    figures = Solver(plant).solve(context.case(sized.case)).items["P-1"]
    assert figures.flow_m3_s == pytest.approx(chosen.figures["flow_m3_s"], rel=0.002)
    assert figures.flow_m3_s > 0.98 * float(critical_path(context, "P-1").flow.value)  # type: ignore[union-attr]


def test_a_circulator_without_a_curve_says_so_and_still_gets_its_duty() -> None:
    plant = changed(sample("potting_shed"), {"P-1": {"curve": None}})
    sized = one(size(plant, ["P-1"]), "P-1", "circulator")
    assert "P-1: props.curve is not given" in sized.missing[0]
    assert sized.value is not None
    assert "critical path in every call at once" in sized.words
    assert sized.chosen
    # Nothing flows in any case: the usual 15 degF of a floor instead of the 10 that were solved.
    flow = one(size(plant, ["FC-1"]), "FC-1", "design_flow")
    assert flow.working is not None
    assert flow.working.inputs[3].origin == "practice"
    assert flow.cautions


def test_a_valve_without_cv_says_what_it_lacks() -> None:
    plant = changed(sample("potting_shed"), {"BV-2": {"cv": None, "setting": None}})
    sized = one(size(plant, ["BV-2"]), "BV-2", "balance")
    assert sized.missing == ("BV-2: props.cv is not given, so no setting can be found",)


# Potable ----------------------------------------------------------------------------------------------------


def bathroom(**types: str) -> Context:
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi")
    board.item("J-1", "joint")
    board.pipe("CM-1:at", "J-1:at", "main", length="20 ft")
    for number, (name, what) in enumerate(types.items()):
        board.item(name, "fixture", flow="2 gpm", **({"fixture_type": what} if what else {}))
        board.pipe("J-1:at", f"{name}:cold", f"branch_{number}", length="10 ft")
    return Context(from_data(board.case().data()))


def test_fixture_units_are_added_and_looked_up_with_the_spread_told() -> None:
    context = bathroom(F1="lavatory", F2="shower", F3="water_closet", F4="kitchen_sink")
    sized = one(potable.size(context), "main", "potable_branch")
    # Each is fed by one pipe: 0.7 + 1.4 + 2.2 + 1.4 = 5.7 units, 10.3 gpm by the chief table; outlets make 8.
    assert "5.7 fixture units" in sized.words
    assert sized.value == pytest.approx(8.0 * GPM)
    table = {option.name: option.figures["flow_m3_s"] / GPM for option in sized.options}
    assert table["IPC E103.3(3)"] == pytest.approx(9.4 + 0.7 * 1.3)
    assert table["Illinois 890 Table N"] == pytest.approx(3.0 + 0.85 * 2.0)
    assert recompute([sized]) > 3


def test_a_fixture_of_no_type_counts_in_full_on_top() -> None:
    context = bathroom(F1="lavatory", F2="")
    sized = one(potable.size(context), "main", "potable_branch")
    assert "F2 in full on top" in sized.words
    assert sized.value == pytest.approx((2.0 + 2.0) * GPM)


def test_the_tube_of_a_potable_branch_is_sized_for_its_fixtures() -> None:
    context = bathroom(F1="lavatory", F2="shower")
    flow = flows.design_flow(context, "main")
    assert flow is not None
    assert float(flow.value) == pytest.approx(one(potable.size(context), "main", "potable_branch").value)


def served(height: str, **props: str) -> Context:
    """A main, a reducer, a valve and two outlets of one port each, so that all their flow comes that way."""
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="80 psi")
    board.item("PR-1", "pressure_reducer", set_pressure="50 psi")
    board.item("V-1", "shutoff", cv=8)
    board.item("J-1", "joint")
    board.item("F-1", "fixture", flow="3 gpm", height=height, **props)
    board.item("F-2", "fixture", flow="2 gpm")
    board.chain("CM-1", "PR-1", "V-1", "J-1", length="10 ft", bore=0.0138)
    board.pipe("J-1:at", "F-1:cold", "up", length="60 ft", bore=0.0138)
    board.pipe("J-1:at", "F-2:cold", "side", length="5 ft", bore=0.0138)
    return Context(from_data(board.case(draws={"F-1": "3 gpm", "F-2": "2 gpm"}).data()))


def test_pressure_left_at_an_outlet_is_the_solvers() -> None:
    context = served("12 ft")
    sized = one(outlets.size(context), "F-1", "potable_pressure")
    solved = context.solution("case").pipes["up"].pressure_out_pa
    assert sized.value == pytest.approx(solved, rel=2e-3)
    assert "more may be lost" in sized.words
    assert recompute([sized]) > 5


def test_an_outlet_too_high_is_short_and_the_greatest_loss_is_named() -> None:
    sized = one(outlets.size(served("85 ft", fixture_type="shower")), "F-1", "potable_pressure")
    assert "needs 138 kPa" in sized.words  # 20 psi for a shower, IPC 2018 Table 604.3
    assert "short; most goes in the loss of up" in sized.words


def test_pressure_at_hand_rules_out_a_tube_that_velocity_would_allow() -> None:
    """24 m up, 50 psi leave little for friction: the permissible loss a metre decides, not the velocity."""
    low, high = served("5 ft"), served("88 ft")
    for context in (low, high):
        pipe = replace(context.plant.pipes["up"], tube={"material": "copper_l", "size": "1/2 in"})
        context.plant = require(replace(context.plant, pipes={**context.plant.pipes, "up": pipe}))
    easy, tight = (one(pipes.size(context), "up", "tube") for context in (low, high))
    assert easy.chosen == "1/2 in Type L copper"
    allowed = outlets.permissible(high)["up"]
    smallest = next(option for option in tight.options if option.name == "1/2 in Type L copper")
    assert smallest.figures["loss_pa_m"] > float(allowed.value) > 0.0
    assert "what the pressure at hand allows" in smallest.verdict
    assert tight.value is not None
    assert tight.value > 0.0138
