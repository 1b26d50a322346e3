"""Rules of a valid plant for plants that were not read from a file, and rules no other test meets."""

from dataclasses import replace

import pytest

from core.errors import Refusal
from core.files import read
from core.plant import edits, references, validity
from core.plant.changes import apply
from core.plant.model import Item, Pipe, Plant, PortRef, System
from core.vocabulary.readers import read_fluid
from tests.support.edits import inserted
from tests.support.small_plant import small


@pytest.fixture
def plant():
    return read.from_data(small())


def first(plant: Plant) -> Refusal:
    """The refusal that stops the plant, which is also the first of all."""
    found = validity.check(plant)
    with pytest.raises(Refusal) as caught:
        validity.require(plant)
    assert str(caught.value) == str(found[0])
    return found[0]


def with_item(plant: Plant, kind: str, **props) -> Plant:
    return apply(plant, inserted(plant, kind, (0, 0), props=props))


def with_pipe(plant: Plant, name: str, **fields) -> Plant:
    return replace(plant, pipes={**plant.pipes, name: replace(plant.pipes[name], **fields)})


def test_a_good_plant_has_nothing_to_refuse(plant):
    assert validity.check(plant) == []
    assert validity.require(plant) is plant


def test_all_that_is_wrong_is_listed_in_the_order_of_the_file(plant):
    plant = with_pipe(with_pipe(plant, "L-1", k=-1.0), "L-5", length="1 gpm")
    plant = replace(plant, title="x" * 300)
    assert [one.path for one in validity.check(plant)] == ["title", "pipes[0].k", "pipes[4].length"]


def test_one_id_for_an_item_and_a_pipe(plant):
    other = replace(plant.pipes["L-1"], id="P-1")
    pipes = {other.id: other, **{name: pipe for name, pipe in plant.pipes.items() if name != "L-1"}}
    assert "An item has it too" in str(first(replace(plant, pipes=pipes)))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"tube": None}, "a tube such as"),
        ({"length": None}, "a length such as"),
        ({"joined": "flanged"}, "nothing beside joined"),
        ({"end": PortRef("B-1", "out")}, "a port without a pipe"),
    ],
)
def test_pipes_that_lack_or_have_too_much(plant, fields, words):
    assert words in str(first(with_pipe(plant, "L-1", **fields)))


def test_a_pipe_from_a_joint_to_itself(plant):
    wrong = with_pipe(plant, "L-3", end=PortRef("J-1", "at"))
    assert "another port than at from" in str(first(wrong))


@pytest.mark.parametrize(
    ("kind", "props", "words"),
    [
        ("boiler", {"run_when": "L-1"}, "L-1 is a pipe"),
        ("boiler", {"run_when": {"any": ["B-1"]}}, "B-1 is a boiler"),
        ("outdoor_reset", {"sets": "B-7"}, "props.sets: found"),
        ("outdoor_reset", {"sets": ["B-1", "B-7"]}, "props.sets[1]"),
        ("aquastat", {"senses": ["L-1", "middle"]}, "a place at L-1: in, out, from, to"),
        ("thermostat", {"senses": ["R-1", "roof"]}, "a place at R-1: air, floor"),
        ("aquastat", {"senses": ["SW-1", "x"]}, "it has none"),
        ("switch", {"height": "1 ft"}, "height belongs to"),
        ("circulator", {"control": "delta_t", "target": "0 K"}, "a difference above 0"),
        ("circulator", {"control": "delta_t", "target": "5 kPa"}, "It is a head or pressure"),
        ("tank", {"taps": {f"t{n}": "1 ft" for n in range(101)}}, "at most 100 names"),
    ],
    ids=str,
)
def test_items_refused(plant, kind, props, words):
    assert words in str(first(with_item(plant, kind, **props)))


