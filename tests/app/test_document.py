"""The document as the only writer: undo, redo, merging, refusals, selection."""

from __future__ import annotations

import pytest

from app.document import Document, empty_plant
from core.errors import Refusal
from core.plant import edits
from core.plant.changes import AddItem, RemoveItem
from core.plant.model import Item, Plant
from tests.support.edits import inserted


def circulator(name: str = "P-1") -> Item:
    return Item(name, "circulator", (100, 100))


def test_undo_and_redo_walk_the_whole_way(qapp: object) -> None:
    document = Document()
    seen: list[Plant] = [document.plant]
    for kind in ("boiler", "circulator", "radiator"):
        document.do(f"Insert {kind}", inserted(document.plant, kind, (0, 0)))
        seen.append(document.plant)
    for expected in reversed(seen[:-1]):
        document.stack.undo()
        assert document.plant == expected
    for expected in seen[1:]:
        document.stack.redo()
        assert document.plant == expected


def test_a_run_of_nudges_is_one_step(qapp: object) -> None:
    document = Document()
    document.do("Insert", [AddItem(circulator())])
    for _ in range(5):
        document.do("Move P-1", edits.move(document.plant, ["P-1"], 10, 0), run="nudge 1")
    assert document.plant.items["P-1"].at == (150, 100)
    assert document.stack.count() == 2
    document.stack.undo()
    assert document.plant.items["P-1"].at == (100, 100)
    document.stack.redo()
    assert document.plant.items["P-1"].at == (150, 100)


def test_a_refused_change_leaves_everything_as_it_was(qapp: object) -> None:
    document = Document()
    document.do("Insert", [AddItem(circulator())])
    before, count, revision = document.plant, document.stack.count(), document.revision
    with pytest.raises(Refusal):
        document.do("Insert again", [AddItem(circulator())])
    with pytest.raises(Refusal):
        document.do("Spoil", [AddItem(Item("X", "circulator", (0, 0), props={"speed": -5}))])
    assert (document.plant, document.stack.count(), document.revision) == (before, count, revision)


def test_a_change_that_changes_nothing_is_no_step(qapp: object) -> None:
    document = Document()
    document.do("Insert", [AddItem(circulator())])
    document.do("Insert and take away", [AddItem(circulator("P-2")), RemoveItem("P-2")])
    assert document.stack.count() == 1


def test_clean_follows_saving_undo_and_redo(qapp: object, tmp_path: object) -> None:
    document = Document()
    assert document.clean
    document.do("Insert", [AddItem(circulator())])
    assert not document.clean
    document.saved(tmp_path / "a.plant.json")  # type: ignore[operator]
    assert document.clean
    document.stack.undo()
    assert not document.clean
    document.stack.redo()
    assert document.clean


def test_what_is_gone_is_not_selected_when_views_hear_of_it(qapp: object) -> None:
    document = Document()
    document.do("Insert", [AddItem(circulator())])
    document.select(["P-1", "no such"])
    assert document.selection == {"P-1"}
    heard: list[frozenset[str]] = []
    document.changed.connect(lambda _changes: heard.append(document.selection))
    document.do("Delete", edits.delete(document.plant, ["P-1"]))
    assert heard == [frozenset()]


def test_an_empty_plant_has_a_home_for_the_first_pipe(qapp: object) -> None:
    assert {system.use for system in empty_plant().systems.values()} == {"closed", "potable"}
