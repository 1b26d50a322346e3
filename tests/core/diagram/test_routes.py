"""Routes are right-angled, leave ports straight, keep clear of symbols, and cross in hops."""

from __future__ import annotations

from core.diagram import symbols
from core.diagram.geometry import Box, Polyline, segments, tidy
from core.diagram.maze import OVERLAP, Maze
from core.diagram.routes import crossings, hops, route
from core.plant.model import Item, Pipe, Plant, PortRef
from tests.core.diagram.demo import demo_plant
from tests.core.diagram.legible import overlaps


def clear_of(line: Polyline, area: Box) -> bool:
    """Whether no part of the line runs through the area."""
    return not any(
        Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])).grown(0.01).overlaps(area)
        for a, b in segments(line)
    )


def _plant(items: list[Item], pipes: list[Pipe]) -> Plant:
    return Plant(items={item.id: item for item in items}, pipes={pipe.id: pipe for pipe in pipes})


def _pipe(name: str, start: str, end: str, via: tuple[tuple[float, float], ...] = ()) -> Pipe:
    return Pipe(name, PortRef(*start.split()), PortRef(*end.split()), "s", {}, "1 m", via=via)


def _pair(x: float, y: float, turn: int = 0, via: tuple[tuple[float, float], ...] = ()) -> Plant:
    items = [Item("A", "circulator", (0.0, 0.0)), Item("B", "circulator", (x, y), turn)]  # type: ignore[arg-type]
    return _plant(items, [_pipe("L", "A out", "B in", via)])


def _right_angled(line: Polyline) -> bool:
    return all((a[0] == b[0]) != (a[1] == b[1]) for a, b in segments(line))


def test_facing_ports_are_joined_straight() -> None:
    assert route(_pair(200, 0))["L"] == ((20.0, 0.0), (180.0, 0.0))


def test_one_step_takes_two_bends_and_leaves_straight() -> None:
    line = route(_pair(200, 60))["L"]
    assert len(line) == 4
    assert _right_angled(line)
    assert line[1][0] >= 30
    assert line[-2][0] <= 170


def test_a_port_that_looks_away_is_gone_round() -> None:
    for turn in (0, 90, 180, 270):
        for x, y in ((200, 0), (-200, 0), (0, 200), (100, -150), (-90, 40)):
            plant = _pair(x, y, turn)
            line = route(plant)["L"]
            assert _right_angled(line)
            assert line == tidy(line)
            for end, port, (a, b) in (("A", "out", line[:2]), ("B", "in", line[:-3:-1])):
                dx, dy = symbols.outward(plant.items[end], port)
                reach = (b[0] - a[0]) * dx + (b[1] - a[1]) * dy
                assert reach >= 10, "leaves the port straight outward by ten units"
            for item in plant.items.values():
                assert clear_of(line, symbols.body_box(item).grown(-1.0))


def test_goes_round_a_symbol_in_the_way() -> None:
    items = [
        Item("A", "circulator", (0.0, 0.0)),
        Item("T", "tank", (150.0, 0.0)),
        Item("B", "circulator", (300.0, 0.0)),
    ]
    plant = _plant(items, [_pipe("L", "A out", "B in")])
    line = route(plant)["L"]
    assert _right_angled(line)
    assert clear_of(line, symbols.box(plant.items["T"]))


def test_searches_a_way_where_simple_lines_fail() -> None:
    wall = [Item(f"T{i}", "tank", (200.0, 130.0 * i - 260.0)) for i in range(5)]
    plant = _plant(
        [Item("A", "circulator", (60.0, 10.0)), Item("B", "circulator", (340.0, 10.0)), *wall],
        [_pipe("L", "A out", "B in")],
    )
    line = route(plant)["L"]
    assert _right_angled(line)
    assert all(clear_of(line, symbols.box(item)) for item in wall)


def test_goes_through_its_pinned_bends() -> None:
    line = route(_pair(200, 60, via=((40.0, -80.0), (120.0, -80.0))))["L"]
    assert _right_angled(line)
    assert (40.0, -80.0) in line
    assert (120.0, -80.0) in line


