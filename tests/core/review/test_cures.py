"""Cures by one step: where the part goes, which way it lies, what stays open until it is installed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.errors import Refusal
from core.files import read
from core.plant import edits
from core.plant.changes import ReplacePipe, apply, inverses
from core.plant.model import Plant, PortRef
from core.review import Finding, Found, Rule, Severity, review
from core.review.cures import cure_of, offer, offers, raises
from core.review.installed import RULES as INSTALLED
from core.review.parts import CURES, TO_INSTALL
from core.review.rules import RULES
from core.solve import solve_case
from core.vocabulary import UNKNOWN
from tests.plants.edits import file_of
from tests.support.edits import with_fields

SAMPLES = Path(__file__).parents[3] / "sample_plants"


@pytest.fixture(scope="module")
def shed() -> Plant:
    return read.load(SAMPLES / "potting_shed.plant.json")


def wants(insert: str, *at: str, severity: Severity = Severity.MEND) -> Finding:
    rule = Rule("a-rule", "A rule", severity, "why", "source", "cure", lambda _study: iter(()), insert=insert)
    return Finding(rule, Found(at, "It lacks a part."))


def test_every_rule_that_names_a_part_names_one_that_can_be_put_in():
    unknown = [rule.id for rule in RULES if rule.insert and cure_of(wants(rule.insert, "X")) is None]
    assert unknown == []


@pytest.mark.parametrize("key", CURES)
def test_each_cure_fits_beside_a_source_and_comes_out_again(key: str, shed: Plant):
    (source,) = (item.id for item in shed.items.values() if item.kind == "boiler")
    found = offer(shed, wants(key, source))
    after = apply(shed, found.changes)
    for part in found.parts:
        item = after.items[part]
        assert item.kind == CURES[key].kind
        assert item.stage == "drawn"
        assert all(item.props[name] == UNKNOWN for name in CURES[key].ratings)
        assert all(PortRef(part, port) in after.pipes_at for port in item.ports[:1])
    assert after.logbook[-1]["choice"].endswith(TO_INSTALL)
    assert apply(after, inverses(shed, found.changes)) == shed


@pytest.mark.parametrize("turned", [False, True])
def test_a_check_valve_lies_the_way_the_water_runs(turned: bool, shed: Plant):
    pipe = shed.pipes["L-9"]
    if turned:
        pipe = replace(pipe, start=pipe.end, end=pipe.start, via=pipe.via[::-1])
    plant = apply(shed, [ReplacePipe(pipe)])
    case = plant.solve_cases[0]
    solution = solve_case(plant, case)
    flow = solution.pipes["L-9"].flow_m3_s
    assert (flow < -1e-5) == turned
    after = apply(plant, offer(plant, wants("check valve", "L-9"), [solution]).changes)
    assert solve_case(after, case).pipes["L-9"].flow_m3_s == pytest.approx(flow, rel=1e-6)


def test_a_check_valve_is_not_guessed_where_nothing_moves(shed: Plant):
    with pytest.raises(Refusal, match="water moves"):
        offer(shed, wants("check valve", "L-11"))


def test_shut_offs_on_both_sides_leave_a_side_that_has_one(shed: Plant):
    (source,) = (item.id for item in shed.items.values() if item.kind == "boiler")
    both = offer(shed, wants("shutoffs", source))
    after = apply(shed, both.changes)
    kinds = []
    for port in ("in", "out"):
        (pipe,) = after.pipes_at[PortRef(source, port)]
        (far,) = _ends(after, pipe) - {source}
        kinds.append(after.items[far].kind)
    assert kinds.count("shutoff") == 2


def test_a_tee_keeps_the_height_and_the_length_of_its_pipe(shed: Plant):
    key = next(k for k, pipe in shed.pipes.items() if not pipe.joined and pipe.si.length > 1.0)
    high = apply(
        shed,
        [
            change
            for end in {shed.pipes[key].start.item, shed.pipes[key].end.item}
            for change in edits.set_props(shed, end, {"height": "2 m", "port_heights": None})
        ],
    )
    found = offer(high, wants("gauge", key))
    after = apply(high, found.changes)
    (part,) = found.parts
    assert after.items[part].si["height"] == pytest.approx(2.0)
    fresh = [name for name in after.pipes if name not in high.pipes]
    runs = [after.pipes[name] for name in (key, *fresh) if part not in _ends(after, name)]
    assert sum(run.si.length for run in runs) == pytest.approx(high.pipes[key].si.length)


def _ends(plant: Plant, name: str) -> set[str]:
    return {plant.pipes[name].start.item, plant.pipes[name].end.item}


def test_a_safety_part_stays_to_be_mended_until_it_is_rated_and_joined(shed: Plant):
    (source,) = (item.id for item in shed.items.values() if item.kind == "boiler")
    found = offer(shed, wants("relief valve", source))
    plant = apply(shed, found.changes)
    (part,) = found.parts

    def standing(plant: Plant) -> list[str]:
        return [one.text for one in review(plant, (), INSTALLED) if one.severity is Severity.MEND]

    (text,) = standing(plant)
    assert part in text
    assert "capacity" in text
    assert "drawn" in text
    rated = apply(
        plant,
        edits.set_props(
            plant,
            part,
            {
                "set_pressure": "30 psi",
                "capacity": "200 kBtu/h",
                "inlet_size": "3/4 in",
                "discharge": "to the floor drain",
            },
        ),
    )
    (text,) = standing(rated)
    assert "not set" not in text
    joined = apply(rated, with_fields(rated, part, stage="joined"))
    assert standing(joined) == []
    unrated = apply(plant, with_fields(plant, part, stage="joined"))
    assert len(standing(unrated)) == 1


def test_a_cure_that_brings_a_stop_is_known_by_it():
    old = wants("drain", "A", severity=Severity.STOP)
    fresh = replace(old, found=Found(("B",), "other"))
    mend = wants("drain", "C")
    assert raises([old], [old, fresh, mend]) == [fresh]


@pytest.mark.parametrize("kind", ["air_separator", "expansion_tank"])
def test_of_an_exchanger_the_side_that_lacks_the_part_gets_it(kind: str):
    """The melt circuit of the kennel clinic hangs on side b of HX-2."""
    plant = read.load(file_of("two_heater_clinic"))
    part = {"air_separator": "AS-2", "expansion_tank": "ET-3"}[kind]
    bare = apply(plant, edits.delete(plant, [part]))
    finding = next(one for one in review(bare, ()) if one.at[0] == "HX-2" and one.rule.insert)
    cured = []
    for found in offers(bare, finding):
        after = review(apply(bare, found.changes), ())
        cured.append(finding.key not in {one.key for one in after})
    assert True in cured
    assert False in cured, "the first place is at the wrong side"
