"""Lays a plant out on sheets: the diagram first, then legend, key, notes and schedules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from app.paper import frame
from app.paper.blocks import Block, Builder, Strip, Table, key_block, legend_block, notes_block, table_block
from app.paper.decisions import Row
from app.paper.key_plan import index_block
from app.paper.marks import Mark, Page, Rule, Text
from app.paper.match import match_marks
from app.paper.schedules import legend_entries, line_samples, schedules
from app.pens import text_width
from core.diagram import control_lines, symbols
from core.diagram.annotations import PAPER_QUANTITIES, Display
from core.diagram.control_lines import Wire
from core.diagram.geometry import Box, Polyline, hull
from core.diagram.picture import Detail, Picture, compose
from core.diagram.plans import BETWEEN, FULL, SIDE, Plan, Tile
from core.diagram.routes import route
from core.diagram.sheets import Sheet
from core.diagram.states import SolvedCase
from core.diagram.zones import Zones, zones
from core.errors import escaped
from core.plant.model import Plant
from core.vocabulary import Trait

TABLE = 175.0  # a schedule wants at least this width [mm]


@dataclass
class Papers:
    """All sheets of one print."""

    sheet: Sheet
    plant: Plant
    picture: Picture
    pages: list[Page] = field(default_factory=list)

    @property
    def title(self) -> str:
        return self.plant.title

    @property
    def info(self) -> dict[str, str]:
        """What a file says of itself."""
        return info_of(self.plant, "labeled one-line diagram")


def info_of(plant: Plant, subject: str) -> dict[str, str]:
    """Title, author, subject and keywords of a file."""
    sheet = {key: value for key, value in plant.sheet.items() if isinstance(value, str)}
    return {
        "Title": plant.title or "untitled plant",
        "Author": sheet.get("drawn_by", ""),
        "Subject": " · ".join(part for part in (subject, sheet.get("number", "")) if part),
        "Keywords": " ".join(plant.systems),
    }


@dataclass
class _Column:
    page: int
    area: Box
    y: float
    kinds: tuple[str, ...]  # blocks that may stand here; empty: any

    @property
    def left(self) -> float:
        return self.area.y1 - self.y


def laid_out(
    plant: Plant,
    solution: SolvedCase | None,
    sheet: Sheet,
    units: Display,
    date: str,
    logbook: Sequence[Row] = (),
    more: Sequence[Builder] = (),
    full: bool = False,
) -> Papers:
    """The sheets of a plant in a case.

    On the first sheet stand the diagram and, as far as there is room, everything else; the rest goes on
    further sheets. A diagram too large for one sheet at the least scale is cut over several. `full` sets it
    at full lettering, on as many sheets as that takes.
    """
    lines = route(plant)
    wires = control_lines.wires(plant, lines)
    placed = zones(plant, lines, sheet, FULL if full else None, wires)
    plan = placed.plan
    numbers, notes = _notes(plant, solution)
    detail = Detail(
        PAPER_QUANTITIES, units, must_tags=True, markers=numbers, stages=True, wires=control_lines.KINDS
    )
    detail.keep_clear = plan.cuts()
    if not plan.single:
        detail.pieces = [tile.source for _, tile in placed.tiles()]
    bounds = plan.reach if plan.single else placed.frame()
    picture = compose(plant, solution, text_width, detail, lines, bounds=bounds, wires=wires)
    papers = Papers(sheet, plant, picture)
    _lay_tiles(papers, placed, lines)
    columns = _first_columns(papers, plan)
    if not plan.single:
        _flow(papers, columns, lambda wide: index_block(plant, placed, lines, wide), "table")
    for name, build in _side_builders(plant, picture, units, notes).items():
        _flow(papers, columns, build, name)
    if cut := frame.cut_words(sheet, _title(papers.plant, solution, units, date, True)):
        long = Table("TITLE BLOCK IN FULL", ("cell", "words"), tuple(cut))
        _flow(papers, columns, lambda wide: table_block(long, wide), "table")
    if plant.sheet.get("revisions"):
        rows = tuple(tuple(escaped(str(cell)) for cell in row) for row in plant.sheet["revisions"])
        revisions = Table("REVISIONS", ("revision", "date", "what"), rows)
        _flow(papers, columns, lambda wide: table_block(revisions, wide), "table")
    for table in schedules(plant, solution, units, lambda name: placed.of(plant, lines, name)):
        _flow(papers, columns, lambda wide, table=table: table_block(table, wide), "table")  # type: ignore[misc]
    if logbook:
        _flow(papers, columns, lambda wide: notes_block("LOGBOOK", logbook, wide), "table")
    for build in more:
        _flow(papers, columns, build, "table")
    _finish(papers, plan, solution, units, date)
    return papers


def _side_builders(
    plant: Plant, picture: Picture, units: Display, notes: list[tuple[str, str, str]]
) -> dict[str, Builder]:
    """Legend, key and notes, by the kind of column they want."""
    out: dict[str, Builder] = {
        "legend": lambda wide: legend_block(legend_entries(plant, picture.states), wide),
        "key": lambda wide: key_block(line_samples(plant, units, picture.wires), wide),
    }
    if notes:
        out["notes"] = lambda wide: notes_block("SOLVER'S NOTES", notes, wide)
    return out


def _notes(plant: Plant, solution: SolvedCase | None) -> tuple[dict[str, str], list[tuple[str, str, str]]]:
    """Markers by place, and the numbered list: one number for each place that has notes."""
    numbers: dict[str, str] = {}
    listed: list[tuple[str, str, str]] = []
    for note in solution.notes if solution is not None else ():
        if note.at not in numbers:
            numbers[note.at] = str(len(numbers) + 1)
        listed.append((numbers[note.at], escaped(note.at), escaped(note.text)))
    listed.sort(key=lambda entry: int(entry[0]))
    known = {name: text for name, text in numbers.items() if name in plant.items or name in plant.pipes}
    return known, listed


def _extent(plant: Plant, picture: Picture) -> Box:
    """The box of everything drawn, with a little air."""
    boxes = [symbols.box(item) for item in plant.items.values()]
    if picture.pipes or picture.written:
        boxes.append(picture.box)
    return hull(boxes).grown(4.0)


def _lay_tiles(papers: Papers, placed: Zones, lines: dict[str, Polyline]) -> None:
    """One page for each tile that holds anything."""
    plan, used = placed.plan, placed.numbers
    for _, tile in placed.tiles():
        shown = tile
        if plan.single:
            # With the texts that reach further than symbols and lines.
            source = hull([tile.source, _extent(papers.plant, papers.picture)])
            shown = Tile(source, tile.on_sheet(source), tile.scale)
        papers.pages.append(Page(tile=shown))
    cut = [*lines.items(), *_control_lines(papers.picture)]
    astride = [] if plan.single else _astride(papers.plant, placed)
    for (i, j), number in used.items():
        if not plan.single:
            page = papers.pages[number]
            marks = match_marks(
                plan, i, j, cut, lambda u, v: used[u, v] + 1 if (u, v) in used else None, astride
            )
            page.add(marks)
            page.add(_cut_edges(plan, i, j))


def _astride(plant: Plant, placed: Zones) -> list[tuple[str, Box]]:
    """Items that lie on a cut, with their boxes."""
    boxes = [(item.id, symbols.box(item)) for item in plant.items.values() if not item.has(Trait.JOINS)]
    return [
        (name, box)
        for name, box in boxes
        if sum(1 for _, tile in placed.tiles() if tile.source.overlaps(box)) > 1
    ]


def _control_lines(picture: Picture) -> Iterator[tuple[str, Polyline]]:
    """Control lines by the tag of the control they come from, each once."""
    for wire in picture.wires:
        yield from ((control_tag(wire), line) for line in wire.lines)


def control_tag(wire: Wire) -> str:
    """The control a line comes from, and of how many others."""
    first, *others = wire.net.sources
    return f"{first} +{len(others)}" if others else first


def _cut_edges(plan: Plan, i: int, j: int) -> list[Mark]:
    """Chain lines along the cut sides of a tile."""
    x0, y0, x1, y1 = plan.tile(i, j).target
    dash = (6.0, 1.5, 1.0, 1.5)
    out: list[Mark] = []
    if i > 0:
        out.append(Rule(x0, y0, x0, y1, 0.25, dash))
    if i < len(plan.columns) - 2:
        out.append(Rule(x1, y0, x1, y1, 0.25, dash))
    if j > 0:
        out.append(Rule(x0, y0, x1, y0, 0.25, dash))
    if j < len(plan.rows) - 2:
        out.append(Rule(x0, y1, x1, y1, 0.25, dash))
    return out


def _first_columns(papers: Papers, plan: Plan) -> list[_Column]:
    """Room left on the sheet of a diagram that lies on one sheet."""
    if not plan.single or papers.pages[0].tile is None:
        return []
    room, where = papers.sheet.field, plan.beside
    below = Box(room.x0, papers.pages[0].tile.target.y1 + BETWEEN, plan.room.x1, room.y1)
    if where == "beside":
        area = Box(room.x1 - SIDE, room.y0, room.x1, room.y1)
        side = _Column(0, area, area.y0, ("legend", "key", "notes"))
        return [side, *(_split(0, below, ("table",)) if below.height > 25 else [])]
    if where == "both below":
        left = Box(below.x0, below.y0, below.x1 - SIDE - BETWEEN, below.y1)
        right = Box(below.x1 - SIDE, below.y0, below.x1, below.y1)
        return [_Column(0, left, left.y0, ("legend",)), _Column(0, right, right.y0, ("key",))]
    return [_Column(0, below, below.y0, ("legend",))] if where == "legend below" else []


def _split(page: int, area: Box, kinds: tuple[str, ...]) -> list[_Column]:
    """As many columns beside each other as schedules want."""
    count = max(1, int((area.width + BETWEEN) // (TABLE + BETWEEN)))
    wide = (area.width - BETWEEN * (count - 1)) / count
    lefts = [area.x0 + i * (wide + BETWEEN) for i in range(count)]
    return [_Column(page, Box(x, area.y0, x + wide, area.y1), area.y0, kinds) for x in lefts]


def _flow(papers: Papers, columns: list[_Column], build: Builder, kind: str) -> None:
    """Put a block into the columns of its kind, then into those of further sheets."""
    done = 0
    for column in _columns(papers, columns, kind):
        block = build(column.area.width)
        strips = list(block.body)[done:]
        fits = _fitting(block, strips, column.left - 1)
        # A heading with hardly a row under it is not worth its place, nor a table torn for a few rows.
        if fits < min(len(strips), 4):
            if column.left < papers.sheet.field.height:
                continue
            fits = max(fits, 1)  # more than a whole sheet would not give it
        column.y += _set(papers.pages[column.page], column, block, strips[:fits], done > 0)
        done += fits
        if fits == len(strips):
            return


def _columns(papers: Papers, columns: list[_Column], kind: str) -> Iterator[_Column]:
    """Columns of a kind in order; new sheets are begun as they are wanted, and serve both kinds."""
    index = 0
    while True:
        while index < len(columns):
            column = columns[index]
            index += 1
            if not column.kinds or kind in column.kinds:
                yield column
        papers.pages.append(Page())
        columns += _split(len(papers.pages) - 1, papers.sheet.field, ())


def _fitting(block: Block, strips: list[Strip], room: float) -> int:
    left = room - block.head.high
    count = 0
    for strip in strips:
        left -= strip.high
        if left < 0:
            break
        count += 1
    return count


def _set(page: Page, column: _Column, block: Block, strips: list[Strip], started: bool) -> float:
    """Draw heading and strips; gives the height used with the gap after it."""
    x, y = column.area.x0, column.y
    page.add(block.head.marks, x, y)
    if started:
        title = next(mark for mark in block.head.marks if isinstance(mark, Text))
        page.add([Text("continued", title.box.x1 + 2, title.y, 3.43, soft=True)], x, y)
    y += block.head.high
    for strip in strips:
        page.add(strip.marks, x, y)
        y += strip.high
    return y - column.y + BETWEEN


def _finish(papers: Papers, plan: Plan, solution: SolvedCase | None, units: Display, date: str) -> None:
    """Border, title block and caution on every sheet."""
    for number, page in enumerate(papers.pages, 1):
        title = _title(papers.plant, solution, units, date, page.tile is not None)
        page.add(frame.border(papers.sheet))
        page.add(frame.title_block(papers.sheet, title, number, len(papers.pages)))
        page.add(frame.caution(papers.sheet, number == 1))


def _title(
    plant: Plant, solution: SolvedCase | None, units: Display, date: str, diagram: bool
) -> frame.Title:
    """The words of the title block of a sheet with a piece of the diagram, or of one without."""
    said = {key: escaped(value) for key, value in plant.sheet.items() if isinstance(value, str)}
    case = "not solved"
    if solution is not None:
        case = escaped(solution.case)
        if not getattr(solution, "converged", True):
            case += " (not solved)"
    drawing = "Labeled one-line diagram" if diagram else "Schedules and legend"
    scale = "not to scale" if diagram else "none"
    return frame.Title(
        escaped(plant.title) or "untitled plant", drawing, case, scale, said.get("date") or date,
        units.upper(), _revision(plant), said.get("number", ""), said.get("owner", ""),
        said.get("drawn_by", ""), said.get("checked_by", ""), said.get("approved_by", ""),
    )  # fmt: skip


def _revision(plant: Plant) -> str:
    """The last revision of the title block, else that of the file."""
    rows = plant.sheet.get("revisions") or ()
    return escaped(str(rows[-1][0])) if rows else escaped(plant.revision)
