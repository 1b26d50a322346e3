"""Sheets: nothing on anything, everything on some sheet, large plants on several."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import pytest
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication

from app.paper import laid_out, sheet_named
from app.paper.blocks import Table, table_block
from app.paper.layout import Papers, control_tag
from app.paper.lettering import advice, lettering
from app.paper.marks import Sign, Text, clipped, wrapped
from app.paper.run_rows import runs_of, runs_table
from app.paper.schedules import expression, legend_entries, schedules
from app.pens import board_font
from core.diagram.plans import FULL, LEAST, MOST
from core.diagram.runs import run_tags
from core.diagram.sheets import SIZES
from core.diagram.spots import TEXT_SIZE
from core.diagram.states import SolvedCase
from core.diagram.symbols import box, shape
from core.files.read import loads
from core.plant.model import Item, Plant
from core.vocabulary import Trait
from tests.app.paper.boxes import collisions, texts_on
from tests.core.diagram.demo import demo_plant, demo_solution, made_up

SAMPLES = sorted(
    entry.name for entry in resources.files("sample_plants").iterdir() if entry.name.endswith(".plant.json")
)


def _sample(name: str) -> Plant:
    return loads(resources.files("sample_plants").joinpath(name).read_bytes(), name)


def _laid(plant: Plant, solution: SolvedCase | None, sheet: str = "a3") -> Papers:
    size = sheet_named(sheet)
    assert size is not None
    return laid_out(plant, solution, size, "us", "1 Jan 2030")


def _words(papers: Papers) -> set[str]:
    return {word for page in papers.pages for text, _ in texts_on(papers, page) for word in text.split()}


@pytest.mark.parametrize("sheet", list(SIZES))
def test_nothing_lies_on_anything_on_any_sheet_size(qapp: QApplication, sheet: str) -> None:
    assert collisions(_laid(demo_plant(), demo_solution(), sheet)) == []


@pytest.mark.parametrize("sheet", ["a3", "letter"])
@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_lies_on_anything_in_any_sample(qapp: QApplication, name: str, sheet: str) -> None:
    plant = _sample(name)
    papers = _laid(plant, made_up(plant), sheet)
    assert collisions(papers) == []
    tags = {i.id for i in plant.items.values() if not i.has(Trait.JOINS)} | set(run_tags(plant).values())
    assert tags <= _words(papers), "every tag is a word on some sheet"


@pytest.mark.parametrize("name", SAMPLES)
def test_no_sheet_of_a_solved_sample_has_collisions(qapp: QApplication, name: str) -> None:
    from core.solve import solve_case

    plant = _sample(name)
    papers = _laid(plant, solve_case(plant, plant.solve_cases[0]))
    assert collisions(papers) == []


def test_the_measure_of_collisions_sees_them(qapp: QApplication) -> None:
    papers = _laid(demo_plant(), demo_solution())
    tile = papers.pages[0].tile
    assert tile is not None
    tag = next(iter(papers.picture.tags.values()))
    spot = tile.on_sheet(tag.box)
    papers.pages[0].marks.append(Text("over", spot.x0, spot.y1))
    assert any("'over'" in line for line in collisions(papers))


def test_the_diagram_keeps_its_scale_and_goes_over_several_sheets(qapp: QApplication) -> None:
    plant = _sample("school_annex.plant.json")
    for sheet in ("a4", "a3", "a1"):
        papers = _laid(plant, None, sheet)
        tiles = [page.tile for page in papers.pages if page.tile is not None]
        assert all(LEAST - 1e-9 <= tile.scale <= (FULL[0] if sheet == "a1" else MOST) for tile in tiles)
        assert (len(tiles) > 1) == (sheet == "a4")
        for tile in tiles:
            assert papers.sheet.field.grown(0.01).holds(tile.target)


def test_full_lettering_makes_capitals_of_the_diagram_2_5_mm_high(qapp: QApplication) -> None:
    plant = _sample("orchard_packhouse.plant.json")
    size = sheet_named("tabloid")
    assert size is not None
    papers = laid_out(plant, None, size, "us", "1 Jan 2030", full=True)
    tiles = [page.tile for page in papers.pages if page.tile is not None]
    assert len(tiles) > 1
    font = QFontMetricsF(board_font(100))
    assert all(TEXT_SIZE * tile.scale * font.capHeight() / 100 >= 2.49 for tile in tiles)
    assert collisions(papers) == []


def test_small_lettering_is_answered_by_tiles_or_by_one_larger_sheet(qapp: QApplication) -> None:
    plant = _sample("orchard_packhouse.plant.json")
    size = sheet_named("tabloid")
    assert size is not None
    fitted, tiled = lettering(plant, size, full=False), lettering(plant, size)
    assert fitted.small
    assert fitted.sheets == 1
    assert not tiled.small
    assert tiled.sheets > 1
    larger = sheet_named(tiled.larger)
    assert larger is not None
    assert lettering(plant, larger).sheets == 1
    assert f"--sheet {tiled.larger} sets it on one" in advice(plant, size, True)
    assert f"--sheet {tiled.larger} on one" in advice(plant, size, False)
    assert advice(plant, larger, True) == ""
    shed = _sample("potting_shed.plant.json")
    assert lettering(shed, size).sheets == 1
    assert advice(shed, size, False).endswith("2.5 mm: --scale full"), "which takes no more sheets"


def test_the_title_block_says_what_the_plant_file_says(qapp: QApplication) -> None:
    sheet = {
        "number": "M-101", "drawn_by": "A. Hand", "checked_by": "B. Eye", "approved_by": "C. Word",
        "owner": "The shed", "date": "2 Feb 2030",
        "revisions": [["A", "1 Jan 2030", "first"], ["B", "2 Feb 2030", "tank"]],
    }  # fmt: skip
    papers = _laid(replace(demo_plant(), sheet=sheet), demo_solution(), "tabloid")
    shown = [text for text, _ in texts_on(papers, papers.pages[0])]
    assert {"M-101", "A. Hand", "B. Eye", "C. Word", "The shed", "2 Feb 2030", "B"} <= set(shown)
    assert {"REVISIONS", "first", "tank"} <= {
        text for page in papers.pages for text, _ in texts_on(papers, page)
    }
    assert collisions(papers) == []


def test_schedules_are_in_the_order_of_tags_and_hold_every_valve(qapp: QApplication) -> None:
    plant = _sample("kennel_clinic.plant.json")
    tables = {table.title: table for table in schedules(plant, made_up(plant), "us", lambda name: "A1")}
    tags = [row[0] for row in tables["VALVES AND SAFETY"].rows]
    assert tags.index("V-2") < tags.index("V-10")
    assert {
        i.id for i in plant.items.values() if i.kind in ("shutoff", "service_valve", "check_valve")
    } <= set(tags)
    assert tables["PIPE RUNS"].rows[0][0] == "L-1"


def test_an_electric_heater_shows_no_flame_and_a_cold_main_no_sine(qapp: QApplication) -> None:
    plant = _sample("orchard_packhouse.plant.json")
    heats = {part.heat for part in shape(plant.items["H-1"]).parts} - {""}
    assert heats == {"element"}  # 8 kW typed of electric power make all of its output
    burner = replace(plant.items["H-1"], props={**plant.items["H-1"].props, "watts": "80 W"})
    assert {part.heat for part in shape(burner).parts} - {""} == {"flame"}
    entries = [entry.words for entry in legend_entries(plant, _laid(plant, None).picture.states)]
    assert "on-demand heater, electric" in entries
    assert not any(command[0] == "C" for part in shape(plant.items["CM-1"]).parts for command in part.path)


def test_a_cut_pipe_is_named_on_both_sheets(qapp: QApplication) -> None:
    papers = _laid(_sample("school_annex.plant.json"), None, "a4")
    first, second = papers.pages[0], papers.pages[1]
    assert first.tile is not None
    assert second.tile is not None
    cut = first.tile.source.x1
    crossing = {
        name
        for name, pipe in papers.picture.pipes.items()
        if any(min(a[0], b[0]) < cut < max(a[0], b[0]) and first.tile.source.y0 < a[1] < first.tile.source.y1
               for a, b in zip(pipe.line, pipe.line[1:], strict=False))
    }  # fmt: skip
    assert crossing
    for page, other in ((first, "sheet 2"), (second, "sheet 1")):
        marks = {mark.text for mark in page.marks if isinstance(mark, Text)}
        assert crossing <= marks
        assert other in marks


def test_only_symbols_used_are_in_the_legend(qapp: QApplication) -> None:
    plant = demo_plant()
    papers = _laid(plant, demo_solution())
    signs = {
        (mark.kind, mark.state.value)
        for page in papers.pages
        for mark in page.marks
        if isinstance(mark, Sign)
    }
    assert {kind for kind, _ in signs} == {item.kind for item in plant.items.values()}
    assert {("circulator", "runs"), ("circulator", "rests"), ("shutoff", "shut")} <= signs


def test_notes_stand_in_the_list_and_at_their_place(qapp: QApplication) -> None:
    papers = _laid(demo_plant(), demo_solution())
    assert set(papers.picture.markers) == {"L-36", "FC-1"}
    assert {"SOLVER'S", "L-36:"} <= _words(papers)


def test_every_sheet_defers_to_code_and_licensed_trades(qapp: QApplication) -> None:
    papers = _laid(demo_plant(), demo_solution(), "a4")
    for page in papers.pages:
        text = " ".join(mark.text for mark in page.marks if isinstance(mark, Text))
        for word in ("CAUTION", "scalds", "Legionella", "licensed", "code", "gas"):
            assert word in text


def test_long_and_odd_words_are_cut_or_shown_and_never_overflow(qapp: QApplication) -> None:
    plant = demo_plant()
    odd = "<b>Würth & Söhne</b>\u202e\x07 " + "very long words " * 12
    items = {
        name: replace(item, label=odd[:200]) if item.kind in ("circulator", "floor_circuit") else item
        for name, item in plant.items.items()
    }
    papers = _laid(replace(plant, title=odd[:200], items=items), demo_solution())
    assert collisions(papers) == []
    shown = " ".join(text for text, _ in texts_on(papers, papers.pages[0]))
    assert "\u202e" not in shown
    assert "\x07" not in shown
    assert "…" in shown


def test_a_very_long_tag_still_stands_clear(qapp: QApplication) -> None:
    plant = demo_plant()
    long = "P" * 40
    items = {**plant.items, long: Item(long, "switch", (940.0, 560.0))}
    papers = _laid(replace(plant, items=items), demo_solution())
    assert collisions(papers) == []
    assert long in _words(papers)


def test_an_empty_plant_prints_one_sheet(qapp: QApplication) -> None:
    papers = _laid(Plant(title="Nothing yet"), None)
    assert collisions(papers) == []
    assert len(papers.pages) == 1


def test_tables_cut_cells_to_their_columns(qapp: QApplication) -> None:
    table = Table("T", ("tag", "what"), (("A-1", "a very long description " * 10), ("A-2", "")))
    block = table_block(table, 60.0)
    boxes = [mark.box for strip in block.body for mark in strip.marks if isinstance(mark, Text)]
    assert boxes
    assert max(box.x1 for box in boxes) <= 60.0


def test_zones_count_from_the_middle() -> None:
    sheet = sheet_named("a3")
    assert sheet is not None
    assert sheet.zone((211.0, 150.0))[1:] != sheet.zone((209.0, 150.0))[1:]
    assert sheet.zone((30.0, 20.0)) == "A1"
    assert sheet.zone((400.0, 280.0)) == "F8"


def test_clipping_and_wrapping(qapp: QApplication) -> None:
    assert clipped("short", 100.0, 2.5) == "short"
    assert clipped("a rather long text", 12.0, 2.5).endswith("…")
    lines = wrapped("one two three four five six seven eight nine ten " + "x" * 80, 30.0, 2.5)
    assert len(lines) > 3
    assert "".join("".join(lines).split()) == "".join(
        ("one two three four five six seven eight nine ten " + "x" * 80).split()
    )
    assert len(wrapped("word " * 50, 20.0, 2.5, 2)) == 2


def test_calls_in_words() -> None:
    assert expression({"any": ["AQ-1", {"all": ["TH-1", {"not": "SW-1"}]}]}) == "AQ-1 or (TH-1 and not SW-1)"
    assert expression(True) == "always"


def test_a_diagram_cut_over_sheets_has_an_index_and_tags_its_control_lines(qapp: QApplication) -> None:
    plant = _sample("school_annex.plant.json")
    papers = _laid(plant, None, "letter")
    shown = {text for page in papers.pages for text, _ in texts_on(papers, page)}
    assert "SHEETS OF THE DIAGRAM" in shown
    assert collisions(papers) == []
    marks = {mark.text for page in papers.pages if page.tile for mark in page.marks if isinstance(mark, Text)}
    sources = {control_tag(wire) for wire in papers.picture.wires}
    assert marks & sources, "a control line that is cut names the control it comes from"


def test_size_and_material_stand_at_the_runs(qapp: QApplication) -> None:
    from core.solve import solve_case

    plant = _sample("orchard_packhouse.plant.json")
    papers = _laid(plant, solve_case(plant, plant.solve_cases[0]), "tabloid")
    labels = [" ".join(row.text for row in placed.rows) for placed in papers.picture.labels.values()]
    moving = [label for label in labels if "gpm" in label]
    assert len(moving) >= 10
    assert all("in L copper" in label for label in moving)
    assert collisions(papers) == []


@pytest.mark.parametrize("name", SAMPLES)
def test_every_pipe_stands_in_one_row_of_the_schedule_of_runs(qapp: QApplication, name: str) -> None:
    plant = _sample(name)
    rows = runs_table(plant, None, "si", lambda name: "A1").rows
    tubes = [pipe for pipe in plant.pipes.values() if not pipe.joined]
    runs = runs_of(plant)
    assert [row[0] for row in rows] == list(runs)
    assert sorted(p.id for pipes in runs.values() for p in pipes) == sorted(p.id for p in tubes)
    length = sum(float(row[6].split(" ")[0]) for row in rows if row[6].endswith(" m"))
    assert length == pytest.approx(sum(p.si.length for p in tubes), abs=0.06 * len(rows))
    for pipes, row in zip(runs.values(), rows, strict=True):
        assert len({str(pipe.tube) for pipe in pipes}) == 1
        assert row[2] != row[3] or len(pipes) > 2


@pytest.mark.parametrize("name", SAMPLES)
def test_a_tag_stands_on_the_sheet_of_its_item(qapp: QApplication, name: str) -> None:
    plant = _sample(name)
    size = sheet_named("letter")
    assert size is not None
    papers = laid_out(plant, None, size, "us", "1 Jan 2030", full=True)
    pieces = [page.tile.source for page in papers.pages if page.tile is not None]
    for key, placed in papers.picture.tags.items():
        home = next(piece for piece in pieces if piece.has(box(plant.items[key]).centre))
        assert home.holds(placed.box), key
