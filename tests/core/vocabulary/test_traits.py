"""Traits, ways, roles, figures and properties of a kind fit one another."""

import pytest

from core.vocabulary import KINDS, CaseSets, Kind, Trait
from core.vocabulary.heat_roles import HeatedRoom, HeatEmitter, HeatExchanger, HeatSource, HeatStore
from core.vocabulary.traits import Report
from core.vocabulary.waterways import Legs, OneWay, OpenToAir, Pump, Terminal, UsesUp

ALL = list(KINDS.values())


def named(*kinds: Kind) -> set[str]:
    return {kind.name for kind in kinds}


@pytest.mark.parametrize(
    ("trait", "role"),
    [
        (Trait.MAKES_HEAT, HeatSource),
        (Trait.GIVES_HEAT, HeatEmitter),
        (Trait.EXCHANGES_HEAT, HeatExchanger),
        (Trait.TANK, HeatStore),
        (Trait.ROOM, HeatedRoom),
    ],
)
def test_what_a_kind_does_to_heat_is_its_role(trait: Trait, role: type) -> None:
    assert named(*(k for k in ALL if k.has(trait))) == named(*(k for k in ALL if isinstance(k.heat, role)))


@pytest.mark.parametrize(
    ("trait", "way"),
    [
        (Trait.DRIVES, Pump),
        (Trait.MIXES, Legs),
        (Trait.DRAWS_WATER, OpenToAir),
        (Trait.USES_WATER, UsesUp),
    ],
)
def test_what_a_kind_does_to_water_is_its_way(trait: Trait, way: type) -> None:
    assert named(*(k for k in ALL if k.has(trait))) == named(*(k for k in ALL if isinstance(k.waterway, way)))


def test_what_stops_water_coming_back_passes_it_one_way() -> None:
    for kind in ALL:
        if kind.has(Trait.ONE_WAY, Trait.CHECKS, Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE):
            assert isinstance(kind.waterway, OneWay), kind.name


def test_what_ends_a_run_has_one_port_and_no_way_on() -> None:
    for kind in ALL:
        if kind.has(Trait.ENDS_RUN):
            assert (kind.ports, type(kind.waterway)) == (("at",), Terminal), kind.name


def test_what_takes_power_is_an_electric_load() -> None:
    assert named(*(k for k in ALL if "run_when" in k.properties)) == named(
        *(k for k in ALL if k.has(Trait.ELECTRIC))
    )


def test_what_is_opened_by_hand_says_whether_it_is_open() -> None:
    for kind in ALL:
        assert not kind.has(Trait.HAND_VALVE) or "open" in kind.properties, kind.name


def test_names_of_properties_that_a_kind_tells_of_are_its_own() -> None:
    for kind in ALL:
        pairs = [name for first, second, *_ in (*kind.excluding, *kind.ordered) for name in (first, second)]
        content = [kind.content] if kind.content else []
        assert {*pairs, *content} <= kind.properties.keys(), kind.name


def test_cases_set_the_water_of_stores_and_of_what_draws() -> None:
    for kind in ALL:
        assert (kind.cases_set is CaseSets.TEMPERATURE) == kind.has(Trait.STORES_HEAT), kind.name
        assert (kind.cases_set is CaseSets.DRAW) == kind.has(Trait.DRAWS_WATER, Trait.USES_WATER), kind.name


def test_every_set_of_figures_is_of_some_kind() -> None:
    assert {kind.report for kind in ALL} - {None} == set(Report)


def test_every_trait_is_of_some_kind() -> None:
    assert {trait for kind in ALL for trait in kind.traits} == set(Trait)


def test_a_way_names_ports_and_properties_of_its_kind() -> None:
    for kind in ALL:
        way = kind.waterway
        match way:
            case Legs():
                assert {*way.legs, way.common} == set(kind.ports), kind.name
            case OpenToAir():
                assert set(way.ports) == set(kind.ports), kind.name
            case OneWay():
                assert way.opens_at in {"", *kind.properties}, kind.name
        assert set(kind.capped) <= set(kind.ports), kind.name
