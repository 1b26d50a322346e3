"""Reading: what a whole plant becomes, and what each kind of spoiling is answered with."""

import json
import os
import sys

import pytest

from core.errors import Refusal
from core.files import limits, read
from core.plant.model import PortRef
from core.vocabulary.words import InsulationValues
from tests.support.small_plant import SMALL, small


def refused(data) -> Refusal:
    with pytest.raises(Refusal) as caught:
        read.from_data(data, "shed.plant.json")
    line = str(caught.value)
    assert "\n" not in line
    assert line.startswith("shed.plant.json: ")
    return caught.value


def test_everything_in_a_plant_arrives():
    plant = read.from_data(small())
    assert (plant.title, plant.units, plant.version) == ("Tool shed", "us", 2)
    assert list(plant.items) == [item["id"] for item in SMALL["items"]]
    pump = plant.items["P-1"]
    assert (pump.at, pump.turn, pump.flip, pump.label, pump.note, pump.stage) == (
        (100, 0),
        90,
        True,
        "Floor pump",
        "Bought in May",
        "bought",
    )
    assert pump.props == SMALL["items"][1]["props"]
    pipe = plant.pipes["L-1"]
    assert (pipe.start, pipe.end, pipe.via) == (PortRef("B-1", "out"), PortRef("P-1", "in"), ((420, 240),))
    assert [case.name for case in plant.cases] == ["Design night", "Rest"]
    assert plant.logbook[0]["because"] == "quieter"
    assert plant.readings[0]["value"] == "14 psi"
    assert plant.accepted[0]["key"] == "et-precharge:ET-1"
    assert plant.texts[0]["lead_to"] == "B-1"


def test_the_plant_in_si():
    plant = read.from_data(small())
    pump = plant.items["P-1"].si
    assert pump["curve"][1][0] == pytest.approx(8 * 231 * 0.0254**3 / 60)
    assert pump["curve"][1][1].metres(1.0) == pytest.approx(15 * 0.3048)
    assert pump["target"] == pytest.approx(10 / 1.8)
    assert (pump["min_speed"], pump["integral_check"], pump["height"], pump["body"]) == (
        0.2,
        False,
        0.0,
        "unknown",
    )
    assert pump["watts"] is None
    pipe = plant.pipes["L-1"].si
    assert pipe.bore == pytest.approx(26.035e-3)  # type L 1 in: 1.025 in
    assert pipe.length == pytest.approx(1.8288)
    assert pipe.insulation == InsulationValues(pytest.approx(0.0127), 0.04)
    assert pipe.around == pytest.approx(293.15)
    assert plant.pipes["L-3"].si[:3] == pytest.approx((0.013, 2e-6, 0.016))
    assert plant.pipes["L-4"].si.insulation == 0.5
    joined = plant.pipes["L-2"].si
    assert (joined.joined, joined.length, joined.k_total, joined.insulation) == (True, 0.0, 0.0, None)
    assert plant.site_si.outdoor_design == pytest.approx(258.15)
    assert plant.site_si.altitude == pytest.approx(274.32)
    assert plant.systems["floor"].si.fill_pressure == pytest.approx(15 * 6894.757293)
    night = plant.cases[0].si
    assert night.draws == {"F-1": pytest.approx(2 * 231 * 0.0254**3 / 60)}
    assert night.tanks["T-1"]["hot"] == pytest.approx(273.15 + (118 - 32) / 1.8)
    assert plant.items["FC-1"].si["loops"] == ((1, pytest.approx(73.152)), (2, pytest.approx(76.2)))


def test_a_bore_alone_is_smooth_and_has_no_wall():
    data = small()
    data["pipes"][2]["tube"] = {"bore": "13 mm"}
    assert read.from_data(data).pipes["L-3"].si[:3] == pytest.approx((0.013, 1.5e-6, 0.013))


def test_a_file_without_cases_has_one_with_every_signal_on():
    data = small()
    del data["cases"]
    (case,) = read.from_data(data).solve_cases
    assert (case.name, case.outdoor, case.draws) == ("design", "5 degF", {})
    assert case.signals == {"AQ-1": True, "SW-1": True}


def test_the_least_plant():
    plant = read.from_data({"format": "wetside-plant", "version": 2})
    assert (plant.items, plant.pipes, plant.cases) == ({}, {}, ())
    assert plant.site_si[:4] == pytest.approx((263.15, 283.15, 293.15, 0.0))


