"""Figures that change by a digit leave the texts where they stand, and never on anything drawn."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from core.diagram.geometry import Box, Field
from core.diagram.labels import PipeWish, place
from core.diagram.obstacles import Obstacles
from core.diagram.picture import Detail, Picture, compose
from core.diagram.pipes import boxes_of
from core.diagram.routes import route
from core.files.read import load
from core.plant.changes import SetPlant, apply
from core.plant.model import Plant
from tests.core.diagram.demo import demo_plant, demo_solution
from tests.core.diagram.test_legible import SAMPLES
from tests.core.diagram.test_picture import _wide

HURRIED = Detail(hurried=True)


def scaled(plant: Plant, by: float) -> object:
    """The demo's figures with every flow so many times as large."""
    whole = demo_solution()
    pipes = {
        name: replace(one, flow_m3_s=one.flow_m3_s * by, velocity_m_s=one.velocity_m_s * by)
        for name, one in whole.pipes.items()
    }
    return replace(whole, pipes=pipes)


def texts_clear(picture: Picture) -> None:
    texts = [*picture.tags.values(), *picture.labels.values(), *picture.markers.values()]
    for a, b in combinations(texts, 2):
        assert not a.box.overlaps(b.box), f"{a.key} lies on {b.key}"
    for text in texts:
        for name, pipe in picture.pipes.items():
            for area, what in boxes_of(pipe):
                assert not area.grown(-0.6).overlaps(text.box), f"{text.key} lies on {what}{name}"


def test_a_digit_more_or_less_looks_for_no_spot(monkeypatch: pytest.MonkeyPatch) -> None:
    plant = demo_plant()
    lines = route(plant)
    first = compose(plant, scaled(plant, 1.0), _wide, Detail(), lines)  # type: ignore[arg-type]
    asked: list[object] = []
    monkeypatch.setattr(Obstacles, "taken", lambda *words: asked.append(words))
    again = compose(plant, scaled(plant, 1.0005), _wide, HURRIED, lines, first)  # type: ignore[arg-type]
    assert asked == []
    assert {k: p.box for k, p in again.labels.items()} == {k: p.box for k, p in first.labels.items()}
    assert again.tags == first.tags


def test_kept_texts_say_the_new_figures() -> None:
    plant = demo_plant()
    lines = route(plant)
    first = compose(plant, scaled(plant, 1.0), _wide, Detail(), lines)  # type: ignore[arg-type]
    after = compose(plant, scaled(plant, 0.5), _wide, HURRIED, lines, first)  # type: ignore[arg-type]
    fresh = compose(plant, scaled(plant, 0.5), _wide, Detail(), lines)  # type: ignore[arg-type]

    def said(picture: Picture) -> dict[str, set[str]]:
        return {
            name: {word for row in placed.rows for word in row.text.replace("  ", " · ").split(" · ")}
            for name, placed in picture.labels.items()
        }

    for name, words in said(after).items():
        if name in said(fresh):
            assert words & said(fresh)[name], name
    assert said(after) != said(first)
    texts_clear(after)


def test_where_lines_grow_thicker_or_items_move_texts_make_room() -> None:
    plant = demo_plant()
    lines = route(plant)
    picture = compose(plant, scaled(plant, 1.0), _wide, Detail(), lines)  # type: ignore[arg-type]
    for by in (4.0, 0.1, -1.0, 2.0):
        picture = compose(plant, scaled(plant, by), _wide, HURRIED, lines, picture)  # type: ignore[arg-type]
        texts_clear(picture)


def test_a_text_put_on_the_board_is_other_ground() -> None:
    plant = demo_plant()
    first = compose(plant, demo_solution(), _wide, Detail())
    placed = next(iter(first.labels.values()))
    words = {"at": [placed.box.x0, placed.box.y0], "text": "Boiler room", "lead_to": None}
    written = apply(plant, [SetPlant({"texts": (words,)})])
    after = compose(written, demo_solution(), _wide, HURRIED, previous=first)
    assert len(after.texts) == 1
    for text in after.texts.values():
        assert not any(text.box.overlaps(label.box) for label in after.labels.values())


@pytest.mark.parametrize("path", SAMPLES[:4], ids=lambda path: path.name.split(".")[0])
def test_cases_of_the_samples_one_after_the_other_keep_texts_apart(path: object) -> None:
    from core.solve import solve_case

    plant = load(str(path))
    lines = route(plant)
    picture: Picture | None = None
    for case in plant.solve_cases[:3]:
        solution = solve_case(plant, case)
        picture = compose(plant, solution, _wide, HURRIED, lines, picture)
        texts_clear(picture)


def test_a_tag_that_gets_a_second_line_does_not_stay_bare() -> None:
    plant = demo_plant()
    lines = route(plant)
    unsolved = compose(plant, None, _wide, Detail(), lines)
    solved = compose(plant, demo_solution(), _wide, HURRIED, lines, unsolved)
    fresh = compose(plant, demo_solution(), _wide, Detail(), lines)
    two = {name for name, tag in fresh.tags.items() if len(tag.rows) > 1}
    assert two
    assert {name for name, tag in solved.tags.items() if len(tag.rows) > 1} == two


def test_texts_round_a_symbol_that_moved_give_way_and_the_others_stay() -> None:
    plant = demo_plant()
    first = compose(plant, demo_solution(), _wide, Detail(), route(plant))
    name = next(iter(plant.items))
    item = plant.items[name]
    moved = replace(plant, items={**plant.items, name: replace(item, at=(item.at[0] - 40.0, item.at[1]))})
    after = compose(moved, demo_solution(), _wide, HURRIED, route(moved, route(plant)), first)
    texts_clear(after)
    same = [key for key, tag in first.tags.items() if after.tags.get(key) == tag]
    assert len(same) > len(first.tags) / 2
    assert after.tags[name] != first.tags[name]


def test_a_tag_with_a_leader_across_lines_does_not_blink_in_a_hurry() -> None:
    def busy() -> Field:
        """A short pipe in a ring of other lines."""
        field = Field()
        field.add(Box(0.0, -1.0, 40.0, 1.0), "L-1")
        for box in (Box(-16, -12, 56, -6), Box(-16, 6, 56, 12), Box(-16, -12, -10, 12), Box(50, -12, 56, 12)):
            field.add(box, "L-9")
        return field

    wish = PipeWish("L-1", ((0.0, 0.0), (40.0, 0.0)), (), tag="L-1", must=True)
    calm = place([], [wish], busy(), _wide)
    hurried = wish._replace(must=False)
    assert place([], [hurried], busy(), _wide) == {}
    assert place([], [hurried], busy(), _wide, previous=calm) == calm
    assert calm["L-1"].leader is not None
