"""On paper every tag belongs to what it stands at, and no leader, control line or match tag is lost."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import laid_out, sheet_named
from app.paper.layout import Papers, control_tag
from app.paper.lettering import lettering
from app.paper.marks import Rule, Text
from app.paper.match import match_marks
from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, box_of, segments
from core.diagram.picture import Picture
from core.diagram.plans import FULL, Plan
from core.diagram.runs import run_tags
from core.files.read import load
from core.plant.model import Plant
from core.solve import solve_case
from core.vocabulary import Trait
from tests.plants.edits import SAMPLES

NAMES = ["bakery_loft", "kennel_clinic", "orchard_packhouse", "potting_shed", "school_annex"]


def _laid(name: str, sheet: str, full: bool) -> Papers:
    plant, size = load(SAMPLES / f"{name}.plant.json"), sheet_named(sheet)
    assert size is not None
    return laid_out(plant, solve_case(plant, plant.solve_cases[0]), size, "us", "1 Jan 2030", full=full)


def _off_line(line: Polyline, at: Point) -> float:
    boxes = [box_of(run) for run in segments(line)] or [box_of(line)]
    return min(box.gap(Box(*at, *at)) for box in boxes)


def _tag_faults(plant: Plant, picture: Picture) -> list[str]:
    boxes = {i.id: symbols.box(i) for i in plant.items.values() if not i.has(Trait.JOINS)}
    out = [f"{key} has no tag" for key in boxes if key not in picture.tags]
    for key, tag in picture.tags.items():
        others = {k: box for k, box in boxes.items() if k != key}
        if tag.leader is not None:
            end = Box(*tag.leader[1], *tag.leader[1])
            own = boxes.get(key) or symbols.box(plant.items[key])
            out += [f"leader of {key} ends off it"] if end.gap(own) > 0.1 else []
            out += [f"leader of {key} ends at {k}" for k, box in others.items() if end.gap(box) < 1.0]
        elif tag.spot != ("inside",):
            away = tag.box.gap(boxes[key])
            out += [f"{key} is beside {k}" for k, box in others.items() if tag.box.gap(box) <= away]
    for key, marker in picture.markers.items():
        if marker.leader is not None and key in boxes:
            end = Box(*marker.leader[1], *marker.leader[1])
            out += [f"leader of the note at {key} ends off it"] if end.gap(boxes[key]) > 0.1 else []
    return out


def _run_faults(plant: Plant, picture: Picture) -> list[str]:
    tags = run_tags(plant)
    words = {w for label in picture.labels.values() for row in label.rows for w in row.text.split()}
    out = [f"run {tag} has no tag" for tag in set(tags.values()) - words]
    for key, label in picture.labels.items():
        if label.leader is None:
            continue
        off = {name: _off_line(pipe.line, label.leader[1]) for name, pipe in picture.pipes.items()}
        own = {name for name in off if tags.get(name) == tags.get(key)}
        out += [f"leader of {key} ends off it"] if min(off[name] for name in own) > 0.1 else []
        if segments(picture.pipes[key].line):
            out += [f"leader of {key} ends at {n} too" for n in off if n not in own and off[n] < 1.0]
    return out


def _wire_faults(papers: Papers) -> list[str]:
    out = []
    plant, picture = papers.plant, papers.picture
    sheets = [page.tile.source for page in papers.pages if page.tile is not None]
    for wire in picture.wires:
        touched = {at for line in wire.lines for at in (line[0], line[-1])}
        for end in wire.net.ends:
            line = picture.pipes[end].line if end in picture.pipes else ()
            boxes = [symbols.box(plant.items[end])] if end in plant.items else map(box_of, segments(line))
            if not any(box.gap(Box(*at, *at)) < 0.1 for box in boxes for at in touched):
                out.append(f"{control_tag(wire)} does not reach {end}")
        corners = {at for line in wire.lines for at in line}
        out += [f"{control_tag(wire)} is cut at {at}" for at in corners if not any(s.has(at) for s in sheets)]
    return out


def _cut_faults(papers: Papers) -> list[str]:
    picture = papers.picture
    sheets = [(page, page.tile.source) for page in papers.pages if page.tile is not None]
    lines = [(name, pipe.line) for name, pipe in picture.pipes.items()]
    lines += [(control_tag(wire), line) for wire in picture.wires for line in wire.lines]
    out = []
    for page, seen in sheets:
        words = " ".join(mark.text for mark in page.marks if isinstance(mark, Text)).split()
        inside = [name for name, line in lines if any(seen.has(at) for at in line)]
        cut = {n for n, line in lines if n in inside and not all(seen.has(at) for at in line)}
        out += [f"no match tag {name}" for name in cut if not set(name.split()) <= set(words)]
        for text in picture.written:
            # Where users put a text and what it leads to may lie on two sheets.
            if text.leader is not None and seen.has(text.box.centre) and not text.key.startswith("text "):
                out += [] if seen.has(text.leader[1]) else [f"the leader of {text.key} is cut"]
    return out


@pytest.mark.parametrize(("sheet", "full"), [("tabloid", False), ("letter", True), ("arch_d", True)])
@pytest.mark.parametrize("name", NAMES)
def test_all_tags_and_lines_of_a_sheet_end_where_they_belong(
    qapp: QApplication, name: str, sheet: str, full: bool
) -> None:
    papers = _laid(name, sheet, full)
    plant, picture = papers.plant, papers.picture
    found = [*_tag_faults(plant, picture), *_run_faults(plant, picture), *_wire_faults(papers)]
    assert [*found, *_cut_faults(papers)] == []
    count = sum(1 for page in papers.pages if page.tile is not None)
    assert lettering(plant, papers.sheet, full).sheets == count


@pytest.mark.parametrize("upright", [True, False])
def test_match_tags_of_a_thick_bundle_are_all_placed(qapp: QApplication, upright: bool) -> None:
    places = [100.0 + 10.0 * n for n in range(14)]
    lines = [(f"L-{n} long name", ((100.0, y), (900.0, y))) for n, y in enumerate(places)]
    if not upright:
        lines = [(name, tuple((y, x) for x, y in line)) for name, line in lines]
    size = sheet_named("tabloid")
    assert size is not None
    room = size.field
    edges = (0.0, 505.0, 1000.0)
    plan = Plan(FULL[0], edges, (0.0, 400.0), room) if upright else Plan(FULL[0], (0.0, 600.0), edges, room)
    for i in (0, 1):
        u, v = (i, 0) if upright else (0, i)
        marks = match_marks(plan, u, v, lines, lambda i, j: 1 + i + j)
        texts = [mark for mark in marks if isinstance(mark, Text)]
        assert {w for t in texts for w in t.text.split()} >= {f"L-{n}" for n in range(14)}
        assert all(room.holds(text.box) for text in texts)
        assert not any(a.box.overlaps(b.box) for k, a in enumerate(texts) for b in texts[:k])
        assert sum(isinstance(mark, Rule) for mark in marks) > 3, "what stands aside is led to its place"
