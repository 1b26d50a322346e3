"""At fit zoom nothing written lies on a symbol, a line, a mark or another word, on every sample."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

import sample_plants
from app.board.look import LEAST_TEXT
from app.window.main_window import Window
from core.diagram import symbols
from core.diagram.geometry import Box, box_of, segments
from core.diagram.picture import Picture
from core.plant.model import Plant
from core.solve import Solution, solve_case

SAMPLES = sorted(Path(sample_plants.__file__).parent.glob("*.plant.json"))
SIZES = ((1100, 700), (1600, 1000))
BOTH = ("kennel_clinic", "school_annex")  # in a large window too, where more words are wanted
CALLS = [(file, size) for file in SAMPLES for size in SIZES if size == SIZES[0] or file.name.startswith(BOTH)]


def overlapping(plant: Plant, picture: Picture) -> list[tuple[str, str]]:
    """Words that lie on anything, and on what."""
    words = [(placed.key, placed.box, placed.spot == ("inside",)) for placed in picture.written]
    words += [(placed.key, placed.box, False) for placed in picture.markers.values()]
    things: list[tuple[str, Box]] = [
        (f"item {item.id}", symbols.box(item)) for item in plant.items.values() if item.kind != "joint"
    ]
    for name, pipe in picture.pipes.items():
        things += [(name, box_of(run).grown(pipe.weight / 2)) for run in segments(pipe.line)]
        things += [(f"arrow of {name}", arrow.box) for arrow in pipe.arrows]
        things += [(f"letter of {name}", letter.box) for letter in pipe.letters]
    out = [
        (key, what)
        for key, area, inside in words
        for what, box in things
        if area.overlaps(box) and not (inside and key == what)
    ]
    out += [(one, other) for (one, a, _), (other, b, _) in combinations(words, 2) if a.overlaps(b)]
    return out


@pytest.fixture(scope="module")
def solved() -> Callable[[Plant, object], Solution]:
    """Each case of each sample solved once for both sizes."""
    known: dict[tuple[str, str], Solution] = {}

    def solve(plant: Plant, case: object) -> Solution:
        key = (plant.title, case.name)  # type: ignore[attr-defined]
        if key not in known:
            known[key] = solve_case(plant, case)  # type: ignore[arg-type]
        return known[key]

    return solve


@pytest.mark.parametrize(
    ("file", "size"), CALLS, ids=[f"{file.name.split('.')[0]} {size[0]}x{size[1]}" for file, size in CALLS]
)
def test_no_word_lies_on_anything(
    make_window: Callable[..., Window],
    qtbot: QtBot,
    solved: Callable[[Plant, object], Solution],
    file: Path,
    size: tuple[int, int],
) -> None:
    window = make_window(file, solve=solved, size=size)
    cases = {case.name for case in window.document.plant.solve_cases}
    qtbot.waitUntil(lambda: set(window.live.solutions()) == cases, timeout=90000)
    scene = window.board.scene
    labels = 0
    for name in sorted(cases):
        window.live.choose(name)
        window.board.fit()
        scene.relabel()
        assert scene.picture is not None
        assert overlapping(window.document.plant, scene.picture) == [], name
        labels += len(scene.picture.labels)
        least = min(row.size for placed in scene.picture.written for row in placed.rows)
        assert least * window.board.view.zoom >= LEAST_TEXT * 0.9
    assert labels >= 2 * len(cases)
