"""The journal brings back what was changed, whatever the changes were and wherever its writing stopped."""

import dataclasses
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from core.files import journal, read, save
from core.files.holder import Holder
from core.files.places import stamp_of
from core.plant import edits
from core.plant.changes import AddItem, RemoveItem, ReplaceItem, SetPlant, apply
from core.plant.model import Case, Item, Plant
from tests.support.small_plant import small

SAMPLES = Path(__file__).parents[3] / "sample_plants"


@pytest.fixture
def plant():
    return read.from_data(small())


def orphaned(place: Path) -> None:
    """Make a journal that of a process which has ended."""
    gone = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, text=True
    )
    head, _, rest = place.read_bytes().partition(b"\n")
    data = json.loads(head)
    data["holder"] |= {"pid": int(gone.stdout), "started": "then"}
    place.write_bytes(json.dumps(data).encode() + b"\n" + rest)


def recovered(writer: journal.Writer) -> journal.Found | None:
    writer.close()
    assert writer.place is not None
    orphaned(writer.place)
    return journal.recover(writer.place)


def test_every_sort_of_change_comes_back(plant, tmp_path):
    item = next(iter(plant.items.values()))
    steps = [
        [AddItem(Item("J-90", "joint", (900.0, 900.0)), 0)],
        [ReplaceItem(dataclasses.replace(plant.items[item.id], label="Größe ½")), SetPlant({"title": "Ü"})],
        [SetPlant({"cases": (Case("Winter", season="cold"), Case("Summer")), "revision": "B"})],
        [SetPlant({"revision": ""})],
        [ReplaceItem(Item("J-91", "joint", (10.0, 10.0)), "J-90")],
    ]
    file = tmp_path / "a.plant.json"
    save.save(plant, file)
    writer = journal.Writer(file, stamp_of(file), plant, tmp_path / "state")
    for step in steps:
        plant = apply(plant, step)
        writer.note(plant)
    found = recovered(writer)
    assert found is not None
    assert found.plant == plant
    assert list(found.plant.items) == list(plant.items)
    assert (found.file, found.stamp, found.changes) == (file, stamp_of(file), 5)


def test_random_edits_of_the_main_sample_come_back(tmp_path):
    plant = read.load(SAMPLES / "kennel_clinic.plant.json")
    chance = random.Random(11)
    writer = journal.Writer(None, None, plant, tmp_path)
    for number in range(40):
        names = [*plant.items, *plant.pipes]
        if number % 3:
            changes = edits.delete(plant, [chance.choice(names)])
        else:
            changes = [AddItem(Item(f"J-{900 + number}", "joint", (10.0 * number, 0.0)), chance.randrange(5))]
        plant = apply(plant, changes)
        writer.note(plant)
    found = recovered(writer)
    assert found is not None
    assert found.plant == plant
    assert [*found.plant.items, *found.plant.pipes] == [*plant.items, *plant.pipes]


def test_changes_written_at_once_count_each(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path, 4)
    writer.note(apply(plant, [SetPlant({"title": "third"})]), "Title", 7)
    writer.note(apply(plant, [SetPlant({"title": "fourth"})]), "Title", 8)
    found = recovered(writer)
    assert found is not None
    assert found.changes == 4


