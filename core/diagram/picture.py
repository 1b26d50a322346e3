"""A plant and a solved case as one picture: lines, marks, tags, labels. Board and paper paint it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from core.diagram import annotations as words_of
from core.diagram import control_lines, stages, states, symbols
from core.diagram.annotations import DEFAULT_QUANTITIES, Display
from core.diagram.chains import chains
from core.diagram.control_lines import Wire, WireKind
from core.diagram.geometry import Box, Point, Polyline, box_of, hull, length, segments
from core.diagram.labels import (
    EFFORT,
    MarkerWish,
    PipeWish,
    Placed,
    TagWish,
    TextWish,
    as_put,
    at_a_glance,
    place,
)
from core.diagram.marks import along
from core.diagram.obstacles import Changed, Obstacles, changed
from core.diagram.pipes import PipePicture, pipes_of
from core.diagram.routes import route
from core.diagram.runs import run_tags
from core.diagram.spots import TEXT_SIZE, Measure
from core.diagram.stable_labels import stable_labels
from core.diagram.states import SolvedCase, State
from core.errors import escaped
from core.plant.model import PortRef
from core.vocabulary import Trait
from core.water.resting import SIGN

if TYPE_CHECKING:
    from core.plant.model import Plant

TEXT_WIDE = 200.0  # the user's texts are broken into lines no wider


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
    hidden: frozenset[str] = frozenset()  # wishes that found no spot, `second` before that of a bare tag
    obstacles: Obstacles | None = None  # what the texts were laid on: those that still fit may stay

    @property
    def box(self) -> Box:
        """Everything painted but the symbols themselves."""
        boxes = [box_of(pipe.line) for pipe in self.pipes.values()]
        boxes += [placed.box for placed in (*self.written, *self.markers.values())]
        boxes += [box for wire in self.wires for box in control_lines.wire_boxes(wire)]
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
    must_runs: bool = False  # where texts have their size and nobody waits, no run's tag either
    markers: Mapping[str, str] = field(default_factory=dict)  # id of an item or pipe -> number in its square
    text_scale: float = 1.0  # above 1 where a screen is zoomed out and texts must stay readable
    keep_clear: Sequence[Box] = ()  # where no text may lie: cuts between sheets
    pieces: Sequence[Box] = ()  # the sheets of a drawing that is cut
    wires: Sequence[WireKind] = ("senses",)  # lines of control drawn
    resting: frozenset[str] = frozenset()  # whose figures rest on a last good value
    stages: bool = False  # letters of the work's stage, where not all is only drawn
    hurried: bool = False  # what found no spot is not tried again, and the likeliest spots must do


def compose(
    plant: Plant,
    solution: SolvedCase | None,
    measure: Measure,
    detail: Detail | None = None,
    lines: Mapping[str, Polyline] | None = None,
    previous: Picture | None = None,
    bounds: Box | None = None,
    keep_on: Callable[[], bool] | None = None,
    wires: tuple[Wire, ...] | None = None,
) -> Picture:
    """The picture of a plant in one case.

    `lines` are the routes, `wires` the lines of control (made here when not given); `previous` is the picture
    before, whose spots are kept where there is room. Once `keep_on` says no, this raises `GivenUp`.
    """
    detail = detail or Detail()
    lines = route(plant) if lines is None else lines
    staged = detail.stages and bool(stages.used(plant))
    pipes = pipes_of(plant, solution, lines, staged, detail.keep_clear)
    joined = set(plant.pipes_at)
    open_ends = _open_ends(plant, joined)
    wordless = not (detail.tags or detail.labels or detail.markers)
    stamp = control_lines.stamp(plant, lines, detail.wires)
    same_wires = previous is not None and previous.wires_follow == stamp
    if wires is None:
        wires = previous.wires if previous is not None else ()
        if not same_wires:
            wires = control_lines.wires(plant, lines, detail.wires, wires, quick=wordless)
    setting = (plant.texts, tuple(detail.keep_clear), detail.text_scale, staged, bounds)
    obstacles = Obstacles(pipes, plant.items, open_ends, wires, setting)
    wishes = _wishes(plant, solution, measure, detail, pipes)
    change = changed(previous.obstacles, obstacles) if previous is not None and detail.hurried else None
    last, placed, sought = _of_before(wishes, previous, detail, measure, change)
    if wanted := sum(len(some) for some in (sought.tags, sought.labels, sought.markers, sought.texts)):
        busy = obstacles.taken(wanted, change)
        for area in detail.keep_clear:
            busy.add(area, "cut")
        each = at_a_glance(wanted) if detail.hurried else EFFORT
        placed = place(
            *(sought.tags, sought.labels, busy, measure, sought.markers, sought.texts),
            *(last, bounds, detail.text_scale, placed, each, keep_on),
            pieces=detail.pieces,
        )
    texts: dict[str, dict[str, Placed]] = {"item": {}, "note": {}, "text": {}, "": {}}
    for key, spot in placed.items():
        group, _, name = key.rpartition(" ")
        texts[group][name] = spot
    return Picture(
        pipes,
        {item.id: states.state_of(item, solution) for item in plant.items.values()},
        _stubs(plant, pipes),
        open_ends,
        texts["item"],
        texts[""],
        wires,
        texts["note"],
        texts["text"],
        stamp if same_wires or not wordless else None,
        _hidden(wishes, placed),
        # Without words those of before may stay, and lie where they were laid.
        obstacles if not wordless else previous.obstacles if previous is not None else None,
    )


_Wish = TagWish | PipeWish | MarkerWish | TextWish


class _Wishes(NamedTuple):
    """All texts wanted, in the order in which `place` takes them."""

    tags: list[TagWish]
    labels: list[PipeWish]
    markers: list[MarkerWish]
    texts: list[TextWish]

    def but(self, out: Callable[[_Wish], bool]) -> _Wishes:
        """Those that are not out."""
        return _Wishes(
            [wish for wish in self.tags if not out(wish)],
            [wish for wish in self.labels if not out(wish)],
            [wish for wish in self.markers if not out(wish)],
            [wish for wish in self.texts if not out(wish)],
        )


def _wishes(
    plant: Plant,
    solution: SolvedCase | None,
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
    wishes: _Wishes, previous: Picture | None, detail: Detail, measure: Measure, change: Changed | None
) -> tuple[dict[str, Placed], dict[str, Placed], _Wishes]:
    """The spots of last time, the texts that simply stay, and what then is still to be placed."""
    if previous is None:
        return {}, {}, wishes
    last = {**{f"item {k}": p for k, p in previous.tags.items()}, **previous.labels}
    if not detail.hurried:
        return last, {}, wishes
    sought = wishes.but(lambda wish: _given_up(wish, previous, change))
    if change is None:
        return last, {}, sought
    known = {
        **last,
        **{f"note {k}": p for k, p in previous.markers.items()},
        **{f"text {k}": p for k, p in previous.texts.items()},
    }
    for key in [key for key, text in known.items() if change.disturbs(key, text)]:
        del known[key]
    stay = stable_labels(*sought, known, measure, detail.text_scale, previous.hidden)
    return last, stay, sought.but(lambda wish: wish.key in stay)


def _hidden(wishes: _Wishes, placed: Mapping[str, Placed]) -> frozenset[str]:
    """Wishes that found no spot, and tags whose second line found none."""
    missing = {wish.key for some in wishes for wish in some if wish.key not in placed}
    bare = (
        tag.key for tag in wishes.tags if tag.key in placed and len(placed[tag.key].rows) < len(tag.lines)
    )
    return frozenset(missing | {f"second {key}" for key in bare})


def _given_up(wish: _Wish, previous: Picture, change: Changed | None) -> bool:
    """Whether a text found no spot in the picture before, and what it belongs to looks as it did."""
    if wish.key not in previous.hidden:
        return False
    if change is not None:
        return wish.key not in change.names
    return isinstance(wish, PipeWish) and previous.pipes[wish.key].line == wish.line


def _stubs(plant: Plant, pipes: Mapping[str, PipePicture]) -> dict[str, dict[str, float]]:
    out: dict[str, dict[str, float]] = {}
    for pipe in plant.pipes.values():
        for end in (pipe.start, pipe.end):
            out.setdefault(end.item, {})[end.port] = pipes[pipe.id].weight
    return out


def _open_ends(plant: Plant, joined: set[PortRef]) -> dict[str, tuple[Point, ...]]:
    out: dict[str, tuple[Point, ...]] = {}
    for item in plant.items.values():
        free = [
            symbols.port_place(item, port)
            for port in item.ports
            if (item.id, port) not in joined and port not in item.kind_info.capped
        ]
        if item.has(Trait.JOINS):
            free = [item.at] * (len(plant.pipes_at.get(PortRef(item.id, "at"), ())) < 2)
        if free:
            out[item.id] = tuple(free)
    return out


def _tag_wishes(plant: Plant, solution: SolvedCase | None, detail: Detail) -> list[TagWish]:
    out: list[TagWish] = []
    staged = detail.stages and bool(stages.used(plant))
    for item in plant.items.values():
        tag, second = words_of.item_text(plant, item, solution, detail.units)
        if not tag:
            continue
        if staged:
            tag = f"{tag} {stages.sign(item)}"
        if second and item.id in detail.resting:
            second = f"{second} {SIGN}"
        lines = (tag, second) if second and detail.second_lines else (tag,)
        inside = item.has(Trait.STORES_HEAT) and not item.turn % 180
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
    plant: Plant, solution: SolvedCase | None, detail: Detail, pipes: Mapping[str, PipePicture]
) -> list[PipeWish]:
    """A label for each chain of pipes that would say the same, at its longest piece; a tag for every run."""
    words: dict[str, tuple[str, ...]] = {}
    for pipe in plant.pipes.values():
        stands, flow = pipes[pipe.id].still, states.flow(solution, pipe.id)
        sized = solution is None and words_of.TUBE in detail.quantities  # before the first solve too
        if stands or sized or (flow is not None and pipes[pipe.id].weight > 1.0):
            text = words_of.pipe_text(pipe.id, solution, detail.quantities, detail.units, plant)
            if text and solution is not None and pipe.id in detail.resting:
                text = [*text[:-1], f"{text[-1]} {SIGN}"]
            words[pipe.id] = tuple(text)
    tags, must = run_tags(plant), detail.must_tags or detail.must_runs
    reach = {name: max(map(length, segments(pipes[name].line)), default=0.0) for name in pipes}
    out: list[PipeWish] = []
    told: set[str] = set()
    for chain in chains(plant, words):
        best = max(chain, key=lambda name: reach[name])
        picture, longest = pipes[best], reach[best]
        if not words[best] or (picture.still and longest < 60) or longest < 15:
            continue
        tag = tags.get(best, "")
        # A label beside another pipe of its chain must be on the run that it names.
        others = [name for name in chain if name != best and reach[name] >= 15 and tags.get(name, "") == tag]
        others.sort(key=lambda name: (-reach[name], name))
        alike = tuple((name, pipes[name].line) for name in others)
        told.add(tag)
        out.append(PipeWish(best, picture.line, words[best], picture.weight, tag, alike, must))
    for tag, names in _untold(tags, told, pipes, must):
        best, *rest = sorted(names, key=lambda name: (-reach[name], name))
        alike = tuple((name, pipes[name].line) for name in rest)
        out.append(PipeWish(best, pipes[best].line, (), 0.0, tag, alike, must))
    return out


def _untold(
    tags: Mapping[str, str], told: set[str], pipes: Mapping[str, PipePicture], must: bool
) -> Iterable[tuple[str, list[str]]]:
    """Tags of the runs that no label names, with the pipes of each; a must, even where ports touch."""
    left: dict[str, list[str]] = {}
    for name, tag in tags.items():
        if tag not in told and (must or segments(pipes[name].line)):
            left.setdefault(tag, []).append(name)
    return left.items()
