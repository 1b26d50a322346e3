"""Whatever is done to a plant file, reading it gives a plant or one plain line; never anything else."""

import json

from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.errors import Refusal
from core.files import read, write
from tests.support.small_plant import rich

RICH = rich()
TEXT = json.dumps(RICH, ensure_ascii=False)

ODD = [
    None,
    True,
    False,
    0,
    -1,
    1.5,
    1e308,
    float("nan"),
    float("inf"),
    10**40,
    "",
    " ",
    "x",
    "3 ft",
    "20 psi",
    "3,4 in",
    "3/0 in",
    "1e400 ft",
    "80 MBtu/h",
    "unknown",
    "\u202eab",
    "\ud800",
    "L-1",
    "B-1",
    "9" * 300,
    [],
    {},
    [1],
    [[1, 2]],
    {"a": 1},
    {"any": 5},
    {"not": {"not": "AQ-1"}},
    ["B-1", "out"],
    ["J-1", "at"],
    [None, None],
    [["0 gpm", "1 psi"]],
    {"bore": "1 in"},
    {"loss": "1 W/m/K"},
    {"thickness": 3},
    {"kind": "custom"},
    {"guess": "6 ft", "within": 0.3},
    {"guess": "60 degF", "within": "3 K"},
    {"guess": 5, "within": "x"},
    {"guess": [], "within": None},
    {"guess": "6 ft"},
    [["06:00", "25:00"]],
    [["00:00", "2 gpm"], ["00:00", "1 gpm"]],
]


def places(data, way=()):
    """Ways to every value in the data."""
    entries = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in entries:
        yield (*way, key)
        yield from places(value, (*way, key))


PLACES = list(places(RICH))


def judged(read_it) -> None:
    """Reading gives a plant that can be written and read again, or one plain line naming the file."""
    try:
        plant = read_it()
    except Refusal as refusal:
        line = str(refusal)
        assert line.startswith("shed.plant.json: ")
        assert "; expected " in line
        assert line.isprintable()
        assert len(line) < 2000
        return
    assert read.loads(write.dumps(plant)) == plant
    for part in (*plant.items.values(), *plant.pipes.values(), *plant.systems.values(), *plant.solve_cases):
        assert part.si is not None


@settings(max_examples=400)
@given(where=st.sampled_from(PLACES), value=st.sampled_from(ODD))
def test_an_odd_value_in_any_place(where, value):
    data = rich()
    at = data
    for step in where[:-1]:
        at = at[step]
    at[where[-1]] = value
    judged(lambda: read.from_data(data, "shed.plant.json"))


@settings(max_examples=200)
@given(where=st.sampled_from([way for way in PLACES if isinstance(way[-1], str)]), key=st.text(max_size=12))
def test_an_odd_key_in_any_object(where, key):
    data = rich()
    at = data
    for step in where[:-1]:
        at = at[step]
    at[key] = at.pop(where[-1])
    judged(lambda: read.from_data(data, "shed.plant.json"))


@settings(max_examples=300)
@given(
    start=st.integers(0, len(TEXT)),
    length=st.integers(0, 40),
    put=st.text(st.sampled_from('{}[]",:0123456789eE.-ntfNI\\u \n\t\x00é'), max_size=6),
)
@example(start=len(TEXT), length=0, put="}")
def test_a_piece_of_the_text_overwritten(start, length, put):
    text = TEXT[:start] + put + TEXT[start + length :]
    judged(lambda: read.loads(text, "shed.plant.json"))


@settings(max_examples=300)
@given(start=st.integers(0, len(TEXT)), put=st.binary(max_size=6), cut=st.integers(0, 3))
def test_bytes_overwritten(start, put, cut):
    raw = TEXT.encode()
    judged(lambda: read.loads(raw[:start] + put + raw[start + cut :], "shed.plant.json"))


@settings(max_examples=100)
@given(st.binary(max_size=200))
def test_any_bytes(raw):
    judged(lambda: read.loads(raw, "shed.plant.json"))


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=20,
)


@settings(max_examples=150)
@given(key=st.sampled_from(sorted(RICH)), value=json_values)
def test_any_data_under_any_key(key, value):
    judged(lambda: read.from_data({**rich(), key: value}, "shed.plant.json"))
