"""A part taken out of a plant and put in again: tags, ends, what it refers to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.diagram.symbols import port_place
from core.errors import Refusal
from core.files import clip
from core.files.read import load
from core.files.write import dumps
from core.plant.changes import apply, fitted
from core.plant.edits import delete
from core.plant.excerpt import Excerpt, excerpt, paste
from core.plant.model import Plant, PortRef
from core.plant.validity import check
from tests.plants.edits import file_of

SAMPLES = sorted((Path(__file__).parents[3] / "sample_plants").glob("*.plant.json"))


def taken(plant: Plant, ids: set[str], texts: tuple[int, ...] = ()) -> Excerpt:
    return excerpt(plant, ids, lambda ref: port_place(plant.items[ref.item], ref.port), texts)


@pytest.fixture(scope="module")
def clinic() -> Plant:
    return load(file_of("two_heater_clinic"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
def test_a_whole_plant_goes_through_the_clipboard_unaltered(path: Path) -> None:
    plant = load(path)
    whole = taken(plant, {*plant.items, *plant.pipes}, tuple(range(len(plant.texts))))
    again = clip.from_text(clip.to_text(whole))
    assert again.plant.items == plant.items
    assert again.plant.pipes == plant.pipes
    assert not again.outside
    pasted = paste(Plant(), again)
    fresh = fitted(Plant(), pasted.changes)
    assert (fresh.items, fresh.pipes, fresh.systems) == (plant.items, plant.pipes, again.plant.systems)
    assert all(old == new for old, new in pasted.names.items())


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
def test_a_duplicate_of_all_is_valid_and_refers_to_itself(path: Path) -> None:
    plant = load(path)
    whole = taken(plant, {*plant.items, *plant.pipes})
    pasted = paste(plant, whole, (2000.0, 0.0))
    twice = fitted(plant, pasted.changes)
    assert not check(twice)
    assert len(twice.items) == 2 * len(plant.items)
    assert len(twice.pipes) == 2 * len(plant.pipes)
    assert not pasted.forgotten
    fresh = set(pasted.names.values())
    assert not fresh & {*plant.items, *plant.pipes}
    back = {new: old for old, new in pasted.names.items()}
    assert all(twice.items[name].at == (plant.items[back[name]].at[0] + 2000.0, plant.items[back[name]].at[1])
               for name in fresh & twice.items.keys())  # fmt: skip
    for item in (twice.items[name] for name in fresh & twice.items.keys()):
        words = dumps(Plant(items={item.id: replace(item, label="", note="")}))
        for old in plant.signal_ids:
            assert f'"{old}"' not in words, f"{item.id} still heeds {old}"


def test_pipes_between_the_items_come_along_and_cut_ones_end_open(clinic: Plant) -> None:
    pipe = next(p for p in clinic.pipes.values() if not p.joined)
    both = taken(clinic, {pipe.start.item, pipe.end.item})
    assert pipe.id in both.plant.pipes
    cut = taken(clinic, {pipe.id, pipe.start.item}).plant
    end = cut.pipes[pipe.id].end
    assert cut.items[end.item].kind == "joint"
    assert cut.items[end.item].at == port_place(clinic.items[pipe.end.item], pipe.end.port)
    assert cut.pipes[pipe.id].start == pipe.start
    assert not check(cut)
    alone = taken(clinic, {pipe.start.item}).plant
    assert not alone.pipes


def test_references_inside_follow_and_those_outside_are_kept_or_forgotten(clinic: Plant) -> None:
    pump = next(i for i in clinic.items.values() if i.kind == "circulator" and "run_when" in i.props)
    alone = clip.from_text(clip.to_text(taken(clinic, {pump.id})))
    assert "run_when" not in alone.plant.items[pump.id].props
    assert alone.outside[pump.id]["run_when"] == pump.props["run_when"]
    here = paste(clinic, alone)
    plant = fitted(clinic, here.changes)
    copy = plant.items[here.names[pump.id]]
    assert copy.id != pump.id
    assert copy.props == pump.props
    assert not here.forgotten
    elsewhere = paste(Plant(), alone)
    bare = fitted(Plant(), elsewhere.changes).items[pump.id]
    assert "run_when" not in bare.props
    (words,) = elsewhere.forgotten
    assert words.startswith(f"{pump.id} forgot ")


def test_copies_draw_and_stand_in_each_case_as_their_originals(clinic: Plant) -> None:
    case = next(case for case in clinic.cases if case.draws and case.signals)
    drawing, signal = next(iter(case.draws)), next(iter(case.signals))
    part = clip.from_text(clip.to_text(taken(clinic, {drawing, signal})))
    pasted = paste(clinic, part)
    plant = fitted(clinic, pasted.changes)
    assert not check(plant)
    for old, new in zip(clinic.cases, plant.cases, strict=True):
        for name in (drawing, signal):
            copy = pasted.names[name]
            assert copy != name
            assert new.draws.get(copy) == old.draws.get(name)
            assert new.signals.get(copy) == old.signals.get(name)
        assert replace(new, draws=old.draws, signals=old.signals) == old
        assert old.draws.items() <= new.draws.items()


def test_cases_stay_behind_in_words_or_come_along_to_an_empty_board(clinic: Plant) -> None:
    case = next(case for case in clinic.cases if case.draws)
    part = taken(clinic, {next(iter(case.draws))})
    elsewhere = replace(clinic, cases=(replace(case, name="Elsewhere", draws={}),))
    pasted = paste(elsewhere, part)
    assert case.name in " ".join(pasted.forgotten)
    assert fitted(elsewhere, pasted.changes).cases == elsewhere.cases
    bare = paste(Plant(), part)
    assert not bare.forgotten
    assert [each.name for each in fitted(Plant(), bare.changes).cases] == [each.name for each in clinic.cases]
    assert not paste(clinic, taken(clinic, {"P-1"})).forgotten


def test_cut_and_paste_keeps_tags(clinic: Plant) -> None:
    pump = next(i for i in clinic.items.values() if i.kind == "circulator")
    part = taken(clinic, {pump.id})
    without = apply(clinic, delete(clinic, [pump.id]))
    pasted = paste(without, part)
    assert fitted(without, pasted.changes).items[pump.id] == pump


def test_a_long_tag_of_ones_own_gets_a_number(clinic: Plant) -> None:
    pump = next(i for i in clinic.items.values() if i.kind == "circulator")
    for name, fresh in (("Kitchen", "Kitchen-1"), ("x" * 40, "P-"), ("main-7", "main-1")):
        plant = Plant(items={name: replace(pump, id=name, props={})})
        assert paste(plant, Excerpt(plant)).names[name].startswith(fresh)


def test_what_is_no_excerpt_is_refused_in_words() -> None:
    for text in ("", "hello", "{", '{"format": "wetside-clip", "version": 7, "plant": {}}', "[1, 2]"):
        with pytest.raises(Refusal):
            clip.from_text(text)


def test_an_open_end_hangs_at_the_port_it_left(clinic: Plant) -> None:
    pipe = next(p for p in clinic.pipes.values() if not p.joined)
    part = taken(clinic, {pipe.id}).plant
    assert {item.kind for item in part.items.values()} == {"joint"}
    ends = [part.pipes[pipe.id].start, part.pipes[pipe.id].end]
    assert [part.items[end.item].at for end in ends] == [
        port_place(clinic.items[ref.item], ref.port) for ref in (pipe.start, pipe.end)
    ]
    assert all(end == PortRef(end.item, "at") for end in ends)
