"""Places tags and annotations so that nothing lies on anything. Pure geometry; a callback measures text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from itertools import chain
from typing import Literal, NamedTuple

from core.diagram.geometry import Box, Field, Point, Polyline, length, segments
from core.diagram.spots import (
    FURTHER,
    LEAD,
    TAG_SIZE,
    TEXT_SIZE,
    Block,
    Measure,
    Row,
    Try,
    anywhere,
    beads,
    clearance,
    edge,
    near_runs,
    nearest,
    off_box,
    on_runs,
    round_box,
)

Style = tuple[int, str, str]
Crossing = Literal["nothing", "lines", "all"]
"""What a leader may cross."""
EFFORT = 60_000  # spots looked at; a heap of symbols without room ends here, three times a full board
GLANCE = (1200, 12, 60)  # spots looked at in a hurry: in all, and for one text at least and at most
WHERE = ("on", "on alike", "near", "near alike")  # on a run of the pipe, or off it with a leader
FORMS = ("row", "stack", "folded")
APART = 3.5  # a text and a thing beside it
AT_RUN = 12.0  # a leader ends on the shortest run, between symbols
ASIDE = 2.5  # and further from other texts, or two would read as one


class GivenUp(Exception):
    """The texts are not wanted any more before all were placed."""


class Placed(NamedTuple):
    """A text at its place; `spot` names the place among its candidates, so that it can be kept next time."""

    key: str
    rows: tuple[Row, ...]
    box: Box
    spot: tuple[str | float, ...]
    leader: tuple[Point, Point] | None = None


class TagWish(NamedTuple):
    """An item's tag (bold) and its second line. `inside`: the tag stands within the box (tanks)."""

    key: str
    box: Box
    lines: tuple[str, ...]
    inside: bool = False
    must: bool = False  # never dropped: goes further away instead


class MarkerWish(NamedTuple):
    """A numbered square beside an item or pipe."""

    key: str
    box: Box
    text: str


class TextWish(NamedTuple):
    """A text the user put on the board: wanted with its upper left corner at `at`, moved aside if need be."""

    key: str
    at: Point
    lines: tuple[str, ...]
    leads_to: Point | None = None


class PipeWish(NamedTuple):
    """The quantities to write at a pipe, dearest first; thick pipes choose first."""

    key: str
    line: Polyline
    words: tuple[str, ...]
    weight: float = 1.4
    tag: str = ""  # of the run; stands alone where its quantities find no room, or there are none
    alike: tuple[tuple[str, Polyline], ...] = ()  # other pipes of which the same holds, with their lines
    must: bool = False  # the tag is never dropped: its leader may cross other things


def place(
    tags: Iterable[TagWish],
    pipes: Iterable[PipeWish],
    busy: Field,
    measure: Measure,
    markers: Iterable[MarkerWish] = (),
    texts: Iterable[TextWish] = (),
    previous: Mapping[str, Placed] | None = None,
    bounds: Box | None = None,
    scale: float = 1.0,
    kept: Mapping[str, Placed] | None = None,
    each: int = EFFORT,
    keep_on: Callable[[], bool] | None = None,
    pieces: Iterable[Box] = (),
) -> dict[str, Placed]:
    """Spots for all wishes that find one; `busy` holds symbols, lines and marks and gains the placed texts.

    A pipe's own line is in `busy` under its id, an item's symbol under its id. Keys are those of the wishes;
    what is missing in the answer found no free spot and is left to hovering. `scale` enlarges all texts: a
    screen zoomed out keeps them readable, and more of them find no spot. `kept` are texts that stay as they
    are, without being asked for. `each`: spots looked at for one text. `keep_on` is asked before each text;
    once it says no, this raises `GivenUp`. `pieces`: sheets of a drawing that is cut; tags stay on
    the sheet of their item.
    """
    placer = _Placer(busy, measure, dict(previous or {}), bounds, scale, each, keep_on)
    placer.pieces = tuple(pieces)
    tags = list(tags)
    for tag in tags:
        placer.symbols.add(tag.box, tag.key)
    for placed in (kept or {}).values():
        placer.stand(placed)
    for text in texts:
        placer.begin(text.at).text(text)
    for tag in tags:
        placer.begin(tag.box.centre).tag(tag)
    for marker in markers:
        placer.begin(marker.box.centre).marker(marker)
    for pipe in sorted(pipes, key=lambda p: (-p.weight, -sum(map(length, segments(p.line))), p.key)):
        placer.begin().pipe(pipe)
    return placer.placed