SPOILED = [
    # path into the data, new value, path refused, words
    ("format", "something-else", "format", '"wetside-plant"'),
    ("version", 3, "version", "newer wetside"),
    ("version", "1", "version", "expected 2"),
    ("version", True, "version", "expected 2"),
    ("title", 5, "title", "between double quotes"),
    ("units", "metric", "units", "one of us, si"),
    ("tittle", "x", "tittle", "The nearest is title"),
    ("site.outdoor", "5 degF", "site.outdoor", "The nearest is outdoor_design"),
    ("site.indoor", "20 K", "site.indoor", "K is a difference of temperature"),
    ("site.altitude", "900 psi", "site.altitude", "psi is a pressure"),
    ("systems.floor.use", "heating", "systems.floor.use", "one of potable, closed"),
    (
        "systems.floor.fluid.kind",
        "propylen_glycol",
        "systems.floor.fluid.kind",
        "nearest is propylene_glycol",
    ),
    ("systems.floor.fluid.fraction", 0.95, "systems.floor.fluid.fraction", "0.6"),
    ("systems.floor.fluid.fraction", "35 percent", "systems.floor.fluid.fraction", "Write 0.35"),
    ("systems.potable.fluid.fraction", 0.3, "systems.potable.fluid.fraction", "one of kind"),
    ("systems.potable.fluid.kind", "custom", "systems.potable.fluid.density", "the key density"),
    ("systems.floor.fill_pressure", "15 ft_head", "systems.floor.fill_pressure", "column of the fluid"),
    ("systems.my floor", {}, 'systems["my floor"]', "a name of 1 to 40"),
    ("items.0.kind", "boyler", "items[0].kind", "The nearest is boiler"),
    ("items.0.id", "B 1", "items[0].id", "a name of 1 to 40"),
    ("items.0.id", "B" * 41, "items[0].id", "a name of 1 to 40"),
    ("items.0.id", 7, "items[0].id", "a name of 1 to 40"),
    ("items.2.id", "B-1", "items[2].id", "items[0] has it too"),
    ("items.0.at", [0], "items[0].at", "a place [x, y]"),
    ("items.0.at", ["0", 0], "items[0].at[0]", "Write 0 without quotes"),
    ("items.0.at", [1e12, 0], "items[0].at[0]", "from -1000000 to 1000000"),
    ("items.0.turn", 45, "items[0].turn", "0, 90, 180 or 270"),
    ("items.0.flip", "false", "items[0].flip", "without quotes"),
    ("items.0.stage", "finished", "items[0].stage", "one of existing"),
    ("items.0.label", "x" * 201, "items[0].label", "at most 200 characters"),
    ("items.0.note", "x" * 20001, "items[0].note", "at most 20000 characters"),
    ("items.0.props.capacityy", "1 kW", "items[0].props.capacityy", "The nearest is capacity"),
    ("items.0.props.curve", [], "items[0].props.curve", "curve belongs to circulator"),
    ("items.0.props.capacity", "40 MBtu/h", "items[0].props.capacity", "write kBtu/h for thousands"),
    ("items.0.props.capacity", 40000, "items[0].props.capacity", "with its unit"),
    ("items.0.props.min_output", "50 kBtu/h", "items[0].props.min_output", "at most capacity"),
    (
        "items.0.props.port_heights",
        {"top": "1 m"},
        "items[0].props.port_heights.top",
        "a port of boiler: in, out",
    ),
    ("items.1.props.speeed", 1, "items[1].props.speeed", "The nearest is speed"),
    ("items.1.props.target", "9 ft_head", "items[1].props.target", "It is a head or pressure"),
    (
        "items.1.props.control",
        "delta_p_constant",
        "items[1].props.target",
        "It is a difference of temperature",
    ),
    ("items.1.props.senses.0.1", "outt", "items[1].props.senses[0][1]", "The nearest is out"),
    ("items.1.props.senses.0.0", "B-9", "items[1].props.senses[0][0]", "The nearest is B-1"),
    ("items.1.props.run_when.any.0", "AQ-9", "items[1].props.run_when.any[0]", "The nearest is AQ-1"),
    ("items.1.props.run_when.any.1.not", "B-1", "items[1].props.run_when.any[1].not", "B-1 is a boiler"),
    ("items.4.props.serves", "B-1", "items[4].props.serves", "B-1 is a boiler"),
    ("items.6.props.taps", {}, "items[6].props.taps", "at least one tap"),
    ("items.6.props.tall", "3 ft", "items[6].props.taps.hot", "at most the tank's height"),
    ("items.8.props.senses", ["T-1", "midd"], "items[8].props.senses[1]", "a place at T-1: hot, cold"),
    ("items.8.props.senses", ["T-1"], "items[8].props.senses", "one of hot, cold"),
    ("pipes.0.id", "B-1", "pipes[0].id", "items[0] has it too"),
    ("pipes.1.id", "L-1", "pipes[1].id", "pipes[0] has it too"),
    ("pipes.0.from", ["B-2", "out"], "pipes[0].from[0]", "The nearest is B-1"),
    ("pipes.0.from", ["B-1", "outlet"], "pipes[0].from[1]", "a port of B-1, a boiler: in, out"),
    ("pipes.0.from", ["SW-1", "out"], "pipes[0].from[1]", "it has none"),
    ("pipes.0.from", "B-1", "pipes[0].from", "[item, port]"),
    ("pipes.4.to", ["B-1", "out"], "pipes[4].to", "L-1 is on it. Tee into L-1"),
    ("pipes.2.from", ["ET-1", "at"], "pipes[2].to", "L-3 is on it"),
    ("pipes.0.system", "flor", "pipes[0].system", "The nearest is floor"),
    ("pipes.0.tube.size", "7/8 in", "pipes[0].tube.size", "a size of copper_l"),
    ("pipes.0.tube.matter", "x", "pipes[0].tube.matter", "one of material, size"),
    ("pipes.0.length", "-1 ft", "pipes[0].length", "0 ft to"),
    ("pipes.0.length", "6 gpm", "pipes[0].length", "gpm is a flow"),
    ("pipes.0.length", None, "pipes[0].length", "null"),
    ("pipes.0.length", 6, "pipes[0].length", 'Write "6 ft" with its unit'),
    ("pipes.0.k", -1, "pipes[0].k", "from 0 to 1000000"),
    ("pipes.0.fittings.elbow90", 1, "pipes[0].fittings.elbow90", "The nearest is elbow_90"),
    ("pipes.0.fittings.elbow_90", 1.5, "pipes[0].fittings.elbow_90", "a whole number"),
    ("pipes.0.insulation.loss", "1 W/m/K", "pipes[0].insulation.thickness", "nothing beside loss"),
    ("pipes.0.insulation", {}, "pipes[0].insulation.thickness", "a thickness, or loss per length"),
    ("pipes.0.via", [[0]], "pipes[0].via[0]", "a place [x, y]"),
    ("pipes.1.joined", "welded", "pipes[1].joined", "one of flanged"),
    ("pipes.1.k", 1, "pipes[1].k", "nothing beside joined"),
    ("pipes.0.diameter", "1 in", "pipes[0].diameter", "one of id, from, to"),
    ("cases.0.name", " ", "cases[0].name", "a name"),
    ("cases.1.name", "Design night", "cases[1].name", "each name once"),
    ("cases.0.signals", {"AQ-2": True}, "cases[0].signals.AQ-2", "The nearest is AQ-1"),
    ("cases.0.signals", {"AQ-1": 1}, "cases[0].signals.AQ-1", "true or false"),
    ("cases.0.draws", {"F-2": "1 gpm"}, "cases[0].draws.F-2", "The nearest is F-1"),
    ("cases.0.draws", {"T-1": "1 gpm"}, "cases[0].draws.T-1", "T-1 is a tank"),
    ("cases.0.tanks", {"T-1": "1 gpm"}, "cases[0].tanks.T-1", "gpm is a flow"),
    ("cases.0.tanks", {"T-1": {"hott": "60 degC"}}, "cases[0].tanks.T-1.hott", "The nearest is hot"),
    ("cases.0.hours_per_year", 9000, "cases[0].hours_per_year", "from 0 to 8784"),
    ("cases.0.outdoors", "5 degF", "cases[0].outdoors", "The nearest is outdoor"),
    ("texts.0.lead_to", "B-7", "texts[0].lead_to", "The nearest is B-1"),
    ("readings.0.value", 14, "readings[0].value", 'a pressure such as "15 psi"'),
    ("readings.0.value", "14 pis", "readings[0].value", "the nearest is psi"),
    ("logbook.0.figures.0.value", [], "logbook[0].figures[0].value", "a number"),
    ("accepted.0.why", "x", "accepted[0].why", "one of key, because"),
]


