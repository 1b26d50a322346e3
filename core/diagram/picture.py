"""A plant and a solved case as one picture: lines, marks, tags, labels. Board and paper paint it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from core.diagram import annotations as words_of
from core.diagram import control_lines, stages, states, symbols
from core.diagram.annotations import DEFAULT_QUANTITIES, Display
from core.diagram.control_lines import Wire, WireKind, wire_boxes
from core.diagram.geometry import Box, Point, Polyline, box_of, hull, length, segments
from core.diagram.kept import kept
from core.diagram.labels import (
    APART,
    TEXT_SIZE,
    MarkerWish,
    Measure,
    PipeWish,
    Placed,
    TagWish,
    TextWish,
    as_put,
    place,
)
from core.diagram.marks import Arrow, Letter, along, arrows_on, letter_on
from core.diagram.routes import HOP, crossings, route
from core.diagram.states import Figures, State
from core.diagram.taken import Busy
from core.errors import escaped
from core.plant.model import PortRef

if TYPE_CHECKING:
    from core.plant.model import Pipe, Plant

STANDS = (words_of.STILL_WORD,)
OPEN_END = 4.0  # radius of the circle at a port without a pipe
TEXT_WIDE = 200.0  # the user's texts are broken into lines no wider
ROUND = 250.0  # texts lie within this distance of what is drawn, as a rule
LETTER_EVERY = 240.0  # letters of one system keep this distance
TAGGED_RUN = 160.0  # a pipe this long carries its own tag before its figures


@dataclass(frozen=True)
class PipePicture:
    """One pipe as it is painted."""

    id: str
    line: Polyline
    hops: tuple[Point, ...]
    weight: float
    still: bool
    arrows: tuple[Arrow, ...]
    letters: tuple[Letter, ...]
    proposed: bool = False


@dataclass(frozen=True)
class Picture:
    """Everything that is painted of a plant in one case, in board units."""

    pipes: dict[str, PipePicture]
    states: dict[str, State]
    stubs: dict[str, dict[str, float]]  # item -> port -> weight of the pipe there
    open_ends: dict[str, tuple[Point, ...]]  # item -> ports without a pipe
    tags: dict[str, Placed]
    labels: dict[str, Placed]
    wires: tuple[Wire, ...] = ()
    markers: dict[str, Placed] = field(default_factory=dict)
    texts: dict[str, Placed] = field(default_factory=dict)  # the user's own, by their place in the list
    wires_follow: object = None  # what the wires were laid by
    hidden: frozenset[str] = frozenset()  # pipes whose label found no spot: shown on hovering
    ground: object = None  # what the texts were laid on: while it is the same those that fit may stay

    @property
    def box(self) -> Box:
        """Everything painted but the symbols themselves."""
        boxes = [box_of(pipe.line) for pipe in self.pipes.values()]
        boxes += [placed.box for placed in (*self.written, *self.markers.values())]
        return hull(boxes)

    @property
    def written(self) -> tuple[Placed, ...]:
        """All placed texts but the numbers in their squares."""
        return (*self.texts.values(), *self.tags.values(), *self.labels.values())


@dataclass
class Detail:
    """What is written. `full` on paper; the board drops words as it is zoomed out."""

    quantities: Sequence[str] = DEFAULT_QUANTITIES
    units: Display = "us"
    tags: bool = True
    second_lines: bool = True
    labels: bool = True
    must_tags: bool = False  # on paper no tag may be dropped
    markers: Mapping[str, str] = field(default_factory=dict)  # id of an item or pipe -> number in its square
    text_scale: float = 1.0  # above 1 where a screen is zoomed out and texts must stay readable
    keep_clear: Sequence[Box] = ()  # where no text may lie: cuts between sheets
    wires: Sequence[WireKind] = ("senses",)  # lines of control drawn
    stages: bool = False  # letters of the work's stage, where not all is only drawn
    hurried: bool = False  # labels that found no spot in the picture before are not tried again


def compose(
    plant: Plant,
    solution: Figures | None,
    measure: Measure,
    detail: Detail | None = None,
    lines: Mapping[str, Polyline] | None = None,
    previous: Picture | None = None,
    bounds: Box | None = None,
) -> Picture:
    """The picture of a plant in one case.

    `lines` are the routes (made here when not given); `previous` is the picture before, so that labels that
    still have room keep their spots.
    """
    detail = detail or Detail()
    lines = route(plant) if lines is None else lines
    staged = detail.stages and bool(stages.used(plant))
    pipes = _pipes(plant, solution, lines, staged)
    joined = set(plant.pipes_at)
    open_ends = _open_ends(plant, joined)
    stubs: dict[str, dict[str, float]] = {}
    for pipe in plant.pipes.values():
        for end in (pipe.start, pipe.end):
            stubs.setdefault(end.item, {})[end.port] = pipes[pipe.id].weight
    wordless = not (detail.tags or detail.labels or detail.markers)
    stamp = control_lines.stamp(plant, lines, detail.wires)
    wires = previous.wires if previous is not None else ()
    same_wires = previous is not None and previous.wires_follow == stamp
    if not same_wires:
        wires = control_lines.wires(plant, lines, detail.wires, wires, quick=wordless)
    ground = (stamp, plant.texts, tuple(detail.keep_clear), detail.text_scale, staged, bounds)
    same_ground = previous is not None and (previous.ground, previous.open_ends) == (ground, open_ends)
    wishes = _wishes(plant, solution, measure, detail, pipes)
    before = previous if same_ground else None
    last, stay, sought = _of_before(wishes, previous, detail, measure, _stirred(pipes, before))
    # Where nothing is sought, nothing has to be dodged either.
    busy = _busy(plant, pipes, open_ends, wires) if any(sought) else Busy(Box(0.0, 0.0, 0.0, 0.0))
    for area in detail.keep_clear:
        busy.add(area, "cut")
    placed = place(*sought[:2], busy, measure, *sought[2:], last, bounds, detail.text_scale, stay)
    texts: dict[str, dict[str, Placed]] = {"item": {}, "note": {}, "text": {}, "": {}}
    for key, spot in placed.items():
        group, _, name = key.rpartition(" ")
        texts[group][name] = spot
    return Picture(
        pipes,
        {item.id: states.state_of(item, solution) for item in plant.items.values()},
        stubs,
        open_ends,
        texts["item"],
        texts[""],
        wires,
        texts["note"],
        texts["text"],
        stamp if same_wires or not wordless else None,
        frozenset(wish.key for wish in wishes.labels if wish.key not in placed),
        ground if not wordless or _stirred(pipes, before) == {} else None,
    )


class _Wishes(NamedTuple):
    """All texts wanted, in the order in which `place` takes them."""

    tags: list[TagWish]
    labels: list[PipeWish]
    markers: list[MarkerWish]
    texts: list[TextWish]


def _wishes(
    plant: Plant,
    solution: Figures | None,
    measure: Measure,
    detail: Detail,
    pipes: Mapping[str, PipePicture],
) -> _Wishes:
    return _Wishes(
        _tag_wishes(plant, solution, detail) if detail.tags else [],
        _label_wishes(plant, solution, detail, pipes) if detail.labels else [],
        _marker_wishes(plant, detail, pipes),
        _text_wishes(plant, measure, pipes) if detail.tags else [],
    )


def _of_before(
    wishes: _Wishes,
    previous: Picture | None,
    detail: Detail,
    measure: Measure,
    stirred: Mapping[str, list[Box]] | None,
) -> tuple[dict[str, Placed], dict[str, Placed], _Wishes]:
    """The spots of last time, the texts that simply stay, and what then is still to be placed."""
    if previous is None:
        return {}, {}, wishes
    last = {**{f"item {k}": p for k, p in previous.tags.items()}, **previous.labels}
    if not detail.hurried:
        return last, {}, wishes
    sought = wishes._replace(labels=[wish for wish in wishes.labels if not _given_up(wish, previous)])
    if stirred is None:
        return last, {}, sought
    others = {f"note {k}": p for k, p in previous.markers.items()}
    others |= {f"text {k}": p for k, p in previous.texts.items()}
    known = {**last, **others}
    for key in [key for key, text in known.items() if _in_the_way(key, text, stirred)]:
        del known[key]
    stay = kept(*sought, known, measure, detail.text_scale)
    rest = _Wishes(
        [wish for wish in sought.tags if wish.key not in stay],
        [wish for wish in sought.labels if wish.key not in stay],
        [wish for wish in sought.markers if wish.key not in stay],
        [wish for wish in sought.texts if wish.key not in stay],
    )
    return last, stay, rest


def _stirred(pipes: Mapping[str, PipePicture], previous: Picture | None) -> dict[str, list[Box]] | None:
    """Pipes that look otherwise than before, with the places texts must leave to them.

    None where there is no picture before, or one laid on other ground.
    """
    if previous is None or pipes.keys() != previous.pipes.keys():
        return None
    out: dict[str, list[Box]] = {}
    for name, picture in pipes.items():
        if picture is not previous.pipes[name] and picture != previous.pipes[name]:
            out[name] = [box.grown(APART) for box, _ in _boxes_of(picture)]
    return out


def _in_the_way(key: str, text: Placed, stirred: Mapping[str, list[Box]]) -> bool:
    """Whether a text belongs to a pipe that looks otherwise now, or may lie on one."""
    if key in stirred:
        return True
    areas = [text.box] if text.leader is None else [text.box, box_of(text.leader)]
    return any(box.overlaps(area) for boxes in stirred.values() for box in boxes for area in areas)


def _boxes_of(picture: PipePicture) -> Iterator[tuple[Box, str]]:
    """What a pipe covers and no text may, with the word before its name there."""
    for run in segments(picture.line):
        yield box_of(run).grown(picture.weight / 2 + 1.0), ""
    for x, y in picture.hops:
        yield Box(x, y - HOP, x + HOP, y + HOP).grown(1.0), ""
    for arrow in picture.arrows:
        yield arrow.box.grown(1.0), "arrow "
    for letter in picture.letters:
        yield letter.box, "letter "


def _given_up(wish: PipeWish, previous: Picture) -> bool:
    """Whether a label found no spot at the same line in the picture before."""
    return wish.key in previous.hidden and previous.pipes[wish.key].line == wish.line


def _pipes(
    plant: Plant, solution: Figures | None, lines: Mapping[str, Polyline], staged: bool
) -> dict[str, PipePicture]:
    letters = words_of.system_letters(plant)
    jumps_of, jumped = crossings(lines)
    led = _leads(plant, solution, lines)
    out: dict[str, PipePicture] = {}
    lettered: list[Letter] = []
    for pipe in _longest_first(plant, lines):
        line = lines[pipe.id]
        value = states.flow(solution, pipe.id)
        stands = states.still(solution, pipe.id)
        dead = states.dead_end(plant, pipe) and (stands or value is None)
        heavy = 1.0 if dead else states.weight(value)
        jumps = tuple(jumps_of.get(pipe.id, ()))
        crossed = [*jumps, *jumped.get(pipe.id, ())]
        marks = letter_on(line, "" if dead else letters.get(pipe.system, ""), crossed)
        marks = [mark for mark in marks if not any(_near(mark, other) for other in lettered)]
        lettered += marks
        if staged:
            marks += stages.in_line(line, pipe, crossed, marks)
        arrows: list[Arrow] = []
        if value is not None and not stands and pipe.id in led:
            arrows = arrows_on(line, value > 0, heavy, crossed, marks)
        out[pipe.id] = PipePicture(
            pipe.id, line, jumps, heavy, stands and not dead, tuple(arrows), tuple(marks)
        )
    return {name: out[name] for name in plant.pipes}


def _longest_first(plant: Plant, lines: Mapping[str, Polyline]) -> list[Pipe]:
    """Pipes by the length of their longest run, so that the longest carry the letters."""
    reach = {name: max(map(length, segments(line)), default=0.0) for name, line in lines.items()}
    return sorted(plant.pipes.values(), key=lambda pipe: (-reach[pipe.id], pipe.id))


def _near(a: Letter, b: Letter) -> bool:
    """Whether two letters say the same too near to each other."""
    return a.text == b.text and abs(a.at[0] - b.at[0]) + abs(a.at[1] - b.at[1]) < LETTER_EVERY


def _leads(plant: Plant, solution: Figures | None, lines: Mapping[str, Polyline]) -> set[str]:
    """Pipes that carry an arrow: all long ones, and of a chain of short ones the longest."""
    flows = {
        name: STANDS if states.still(solution, name) else (f"{abs(states.flow(solution, name) or 0.0):.3e}",)
        for name in plant.pipes
    }
    reach = {name: max(map(length, segments(lines[name])), default=0.0) for name in plant.pipes}
    out = {name for name, far in reach.items() if far >= 44}
    for chain in _chains(plant, flows):
        if not out & set(chain):
            out.add(max(chain, key=lambda name: reach[name]))
    return out


def _open_ends(plant: Plant, joined: set[PortRef]) -> dict[str, tuple[Point, ...]]:
    out: dict[str, tuple[Point, ...]] = {}
    for item in plant.items.values():
        free = [
            symbols.port_place(item, port)
            for port in item.ports
            if (item.id, port) not in joined and (item.kind, port) not in states.CAPPED
        ]
        if item.kind == "joint":
            free = [item.at] * (len(plant.pipes_at.get(PortRef(item.id, "at"), ())) < 2)
        if free:
            out[item.id] = tuple(free)
    return out


def _busy(
    plant: Plant,
    pipes: Mapping[str, PipePicture],
    open_ends: Mapping[str, tuple[Point, ...]],
    wires: Sequence[Wire],
) -> Busy:
    """Everything that a text may not touch."""
    drawn = [symbols.box(item) for item in plant.items.values()]
    drawn += [box_of(picture.line) for picture in pipes.values()]
    busy = Busy(hull(drawn).grown(ROUND))
    for item in plant.items.values():
        busy.add(symbols.box(item).grown(1.0), f"item {item.id}")
    for name, picture in pipes.items():
        for area, what in _boxes_of(picture):
            busy.add(area, f"{what}{name}")
    for places in open_ends.values():
        for x, y in places:
            busy.add(Box(x, y, x, y).grown(OPEN_END + 1), "open end")
    for wire in wires:
        for area in wire_boxes(wire):
            busy.add(area.grown(1.0), f"wire {wire.kind}")
    return busy


def _tag_wishes(plant: Plant, solution: Figures | None, detail: Detail) -> list[TagWish]:
    out: list[TagWish] = []
    staged = detail.stages and bool(stages.used(plant))
    for item in plant.items.values():
        tag, second = words_of.item_text(plant, item, solution, detail.units)
        if not tag:
            continue
        if staged:
            tag = f"{tag} {stages.sign(item)}"
        lines = (tag, second) if second and detail.second_lines else (tag,)
        inside = item.kind in ("tank", "coil_tank", "buffer") and not item.turn % 180
        area = symbols.body_box(item) if inside else symbols.box(item)
        out.append(TagWish(f"item {item.id}", area, lines, inside, detail.must_tags))
    return out


def _marker_wishes(plant: Plant, detail: Detail, pipes: Mapping[str, PipePicture]) -> list[MarkerWish]:
    out: list[MarkerWish] = []
    for name, text in detail.markers.items():
        if name in plant.items:
            out.append(MarkerWish(f"note {name}", symbols.box(plant.items[name]), text))
        elif name in pipes and segments(pipes[name].line):
            run = max(segments(pipes[name].line), key=length)
            out.append(MarkerWish(f"note {name}", box_of(run), text))
    return out


def _text_wishes(plant: Plant, measure: Measure, pipes: Mapping[str, PipePicture]) -> list[TextWish]:
    """The user's texts, broken into lines, with what they point at."""
    out: list[TextWish] = []
    for number, text in enumerate(plant.texts):
        lines = tuple(
            row for line in str(text["text"]).splitlines() for row in _broken(escaped(line), measure)
        )
        if not lines:
            continue
        x, y = (float(v) for v in text["at"])
        lead = text.get("lead_to")
        target: Point | None = None
        if isinstance(lead, str) and lead in plant.items:
            area = symbols.body_box(plant.items[lead])
            target = (min(max(x, area.x0), area.x1), min(max(y, area.y0), area.y1))
        elif isinstance(lead, str) and lead in pipes and segments(pipes[lead].line):
            target = along(max(segments(pipes[lead].line), key=length), 0.5)
        elif lead is not None and not isinstance(lead, str):
            target = (float(lead[0]), float(lead[1]))
        out.append(TextWish(f"text {number}", (x, y), lines, target))
    return out


