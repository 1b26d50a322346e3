"""Texts that stay where they stand: same obstacles, and words that take the same room as those before.

Figures change with every edit, but mostly by a digit, and digits are all as wide. Looking for a spot costs a
hundred times what it costs to see that.

After an edit texts stay where they stand unless what they belong to, or may lie on, looks otherwise; the
others look at the likeliest spots only, and at all of them once the hand rests.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from core.diagram.labels import (
    MarkerWish,
    PipeWish,
    Placed,
    TagWish,
    TextWish,
    in_two,
    pipe_rows,
    pipe_styles,
    setting_name,
)
from core.diagram.spots import TEXT_SIZE, Measure

SAME = 0.01
"""Widths this near are the same, in board units."""


def stable_labels(
    tags: Iterable[TagWish],
    pipes: Iterable[PipeWish],
    markers: Iterable[MarkerWish],
    texts: Iterable[TextWish],
    before: Mapping[str, Placed],
    measure: Measure,
    scale: float,
    hidden: Collection[str] = (),
) -> dict[str, Placed]:
    """Wishes that are met by a text of `before` with other words in it, by their key.

    A tag of two lines stays a bare one only where `hidden` says that the second found no room.
    """
    out: dict[str, Placed] = {}
    for tag in tags:
        last = before.get(tag.key)
        if last is None or (len(last.rows) < len(tag.lines) and f"second {tag.key}" not in hidden):
            continue
        if rows := _tag_rows(tag, len(last.rows)):
            _keep(out, last, rows, measure)
    for pipe in pipes:
        last = before.get(pipe.key)
        if last is not None and (words := _pipe_rows(pipe, last, TEXT_SIZE * scale)):
            _keep(out, last, words, measure)
    others = {one.key: (one.text,) for one in markers} | {one.key: one.lines for one in texts}
    for key, lines in others.items():
        last = before.get(key)
        if last is not None:
            _keep(out, last, lines, measure)
    return out


def _keep(out: dict[str, Placed], last: Placed, rows: Sequence[str], measure: Measure) -> None:
    old = [row.text for row in last.rows]
    if old == list(rows):
        out[last.key] = last
    elif len(old) == len(rows) and all(
        abs(measure(text, row.size, row.bold) - measure(row.text, row.size, row.bold)) < SAME
        for text, row in zip(rows, last.rows, strict=True)
    ):
        fresh = tuple(row._replace(text=text) for text, row in zip(rows, last.rows, strict=True))
        out[last.key] = last._replace(rows=fresh)


def _tag_rows(wish: TagWish, count: int) -> Sequence[str]:
    """The tag's words in so many rows; nothing where it cannot be set so."""
    if count == len(wish.lines):
        return wish.lines
    if len(wish.lines) == 2 and count == 1:
        return wish.lines[:1]
    if len(wish.lines) == 2:
        rows = (wish.lines[0], *in_two(wish.lines[1]))
        return rows if len(rows) == count else ()
    return ()


def _pipe_rows(wish: PipeWish, last: Placed, size: float) -> Sequence[str]:
    """The pipe's words in the setting of last time; nothing where that is not open to them."""
    named, _, owner = str(last.spot[0]).partition(" by ")
    if owner != wish.key and all(owner != name for name, _ in wish.alike):
        return ()
    for style in pipe_styles(wish):
        if setting_name(style, len(wish.words), size) == named:
            return pipe_rows(wish, style)
    return ()
