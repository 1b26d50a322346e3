"""Tags and labels keep clear of everything and keep their spots."""

from __future__ import annotations

from random import Random

import pytest

from core.diagram.geometry import Box, Field, box_of, segments
from core.diagram.labels import MarkerWish, PipeWish, TagWish, place
from core.diagram.occupancy import Occupancy


def _wide(text: str, size: float, bold: bool) -> float:
    return len(text) * size * (0.6 if bold else 0.55)


def _field(*boxes: Box) -> Field:
    field = Field()
    for box in boxes:
        field.add(box, "thing")
    return field


SYMBOL = Box(-20, -20, 20, 20)
LINE = ((0.0, 0.0), (200.0, 0.0))


def test_a_tag_goes_above_then_left_then_right_then_below() -> None:
    walls = {"above": Box(-90, -60, 90, -22), "left": Box(-90, -20, -22, 20), "right": Box(22, -20, 90, 20)}
    seen = []
    blocked = [SYMBOL]
    for name in ("above", "left", "right", "below"):
        placed = place([TagWish("t", SYMBOL, ("P-1", "84 W"))], [], _field(*blocked), _wide)
        seen.append(placed["t"].spot[0])
        blocked.append(walls.get(name, SYMBOL))
    assert seen == ["above", "left", "right", "below"]


def test_a_tag_that_must_stand_goes_further_off_with_a_leader() -> None:
    wall = Box(-150, -150, 150, 150)
    assert place([TagWish("t", SYMBOL, ("P-1",))], [], _field(wall), _wide) == {}
    field = Field()
    field.add(SYMBOL, "t")
    for side in (
        Box(-100, -100, 100, -25),
        Box(-100, 25, 100, 100),
        Box(-100, -25, -25, 25),
        Box(25, -25, 100, 5),
    ):
        field.add(side, "wall")
    placed = place([TagWish("t", SYMBOL, ("P-1",), must=True)], [], field, _wide)
    assert "t" in placed
    assert field.free(placed["t"].box, "text t")


def test_a_level_pipe_carries_one_line_above() -> None:
    placed = place([], [PipeWish("L", LINE, ("1 gpm", "2 ft/s"))], _field(), _wide)["L"]
    assert [row.text for row in placed.rows] == ["1 gpm · 2 ft/s"]
    assert placed.box.y1 < 0
    assert placed.leader is None


def test_an_upright_pipe_carries_a_stack_on_its_right() -> None:
    line = ((0.0, 0.0), (0.0, 200.0))
    placed = place([], [PipeWish("L", line, ("1 gpm", "2 ft/s", "60 °F"), tag="L-8")], _field(), _wide)["L"]
    assert [row.text for row in placed.rows] == ["L-8  1 gpm", "2 ft/s", "60 °F"]
    assert placed.box.x0 > 0


def test_a_label_dodges_below_slides_then_takes_a_leader_then_gives_up_words() -> None:
    wish = PipeWish("L", LINE, ("1 gpm", "2 ft/s"))
    below = place([], [wish], _field(Box(0, -90, 200, -1)), _wide)["L"]
    assert below.box.y0 > 0
    slid = place([], [wish], _field(Box(60, -90, 200, 90)), _wide)["L"]
    assert slid.box.x1 < 60
    led = place([], [wish], _field(Box(-60, -14, 260, -3), Box(-60, 3, 260, 14)), _wide)
    assert "L" in led or led == {}
    tight = (Box(-200, -90, 160, -3), Box(160, -90, 200, -18), Box(200, -90, 400, -3), Box(-200, 3, 400, 90))
    short = place([], [wish], _field(*tight), _wide)
    assert [row.text for row in short["L"].rows] == ["1 gpm"]
    assert place([], [wish], _field(Box(-200, -90, 400, 90)), _wide) == {}