def test_ports_that_touch_make_a_pipe_of_no_length() -> None:
    line = route(_pair(40, 0))["L"]
    assert line == ((20.0, 0.0), (20.0, 0.0))


def test_does_not_lie_on_another_pipe() -> None:
    maze = Maze()
    items = [Item(name, "shutoff", at) for name, at in (("A", (0.0, 0.0)), ("B", (300.0, 0.0)))]
    items += [Item(name, "shutoff", at) for name, at in (("C", (0.0, 100.0)), ("D", (300.0, 100.0)))]
    items += [Item("J", "joint", (150.0, 0.0))]
    pipes = [_pipe("L1", "A b", "J at"), _pipe("L2", "J at", "B a"), _pipe("L3", "C b", "J at")]
    lines = route(_plant(items, [*pipes, _pipe("L4", "D a", "J at")]))
    for name, line in lines.items():
        for other, points in lines.items():
            if other != name:
                maze = Maze()
                maze.add_line(other, points)
                assert sum(maze.mind_lines(line)) < OVERLAP, f"{name} lies on {other}"


def test_kept_lines_stay_where_one_item_moves() -> None:
    plant = demo_plant()
    before = route(plant)
    moved = {**plant.items, "CM-1": Item("CM-1", "cold_main", (90.0, 640.0))}
    after = route(Plant(items=moved, pipes=plant.pipes, systems=plant.systems), before)
    assert {name for name in before if before[name] != after[name]} == {"L-44"}


def test_upright_lines_jump_level_ones() -> None:
    lines = {"level": ((0.0, 0.0), (100.0, 0.0)), "upright": ((50.0, -50.0), (50.0, 50.0))}
    assert hops(lines) == {"upright": [(50.0, 0.0)]}
    assert crossings(lines)[1] == {"level": [(50.0, 0.0)]}
    assert hops({**lines, "upright": ((50.0, 0.0), (50.0, 50.0))}) == {}, "a line that ends there joins"


def test_three_hundred_pipes_are_routed_at_right_angles() -> None:
    items, pipes = [], []
    for i in range(301):
        items.append(Item(f"P{i}", "circulator", (120.0 * (i % 20), 90.0 * (i // 20) + 20.0 * (i % 3))))
        if i:
            pipes.append(_pipe(f"L{i}", f"P{i - 1} out", f"P{i} in"))
    plant = _plant(items, pipes)
    lines = route(plant)
    assert len(lines) == 300
    assert all(_right_angled(line) for line in lines.values())


def test_demo_lines_run_through_no_symbol() -> None:
    plant = demo_plant()
    for name, line in route(plant).items():
        ends = {plant.pipes[name].start.item, plant.pipes[name].end.item}
        for item in plant.items.values():
            area = symbols.body_box(item) if item.id in ends else symbols.box(item)
            if item.kind != "joint":
                assert clear_of(line, Box(*area).grown(-0.5)), f"{name} runs through {item.id}"


def _fill_beside_a_riser(pump_at: tuple[float, float]) -> Plant:
    """A fill valve above, its pipe down to a joint of the return; a pump that may be dragged beside it."""
    items = [
        Item("FV", "shutoff", (360.0, 40.0)),
        Item("P", "circulator", pump_at),
        Item("V", "shutoff", (360.0, 220.0)),
        Item("J", "joint", (390.0, 400.0)),
    ]
    return _plant(items, [_pipe("FILL", "FV b", "J at"), _pipe("IN", "V b", "P in")])


def test_a_pump_dragged_beside_the_fill_does_not_read_as_fed_by_it() -> None:
    before = route(_fill_beside_a_riser((600.0, 220.0)))
    for x in range(380, 500, 10):
        for y in (140.0, 180.0, 200.0, 260.0):
            lines = route(_fill_beside_a_riser((float(x), y)), before)
            assert not overlaps(lines), f"pump at {x}, {y}: {lines}"
