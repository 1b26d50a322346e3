"""A whole picture: nothing overlaps, marks keep clear, labels keep their spots."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from core.diagram import symbols
from core.diagram.annotations import system_letters, system_strokes
from core.diagram.geometry import segments
from core.diagram.picture import Detail, compose
from core.diagram.runs import run_tags
from core.plant.model import Plant
from tests.core.diagram.demo import demo_plant, demo_solution, made_up


def _wide(text: str, size: float, bold: bool) -> float:
    return len(text) * size * (0.62 if bold else 0.55)


@pytest.mark.parametrize("still", [False, True])
def test_texts_overlap_neither_each_other_nor_symbols(still: bool) -> None:
    plant = demo_plant()
    picture = compose(plant, demo_solution(still), _wide, Detail(must_tags=True))
    texts = [*picture.tags.values(), *picture.labels.values()]
    for a, b in combinations(texts, 2):
        assert not a.box.overlaps(b.box), f"{a.key} lies on {b.key}"
    for placed in texts:
        for item in plant.items.values():
            if placed.spot != ("inside",):
                assert not placed.box.overlaps(symbols.box(item)), f"{placed.key} lies on {item.id}"


def test_every_item_but_joints_has_its_tag() -> None:
    plant = demo_plant()
    picture = compose(plant, demo_solution(), _wide, Detail(must_tags=True))
    assert set(picture.tags) == {item.id for item in plant.items.values() if item.kind != "joint"}


def test_arrows_show_the_solved_direction_and_still_water_has_none() -> None:
    picture = compose(demo_plant(), demo_solution(), _wide)
    arrows = picture.pipes["L-12"].arrows
    assert arrows
    line = picture.pipes["L-12"].line
    run = next((a, b) for a, b in pairwise(line) if a[1] == b[1] == arrows[0].at[1])
    assert arrows[0].way == (1.0 if run[1][0] > run[0][0] else -1.0, 0.0)
    stands = picture.pipes["L-4"]
    assert stands.still
    assert stands.arrows == ()
    assert not picture.pipes["L-13"].still, "the branch to a relief valve is drawn solid"


def test_marks_keep_clear_of_one_another() -> None:
    picture = compose(demo_plant(), demo_solution(), _wide)
    for pipe in picture.pipes.values():
        marks = [*(arrow.box for arrow in pipe.arrows), *(letter.box for letter in pipe.letters)]
        for a, b in combinations(marks, 2):
            assert not a.overlaps(b)


def test_labels_keep_their_spots_when_figures_change_a_little() -> None:
    plant = demo_plant()
    first = compose(plant, demo_solution(), _wide)
    again = compose(plant, demo_solution(), _wide, previous=first)
    assert {k: p.spot for k, p in first.labels.items()} == {k: p.spot for k, p in again.labels.items()}


def test_unsolved_plant_has_tags_and_no_figures() -> None:
    picture = compose(demo_plant(), None, _wide)
    words = {row.text for label in picture.labels.values() for row in label.rows}
    assert words
    assert words <= set(run_tags(demo_plant()).values())
    assert "P-1" in picture.tags
    assert all(not pipe.arrows and not pipe.still for pipe in picture.pipes.values())


@pytest.mark.parametrize("solved", [False, True])
def test_every_run_has_its_tag(solved: bool) -> None:
    plant = demo_plant()
    picture = compose(plant, demo_solution() if solved else None, _wide, Detail(must_tags=True))
    words = {row.text.partition("  ")[0] for label in picture.labels.values() for row in label.rows}
    tags = run_tags(plant)
    seen = {tag for name, tag in tags.items() if segments(picture.pipes[name].line)}
    assert seen <= words
    assert set(tags) == {pipe.id for pipe in plant.pipes.values() if not pipe.joined}


def test_every_system_has_its_letter_and_strokes_of_its_own() -> None:
    plant = demo_plant()
    marks = [mark for pipe in compose(plant, None, _wide).pipes.values() for mark in pipe.letters]
    assert {mark.text for mark in marks} == set(system_letters(plant).values())
    assert len({(mark.text, mark.strokes) for mark in marks}) == len({mark.text for mark in marks})
    assert len(set(system_strokes(plant).values())) == len(plant.systems)


def test_open_ends_are_those_without_a_pipe() -> None:
    picture = compose(demo_plant(), None, _wide)
    assert set(picture.open_ends) == {"M-1"}
    assert len(picture.open_ends["M-1"]) == 4


def test_an_empty_plant_is_an_empty_picture() -> None:
    picture = compose(Plant(), None, _wide)
    assert picture.pipes == {}
    assert picture.box.width == 0


def test_the_users_texts_stand_where_they_were_put_or_beside() -> None:
    texts = (
        {"at": [900.0, 560.0], "text": "leave room for a second pump\x07 here", "lead_to": "P-3"},
        {"at": [430.0, 220.0], "text": "put upon the tank by mistake"},
    )
    plant = replace(demo_plant(), texts=texts)
    picture = compose(plant, demo_solution(), _wide)
    first, second = picture.texts["0"], picture.texts["1"]
    assert (first.box.x0, first.box.y0) == (900.0, 560.0)
    assert first.leader is not None
    assert "\x07" not in first.rows[0].text
    assert not second.box.overlaps(symbols.box(plant.items["T-1"]))


def test_no_words_are_written_while_something_moves() -> None:
    picture = compose(demo_plant(), demo_solution(), _wide, Detail(tags=False, labels=False))
    assert picture.written == ()
    assert picture.pipes["L-12"].arrows


def test_made_up_figures_fill_labels() -> None:
    plant = demo_plant()
    picture = compose(plant, made_up(plant), _wide)
    assert len(picture.labels) > 10


def test_items_heaped_on_one_place_still_have_readable_tags() -> None:
    plant = demo_plant()
    heap = replace(plant, items={name: replace(item, at=(0.0, 0.0)) for name, item in plant.items.items()})
    picture = compose(heap, demo_solution(), _wide, Detail(must_tags=True))
    assert set(picture.tags) == {item.id for item in plant.items.values() if item.kind != "joint"}
    outside = [placed for placed in picture.tags.values() if placed.spot != ("inside",)]
    for a, b in combinations(outside, 2):
        assert not a.box.overlaps(b.box)


def test_an_item_strewn_a_mile_away_is_drawn_without_delay() -> None:
    plant = demo_plant()
    items = {**plant.items, "CM-1": replace(plant.items["CM-1"], at=(-1e6, 1e6))}
    picture = compose(replace(plant, items=items), demo_solution(), _wide)
    assert len(picture.pipes["L-44"].arrows) <= 100
    assert "CM-1" in picture.tags
