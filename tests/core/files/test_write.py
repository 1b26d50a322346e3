"""Writing: nothing is lost, the text is stable, and one item or pipe stands on a line."""

import copy
import json

from hypothesis import given
from hypothesis import strategies as st

from core.files import read, write
from core.vocabulary import KINDS
from tests.support.small_plant import SMALL, small

DEFAULTS = {"turn": 0, "flip": False, "label": "", "note": "", "stage": "drawn", "props": {}, "k": 0.0}


def without_defaults(data):
    """Data with what is as by default left out, as the writer does."""
    if isinstance(data, dict):
        return {
            key: without_defaults(value)
            for key, value in data.items()
            if not (key in DEFAULTS and value == DEFAULTS[key])
        }
    return [without_defaults(one) for one in data] if isinstance(data, list) else data


def test_everything_comes_back_as_it_was_typed():
    again = json.loads(write.dumps(read.from_data(small())))
    assert again == SMALL
    # Raw values too: 6 stays 6, 1.0 stays 1.0, "2 1/2 ft" is not turned into 2.5 ft.
    assert json.dumps(again["pipes"]) == json.dumps(SMALL["pipes"])


def test_one_item_or_pipe_a_line():
    lines = write.dumps(read.from_data(small())).splitlines()
    for part in (*SMALL["items"], *SMALL["pipes"], *SMALL["cases"]):
        name = json.dumps(part.get("id", part.get("name")))
        assert (
            sum(1 for line in lines if line.lstrip().startswith((f'{{"id": {name}', f'{{"name": {name}')))
            == 1
        )


def test_the_order_of_properties_is_that_of_the_table_whatever_was_typed_first():
    data = small()
    props = data["items"][1]["props"]
    data["items"][1]["props"] = dict(reversed(props.items()))
    assert write.dumps(read.from_data(data)) == write.dumps(read.from_data(small()))


def test_hidden_characters_are_written_as_escapes():
    data = small()
    data["title"] = "T\u00f6ol \u202e\u0007 \U0001f6bf"
    text = write.dumps(read.from_data(data))
    assert "\u202e" not in text
    assert "T\u00f6ol" in text
    assert read.loads(text).title == data["title"]


plain = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
numbers = st.integers(-2000, 2000) | st.floats(-1e5, 1e5)
lengths = st.sampled_from(["0 ft", "3 ft", "3/4 in", "1 1/4 in", "½ in", "12.50 m", "1e-3 m", "7cm"])


@st.composite
def plants(draw):
    """Random valid plants: items of every kind, pipes between joints, random texts and numbers."""
    data = small()
    for number, kind in enumerate(draw(st.lists(st.sampled_from(sorted(KINDS)), max_size=6))):
        item = {"id": f"X-{number}", "kind": kind, "at": [draw(numbers), draw(numbers)]}
        item.update(
            draw(
                st.fixed_dictionaries(
                    {},
                    optional={
                        "turn": st.sampled_from([0, 90, 180, 270]),
                        "flip": st.booleans(),
                        "label": plain,
                        "note": plain,
                        "stage": st.sampled_from(["existing", "drawn", "tested"]),
                    },
                )
            )
        )
        if "height" in KINDS[kind].properties and draw(st.booleans()):
            item["props"] = {"max_pressure": "unknown", "height": draw(lengths)}
        data["items"].append(item)
    for number in range(draw(st.integers(0, 4))):
        data["items"].append({"id": f"K-{number}", "kind": "joint", "at": [0, number]})
        data["pipes"].append(
            {
                "id": f"M-{number}",
                "from": [f"K-{number}", "at"],
                "to": ["J-1", "at"],
                "system": "floor",
                "tube": {"bore": "13 mm"},
                "length": draw(lengths),
                "note": draw(plain),
                "via": draw(st.lists(st.tuples(numbers, numbers).map(list), max_size=3)),
                "k": draw(st.floats(0, 100)),
            }
        )
    data["title"] = draw(plain)
    data["texts"] = [{"at": [draw(numbers), draw(numbers)], "text": draw(plain)}]
    return data


@given(plants())
def test_saved_and_loaded_is_the_same_plant_and_text(data):
    plant = read.from_data(copy.deepcopy(data))
    text = write.dumps(plant)
    again = read.loads(text.encode("utf-8"))
    assert again == plant
    assert list(again.items) == list(plant.items)
    assert write.dumps(again) == text
    for part in ("items", "cases", "texts", "site", "systems"):
        assert without_defaults(json.loads(text)[part]) == without_defaults(data[part])
