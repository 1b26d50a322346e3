"""Buffers: published volumes and cycles, the sample's own, and what is missing."""

from __future__ import annotations

import pytest

from core.sizing.context import Context
from core.sizing.families.buffer import buffer_volume, firing_time, most_starts, resting_time, size
from core.units import parse
from tests.reference.cases import expected, given
from tests.reference.cases import source as source_of
from tests.support.builders import BTU_H, GPM
from tests.support.sizes import changed, context_of, number, one, recompute, sample
from tests.verification.checks import Agrees

SUBJECT = "Sizing formulas"

GAL, MINUTE = 231 * 0.0254**3, 60.0
# The rule's 500 Btu/h for a gpm and degF, as density times heat capacity.
FLUID = (number("ρ", 1000.0), number("c", 500 * BTU_H * 1.8 / GPM / 1000.0))


@pytest.mark.parametrize(
    ("minutes", "source", "load", "band", "gallons"),
    [
        (*(given("B01")[k] for k in ("t_min", "Qs", "Ql", "dT")), expected("B01")["gal"]),
        (*(given("B02")[k] for k in ("t_min", "Qs", "Ql", "dT")), expected("B02")["gal"]),
        (
            10,
            20_000,
            0,
            10,
            40,
        ),  # two gallons for each 1000 Btu/h at 10 degF: published rule of a heat pump page
    ],
)
def test_published_volumes(
    agrees: Agrees, minutes: float, source: float, load: float, band: float, gallons: float
) -> None:
    got = buffer_volume(
        number("t_r", minutes * MINUTE),
        number("P_l", source * BTU_H),
        number("Q", load * BTU_H),
        *FLUID,
        number("ΔT", band / 1.8),
    )
    formula = source_of("B01") if load else "published rule of a heat pump page, 2 gal for each 1,000 Btu/h"
    agrees("buffer tank", float(got.value) / GAL, gallons, "gal", rel=1e-3, source=formula)


@pytest.mark.parametrize("ident", ["B03", "B05"])
def test_published_cycles(agrees: Agrees, ident: str) -> None:
    v, want = given(ident), expected(ident)
    volume, band = number("V", v["V"] * GAL), number("ΔT", v["D"] / 1.8)
    least, load = number("P_l", v["Qs"] * BTU_H), number("Q", v["Ql"] * BTU_H)
    fires = float(firing_time(volume, least, load, FLUID, band).value)
    rests = float(resting_time(volume, load, FLUID, band).value)
    agrees("firing time", fires / MINUTE, want["on_min"], "min", rel=1e-3, source=source_of(ident))
    agrees("resting time", rests / MINUTE, want["off_min"], "min", rel=1e-3, source=source_of(ident))
    agrees("starts", 3600 / (fires + rests), want["per_hour"], "1/h", rel=1e-3, source=source_of(ident))


def test_most_starts_are_at_half_load(agrees: Agrees) -> None:
    v = given("B04")
    volume, band = number("V", v["V"] * GAL), number("ΔT", v["D"] / 1.8)
    least = number("P_l", v["Qs"] * BTU_H)
    most = float(most_starts(volume, least, FLUID, band).value)
    agrees("most starts", most, expected("B04")["per_hour"], "1/h", rel=1e-3, source=source_of("B04"))
    for share in (0.3, 0.5, 0.7):
        load = number("Q", share * v["Qs"] * BTU_H)
        cycle = (
            firing_time(volume, least, load, FLUID, band).value,
            resting_time(volume, load, FLUID, band).value,
        )
        assert 3600 / sum(float(part) for part in cycle) <= most * (1 + 1e-9)


def test_the_annex_holds_enough_and_a_small_one_is_told() -> None:
    found = size(context_of("school_annex"))
    assert recompute(found) > 5
    sized = one(found, "BT-1", "buffer")
    assert "enough" in sized.words
    assert sized.chosen == ""
    small = one(
        size(Context(changed(sample("school_annex"), {"BT-1": {"volume": "40 L"}}))), "BT-1", "buffer"
    )
    assert "too little" in small.words
    assert small.fails
    cure = next(option for option in small.options if option.name == small.chosen)
    assert cure.figures["firing_s"] >= 600.0 * (1 - 1e-9)
    assert cure.props is not None
    assert parse(cure.props["volume"], "volume") >= float(small.value or 0)


def test_none_is_needed_where_the_least_output_follows_the_load() -> None:
    assert "no buffer is needed" in one(size(context_of("potting_shed")), "B-1", "buffer").words


def test_a_boiler_that_cannot_turn_down_counts_whole() -> None:
    plant = changed(sample("potting_shed"), {"B-1": {"min_output": "26 kBtu/h"}})
    sized = one(size(Context(plant)), "B-1", "buffer")
    assert "26.0 kBtu/h" in sized.words
    assert sized.value is not None
    assert sized.value > 0.0  # type: ignore[operator]
    lost = changed(sample("potting_shed"), {"B-1": {"min_output": None, "capacity": None}})
    follows = one(size(Context(lost)), "B-1", "buffer")
    assert follows.value == 0.0
    assert not follows.missing