def test_a_spot_is_kept_while_it_is_free() -> None:
    wish = PipeWish("L", LINE, ("1.0 gpm",))
    wall = Box(60, -90, 200, 90)
    first = place([], [wish], _field(wall), _wide)
    kept = place([], [PipeWish("L", LINE, ("1.1 gpm",))], _field(), _wide, previous=first)
    assert kept["L"].spot == first["L"].spot
    assert place([], [wish], _field(), _wide)["L"].spot != first["L"].spot


def test_thick_pipes_choose_first() -> None:
    thin, thick = PipeWish("a", LINE, ("1 gpm",), 1.4), PipeWish("b", LINE, ("9 gpm",), 4.0)
    placed = place([], [thin, thick], _field(), _wide)
    assert "above" in placed["b"].spot
    assert not placed["a"].box.overlaps(placed["b"].box)


def test_nothing_leaves_the_bounds() -> None:
    bounds = Box(-30, -22, 300, 300)
    placed = place([TagWish("t", SYMBOL, ("P-1",))], [PipeWish("L", LINE, ("1 gpm",))], _field(SYMBOL), _wide,
                   bounds=bounds)  # fmt: skip
    assert placed
    assert all(bounds.holds(p.box) for p in placed.values())


def test_a_marker_stands_below_its_item_with_its_number() -> None:
    placed = place([], [], _field(SYMBOL), _wide, markers=[MarkerWish("note P-1", SYMBOL, "12")])["note P-1"]
    assert placed.box.y0 > 20
    assert placed.rows[0].text == "12"
    assert placed.box.x0 < placed.rows[0].x


@pytest.mark.parametrize("count", [3, 12, 40])
def test_a_crowd_never_overlaps(count: int) -> None:
    field = Field()
    wishes = []
    for i in range(count):
        line = ((0.0, 14.0 * i), (120.0, 14.0 * i))
        for run in segments(line):
            field.add(box_of(run).grown(1.5), f"L{i}")
        wishes.append(PipeWish(f"L{i}", line, (f"{i}.0 gpm", "2 ft/s", "60 °F")))
    placed = list(place([], wishes, field, _wide).values())
    for i, a in enumerate(placed):
        for b in placed[:i]:
            assert not a.box.overlaps(b.box)


def test_a_place_called_taken_by_the_cells_is_taken() -> None:
    random = Random(7)
    plain, quick = Field(), Occupancy(Box(-100, -100, 500, 400))
    for _ in range(150):
        x, y = random.uniform(-250, 550), random.uniform(-250, 450)
        box = Box(x, y, x + random.choice((2.9, 60.0, 300.0)), y + random.choice((2.9, 12.0, 200.0)))
        plain.add(box, "x")
        quick.add(box, "x")
    answers = []
    for _ in range(2000):
        x, y = random.uniform(-250, 550), random.uniform(-250, 450)
        box = Box(x, y, x + random.uniform(1, 40), y + random.uniform(1, 15))
        assert quick.free(box) == plain.free(box)
        answers.append(plain.free(box))
    assert 100 < sum(answers) < 1900


def test_words_that_were_dropped_come_back_when_others_are_asked_for() -> None:
    tight = (Box(-200, -90, 160, -3), Box(160, -90, 200, -18), Box(200, -90, 400, -3), Box(-200, 3, 400, 90))
    wish = PipeWish("L", LINE, ("1 gpm", "2.0 ft/s", "110 °F"))
    short = place([], [wish], _field(*tight), _wide)
    again = place([], [wish], _field(), _wide, previous=short)
    assert again["L"].rows == short["L"].rows, "still free, so it does not twitch"
    fewer = PipeWish("L", LINE, ("1 gpm", "2.0 ft/s"))
    assert len(place([], [fewer], _field(), _wide, previous=short)["L"].rows[0].text.split("·")) == 2
    assert place([], [wish], _field(), _wide, previous=short, scale=1.5)["L"].rows[0].text.count("·") == 2