def spoil(data, where: str, value):
    *way, last = where.split(".")
    for step in way:
        data = data[int(step)] if isinstance(data, list) else data[step]
    data[int(last) if isinstance(data, list) else last] = value


@pytest.mark.parametrize(("where", "value", "path", "words"), SPOILED, ids=lambda part: str(part)[:30])
def test_one_spoiled_value_is_refused_at_its_path(where, value, path, words):
    data = small()
    spoil(data, where, value)
    refusal = refused(data)
    assert refusal.path == path
    assert words in str(refusal)


@pytest.mark.parametrize(
    ("kind", "props", "path", "words"),
    [
        ("shutoff", {"cv": 8, "k": 1, "size": "1 in"}, "k", "nothing beside cv"),
        ("strainer", {"k": 1, "size": "1 in", "drops": [["1 gpm", "1 psi"]]}, "drops", "nothing beside k"),
        ("strainer", {"cv": 1, "drops": [["1 gpm", "1 psi"]]}, "drops", "nothing beside cv"),
        ("shutoff", {"k": 1}, "size", "the size whose bore k refers to"),
        (
            "balance_valve",
            {"cv": 4, "setting": 0.5, "set_flow": "1 gpm"},
            "set_flow",
            "nothing beside setting",
        ),
        (
            "radiator",
            {
                "ua": "60 W/K",
                "rated": {"heat": "1 kW", "flow": "0.1 L/s", "supply": "60 degC", "room": "20 degC"},
            },
            "rated",
            "nothing beside ua",
        ),
        (
            "radiator",
            {"rated": {"heat": "1 kW", "flow": "0.1 L/s", "supply": "20 degC", "room": "20 degC"}},
            "rated.supply",
            "above the room",
        ),
        (
            "radiator",
            {"rated": {"heat": "20 kW", "flow": "0.1 L/s", "supply": "60 degC", "room": "20 degC"}},
            "rated.heat",
            "all that this flow carries",
        ),
        ("three_way_valve", {"position": 0.5, "target": "30 degC"}, "target", "nothing beside position"),
        ("manifold", {"branches": 3, "cv": [1, 2]}, "cv", "one for each of 3 branches"),
        ("expansion_tank", {"volume": "2 gal", "acceptance": "3 gal"}, "acceptance", "at most volume"),
        ("heater", {"min_flow": "3 gpm", "max_flow": "2 gpm"}, "min_flow", "at most max_flow"),
        ("circulator", {"control": "delta_p_proportional"}, "target", "which delta_p_proportional holds"),
        ("coil_tank", {"taps": {"coil_in": "1 ft"}}, "taps.coil_in", "not a port of the coil"),
        ("coil_tank", {"coil_heights": {"coil": "1 ft"}}, "coil_heights.coil", "coil_in or coil_out"),
        (
            "zone_valve",
            {"powered_by": "PW-1"},
            "powered_by",
            "a switch, timer, outlet, aquastat or",
        ),
    ],
    ids=lambda part: str(part)[:30],
)
def test_properties_that_contradict_one_another(kind, props, path, words):
    data = small()
    data["items"].append({"id": "X-1", "kind": kind, "at": [0, 0], "props": props})
    refusal = refused(data)
    assert refusal.path == f"items[10].props.{path}"
    assert words in str(refusal)