@pytest.mark.parametrize(
    ("kind", "props"),
    [
        ("thermostat", {"senses": ["R-1"]}),
        ("thermostat", {"senses": ["R-1", "air"]}),
        ("aquastat", {"senses": ["L-1", "from"]}),
        ("aquastat", {"senses": ["ET-1"]}),
        ("outdoor_reset", {"sets": ["B-1"]}),
        ("relief_valve", {"set_pressure": "unknown", "capacity": "unknown"}),
        ("circulator", {"control": "delta_p_constant", "target": "9 ft_head"}),
        ("circulator", {"control": "delta_p_proportional", "target": "20 kPa"}),
        ("balance_valve", {"cv": 4, "setting": 1, "set_flow": "1 gpm"}),
        ("coil_tank", {"coil_heights": {"coil_in": "1 ft"}, "taps": {"up": "3 ft"}, "tall": "3 ft"}),
        ("heater", {"min_flow": "0.5 gpm", "max_flow": "9 gpm", "high_limit": "unknown"}),
        (
            "exchanger",
            {
                "rated": {
                    "a_flow": "1 gpm",
                    "a_in": "20 degC",
                    "a_out": "30 degC",
                    "b_flow": "1 gpm",
                    "b_in": "60 degC",
                },
                "arrangement": "parallel",
            },
        ),
        ("radiator", {"rated": {"heat": "1 kW", "flow": "0.1 L/s", "supply": "60 degC", "room": "20 degC"}}),
    ],
    ids=str,
)
def test_items_taken(plant, kind, props):
    assert validity.check(with_item(plant, kind, **props)) == []


def test_properties_must_be_an_object():
    with pytest.raises(Refusal, match="an object of properties"):
        validity.check_props("boiler", [])  # type: ignore[arg-type]


def test_a_tank_without_named_taps_has_the_usual_ones_from_bottom_to_top():
    tank = Item("T-1", "tank", (0, 0), props={"tall": "2 m"})
    assert set(tank.si["taps"]) == set(tank.ports)
    assert tank.si["taps"]["top"] == pytest.approx(2.0)
    assert tank.si["taps"]["bottom"] == 0.0


@pytest.mark.parametrize(
    ("fluid", "path", "words"),
    [
        ({}, "fluid.kind", "one of water"),
        ("water", "fluid", "an object such as"),
        (
            {"kind": "custom", "density": "998 kg/m3", "viscosity": "1 mPa*s"},
            "fluid.heat_capacity",
            "the key",
        ),
        ({"kind": "ethylene_glycol", "fraction": 1.2}, "fluid.fraction", "from 0 to 1"),
        ({"kind": "ethylene_glycol", "fraction": 0.9}, "fluid.fraction", "0.6"),
    ],
)
def test_fluids_refused(fluid, path, words):
    with pytest.raises(Refusal) as caught:
        read_fluid(fluid, "fluid")
    assert caught.value.path == path
    assert words in str(caught.value)


CUSTOM = {"kind": "custom", "density": "998 kg/m3", "viscosity": "1.0 mPa*s", "heat_capacity": "4182 J/kg/K"}


@pytest.mark.parametrize("expansion", [2.1e-4, "2.1e-4 1/K"])
def test_a_custom_fluid_may_expand(expansion):
    fluid = {**CUSTOM, "expansion": expansion, "reference": "60 degC"}
    read_fluid(fluid, "fluid")
    spec = System("s", fluid=fluid).si.fluid
    assert spec["expansion"] == 2.1e-4
    assert spec["reference"] == pytest.approx(333.15)
    assert spec["density"] == 998.0
    with pytest.raises(Refusal):
        read_fluid({**CUSTOM, "expansion": 1}, "fluid")


def test_cases_judge_their_tanks(plant):
    data = small()
    data["items"].append({"id": "BT-1", "kind": "buffer", "at": [0, 0]})
    data["cases"][1]["tanks"] = {"BT-1": "50 degC"}
    assert read.from_data(data).cases[1].si.tanks == {"BT-1": pytest.approx(323.15)}
    data["cases"][1]["tanks"] = {"BT-1": {"a_in": "50 degC"}}
    with pytest.raises(Refusal, match="a buffer is fully mixed"):
        read.from_data(data)
    data["cases"][1]["tanks"] = ["BT-1"]
    with pytest.raises(Refusal, match="an object by id"):
        read.from_data(data)


def test_insulation_by_thickness_alone_has_the_usual_conductivity(plant):
    pipe = with_pipe(plant, "L-1", insulation={"thickness": "1 in"}).pipes["L-1"]
    assert pipe.si.insulation == pytest.approx((0.0254, 0.040))


