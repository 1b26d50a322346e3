"""Text with units to SI and back, against pint's own registry and figures fixed by definition."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import units
from core.errors import Refusal

# Our unit names in the words of pint's stock registry, the second source for our table of factors.
STOCK = {
    "gpm": "gallon/minute",
    "L/s": "L/s",
    "L/min": "L/min",
    "L/h": "L/hour",
    "m3/h": "m**3/hour",
    "m3/s": "m**3/s",
    "gal": "gallon",
    "L": "L",
    "m3": "m**3",
    "ft": "ft",
    "in": "inch",
    "m": "m",
    "cm": "cm",
    "mm": "mm",
    "ft2": "ft**2",
    "m2": "m**2",
    "psi": "psi",
    "kPa": "kPa",
    "Pa": "Pa",
    "bar": "bar",
    "ft_head": "ft",
    "m_head": "m",
    "Btu/h": "Btu/hour",
    "kBtu/h": "kBtu/hour",
    "MBH": "kBtu/hour",
    "W": "W",
    "kW": "kW",
    "hp": "horsepower",
    "Btu/h/degF": "Btu/hour/delta_degF",
    "W/K": "W/K",
    "Btu/h/ft2": "Btu/hour/ft**2",
    "W/m2": "W/m**2",
    "W/m/K": "W/m/K",
    "Btu/h/ft/degF": "Btu/hour/ft/delta_degF",
    "degF": "degF",
    "degC": "degC",
    "delta_degF": "delta_degF",
    "delta_degC": "delta_degC",
    "K": "K",
    "ft/s": "ft/s",
    "m/s": "m/s",
    "s": "s",
    "min": "minute",
    "h": "hour",
    "day": "day",
    "kg/m3": "kg/m**3",
    "mPa*s": "mPa*s",
    "Pa*s": "Pa*s",
    "J/kg/K": "J/kg/K",
    "kJ/kg/K": "kJ/kg/K",
    "rpm": "rpm",
    "A": "A",
    "V": "V",
    "kWh": "kWh",
    "Btu": "Btu",
    "kBtu": "kBtu",
    "MJ": "MJ",
    "percent": "percent",
    "Btu/degF": "Btu/delta_degF",
    "kJ/K": "kJ/K",
    "MJ/K": "MJ/K",
    "kWh/K": "kWh/K",
    "1/K": "1/K",
    "mph": "mile/hour",
    "km/h": "km/hour",
    "therm": "therm",
    "Btu/h/ft2/degF": "Btu/hour/ft**2/delta_degF",
    "W/m2/K": "W/m**2/K",
    "ft2*h*degF/Btu": "ft**2*hour*delta_degF/Btu",
    "m2*K/W": "m**2*K/W",
    "degF*day": "delta_degF*day",
    "K*day": "K*day",
    "in/h": "inch/hour",
    "mm/h": "mm/hour",
}
ALL_UNITS = [(name, dimension) for dimension, names in units.DIMENSIONS.items() for name in names]


@pytest.fixture(scope="module")
def stock():
    from pint import UnitRegistry

    return UnitRegistry()


@pytest.mark.parametrize(("unit", "dimension"), ALL_UNITS)
def test_every_unit_agrees_with_the_stock_registry(stock, unit, dimension):
    for number in (1.0, 37.5):
        want = stock.Quantity(number, STOCK[unit]).to_base_units().magnitude
        assert units.parse(f"{number} {unit}", dimension) == pytest.approx(want, rel=1e-12)


@pytest.mark.parametrize("dimension", units.DIMENSIONS)
def test_units_of_a_dimension_measure_one_thing(stock, dimension):
    first, *others = (stock.Unit(STOCK[unit]).dimensionality for unit in units.DIMENSIONS[dimension])
    assert all(other == first for other in others)


def test_units_need_no_library():
    code = "import sys; from core import units; units.parse('3 gpm', 'flow'); print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@given(where=st.sampled_from(ALL_UNITS), number=st.floats(-1e9, 1e9))
def test_there_and_back_is_the_same_number(where, number):
    unit, dimension = where
    value = units.parse(f"{number!r} {unit}", dimension)
    assert units.to_unit(value, unit) == pytest.approx(number, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "want"),
    [
        ("1 Btu/h", "power", 1055.056 / 3600),  # the contract's Btu
        ("1 gal", "volume", 231 * 0.0254**3),
        ("1 MBH", "power", 1055056 / 3600),
        ("32 degF", "temperature", 273.15),
        ("212 degF", "temperature", 373.15),
        ("-40 degF", "temperature", 233.15),
        ("-40 degC", "temperature", 233.15),
        ("20 delta_degF", "temperature_difference", 100 / 9),
        ("1 psi", "pressure", 6894.757293168361),
        ("3/4 in", "length", 0.01905),
        ("1 1/4 in", "length", 0.03175),
        ("½ in", "length", 0.0127),
        ("1½in", "length", 0.0381),
        ("1 ½ in", "length", 0.0381),
        ("2⅝ in", "length", 2.625 * 0.0254),
        ("1e-3m", "length", 0.001),
        (".5 m", "length", 0.5),
        ("5. m", "length", 5.0),
        ("-3 ft", "length", -0.9144),
        ("+3 ft", "length", 0.9144),
        ("-1 1/2 ft", "length", -0.4572),
        ("  3   ft ", "length", 0.9144),
        ("3\u00a0ft", "length", 0.9144),
        ("2.1e-4 1/K", "expansion", 2.1e-4),
        ("2 1/K", "expansion", 2.0),
    ],
)
def test_what_a_person_types(text, dimension, want):
    assert units.parse(text, dimension) == pytest.approx(want, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("3,4 in", "length", 'It has a comma: write "3.4 in"'),
        ("1,200 gpm", "flow", "comma"),
        ("80 MBtu/h", "power", "write kBtu/h for thousands"),
        ("3/0 in", "length", "divides by nothing"),
        ("3 0/0 in", "length", "divides by nothing"),
        ("20 psi", "temperature_difference", "psi is a pressure"),
        ("20 degF", "temperature_difference", "degF is a temperature"),
        ("20 K", "temperature", "K is a difference of temperature"),
        ("5 psi", "head", "column of the fluid"),
        ("3 gpn", "flow", "the nearest is gpm"),
        ("3 GPM", "flow", "write gpm"),
        ("7 °F", "temperature", "write degF"),
        ("3", "length", "The unit is missing"),
        ("", "length", "begin with a number"),
        ("ft", "length", "begin with a number"),
        ("1-1/4 in", "length", 'Write "1 1/4 in"'),
        ("3*4 ft", "length", "nothing is calculated"),
        ("2 ft + 3 in", "length", "Unknown unit"),
        ("1e400 ft", "length", "too large"),
        ("1e307 MJ", "energy", "too large"),
        ("nan ft", "length", "begin with a number"),
        ("inf ft", "length", "begin with a number"),
        ("0x10 ft", "length", "Unknown unit"),
        ("٣ ft", "length", "begin with a number"),
        ("__import__('os').getcwd()", "length", "begin with a number"),
        ("3 ft\nx", "length", "Unknown unit"),
        ("9" * 100 + " ft", "length", "at most 80 characters"),
    ],
)
def test_what_is_refused_says_why_in_one_line(text, dimension, words):
    with pytest.raises(Refusal) as caught:
        units.parse(text, dimension)
    line = str(caught.value)
    assert words in line
    assert "\n" not in line
    assert "expected" in line


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_a_refusal(text):
    try:
        outcome: object = units.parse(text, "length")
    except Refusal as refusal:
        outcome = str(refusal)
    assert outcome.isprintable() if isinstance(outcome, str) else math.isfinite(outcome)


def test_lifts_are_heads_or_pressures():
    assert units.parse_lift("10 ft_head") == (pytest.approx(3.048), True)
    assert units.parse_lift("10 kPa") == (10_000.0, False)
    with pytest.raises(Refusal, match="a head or a pressure"):
        units.parse_lift("10 ft")


def test_a_quantity_of_any_dimension():
    assert units.split_quantity("14 psi") == (14.0, "psi")
    for text in ("14", "14 pis"):
        with pytest.raises(Refusal, match="unit"):
            units.split_quantity(text)


def test_numbers_stand_alone():
    assert units.parse_number("1 1/4") == 1.25
    with pytest.raises(Refusal):
        units.parse_number("1 1/4 in")


@pytest.mark.parametrize(
    ("value", "dimension", "us", "si"),
    [
        (0.00053, "flow", "8.4 gpm", "0.530 L/s"),
        (320.93, "temperature", "118 °F", "47.8 °C"),
        (0.64, "velocity", "2.1 ft/s", "0.64 m/s"),
        (4.05, "head", "13.3 ft", "4.05 m"),
        (103421.4, "pressure", "15.0 psi", "103 kPa"),
        (-1e-12, "flow", "0.0 gpm", "0.000 L/s"),
        (24000.0, "power", "81.9 kBtu/h", "24.0 kW"),
        (37.16, "area", "400 ft²", "37.2 m²"),
    ],
)
def test_figures_as_shown(value, dimension, us, si):
    assert units.show(value, dimension, "us") == us
    assert units.show(value, dimension, "si") == si


def test_shown_digits_can_be_chosen():
    assert units.show(0.00053, "flow", "us", 3) == "8.401 gpm"


def test_every_dimension_has_units_words_and_an_example_that_reads():
    for dimension in units.DIMENSIONS:
        example = units.expectation(dimension).split('"')[1]
        assert math.isfinite(units.parse(example, dimension))
        for system in ("us", "si"):
            assert units.unit_for(dimension, system) in units.DIMENSIONS[dimension]


@pytest.mark.parametrize(
    ("said", "dimension", "kept"),
    [
        ("2 yd", "length", "6 ft"),
        ("250 mbar", "pressure", "25 kPa"),
        ("30 quart/min", "flow", "7.5 gpm"),
        ("1.5 MPa", "pressure", "15 bar"),
        ("3 pint", "volume", "0.375 gal"),
        ("300 degR", "temperature", "-159.67 degF"),
        ("1 g/cm^3", "density", "1000 kg/m3"),
        ("3 weeks", "time", "21 day"),
    ],
)
def test_any_unit_of_the_same_kind_is_read(said, dimension, kept):
    assert units.in_known_unit(said, dimension) == kept


@pytest.mark.parametrize(
    ("said", "dimension"),
    [
        ("2 yd", "flow"),  # measures something else
        ("3 MBtu/h", "power"),  # two meanings
        ("5 ton", "power"),
        ("2 yd", "head"),
        ("3 __import__('os')", "length"),
        ("3 m**99", "length"),
        ("3", "length"),
    ],
)
def test_what_is_no_such_unit_is_left_alone(said, dimension):
    assert units.in_known_unit(said, dimension) is None


@given(text=st.text(max_size=40), dimension=st.sampled_from(sorted(units.DIMENSIONS)))
def test_no_text_of_a_unit_is_a_fault(text, dimension):
    try:
        kept = units.in_known_unit(f"3 {text}", dimension)
    except Refusal:
        return
    assert kept is None or units.parse(kept, dimension) is not None
