"""Raw values of every type of property: what is taken, and what is refused where."""

import pytest

from core.errors import Refusal
from core.vocabulary import KINDS, Lift, signal_names, to_si
from core.vocabulary.values import nearest


def read(kind, name, raw):
    return to_si(KINDS[kind].properties[name], raw, f"props.{name}")


TAKEN = [
    ("shutoff", "size", "3/4 in", 0.01905),
    ("circulator", "speed", 1, 1.0),
    ("manifold", "branches", 4, 4),
    ("shutoff", "open", False, False),
    ("exchanger", "arrangement", "parallel", "parallel"),
    ("heater", "linked", "pair", "pair"),
    ("boiler", "high_limit", True, True),
    ("boiler", "high_limit", "0 degC", 273.15),
    ("boiler", "drops", [["1 L/s", "10 kPa"]], ((0.001, Lift(10_000.0, False)),)),
    (
        "boiler",
        "drops",
        [["0 L/s", "0 kPa"], ["1 L/s", "10 kPa"]],
        ((0.0, Lift(0.0, False)), (0.001, Lift(1e4, False))),
    ),
    ("circulator", "target", "9 K", 9.0),
    ("circulator", "target", "2 m_head", Lift(2.0, True)),
    ("circulator", "senses", [["B-1", "out"], ["B-1", "in"]], (("B-1", "out"), ("B-1", "in"))),
    ("tank", "taps", {"up": "1 m"}, {"up": 1.0}),
    ("manifold", "cv", 2.5, 2.5),
    ("manifold", "cv", [2.5, 3], (2.5, 3.0)),
    ("floor_circuit", "loops", ["50 m", [2, "60 m"]], ((1, 50.0), (2, 60.0))),
    (
        "zone_valve",
        "run_when",
        {"any": ["A", {"not": {"all": ["B", True]}}]},
        {"any": ["A", {"not": {"all": ["B", True]}}]},
    ),
    ("zone_valve", "run_when", {"all": []}, {"all": []}),
    ("aquastat", "senses", ["T-1", "mid"], ("T-1", "mid")),
    ("radiator", "serves", "R-1", "R-1"),
    ("outdoor_reset", "sets", "B-1", ("B-1",)),
    ("outdoor_reset", "sets", ["B-1", "B-2"], ("B-1", "B-2")),
    (
        "outdoor_reset",
        "line",
        [["-15 degC", "50 degC"], ["15 degC", "25 degC"]],
        ((258.15, 323.15), (288.15, 298.15)),
    ),
    ("heat_pump", "table", [["0 degC", "40 degC", "8 kW", "2 kW"]], ((273.15, 313.15, 8000.0, 2000.0),)),
    (
        "radiator",
        "rated",
        {"heat": "1 kW", "flow": "0.1 L/s", "supply": "60 degC", "room": "20 degC", "exponent": 1.3},
        {"heat": 1000.0, "flow": 1e-4, "supply": 333.15, "room": 293.15, "exponent": 1.3},
    ),
]


@pytest.mark.parametrize(("kind", "name", "raw", "want"), TAKEN, ids=lambda part: str(part)[:24])
def test_taken(kind, name, raw, want):
    got = read(kind, name, raw)
    assert got == (pytest.approx(want) if isinstance(want, float) else want)