def exchanger(**rated):
    data = small()
    data["systems"]["melt"] = {"fluid": {"kind": "propylene_glycol", "fraction": 0.5}}
    given = {
        "a_flow": "0.5 L/s",
        "a_in": "60 degC",
        "a_out": "50 degC",
        "b_flow": "0.5 L/s",
        "b_in": "20 degC",
    }
    props = {"rated": {**given, **rated}}
    data["items"].append({"id": "HX-1", "kind": "exchanger", "at": [0, 0], "props": props})
    tube = {"material": "copper_l", "size": "1 in"}
    data["pipes"].append(
        {
            "id": "L-9",
            "from": ["HX-1", "b_out"],
            "to": ["HX-1", "b_in"],
            "system": "melt",
            "tube": tube,
            "length": "1 m",
        }
    )
    return data


def test_a_rated_point_may_repeat_what_follows_from_it_with_the_fluids_that_flow():
    # By hand: water 0.5 L/s x 988 x 4.18 x 10 K = 20.65 kW; 50 % propylene glycol at 26 degC about
    # 1041 x 3.58 kJ/m3K, so side b warms by 11.1 K.
    read.from_data(exchanger(b_out="31.1 degC"))
    refusal = refused(exchanger(b_out="30 degC"))
    assert refusal.path == "items[10].props.rated.b_out"
    assert "kW" in str(refusal)


