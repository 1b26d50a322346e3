"""The drawing as SVG in which every symbol and pipe can be tapped or reached by key."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from core.diagram import symbols
from core.diagram.control_lines import PATTERNS
from core.diagram.drawing import Part
from core.diagram.geometry import Box, Point, box_of, hull
from core.diagram.labels import Placed
from core.diagram.picture import Detail, Picture, compose
from core.diagram.pipes import PipePicture
from core.handbook.markup import Markup, el, join, void
from core.plant.model import Item, Plant
from core.solve.solution import Solution

MARGIN = 30.0
WIDE = 0.56  # of a letter's height: how wide a letter is in the common screen fonts, on average
WIDE_BOLD = 0.62
TOUCH = 16.0  # a pipe answers to a finger this near


def measure(words: str, size: float, bold: bool = False) -> float:
    """About how wide words are on whatever screen shows them."""
    return len(words) * size * (WIDE_BOLD if bold else WIDE)


def drawing(plant: Plant, solution: Solution | None) -> Markup:
    """The plant in one case: lines, symbols, tags; figures stand in the cards."""
    detail = Detail(units="si" if plant.units == "si" else "us", second_lines=False, labels=False)
    picture = compose(plant, solution, measure, detail)
    area = _area(plant, picture)
    box = f"{area.x0:.0f} {area.y0:.0f} {area.width:.0f} {area.height:.0f}"
    inside = [
        [_wire(one.net.kind, line) for one in picture.wires for line in one.lines],
        [_pipe(plant, pipe) for pipe in picture.pipes.values()],
        [_symbol(item, picture) for item in plant.items.values()],
        [_words(placed) for placed in (*picture.texts.values(), *picture.tags.values())],
    ]
    return el("svg", inside, id="drawing", viewBox=box, data_box=box, role="group", aria_label="The drawing")


def _area(plant: Plant, picture: Picture) -> Box:
    boxes = [symbols.box(item) for item in plant.items.values()]
    area = hull([*boxes, picture.box]) if plant.items else Box(0.0, 0.0, 100.0, 100.0)
    return Box(area.x0 - MARGIN, area.y0 - MARGIN, area.x1 + MARGIN, area.y1 + MARGIN)


def _points(line: Iterable[Point]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in line)


def _wire(kind: object, line: Sequence[Point]) -> Markup:
    dash = " ".join(map(str, PATTERNS[kind]))  # type: ignore[index]
    return _closed("polyline", class_="wire", points=_points(line), stroke_dasharray=dash)


def _pipe(plant: Plant, pipe: PipePicture) -> Markup:
    line = _points(pipe.line)
    shown = [
        _closed("polyline", class_="touch", points=line),
        _closed("polyline", class_="casing", points=line, stroke_width=f"{pipe.weight + 4:.1f}"),
        _closed(
            "polyline",
            class_="line",
            points=line,
            stroke_width=f"{pipe.weight:.1f}",
            stroke_dasharray="6 4" if pipe.still else None,
        ),
    ]
    for arrow in pipe.arrows:
        (x, y), (dx, dy) = arrow.at, arrow.way
        long, wide = arrow.half_length, arrow.half_width
        tip = (x + dx * long, y + dy * long)
        back = [(x - dx * long - dy * s * wide, y - dy * long + dx * s * wide) for s in (1, -1)]
        shown.append(_closed("polygon", class_="ink", points=_points([tip, *back])))
    for letter in pipe.letters:
        (x, y), box = letter.at, letter.gap
        shown.append(_closed("rect", class_="ground", x=box.x0, y=box.y0, width=box.width, height=box.height))
        shown.append(el("text", letter.text, x=x, y=y + 3.6, class_="letter", text_anchor="middle"))
        shown += [_closed("polyline", class_="line", points=_points(one)) for one in letter.crossing]
    label = plant.pipes[pipe.id].label
    return _part(pipe.id, f"{pipe.id}, pipe{', ' + label if label else ''}", shown)


def _symbol(item: Item, picture: Picture) -> Markup:
    parts = [part for part in symbols.shape(item).parts if not part.small]
    filled = picture.states[item.id].filled
    weights = picture.stubs.get(item.id, {})
    centres = {
        word: hull([box_of(part.points) for part in parts if part.letter == word]).centre
        for word in {part.letter for part in parts if part.letter}
    }
    box = symbols.box(item)
    touch = _closed("rect", class_="touch", x=box.x0, y=box.y0, width=box.width, height=box.height)
    drawn = [_stroke(item, part, filled, weights, centres) for part in parts]
    name = f"{item.id}, {item.kind_info.title}{', ' + item.label if item.label else ''}"
    return _part(item.id, name, [touch, drawn])


def _stroke(
    item: Item, part: Part, filled: bool, weights: dict[str, float], centres: dict[str, Point]
) -> Markup:
    def on_board(x: float, y: float) -> Point:
        return symbols.place(item, (x, y))

    if part.letter:  # moves with the symbol but stays upright
        cx, cy = centres[part.letter]
        to = symbols.place(item, (cx, cy))

        def on_board(x: float, y: float) -> Point:
            return x - cx + to[0], y - cy + to[1]

    moved = part.mapped(on_board)
    path = " ".join(" ".join(_word(one) for one in command) for command in moved.path)
    solid = part.solid or (part.state and filled)
    return _closed(
        "path",
        d=path,
        class_="ink" if solid else "body" if part.body or part.state else "stroke",
        stroke_width=f"{weights[part.port]:.1f}" if part.port in weights else None,
        stroke_dasharray="3.6 3.4" if part.dashed else None,
    )


def _word(one: str | float) -> str:
    return one if isinstance(one, str) else f"{one:.1f}"


def _words(placed: Placed) -> Markup:
    rows = [
        el(
            "text",
            row.text,
            x=f"{row.x:.1f}",
            y=f"{row.y:.1f}",
            font_size=row.size,
            class_="bold" if row.bold else None,
        )
        for row in placed.rows
    ]
    if placed.leader is None:
        return join(rows)
    return join([_closed("polyline", class_="leader", points=_points(placed.leader)), rows])


def _part(key: str, name: str, inside: object) -> Markup:
    return el("g", inside, class_="part", data_id=key, tabindex="0", role="button", aria_label=name)


def _closed(tag: str, **attributes: object) -> Markup:
    return Markup(void(tag, **attributes)[:-1] + "/>")