REFUSED = [
    ("shutoff", "size", 3, "props.size", 'Write "3 ft" with its unit'),
    ("shutoff", "size", "0 mm", "props.size", "from 0.5 mm to 2 m"),
    ("shutoff", "size", "3 psi", "props.size", "psi is a pressure"),
    ("circulator", "speed", "0.8", "props.speed", "Write 0.8 without quotes"),
    ("circulator", "speed", "80 percent", "props.speed", "Write 0.8"),
    ("circulator", "speed", -1, "props.speed", "a number from 0 to 2"),
    ("circulator", "speed", True, "props.speed", "a number from 0 to 2"),
    ("circulator", "speed", float("nan"), "props.speed", "found NaN"),
    ("manifold", "branches", 2.5, "props.branches", "a whole number from 1 to 40"),
    ("shutoff", "open", "true", "props.open", "without quotes"),
    ("shutoff", "open", 1, "props.open", "true or false"),
    ("exchanger", "arrangement", "paralel", "props.arrangement", "The nearest is parallel"),
    ("heater", "linked", "x" * 201, "props.linked", "at most 200 characters"),
    ("boiler", "high_limit", "yes", "props.high_limit", 'or "unknown"'),
    ("circulator", "curve", [["0 gpm", "19 ft_head"]], "props.curve", "at least two points"),
    (
        "circulator",
        "curve",
        [["0 gpm", "9 ft_head"], ["4 gpm", "10 ft_head"]],
        "props.curve[1][1]",
        "may not rise",
    ),
    (
        "circulator",
        "curve",
        [["4 gpm", "9 ft_head"], ["4 gpm", "8 ft_head"]],
        "props.curve[1][0]",
        'more than "4 gpm"',
    ),
    ("circulator", "curve", [["0 gpm", "9 ft_head"], ["4 gpm", "8 kPa"]], "props.curve[1][1]", "all heads"),
    ("circulator", "curve", [["0 gpm", "0 ft_head"], ["4 gpm", "0 ft_head"]], "props.curve[0][1]", "above 0"),
    ("circulator", "curve", [["0 gpm"]], "props.curve[0]", "a row [a flow, a head or a pressure]"),
    ("circulator", "curve", [["0 gpm", "-1 ft_head"], ["4 gpm", "0 ft_head"]], "props.curve[0][1]", "from 0"),
    ("circulator", "curve", [], "props.curve", "0 entries"),
    ("boiler", "drops", [["1 gpm", "4 psi"], ["2 gpm", "3 psi"]], "props.drops[1][1]", "never fall"),
    ("boiler", "drops", [["0 gpm", "4 psi"]], "props.drops[0]", "origin"),
    ("circulator", "target", "20 ft", "props.target", "a difference of temperature"),
    ("circulator", "senses", [["B-1", "out"]], "props.senses", "1 entries"),
    ("tank", "taps", {"my tap": "1 m"}, 'props.taps["my tap"]', "a name of 1 to 40"),
    ("tank", "taps", {"up": "-1 m"}, "props.taps.up", "0 ft to 200 ft"),
    ("tank", "taps", ["up"], "props.taps", "an object of names"),
    ("manifold", "cv", [2.5, "3"], "props.cv[1]", "Write 3 without quotes"),
    ("floor_circuit", "loops", [[2, "60 m", 1]], "props.loops[0]", "[count, length]"),
    ("floor_circuit", "loops", [[1.5, "60 m"]], "props.loops[0][0]", "a whole number"),
    (
        "floor_circuit",
        "tube",
        {"material": "pecks", "size": "1/2 in"},
        "props.tube.material",
        "nearest is pex",
    ),
    ("floor_circuit", "tube", {"material": "pex", "size": "7/8 in"}, "props.tube.size", "1/2 in"),
    ("floor_circuit", "tube", {"material": "pex"}, "props.tube.size", "the key size"),
    (
        "floor_circuit",
        "tube",
        {"bore": "10 mm", "outside": "9 mm"},
        "props.tube.outside",
        "at least the bore",
    ),
    ("floor_circuit", "tube", {"bore": "10 mm", "roughness": "3 mm"}, "props.tube.roughness", "a fifth"),
    (
        "floor_circuit",
        "tube",
        {"bore": "10 mm", "wall": "1 mm"},
        "props.tube.wall",
        "one of bore, roughness, outside",
    ),
    ("zone_valve", "run_when", {"any": "AQ-1"}, "props.run_when.any", "a list of signals"),
    ("zone_valve", "run_when", {"some": ["A"]}, "props.run_when.some", "any, all or not"),
    ("zone_valve", "run_when", {"any": ["A"], "all": []}, "props.run_when", "a signal's name"),
    ("zone_valve", "run_when", {"all": ["A", 5]}, "props.run_when.all[1]", "a signal's name"),
    ("radiator", "rated", {"heat": "1 kW"}, "props.rated.flow", "the key flow"),
    ("radiator", "rated", {"heet": "1 kW"}, "props.rated.heet", "The nearest is heat"),
    (
        "exchanger",
        "rated",
        {"a_flow": "0 gpm", "a_in": "60 degC", "a_out": "50 degC", "b_flow": "1 gpm", "b_in": "20 degC"},
        "props.rated.a_flow",
        "a flow above 0",
    ),
]


@pytest.mark.parametrize(("kind", "name", "raw", "path", "words"), REFUSED, ids=lambda part: str(part)[:24])
def test_refused_at_its_place(kind, name, raw, path, words):
    with pytest.raises(Refusal) as caught:
        read(kind, name, raw)
    assert caught.value.path == path
    assert words in str(caught.value)


def test_nested_signals_end_somewhere():
    raw = "A"
    for _ in range(30):
        raw = {"not": raw}
    with pytest.raises(Refusal, match="too deep"):
        read("zone_valve", "run_when", raw)


def test_names_in_a_signal_expression():
    assert signal_names({"any": ["A", {"not": "B"}, True]}) == ("A", "B")


def test_lift_is_turned_by_the_density():
    assert Lift(2.0, True).pascal(1000.0) == pytest.approx(19613.3)
    assert Lift(19613.3, False).metres(1000.0) == pytest.approx(2.0)


def test_nearest_word_is_none_where_none_is_near():
    assert nearest("speeed", ["speed", "curve"]) == "The nearest is speed"
    assert nearest("qqqq", ["speed", "curve"]) == ""
    assert nearest("x" * 500, ["speed"]) == ""
