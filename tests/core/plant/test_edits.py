"""What a user does to a drawing: each edit leaves a valid plant and can be undone to the letter."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import Refusal
from core.files import read, write
from core.plant import edits
from core.plant.changes import (
    AddItem,
    AddPipe,
    RemoveItem,
    RemovePipe,
    ReplaceItem,
    ReplacePipe,
    SetPlant,
    apply,
    fitted,
    inverses,
)
from core.plant.model import Item, Pipe, Plant, PortRef, System
from core.vocabulary.guesses import Guess
from tests.support.edits import inserted, with_fields
from tests.support.small_plant import small


@pytest.fixture
def plant():
    return read.from_data(small())


def done(plant: Plant, changes) -> Plant:
    """The plant after an edit, which must be valid, writable, and undone to the letter."""
    after = fitted(plant, changes)
    assert read.loads(write.dumps(after)) == after
    assert write.dumps(apply(after, inverses(plant, changes))) == write.dumps(plant)
    return after


def test_a_new_item_gets_the_next_tag(plant):
    after = done(plant, inserted(plant, "circulator", (10, 20), turn=450))
    assert after.items["P-2"] == Item("P-2", "circulator", (10, 20), turn=90)
    assert edits.fresh_id(plant, "L") == "L-7"
    assert edits.fresh_id(plant, "L", ["L-7"]) == "L-8"


def test_moving_takes_bends_along_where_both_ends_move(plant):
    alone = done(plant, edits.move(plant, ["B-1"], 10, 0))
    assert alone.items["B-1"].at == (10, 0)
    assert alone.pipes["L-1"].via == ((420, 240),)
    both = done(plant, edits.move(plant, ["B-1", "P-1"], 10, -20))
    assert both.pipes["L-1"].via == ((430, 220),)
    assert edits.move(plant, ["B-1"], 0, 0) == []


def test_turning_and_mirroring(plant):
    assert done(plant, edits.rotate(plant, ["P-1"])).items["P-1"].turn == 180
    assert done(plant, edits.rotate(plant, ["P-1"], -2)).items["P-1"].turn == 270
    once = done(plant, edits.mirror(plant, ["P-1"]))
    # a left-right mirror of what was turned clockwise is turned the other way
    assert (once.items["P-1"].flip, once.items["P-1"].turn) == (False, 270)
    assert done(once, edits.mirror(once, ["P-1"])) == plant


def test_a_pipe_follows_what_it_starts_at(plant):
    two = done(plant, inserted(plant, "drain", (0, 0)))
    after = done(two, edits.connect(two, PortRef("J-1", "at"), PortRef("D-1", "at")))
    pipe = after.pipes["L-7"]
    assert (pipe.system, pipe.length, pipe.start, pipe.end) == (
        "floor",
        Guess("6 ft", 0.5),
        ("J-1", "at"),
        ("D-1", "at"),
    )
    assert pipe.tube == {"bore": "13 mm", "roughness": "0.002 mm", "outside": "16 mm"}
    fresh = done(two, edits.connect(two, PortRef("F-1", "cold"), PortRef("D-1", "at"), length="2 m"))
    assert (fresh.pipes["L-7"].system, fresh.pipes["L-7"].length) == ("potable", "2 m")


def test_a_pipe_between_new_things_has_a_usual_tube():
    plant = read.from_data({"format": "wetside-plant", "version": 2, "systems": {"s": {}}})
    plant = apply(plant, inserted(plant, "drain", (0, 0)))
    plant = apply(plant, inserted(plant, "gauge", (0, 0)))
    after = done(plant, edits.connect(plant, PortRef("D-1", "at"), PortRef("PG-1", "at")))
    assert after.pipes["L-1"].tube == {"material": "copper_l", "size": "3/4 in"}


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (("B-1", "out"), ("J-1", "at"), "Tee into L-1 instead"),
        (("J-1", "at"), ("B-1", "in"), "Tee into L-5 instead"),
        (("J-1", "at"), ("J-1", "at"), "another port"),
        (("J-1", "in"), ("F-1", "cold"), "a port of an item"),
        (("J-9", "at"), ("F-1", "cold"), "a port of an item"),
    ],
)
def test_what_cannot_be_connected(plant, start, end, words):
    with pytest.raises(Refusal, match=words):
        edits.connect(plant, PortRef(*start), PortRef(*end))


def test_without_a_system_no_pipe():
    plant = apply(Plant(), [AddItem(Item("J-1", "joint", (0, 0))), AddItem(Item("J-2", "joint", (9, 0)))])
    with pytest.raises(Refusal, match="Add one first"):
        edits.connect(plant, PortRef("J-1", "at"), PortRef("J-2", "at"))


def test_a_tee_splits_the_pipe_where_it_was_hit(plant):
    after = done(plant, edits.tee(plant, PortRef("F-1", "cold"), "L-1", (410, 240), 1 / 3))
    first, second, branch = after.pipes["L-1"], after.pipes["L-7"], after.pipes["L-8"]
    assert (first.length, second.length) == ("2 ft", "4 ft")
    assert (first.end, second.start, second.end) == (("J-2", "at"), ("J-2", "at"), ("P-1", "in"))
    assert (branch.start, branch.end) == (("F-1", "cold"), ("J-2", "at"))
    assert dict(Counter(first.fittings) + Counter(second.fittings)) == {"elbow_90": 2, "tee_run": 1}
    assert first.k + second.k == 0.5
    assert (first.via, second.via) in [((), ((420, 240),)), (((420, 240),), ())]
    assert list(after.pipes)[:2] == ["L-1", "L-7"], "the second half stands beside the first in the file"


def test_a_bolted_pair_can_be_parted_by_a_tee(plant):
    after = done(plant, edits.tee(plant, PortRef("F-1", "cold"), "L-2", (150, 0), 0.5))
    assert (after.pipes["L-2"].joined, after.pipes["L-7"].joined) == ("flanged", "flanged")
    assert after.pipes["L-8"].length == Guess("6 ft", 0.5)


def test_in_line_and_out_again(plant):
    inside = done(plant, edits.insert_in_line(plant, "shutoff", "L-1", (400, 240), 0.25))
    assert inside.pipes["L-1"].end == ("V-1", "a")
    assert inside.pipes["L-7"].start == ("V-1", "b")
    assert (inside.pipes["L-1"].length, inside.pipes["L-7"].length) == ("1.5 ft", "4.5 ft")
    out = done(inside, edits.delete(inside, ["V-1"]))
    pipe, old = out.pipes["L-1"], plant.pipes["L-1"]
    assert (pipe.length, dict(pipe.fittings), pipe.k, pipe.via) == (
        old.length,
        dict(old.fittings),
        old.k,
        old.via,
    )
    assert "V-1" not in out.items


def test_an_item_at_hand_is_put_in_line(plant):
    plant = apply(plant, inserted(plant, "check_valve", (300, 240)))
    after = done(plant, edits.put_in_line(plant, "CV-1", "L-5", 0.5))
    assert after.pipes["L-5"].end == ("CV-1", "in")
    with pytest.raises(Refusal, match="an item without pipes"):
        edits.put_in_line(after, "CV-1", "L-1", 0.5)
    with pytest.raises(Refusal, match="two ports in a line"):
        edits.insert_in_line(plant, "drain", "L-1", (0, 0), 0.5)


def test_healing_adds_lengths_in_the_unit_of_the_first(plant):
    changes = [
        ReplacePipe(
            Pipe("L-4", PortRef("J-1", "at"), PortRef("FC-1", "in"), "floor", {"bore": "1 in"}, "1 m")
        ),
    ]
    plant = apply(plant, changes)
    gone = done(plant, edits.delete(plant, ["L-3"]))
    # L-2 is bolted: the joint between it and L-4 goes, and the tube of L-4 stays
    assert "J-1" not in gone.items
    assert (gone.pipes["L-2"].length, gone.pipes["L-2"].end) == ("1 m", ("FC-1", "in"))
    assert gone.pipes["L-2"].joined == ""


def test_two_bolted_pairs_heal_to_one(plant):
    data = small()
    data["pipes"][3] = {
        "id": "L-4",
        "from": ["J-1", "at"],
        "to": ["FC-1", "in"],
        "system": "floor",
        "joined": "flanged",
    }
    plant = read.from_data(data)
    after = done(plant, edits.delete(plant, ["L-3"]))
    assert (after.pipes["L-2"].joined, after.pipes["L-2"].end) == ("flanged", ("FC-1", "in"))


def test_deleting_a_source_takes_its_pipes(plant):
    after = done(plant, edits.delete(plant, ["B-1"]))
    assert set(after.pipes) == {"L-2", "L-3", "L-4", "L-6"}
    assert "senses" not in after.items["P-1"].props
    assert "lead_to" not in after.texts[0]


def test_what_mentions_the_deleted_forgets_it(plant):
    after = done(plant, edits.delete(plant, ["AQ-1", "T-1", "F-1", "R-1"]))
    assert after.items["P-1"].props["run_when"] == {"any": [{"not": "SW-1"}]}
    assert (after.cases[0].signals, after.cases[0].draws, after.cases[0].tanks) == ({}, {}, {})
    assert "serves" not in after.items["FC-1"].props
    again = done(after, edits.delete(after, ["SW-1"]))
    assert "run_when" not in again.items["P-1"].props


def test_records_outlive_what_they_tell_of(plant):
    after = done(plant, edits.delete(plant, ["P-1"]))
    assert after.logbook[0]["at"] == ["P-1"]


def test_everything_can_be_deleted_at_once(plant):
    after = done(plant, edits.delete(plant, [*plant.pipes, *plant.items]))
    assert (after.items, after.pipes) == ({}, {})


def test_setting_properties(plant):
    after = done(plant, edits.set_props(plant, "P-1", {"speed": 0.8, "target": "8 K", "body": None}))
    assert after.items["P-1"].si["speed"] == 0.8
    assert "body" not in after.items["P-1"].props
    assert edits.set_props(plant, "P-1", {"speed": 1.0}) == []
    with pytest.raises(Refusal, match="It is a head or pressure"):
        edits.set_props(plant, "P-1", {"target": "9 ft_head"})


def test_setting_fields(plant):
    assert done(plant, with_fields(plant, "P-1", label="Main")).items["P-1"].label == "Main"
    assert done(plant, edits.set_pipe(plant, "L-1", length="7 ft")).pipes["L-1"].si.length == pytest.approx(
        2.1336
    )
    with pytest.raises(Refusal, match="gpm is a flow"):
        edits.set_pipe(plant, "L-1", length="7 gpm")


def test_a_new_tag_is_followed_everywhere(plant):
    after = plant
    for old, new in (
        ("AQ-1", "T.low"),
        ("B-1", "Boiler"),
        ("R-1", "Hall"),
        ("T-1", "Tank"),
        ("F-1", "Tap"),
        ("P-1", "Pump"),
    ):
        after = done(after, edits.rename(after, old, new))
    assert next(iter(after.items)) == "Boiler", "the rank in the file stays"
    assert after.pipes["L-1"].start == ("Boiler", "out")
    assert after.items["Pump"].props["senses"] == [["Boiler", "out"], ["Boiler", "in"]]
    assert after.items["Pump"].props["run_when"]["any"][0] == "T.low"
    assert after.items["FC-1"].props["serves"] == "Hall"
    assert after.items["T.low"].props["senses"] == ["Tank", "hot"]
    case = after.cases[0]
    assert (list(case.signals), list(case.draws), list(case.tanks)) == (["T.low"], ["Tap"], ["Tank"])
    assert after.texts[0]["lead_to"] == "Boiler"
    assert after.logbook[0]["at"] == ["Pump"]
    piped = done(plant, edits.rename(plant, "L-1", "Riser"))
    assert next(iter(piped.pipes)) == "Riser"


@pytest.mark.parametrize("new", ["", "two words", "P-1", "L-1"])
def test_tags_that_cannot_be(plant, new):
    with pytest.raises(Refusal):
        edits.rename(plant, "B-1", new)
    assert edits.rename(plant, "B-1", "B-1") == []


def test_changes_refuse_what_does_not_fit(plant):
    item, pipe = plant.items["B-1"], plant.pipes["L-1"]
    for change in (
        AddItem(item),
        AddPipe(pipe),
        RemoveItem("B-9"),
        RemovePipe("L-9"),
        ReplaceItem(item, "B-9"),
        ReplaceItem(item, "P-1"),
        ReplacePipe(pipe, "L-9"),
        ReplacePipe(pipe, "L-2"),
        SetPlant({"items": {}}),
    ):
        with pytest.raises(Refusal):
            apply(plant, [change])
    with pytest.raises(Refusal, match="the id of an item"):
        fitted(plant, [RemoveItem("FC-1")])


def test_the_rest_of_a_plant_is_set_and_set_back(plant):
    after = done(plant, [SetPlant({"title": "Barn", "cases": plant.cases[:1], "site": {}})])
    assert (after.title, len(after.cases)) == ("Barn", 1)


@st.composite
def stories(draw):
    """A number of edits, each given as the seed of a choice among what can be done then."""
    return draw(
        st.lists(
            st.tuples(st.integers(0, 8), st.integers(0, 10**6), st.floats(0, 1)), min_size=1, max_size=12
        )
    )


def one_edit(plant: Plant, what: int, pick: int, share: float):
    items, pipes = list(plant.items), list(plant.pipes)
    kinds = ("shutoff", "circulator", "joint", "drain", "exchanger", "tank", "check_valve")
    kind = kinds[pick % len(kinds)]
    item, pipe = items[pick % len(items)] if items else "", pipes[pick % len(pipes)] if pipes else ""
    at = (float(pick % 50) * 10, share * 400)
    match what:
        case 0:
            return inserted(plant, kind, at)
        case 1:
            return edits.delete(plant, [item] if item else [])
        case 2:
            return edits.delete(plant, [pipe, item] if pipe else [])
        case 3:
            return edits.move(plant, items[: pick % 4], 10, -30)
        case 4:
            return [*edits.rotate(plant, items[:2]), *edits.mirror(plant, items[3:4])]
        case 5:
            return edits.insert_in_line(plant, kind, pipe, at, share) if pipe else []
        case 6:
            ports = [PortRef(one.id, port) for one in plant.items.values() for port in one.ports]
            return (
                edits.connect(plant, ports[pick % len(ports)], ports[(pick // 7) % len(ports)])
                if ports
                else []
            )
        case 7:
            ports = [PortRef(one.id, port) for one in plant.items.values() for port in one.ports]
            return edits.tee(plant, ports[pick % len(ports)], pipe, at, share) if pipe else []
        case _:
            return edits.rename(plant, item, f"N-{pick}") if item else []


@given(stories())
@settings(max_examples=120)
def test_any_story_is_undone_to_the_letter(story):
    start = plant = read.from_data(small())
    backward = []
    for step in story:
        try:
            changes = one_edit(plant, *step)
        except Refusal:
            continue
        backward = [*inverses(plant, changes), *backward]
        plant = fitted(plant, changes)
    again = apply(plant, backward)
    assert again == start
    assert write.dumps(again) == write.dumps(start)


def test_a_pipe_is_like_what_it_starts_at_beyond_flanges_and_else_like_the_far_end() -> None:
    pex = {"material": "pex", "size": "1 in"}
    lagged = {"thickness": "1/2 in"}
    items = [
        Item("V-1", "shutoff", (0, 0)),
        Item("V-2", "shutoff", (100, 0)),
        Item("P-1", "circulator", (200, 0)),
        Item("V-3", "shutoff", (300, 0)),
        Item("RA-1", "radiator", (400, 0)),
    ]
    pipes = [
        Pipe("L-1", PortRef("V-1", "b"), PortRef("V-2", "a"), "melt", pex, "2 ft", insulation=lagged),
        Pipe("L-2", PortRef("V-2", "b"), PortRef("P-1", "in"), "melt", joined="flanged"),
        Pipe("L-3", PortRef("P-1", "out"), PortRef("V-3", "a"), "melt", joined="flanged"),
    ]
    plant = Plant(
        systems={name: System(name) for name in ("floor", "melt")},
        items={item.id: item for item in items},
        pipes={pipe.id: pipe for pipe in pipes},
    )
    for start, end in (("V-3", "b"), ("RA-1", "in")), (("RA-1", "in"), ("V-3", "b")):
        (change,) = edits.connect(plant, PortRef(*start), PortRef(*end))
        assert isinstance(change, AddPipe)
        assert (change.pipe.system, change.pipe.tube, change.pipe.insulation) == ("melt", pex, lagged)


@pytest.mark.parametrize(("share", "keeps"), [(0.2, (0.0, 3.5)), (0.5, (3.5, 0.0)), (0.8, (3.5, 0.0))])
def test_the_longer_part_of_a_split_pipe_keeps_its_loss_figure(plant, share, keeps):
    lossy = fitted(plant, edits.set_pipe(plant, "L-1", k=3.5))
    after = done(lossy, edits.split_pipe(lossy, "L-1", (420, 240), share)[0])
    assert (after.pipes["L-1"].k, after.pipes["L-7"].k) == keeps
