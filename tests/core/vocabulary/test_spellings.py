"""What a plumber types is taken; what could mean two things is not guessed."""

from __future__ import annotations

import pytest

from core import units
from core.errors import Refusal
from core.media.tubes import materials, sizes, spoken, tube_of
from core.units import DIMENSIONS
from core.vocabulary import spellings


@pytest.mark.parametrize(
    ("said", "dimension", "kept"),
    [
        ("110 °F", "temperature", "110 degF"),
        ("110F", "temperature", "110 degF"),
        ("-5 C", "temperature", "-5 degC"),
        ("20 °F", "temperature_difference", "20 delta_degF"),
        ("15 ft", "head", "15 ft_head"),
        ("2 GPM", "flow", "2 gpm"),
        ("2 gal/min", "flow", "2 gpm"),
        ("2 lpm", "flow", "2 L/min"),
        ("12 PSI", "pressure", "12 psi"),
        ("12 psig", "pressure", "12 psi"),
        ('6"', "length", "6 in"),
        ("6 feet", "length", "6 ft"),
        ("2 yd", "length", "6 ft"),
        ("1/2 quart/s", "flow", "7.5 gpm"),
        ("6' 2 1/2\"", "length", "74.5 in"),
        ("1-1/2 in", "length", "1 1/2 in"),
        ("½″", "length", "½ in"),
        ("160 sq ft", "area", "160 ft2"),
        ("160 ft²", "area", "160 ft2"),
        ("40 %", "percent", "40 percent"),
        ("4000 btu/h", "power", "4000 Btu/h"),
        ("40 mbh", "power", "40 MBH"),
        ("64 000 Btu/h", "power", "64000 Btu/h"),
        ("64'000 W", "power", "64000 W"),
        ("3 tons", "power", "36 kBtu/h"),
        ("−5 °C", "temperature", "-5 degC"),
        ("minus 5 C", "temperature", "-5 degC"),
        ("150 deg. F", "temperature", "150 degF"),
        ("10 F°", "temperature_difference", "10 delta_degF"),
        ("1 ft. 6 1/2 in.", "length", "18.5 in"),
        ("1'-6½\"", "length", "18.5 in"),
        ("9''", "length", "9 in"),
        ("9-in", "length", "9 in"),
        ("400 sq. ft.", "area", "400 ft2"),
        ("9 gallons per minute", "flow", "9 gpm"),
        ("12#", "pressure", "12 psi"),
        ("2500 Btu/(hr·°F)", "heat_per_kelvin", "2500 Btu/h/degF"),
        ("2500 Btu/hr-°F", "heat_per_kelvin", "2500 Btu/h/degF"),
        ("1.3 kW/K", "heat_per_kelvin", "1300 W/K"),
        ("25 Btu/hr/sq ft", "flux", "25 Btu/h/ft2"),
        ("0.06 Btu/hr-ft²-°F", "transmittance", "0.06 Btu/h/ft2/degF"),
        ("0.35 W/(m²·K)", "transmittance", "0.35 W/m2/K"),
        ("R-19", "resistance", "19 ft2*h*degF/Btu"),
        ("1 h 30 min", "time", "90 min"),
        ("5 m", "time", "5 min"),
        ("8 feet per second", "velocity", "8 ft/s"),
    ],
)
def test_a_spelling_of_the_trade_becomes_the_files(said: str, dimension: str, kept: str) -> None:
    assert spellings.quantity(said, dimension) == kept
    units.parse(kept, dimension)


def test_a_number_with_less_than_a_unit_takes_the_fields() -> None:
    assert spellings.quantity("150°", "temperature", bare="°F") == "150 degF"
    assert spellings.quantity("10 deg", "temperature_difference", bare="°F") == "10 delta_degF"
    assert spellings.quantity("80k", "power", bare="Btu/h") == "80000 Btu/h"
    assert spellings.quantity("R-3", "resistance", system="si") == "R-3"  # of feet or of metres


@pytest.mark.parametrize("said", ["40 MBtu/h", "1,200 Btu/h", "110", "20 psi", "", "a lot", "1/0 kW"])
def test_what_is_not_clear_goes_on_as_typed(said: str) -> None:
    assert spellings.quantity(said, "power") == said


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_every_sign_on_the_screen_is_taken_in_a_field(dimension: str) -> None:
    for unit in DIMENSIONS[dimension]:
        said = spellings.quantity(f"2 {units.sign_of(unit)}", dimension)
        assert units.parse(said, dimension) == pytest.approx(units.parse(f"2 {unit}", dimension))


@pytest.mark.parametrize(
    ("said", "material", "size"),
    [
        ("1-1/4 in Type L copper", "copper_l", "1 1/4 in"),
        ("1 in Schedule 40 steel", "steel_40", "1 in"),
        ("1/2 pex", "pex", "1/2 in"),
        ("PEX 1/2 in", "pex", "1/2 in"),
        ('3/4" type L copper', "copper_l", "3/4 in"),
        ("copper_m 1-1/4", "copper_m", "1 1/4 in"),
        ("steel sch 40 1 in", "steel_40", "1 in"),
        ("22x1 copper en", "copper_en", "22 x 1 mm"),
    ],
)
def test_a_tube_is_named_in_either_order(said: str, material: str, size: str) -> None:
    found = spellings.tube(said)
    assert found is not None
    assert found["material"] == material
    assert tube_of(material, found["size"]) == tube_of(material, size)


def test_every_tube_of_the_catalogue_is_read_back_as_it_is_shown() -> None:
    for material in materials():
        for size in sizes(material):
            assert spellings.tube(spoken(material, size)) == {"material": material, "size": size}


def test_copper_alone_wants_its_wall_and_lead_is_no_tube_here() -> None:
    with pytest.raises(Refusal, match="Type K, L or M"):
        spellings.tube("3/4 copper")
    assert spellings.tube("lead 1/2 in") is None


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_a_unit_of_the_file_is_shown_as_a_person_reads_it_and_read_back(dimension: str) -> None:
    for unit in DIMENSIONS[dimension]:
        shown = spellings.readable(f"-1 1/2 {unit}, 2 {unit}")
        assert "deg" not in shown
        assert "_" not in shown
        for part, number in zip(shown.split(", "), ("-1 1/2", "2"), strict=True):
            assert spellings.quantity(part, dimension) == f"{number} {unit}"


def test_a_longer_word_that_begins_like_a_unit_is_left_alone() -> None:
    assert spellings.readable("T degF, 3 degFs, 4 m3/x") == "T degF, 3 degFs, 4 m3/x"