def test_a_last_line_cut_short_is_left_out(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    first = apply(plant, [SetPlant({"title": "first"})])
    writer.note(first)
    writer.note(apply(first, [SetPlant({"title": "second"})]))
    writer.close()
    assert writer.place is not None
    orphaned(writer.place)
    writer.place.write_bytes(writer.place.read_bytes()[:-40])
    found = journal.recover(writer.place)
    assert found is not None
    assert (found.plant.title, found.changes) == ("first", 1)


def test_lines_that_give_no_valid_plant_are_left_out(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.note(apply(plant, [SetPlant({"title": "sound"})]))
    piped = next(iter(plant.pipes.values())).start.item
    writer.note(apply(plant, [RemoveItem(piped)]))  # its pipes hang in the air
    found = recovered(writer)
    assert found is not None
    assert (found.plant.title, found.changes) == ("sound", 1)


def test_a_folder_that_cannot_be_written_has_its_journal_in_the_state_folder(plant, tmp_path, monkeypatch):
    folder, state = tmp_path / "shared", tmp_path / "state"
    folder.mkdir()
    file = folder / "a [1].plant.json"
    save.save(plant, file)
    real = os.open

    def refuse(path, *more, **named):
        if Path(path).parent == folder:
            raise PermissionError(13, "Permission denied")
        return real(path, *more, **named)

    monkeypatch.setattr(os, "open", refuse)
    writer = journal.Writer(file, stamp_of(file), plant, state)
    writer.note(apply(plant, [SetPlant({"title": "kept"})]))
    monkeypatch.undo()
    found = recovered(writer)
    assert found is not None
    assert found.place.parent == state
    assert [one.plant.title for one in journal.look(file, state)] == ["kept"]
    assert journal.all_of(state) == [file]
    assert journal.look(folder / "b.plant.json", state) == []


def test_a_left_journal_is_never_written_over_and_both_are_found(plant, tmp_path):
    file = tmp_path / "a.plant.json"
    save.save(plant, file)
    for title in ("one", "two"):
        writer = journal.Writer(file, None, plant, tmp_path / "state")
        writer.note(apply(plant, [SetPlant({"title": title})]))
        assert recovered(writer) is not None
    found = journal.look(file, tmp_path / "state")
    assert {one.plant.title for one in found} == {"one", "two"}
    assert found[0].at >= found[1].at
    found[0].remove()
    assert len(journal.look(file, tmp_path / "state")) == 1


def test_the_journal_of_a_living_process_is_not_offered(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.note(apply(plant, [SetPlant({"title": "mine"})]))
    assert journal.look(None, tmp_path) == []
    writer.discard()
    assert list(tmp_path.iterdir()) == []


def test_a_long_journal_begins_anew_and_stays_whole(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    long = "x" * 19_000
    for number in range(120):
        item = dataclasses.replace(next(iter(plant.items.values())), note=f"{number} {long}")
        plant = apply(plant, [ReplaceItem(item)])
        writer.note(plant)
    assert len(list(tmp_path.iterdir())) == 1
    found = recovered(writer)
    assert found is not None
    assert found.plant == plant
    assert found.place.stat().st_size < 1_500_000


def test_spoiled_journals_are_passed_over(tmp_path):
    for number, text in enumerate((b"", b"{}", b'{"wetside-journal": 1}', b"\xff\xfe", b"[1]\n2")):
        (tmp_path / f"untitled-{number}.journal").write_bytes(text)
    assert journal.look(None, tmp_path) == []


def test_nothing_is_written_before_the_first_change(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.note(plant)
    assert list(tmp_path.iterdir()) == []


def test_who_started_earlier_with_the_same_number_is_gone():
    now = Holder(os.getpid(), "", "", "", time.time())
    assert not now.here
    assert not now.gone, "nothing is known of another machine"


def test_an_empty_plant_that_was_drawn_on(tmp_path):
    start = Plant()
    writer = journal.Writer(None, None, start, tmp_path)
    after = apply(start, [AddItem(Item("J-1", "joint", (0.0, 0.0)))])
    writer.note(after)
    found = recovered(writer)
    assert found is not None
    assert (found.file, found.plant) == (None, after)


DAMAGES = [b"\xff\x00{", b"[1]", b'{"items": 5}', b'{"rest": 5}', b'{"pipes_order": ["L-77"]}']


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_journal_gives_back_all_changes_before_the_damage(plant, tmp_path, damage):
    writer = journal.Writer(None, None, plant, tmp_path)
    titles = ["One", "Two", "Three"]
    for title in titles:
        writer.note(dataclasses.replace(plant, title=title), title)
    writer.close()
    place = writer.place
    orphaned(place)
    lines = place.read_bytes().splitlines()
    place.write_bytes(b"\n".join([*lines[:3], damage, *lines[4:]]) + b"\n")
    found = journal.recover(place)
    assert found is not None
    assert found.plant.title == "Two"


NOT_TAKEN = (("B-1", "set_temperature", "Set temperature", "20 psi", "That is a pressure."),)


def test_what_was_typed_and_not_taken_comes_back_beside_the_changes(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.keep((("", "title", "Title", "x", "No."),))
    after = dataclasses.replace(plant, title="Two")
    writer.note(after)
    writer.keep(NOT_TAKEN)
    found = recovered(writer)
    assert found is not None
    assert (found.plant, found.changes, found.refused) == (after, 1, NOT_TAKEN)


def test_what_was_not_taken_is_kept_without_any_change_and_goes_when_it_is_taken(plant, tmp_path):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.keep(NOT_TAKEN)
    writer.keep(())
    assert list(tmp_path.iterdir()) == []
    writer.keep(NOT_TAKEN)
    found = recovered(writer)
    assert found is not None
    assert (found.plant, found.changes, found.refused) == (plant, 0, NOT_TAKEN)


@pytest.mark.parametrize("damage", [5, [5], [["B-1", "k", "n", "t"]], [["B-1", "k", "n", 5, "r"]]])
def test_what_was_not_taken_is_passed_over_where_it_is_spoiled(plant, tmp_path, damage):
    writer = journal.Writer(None, None, plant, tmp_path)
    writer.note(dataclasses.replace(plant, title="Two"))
    writer.close()
    with writer.place.open("ab") as out:
        out.write(json.dumps({"changes": 0, "refused": damage}).encode() + b"\n")
    orphaned(writer.place)
    found = journal.recover(writer.place)
    assert found is not None
    assert (found.plant.title, found.refused) == ("Two", ())