def test_a_rated_point_beyond_any_surface_is_refused():
    assert "between a_in" in str(refused(exchanger(a_out="61 degC")))
    assert "between a_in" in str(refused(exchanger(a_out="19 degC")))
    assert "effectiveness" in str(refused(exchanger(a_out="21 degC")))
    assert refused(exchanger(a_out="21 degC")).path == "items[10].props.rated"


def test_ua_beside_rated_is_refused():
    data = exchanger()
    data["items"][10]["props"]["ua"] = "1 kW"
    assert "a heat" in str(refused(data)) or "heat per degree" in str(refused(data))
    data["items"][10]["props"]["ua"] = "500 W/K"
    assert refused(data).path == "items[10].props.ua"


def test_two_systems_may_meet_anywhere_when_read():
    data = small()
    data["pipes"][4]["system"] = "potable"
    assert read.from_data(data).pipes["L-5"].system == "potable"


def text_of(data) -> str:
    return json.dumps(data)


def loads_refused(content) -> Refusal:
    with pytest.raises(Refusal) as caught:
        read.loads(content, "shed.plant.json")
    line = str(caught.value)
    assert line.isprintable()
    assert line.startswith("shed.plant.json: ")
    return caught.value


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        ('"speed": 1.0', '"speed": 1.0, "speed": 0.9', "items[1].props.speed", "this key twice"),
        ('"title"', '"units": "us", "title"', "units", "this key twice"),
        ('"speed": 1.0', '"speed": NaN', "items[1].props.speed", "found NaN"),
        ('"speed": 1.0', '"speed": -Infinity', "items[1].props.speed", "found -Infinity"),
        ('"speed": 1.0', '"speed": 1e400', "items[1].props.speed", "found 1e400"),
        ('"speed": 1.0', '"speed": ' + "9" * 5000, "items[1].props.speed", "at most 30 digits"),
        ('"hours_per_year": 600', '"hours_per_year": ' + "9" * 29, "cases[0].hours_per_year", "8784"),
        ('"Mind the step"', '"Mind \\ud800"', "texts[0].text", "whole characters"),
        ('"speed": 1.0', '"speed": 1.0,', "line 1, column ", "a key between double quotes"),
        ('"speed": 1.0', '"speed" 1.0', "line 1, column ", "a colon after the key"),
        ('"Tool shed"', '"Tool\nshed"', "line 1, column ", "no bare control character"),
    ],
    ids=lambda part: part[:30],
)
def test_spoiled_text(old, new, path, words):
    text = text_of(SMALL)
    assert old in text
    refusal = loads_refused(text.replace(old, new, 1))
    assert refusal.path.startswith(path)
    assert words in str(refusal)


def test_syntax_errors_name_the_line():
    text = json.dumps(SMALL, indent=1).replace('"flip": true', '"flip": yes')
    line = text[: text.index("yes")].count("\n") + 1
    assert loads_refused(text).path.startswith(f"line {line}, column ")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999])
def test_a_cut_off_file_says_so(share):
    text = text_of(SMALL)
    assert "cut off" in str(loads_refused(text[: int(len(text) * share)]))


@pytest.mark.parametrize("content", [b"", b"  \n", b"\xef\xbb\xbf"])
def test_an_empty_file_says_so(content):
    assert "an empty file" in str(loads_refused(content))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (text_of(SMALL).encode("utf-16"), "UTF-16"),
        (text_of(SMALL).encode("utf-16-le"), "UTF-16"),
        (text_of(SMALL).encode("utf-32"), "UTF-16"),
        (text_of(SMALL).replace("Tool", "T\u00f6ol").encode("latin-1") + b"\xe4", "not UTF-8"),
        (b"\x00\x01\x02\x03", "UTF-16"),
        (b"PK\x03\x04 not json", "found a packed archive"),
        (b"%PDF-1.7", "found a PDF; expected"),
        (b"hello", "This is not a plant file"),
        (b"[]", "an object"),
        (b"5", "an object"),
        (b"null", "an object"),
        (text_of(SMALL).encode() + b" {}", "nothing after the end"),
    ],
)
def test_wrong_encodings_and_other_files(content, words):
    assert words in str(loads_refused(content))