def texts_as_put(
    plant: Plant, measure: Measure, picture: Picture, numbers: Iterable[int], scale: float = 1.0
) -> dict[str, Placed]:
    """Some of the user's texts just where they were put, by their place in the list."""
    wanted = {f"text {number}" for number in numbers}
    wishes = [wish for wish in _text_wishes(plant, measure, picture.pipes) if wish.key in wanted]
    return {wish.key.removeprefix("text "): as_put(wish, measure, scale) for wish in wishes}


def _broken(text: str, measure: Measure) -> tuple[str, ...]:
    """A text in lines of at most the usual width; a word longer than that stands alone."""
    lines: list[str] = []
    for word in text.split():
        if lines and measure(f"{lines[-1]} {word}", TEXT_SIZE, False) <= TEXT_WIDE:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return tuple(lines)


def _label_wishes(
    plant: Plant, solution: Figures | None, detail: Detail, pipes: Mapping[str, PipePicture]
) -> list[PipeWish]:
    """One label for each chain of pipes that would all say the same, at its longest run."""
    words: dict[str, tuple[str, ...]] = {}
    for pipe in plant.pipes.values():
        stands = pipes[pipe.id].still
        if stands or (states.flow(solution, pipe.id) is not None and pipes[pipe.id].weight > 1.0):
            text = words_of.pipe_text(pipe.id, solution, detail.quantities, detail.units, plant)
            words[pipe.id] = tuple(text)
    reach = {name: max(map(length, segments(pipes[name].line)), default=0.0) for name in words}
    out: list[PipeWish] = []
    for chain in _chains(plant, words):
        best = max(chain, key=lambda name: reach[name])
        picture, longest = pipes[best], reach[best]
        if not words[best] or (picture.still and longest < 60) or longest < 15:
            continue
        tag = best if longest >= TAGGED_RUN and not picture.still else ""
        others = sorted((name for name in chain if name != best), key=lambda name: (-reach[name], name))
        alike = tuple((name, pipes[name].line) for name in others if reach[name] >= 15)
        out.append(PipeWish(best, picture.line, words[best], picture.weight, tag, alike))
    return out


def _chains(plant: Plant, words: Mapping[str, tuple[str, ...]]) -> list[list[str]]:
    """Pipes that follow one another and say the same, in groups."""
    meeting: dict[str, list[str]] = {}
    for name in words:
        pipe = plant.pipes[name]
        for end in (pipe.start, pipe.end):
            meeting.setdefault(end.item, []).append(name)
    parent = {name: name for name in words}

    def root(name: str) -> str:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for item, names in meeting.items():
        kind = plant.items[item].kind if item in plant.items else ""
        if kind in ("exchanger", "tank", "coil_tank", "buffer", "separator"):
            continue
        standing = [name for name in names if words[name] == STANDS]
        moving = [name for name in names if words[name] != STANDS]
        for name in standing[1:]:
            parent[root(standing[0])] = root(name)
        if len(moving) == 2 and words[moving[0]] == words[moving[1]]:
            parent[root(moving[0])] = root(moving[1])
    groups: dict[str, list[str]] = {}
    for name in words:
        groups.setdefault(root(name), []).append(name)
    return list(groups.values())
