"""Lines of control: what hangs together, that all ends are reached, and that no symbol is run through."""

from dataclasses import replace

import pytest

from core.diagram import control_lines, symbols
from core.diagram.control_lines import KINDS, PATTERNS, Net, nets, stamp, wires
from core.diagram.geometry import box_of, segments
from core.diagram.picture import Detail, compose
from core.diagram.routes import route
from core.files import read
from tests.plants.edits import file_of
from tests.support.calling import plant_of, two_zones


def sample(name):
    plant = read.load(file_of(name))
    return plant, route(plant)


def test_what_one_expression_runs_hangs_on_one_line():
    board = two_zones()
    board.items["P-1"]["props"]["run_when"] = {"any": ["TH-2", "TH-1"]}
    board.item("AQ-2", "aquastat", senses=["LD-1", "in"])
    board.item("OR-1", "outdoor_reset", line=[["0 degC", "50 degC"]], sets=["B-1"])
    found = set(nets(plant_of(board)))
    assert found == {
        Net("runs", ("TH-1", "TH-2"), ("B-1", "P-1")),
        Net("runs", ("TH-2",), ("P-2",)),
        Net("runs", ("OU-1",), ("OU-2",)),
        Net("runs", ("OR-1",), ("B-1",)),
        Net("feeds", ("OU-1",), ("P-1",)),
        Net("feeds", ("AQ-9",), ("P-2",)),
        Net("feeds", ("OU-2",), ("AQ-9",)),
        Net("senses", ("AQ-2",), ("LD-1",)),
    }


def test_a_stat_can_sense_a_pipe():
    board = two_zones()
    board.item("AQ-2", "aquastat", senses=["L-1"])
    plant = plant_of(board)
    lines = route(plant)
    (wire,) = wires(plant, lines, ("senses",))
    end = wire.lines[0][0] if wire.lines[0][0] in _on(lines["L-1"]) else wire.lines[0][-1]
    assert end in _on(lines["L-1"])


def test_a_stat_can_sense_a_pipe_between_ports_that_touch():
    board = two_zones()
    board.item("AQ-2", "aquastat", senses=["L-1"])
    plant = plant_of(board)
    lines = route(plant)
    spot = lines["L-1"][0]
    (wire,) = wires(plant, {**lines, "L-1": (spot, spot)}, ("senses",))
    assert spot in (wire.lines[0][0], wire.lines[0][-1])


def _on(line):
    return {
        (x, y)
        for (ax, ay), (bx, by) in segments(line)
        for x in range(round(min(ax, bx)), round(max(ax, bx)) + 1)
        for y in range(round(min(ay, by)), round(max(ay, by)) + 1)
    }


@pytest.mark.parametrize("name", ["two_heater_clinic", "kennel_clinic", "school_annex"])
def test_every_end_is_reached_and_no_symbol_run_through(name):
    plant, lines = sample(name)
    laid = wires(plant, lines)
    assert {wire.kind for wire in laid} <= set(KINDS)
    for wire in laid:
        runs = [box_of(run) for line in wire.lines for run in segments(line)]
        joined = {*wire.net.ends}
        for key in wire.net.ends:
            near = symbols.box(plant.items[key]).grown(0.5)
            assert any(run.grown(0.1).overlaps(near) for run in runs), (wire.net, key)
        through = [
            key
            for key, item in plant.items.items()
            if key not in joined and any(run.grown(0.1).overlaps(symbols.box(item)) for run in runs)
        ]
        assert len(through) <= 1, (wire.net, through)
        assert all(a[0] == b[0] or a[1] == b[1] for line in wire.lines for a, b in segments(line))


def test_a_wire_branches_only_at_dots():
    plant, lines = sample("two_heater_clinic")
    for wire in wires(plant, lines):
        assert len(wire.lines) == len(wire.net.ends) - 1
        for line in wire.lines[1:]:
            ends = {line[0], line[-1]}
            assert ends & set(wire.dots) or any(ends & {e[0], e[-1]} for e in wire.lines if e is not line)


def test_wires_stay_where_they_were_but_for_what_moved():
    plant, lines = sample("two_heater_clinic")
    before = wires(plant, lines)
    assert wires(plant, lines, keep=before) == before
    item = plant.items["SW-2"]
    moved = replace(item, at=(item.at[0], item.at[1] + 20))
    other = replace(plant, items={**plant.items, "SW-2": moved})
    after = wires(other, lines, keep=before)
    changed = [new.net.sources for old, new in zip(before, after, strict=True) if old != new]
    assert ("SW-2",) in changed
    assert len(changed) <= 2


def test_a_picture_lays_them_anew_only_when_the_drawing_changed(monkeypatch):
    plant, lines = sample("potting_shed")
    detail = Detail(wires=KINDS)
    first = compose(plant, None, lambda text, size, bold: 6.0 * len(text), detail, lines)
    assert first.wires
    monkeypatch.setattr(control_lines, "_Layer", None)  # would fail if asked
    again = compose(replace(plant, title="x"), None, lambda t, s, b: 6.0 * len(t), detail, lines, first)
    assert again.wires == first.wires
    assert stamp(plant, lines, KINDS) == stamp(replace(plant, title="x"), lines, KINDS)


def test_patterns_tell_the_kinds_apart_and_are_not_those_of_still_water():
    assert len({*PATTERNS.values(), (6.0, 4.0)}) == 4