def test_a_mark_of_utf_8_is_let_pass():
    assert read.loads(b"\xef\xbb\xbf" + text_of(SMALL).encode()) == read.from_data(small())


@pytest.mark.parametrize("depth", [41, 5_000, 200_000])
@pytest.mark.parametrize("brackets", ["[]", '{"a":}'])
def test_absurd_depth(depth, brackets):
    opening, closing = brackets[:-1], brackets[-1]
    text = (
        '{"format": "wetside-plant", "version": 2, "texts": ' + opening * depth + "1" + closing * depth + "}"
    )
    assert "nested too deep" in str(loads_refused(text))


def test_depth_that_no_limit_stopped_is_still_a_refusal(monkeypatch):
    monkeypatch.setattr("core.files.syntax.DEEPEST", 10**9)
    assert "nested too deep" in str(loads_refused("[" * 200_000))


def test_limits_of_names_and_systems(monkeypatch):
    data = small()
    data["systems"] = {f"s{n}": {} for n in range(limits.MOST_SYSTEMS + 1)}
    assert "at most 200" in str(refused(data))
    data["systems"] = []
    assert refused(data).path == "systems"
    data = small()
    data["pipes"][0]["joined"] = ""
    assert refused(data).path == "pipes[0].joined"


def test_half_a_character_in_a_key():
    text = text_of(SMALL).replace('"text":', '"te\\ud800":')
    assert 'key "te\\ud800"' in str(loads_refused(text))


def test_brackets_inside_texts_are_no_depth():
    data = small()
    data["title"] = "[{" * 90 + '\\"['
    assert read.loads(text_of(data)).title == data["title"]


def test_absurd_size(monkeypatch):
    monkeypatch.setattr("core.files.syntax.LARGEST_FILE", 100)
    assert "at most 100 bytes" in str(loads_refused(text_of(SMALL).encode()))
    data = small()
    data["items"] = [{"id": f"J-{n}", "kind": "joint", "at": [0, 0]} for n in range(limits.MOST_ITEMS + 1)]
    assert "20001 entries" in str(refused(data))


def test_files_that_cannot_be_read(tmp_path):
    def why(path) -> str:
        with pytest.raises(Refusal) as caught:
            read.load(path)
        assert str(caught.value).startswith(str(path).split("\0")[0][:20])
        return str(caught.value)

    assert "a folder" in why(tmp_path)
    assert "no such file" in why(tmp_path / "none.plant.json")
    assert "cannot be read" in why(str(tmp_path / "a\0b.plant.json"))
    shut = tmp_path / "shut.plant.json"
    shut.write_text("{}")
    shut.chmod(0)
    if os.geteuid():
        assert "no permission" in why(shut)
    fifo = tmp_path / "pipe.plant.json"
    if sys.platform != "win32":
        os.mkfifo(fifo)
        assert "not a file" in why(fifo)


def test_a_name_with_line_ends_stays_on_one_line(tmp_path):
    with pytest.raises(Refusal) as caught:
        read.load(tmp_path / "two\nlines.plant.json")
    assert str(caught.value).isprintable()


def test_hidden_characters_are_kept_and_shown():
    data = small()
    data["title"] = "left \u202eright\u0007"
    assert read.from_data(data).title == data["title"]
    data["units"] = "left \u202eright\u0007"
    assert "\\u202eright\\u0007" in str(refused(data))


def test_thousands_of_pipes_are_read():
    tube = {"material": "copper_l", "size": "1 in"}
    items = [{"id": f"J-{n}", "kind": "joint", "at": [n, 0]} for n in range(3000)]
    pipes = [
        {
            "id": f"L-{n}",
            "from": [f"J-{n}", "at"],
            "to": [f"J-{(n * 7 + 1) % 3000}", "at"],
            "system": "s",
            "tube": tube,
            "length": f"{n}.5 ft",
            "fittings": {"elbow_90": 2},
        }
        for n in range(3000)
    ]
    text = json.dumps(
        {"format": "wetside-plant", "version": 2, "systems": {"s": {}}, "items": items, "pipes": pipes}
    )
    plant = read.loads(text)
    assert len(plant.pipes) == 3000