def test_a_label_without_room_goes_to_another_pipe_that_says_the_same() -> None:
    far = ((400.0, 0.0), (600.0, 0.0))
    wish = PipeWish("L", LINE, ("1 gpm", "2 ft/s"), tag="L", alike=(("M", far),))
    placed = place([], [wish], _field(Box(-200, -90, 290, 90)), _wide)["L"]
    assert placed.box.x0 >= 400
    assert [row.text for row in placed.rows] == ["L  1 gpm · 2 ft/s"], "it is another pipe of the same run"


def test_a_run_keeps_its_tag_where_its_figures_find_no_room() -> None:
    wish = PipeWish("L", LINE, ("1 gpm", "2 ft/s"), tag="L-8")
    walls = (
        Box(-300, -90, 95, 300),
        Box(125, -90, 500, 300),
        Box(-300, 3, 500, 300),
        Box(-300, -90, 500, -20),
    )
    placed = place([], [wish], _field(*walls), _wide)["L"]
    assert [row.text for row in placed.rows] == ["L-8"]


def test_quantities_stack_in_a_column_where_a_row_has_no_room() -> None:
    wish = PipeWish("L", LINE, ("1.0 gpm", "2.0 ft/s", "60 °F"))
    walls = (Box(-300, -90, 60, 90), Box(120, -90, 500, 90), Box(-300, 3, 500, 90))
    placed = place([], [wish], _field(*walls), _wide)["L"]
    assert [row.text for row in placed.rows] == ["1.0 gpm", "2.0 ft/s", "60 °F"]
    assert placed.leader is None


def test_a_second_line_is_broken_in_two_before_it_is_dropped() -> None:
    walls = (
        Box(-300, -300, 300, -22),
        Box(22, -300, 300, 300),
        Box(-300, 22, 300, 300),
        Box(-300, -300, -75, 300),
    )
    wish = TagWish("t", SYMBOL, ("RA-2", "3.26 of 3.10 kW"))
    placed = place([wish], [], _field(SYMBOL, *walls), _wide)["t"]
    assert [row.text for row in placed.rows] == ["RA-2", "3.26 of", "3.10 kW"]


def test_two_texts_do_not_read_as_one() -> None:
    wishes = [PipeWish(name, LINE, ("1 gpm",)) for name in "abcdef"]
    placed = list(place([], wishes, _field(), _wide).values())
    assert len(placed) > 3
    for i, a in enumerate(placed):
        for b in placed[:i]:
            assert not a.box.overlaps(Box(b.box.x0 - 5, b.box.y0 - 3.5, b.box.x1 + 5, b.box.y1 + 3.5))


def test_texts_stand_off_what_they_belong_to() -> None:
    """A tag at least 3 units from its symbol on each side; a pipe's text clear of its line."""
    walls = {"above": Box(-90, -60, 90, -22), "left": Box(-90, -20, -22, 20), "right": Box(22, -20, 90, 20)}
    blocked = [SYMBOL]
    for name in ("above", "left", "right", "below"):
        box = place([TagWish("t", SYMBOL, ("P-1", "84 W"))], [], _field(*blocked), _wide)["t"].box
        off = {
            "above": SYMBOL.y0 - box.y1, "left": SYMBOL.x0 - box.x1,
            "right": box.x0 - SYMBOL.x1, "below": box.y0 - SYMBOL.y1,
        }  # fmt: skip
        assert 2.9 <= off[name] <= 8.0, name
        blocked.append(walls.get(name, SYMBOL))
    beside = place([], [PipeWish("L", LINE, ("1 gpm",))], _field(), _wide)["L"]
    assert 3.0 <= -beside.box.y1 <= 10.0
    upright = place([], [PipeWish("L", ((0.0, 0.0), (0.0, 200.0)), ("1 gpm",))], _field(), _wide)["L"]
    assert 5.0 <= upright.box.x0 <= 10.0