def test_a_bolted_pipe_keeps_a_tube_if_it_has_one():
    ends = PortRef("A", "out"), PortRef("B", "in")
    pipe = Pipe("L-1", *ends, "s", tube={"bore": "1 in"}, joined="flanged", straight="1 ft")
    assert pipe.si.bore == pytest.approx(0.0254)
    assert (pipe.si.length, pipe.si.straight) == (0.0, pytest.approx(0.3048))


def test_a_pipe_with_both_ends_on_one_joint_is_listed_once_there():
    pipe = Pipe("L-1", PortRef("J", "at"), PortRef("J", "at"), "s")
    assert Plant(pipes={"L-1": pipe}).pipes_at == {("J", "at"): ("L-1",)}


def test_texts_and_records_may_say_less(plant):
    data = small()
    data["texts"] = [{"at": [0, 0], "text": "x", "lead_to": [5, 5]}, {"at": [0, 0], "text": "y"}]
    data["logbook"] = [
        {
            "id": "D-1",
            "weighed": "one other",
            "figures": [{"path": "p", "value": "9 gpm"}, {"path": "p", "value": True}],
        }
    ]
    data["readings"] = [{"at": "P-1", "value": "3 gpm"}]
    data["accepted"] = [{"key": "k", "checked_with": "gauge"}]
    assert read.from_data(data).texts[1]["text"] == "y"
    for key, wrong in (
        ("texts", [{"at": 5, "text": "x"}]),
        ("logbook", [{"id": "D-1"}, {"id": "D-1"}]),
        ("readings", [5]),
    ):
        with pytest.raises(Refusal, match=key):
            read.from_data({**data, key: wrong})


def test_renaming_reaches_every_shape_of_mention(plant):
    plant = with_item(plant, "outdoor_reset", sets="B-1")
    plant = with_item(plant, "outdoor_reset", sets=["B-1", "P-1"])
    plant = with_item(plant, "radiator", serves="R-1")
    plant = with_item(plant, "heater", run_when=True, powered_by={"all": []})
    new = apply(plant, edits.rename(plant, "B-1", "Old"))
    assert new.items["OR-1"].props["sets"] == "Old"
    assert new.items["OR-2"].props["sets"] == ["Old", "P-1"]
    gone = apply(plant, edits.delete(plant, ["B-1", "P-1", "R-1"]))
    assert not any("sets" in gone.items[name].props for name in ("OR-1", "OR-2"))
    assert "serves" not in gone.items["RA-1"].props
    assert gone.items["H-1"].props == {"run_when": True, "powered_by": {"all": []}}


def test_records_keep_ids_that_are_gone_and_follow_new_ones(plant):
    plant = replace(
        plant, texts=({"at": [0, 0], "text": "x"},), logbook=({"id": "D-1", "at": "P-1"}, {"id": "D-2"})
    )
    (change,) = [
        one for one in references.renamed(plant, lambda name: f"{name}x") if not hasattr(one, "item")
    ]
    assert [entry.get("at") for entry in change.values["logbook"]] == ["P-1x", None]
    assert change.values["readings"][0]["at"] == ["P-1x", "in"]


def test_the_not_of_what_is_gone_goes_too(plant):
    plant = with_item(plant, "boiler", run_when={"not": "SW-1"})
    assert "run_when" not in apply(plant, edits.delete(plant, ["SW-1"])).items["B-2"].props


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"what": "presure"}, r"readings\[0\]\.what: found \"presure\".*The nearest is pressure"),
        ({"value": "15 gpm"}, r"readings\[0\]\.value: found \"15 gpm\"; expected a pressure"),
        ({"error": "1 gpm"}, r"readings\[0\]\.error"),
        ({"error": "0 psi"}, r"readings\[0\]\.error: .*more than nothing"),
        ({"what": "", "value": "15 ft"}, r"readings\[0\]\.value: .*a temperature, a pressure or a flow"),
    ],
)
def test_a_reading_of_a_wrong_word_or_dimension_is_refused_as_the_file_is_read(wrong, words):
    reading = {"at": "G-1", "what": "pressure", "value": "15 psi", "error": "1 psi", **wrong}
    with pytest.raises(Refusal, match=words):
        read.from_data({"format": "wetside-plant", "version": 2, "readings": [reading]})