def at_a_glance(wanted: int) -> int:
    """Spots to look at for each of so many texts in a hurry: nearly all that find one find it at once."""
    whole, least, most = GLANCE
    return max(least, min(most, whole // max(wanted, 1)))


def as_put(wish: TextWish, measure: Measure, scale: float = 1.0) -> Placed:
    """A text just where it was put, whatever lies there: while it is being moved or has just been written."""
    size = TEXT_SIZE * scale
    block = Block([(line, size, False) for line in wish.lines], measure, LEAD * scale)
    (x, y), target = wish.at, wish.leads_to
    box = Box(x, y, x + block.width, y + block.height)
    leader = None if target is None else (nearest(box, target), target)
    return Placed(wish.key, block.rows(x, y, "left"), box, ("at",), leader)


def rows_of(words: tuple[str, ...], form: str) -> list[str]:
    """Quantities in one row, each in its own, or all but the last in the first of two."""
    if form == "row":
        return [" · ".join(words)]
    return [" · ".join(words[:-1]), words[-1]] if form == "folded" else list(words)


def pipe_rows(wish: PipeWish, style: Style) -> list[str]:
    """A pipe's words in a setting, the run's tag before them."""
    count, _, form = style
    rows = rows_of(wish.words[:count], form) if count else []
    if not wish.tag:
        return rows
    return [f"{wish.tag}  {rows[0]}", *rows[1:]] if rows else [wish.tag]


def pipe_styles(wish: PipeWish) -> list[Style]:
    """Settings of a pipe's words, dearest first: so many of them, on or near a line, in a row or stacked."""
    return [
        (count, where, form)
        for count in range(len(wish.words), -1 if wish.tag else 0, -1)
        for where in WHERE[:: 1 if wish.alike else 2]
        for form in FORMS[: min(max(count, 1), 2 if where.startswith("near") else 3)]
    ]


def in_two(text: str) -> list[str]:
    """A second line in two rows, where it has a place to be broken; else as it is."""
    for mark in (" · ", " of "):
        left, found, right = text.partition(mark)
        if found:
            return [left + (mark.rstrip() if mark == " of " else ""), right]
    return [text]


def setting_name(style: Style, words: int, size: float) -> str:
    """How a pipe's label is set, as its spot tells it."""
    return f"{style} of {words} at {size:g}"


class _Placer:
    def __init__(
        self,
        busy: Field,
        measure: Measure,
        previous: dict[str, Placed],
        bounds: Box | None,
        scale: float,
        each: int,
        keep_on: Callable[[], bool] | None,
    ) -> None:
        self.busy = busy
        self.measure = measure
        self.previous = previous
        self.bounds = bounds
        self.pieces: tuple[Box, ...] = ()
        self.piece: Box | None = None
        self.tag_size, self.text_size, self.lead = TAG_SIZE * scale, TEXT_SIZE * scale, LEAD * scale
        self.placed: dict[str, Placed] = {}
        self.symbols = Field()  # of the items that have tags
        self.each, self.spent, self.most = each, 0, 0
        self.keep_on = keep_on

    def begin(self, home: Point | None = None) -> _Placer:
        """Give the next text its share of the effort, and the sheet that what it belongs to lies on."""
        self.piece = next((p for p in self.pieces if home is not None and p.has(home)), None)
        if self.keep_on is not None and not self.keep_on():
            raise GivenUp
        self.most = min(self.spent + self.each, EFFORT)
        return self

    @property
    def tired(self) -> bool:
        """Whether enough spots have been looked at."""
        return self.spent > self.most

    def tag(self, wish: TagWish) -> None:
        styles = [(text, self.text_size if i else self.tag_size, not i) for i, text in enumerate(wish.lines)]
        if not styles:
            return
        if wish.inside:
            block = Block(styles, self.measure, self.lead)
            x, y = wish.box.centre[0] - block.width / 2, wish.box.y0 + 8
            if block.width <= wish.box.width:
                self._take(wish.key, block, Try(x, y, "middle", ("inside",)))
                return
        forms = [styles]
        # On a screen zoomed out even the bare tags hardly find room: there no line is made into two.
        if len(styles) == 2 and self.text_size <= TEXT_SIZE and len(two := in_two(styles[1][0])) > 1:
            forms.append([styles[0], *((text, self.text_size, False) for text in two)])
        blocks = [Block(form, self.measure, self.lead) for form in forms]
        single = [Block(styles[:1], self.measure, self.lead)] if len(styles) > 1 else []
        for some in (blocks, single):
            for spots in (self._own_spots, off_box):
                for block in some:
                    if self._settle(wish.key, block, partial(spots, wish.box, block), ""):
                        return
        if wish.must:
            # Rather a leader across other things than an item without its name.
            block = (single or blocks)[0]
            spots = partial(off_box, wish.box, block, FURTHER)
            if not self._settle(wish.key, block, spots, "", "all"):
                self.piece = None
                self._settle(wish.key, block, spots, "", "all")

    def _own_spots(self, box: Box, block: Block) -> Iterator[Try]:
        """Spots round an item at which a text is nearer to it than to any other that has a tag."""
        for attempt in round_box(box, block):
            area = Box(attempt.x, attempt.y, attempt.x + block.width, attempt.y + block.height)
            away = area.gap(box)
            near = (other for other, _ in self.symbols.hits(area.grown(away + ASIDE)) if other != box)
            if all(area.gap(other) > away + 0.1 for other in near):
                yield attempt

    def text(self, wish: TextWish) -> None:
        block = Block([(line, self.text_size, False) for line in wish.lines], self.measure, self.lead)
        x, y = wish.at
        here = Try(x, y, "left", ("at",))
        area = Box(x, y, x + block.width, y + block.height)
        round_it = chain(round_box(area, block), off_box(area, block, FURTHER))
        around = [one._replace(side="left", leader_to=None) for one in round_it]
        if self._settle(wish.key, block, lambda: [here, *around], wish.key) and wish.leads_to is not None:
            # Where it points is the user's choice, whatever lies between.
            done = self.placed[wish.key]
            leader = (nearest(done.box, wish.leads_to), wish.leads_to)
            for bead in beads(leader):
                self.busy.add(bead, f"leader {wish.key}")
            self.placed[wish.key] = done._replace(leader=leader)

    def pipe(self, wish: PipeWish) -> None:
        if self._pipe_at_ease(wish) or not wish.tag:
            return
        # Rather a leader across other lines, or even words, than a run without its tag; in a hurry only where
        # it stood so before, for what goes and comes back is worse.
        across: tuple[Crossing, ...] = ("lines", "all")
        if wish.must or wish.key in self.previous:
            any(self._pipe_in(wish, (0, "near", "row"), not wish.must, crossing) for crossing in across)

    def _pipe_at_ease(self, wish: PipeWish) -> bool:
        """Whether a pipe's words found room with a leader that crosses nothing, or without one."""
        if self.tired:
            return False
        styles = pipe_styles(wish)
        last = self.previous.get(wish.key)
        if last is not None:
            # Last time's setting first, so that neither the words nor their places twitch; but all is open
            # again where other quantities are asked for, or the texts have another size.
            same = [
                style
                for style in styles
                if self._named(wish, style) == str(last.spot[0]).partition(" by ")[0]
            ]
            if same and self._pipe_in(wish, same[0], keep_only=True):
                return True
        for style in styles:
            if self._pipe_in(wish, style) or self.tired:
                break
        return wish.key in self.placed

    def _named(self, wish: PipeWish, style: Style) -> str:
        return setting_name(style, len(wish.words), self.text_size)

    def _pipe_in(
        self, wish: PipeWish, style: Style, keep_only: bool = False, crossing: Crossing = "nothing"
    ) -> bool:
        """Try a pipe's words in one setting."""
        _, where, form = style
        elsewhere = where in ("on alike", "near alike")
        rows = pipe_rows(wish, style)
        block = Block([(text, self.text_size, False) for text in rows], self.measure, self.lead)
        spots = near_runs if where.startswith("near") else on_runs
        if crossing != "nothing":
            spots = anywhere
        last = self.previous.get(wish.key)
        for owner, line in wish.alike if elsewhere else ((wish.key, wish.line),):
            name = f"{self._named(wish, style)} by {owner}"
            for attempt in spots(line, block, form == "row", clearance(wish.weight)):
                if keep_only and (last is None or (name, *attempt.spot) != last.spot):
                    continue
                if self._free(wish.key, block, attempt, owner, crossing):
                    self._take(wish.key, block, attempt._replace(spot=(name, *attempt.spot)))
                    return True
                if keep_only or (self.tired and crossing == "nothing"):
                    return False
        return False

    def marker(self, wish: MarkerWish) -> None:
        """A square of 15 units, wider for long numbers; its row is the number in its middle."""
        size = self.text_size
        block = Block([(wish.text, size, True)], self.measure)
        wide = max(1.5 * size, block.width + 0.6 * size)
        block.widths, block.width, block.height = [wide], wide, 1.5 * size
        area, order = wish.box.grown(3.0), {"below": 0, "right": 1, "left": 2, "above": 3}
        near = sorted(round_box(area, block), key=lambda t: order.get(str(t.spot[0]), 4))

        def tries() -> Iterator[Try]:
            yield from near
            for one in off_box(area, block, FURTHER[:9]):
                yield one._replace(leader_to=one.leader_to and edge(wish.box, *one.leader_to))

        own = wish.key.split()[-1]
        # Rather a leader across other things than a note without its number on the drawing.
        across: tuple[Crossing, ...] = ("nothing", "all")
        if any(self._settle(wish.key, block, tries, own, crossing) for crossing in across):
            done = self.placed[wish.key]
            x, y = done.box.centre
            text = self.measure(wish.text, size, True)
            row = Row(wish.text, x - text / 2, y + 0.36 * size, size, True)
            self.placed[wish.key] = Placed(done.key, (row,), done.box, done.spot, done.leader)

    def _settle(
        self,
        key: str,
        block: Block,
        tries: Callable[[], Iterable[Try]],
        own: str,
        crossing: Crossing = "nothing",
    ) -> bool:
        """Take the spot of last time if it is still free, else the first free one."""
        last = self.previous.get(key)
        if last is not None:
            kept = next((attempt for attempt in tries() if attempt.spot == last.spot), None)
            if kept is not None and self._free(key, block, kept, own, crossing):
                self._take(key, block, kept)
                return True
        for attempt in tries():
            if self._free(key, block, attempt, own, crossing):
                self._take(key, block, attempt)
                return True
            if self.tired and crossing == "nothing":
                break
        return False

    def _free(self, key: str, block: Block, attempt: Try, own: str, crossing: Crossing) -> bool:
        self.spent += 1
        x0, y0, x1, y1 = attempt.x, attempt.y, attempt.x + block.width, attempt.y + block.height
        if not self.busy.free(Box(x0 - APART, y0 - 1.5, x1 + APART, y1 + 1.5)):
            return False
        area = Box(x0, y0, x1, y1)
        if self.piece is not None and not self.piece.holds(area):
            return False
        if self.bounds is not None and not self.bounds.holds(area):
            return False
        if attempt.leader_to is None:
            return True
        if any(piece.has(attempt.leader_to) and not piece.holds(area) for piece in self.pieces):
            return False
        if crossing != "nothing":
            return crossing == "all" or self._leaves_words(area, attempt.leader_to, own)
        return self._leader_free(area, attempt.leader_to, own or key)

    def _leaves_words(self, area: Box, target: Point, own: str) -> bool:
        """Whether a leader that may cross lines ends on its own alone, and crosses no words and no symbol."""
        ends_on = self.busy.hits(Box(*target, *target).grown(1.0))
        if any(name != own and " " not in name for _, name in ends_on):
            return False
        kept, near = ("text ", "letter ", "item "), Box(*target, *target).grown(AT_RUN)
        on_it = beads((nearest(area, target), target))
        hits = (self.busy.hits(bead) for bead in on_it if not near.overlaps(bead))
        return not any(name.startswith(kept) for some in hits for _, name in some)

    def stand(self, placed: Placed) -> None:
        """A text that stands where it stood."""
        if placed.leader is not None:
            for box in beads(placed.leader):
                self.busy.add(box, f"leader {placed.key}")
        self.busy.add(placed.box.grown(ASIDE), f"text {placed.key}")
        self.placed[placed.key] = placed

    def _take(self, key: str, block: Block, attempt: Try) -> None:
        area = Box(attempt.x, attempt.y, attempt.x + block.width, attempt.y + block.height)
        leader = None
        if attempt.leader_to is not None:
            leader = (nearest(area, attempt.leader_to), attempt.leader_to)
            for box in beads(leader):
                self.busy.add(box, f"leader {key}")
        self.busy.add(area.grown(ASIDE), f"text {key}")
        rows = block.rows(attempt.x, attempt.y, attempt.side)
        self.placed[key] = Placed(key, rows, area, attempt.spot, leader)

    def _leader_free(self, area: Box, target: Point, own: str) -> bool:
        return all(self.busy.free(box, own) for box in reversed(beads((nearest(area, target), target))))
