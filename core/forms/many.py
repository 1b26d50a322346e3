"""Rows for several things at once: what they all have; a value they do not share shows as "(several)".

Typing into such a row sets it for all of them, as one step of undo.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

from core.forms.pipe_rows import pipe_sections
from core.forms.rows import Row, Section, item_sections
from core.plant.changes import Change
from core.plant.edits import Draft
from core.plant.model import Plant
from core.vocabulary import KINDS

SEVERAL = "(several)"
MOST = 400
"""Of more things only label, note and stage are shown: reading all values takes too long then."""


def many_sections(plant: Plant, ids: Iterable[str]) -> list[Section]:
    """Sections of what all these items and pipes have, as far as they mean the same by it."""
    names = [name for name in ids if name in plant.items or name in plant.pipes]
    if not names:
        return []
    sections = {name: _sections(plant, name) for name in (names if len(names) <= MOST else names[:1])}
    rows = {name: {row.key: row for section in of for row in section.rows} for name, of in sections.items()}
    if len(names) > MOST:
        kept = ("label", "note", "stage")
        rows = {name: {row.key: row for row in _common(plant, name) if row.key in kept} for name in names}
    out: list[Section] = []
    for section in sections[names[0]]:
        shared = [
            _merged([rows[name][row.key] for name in names])
            for row in section.rows
            if all(_same(row, rows[name].get(row.key)) for name in names)
        ]
        if shared:
            out.append(Section(section.title, tuple(shared), section.folded and len(out) > 0))
    return out


def _sections(plant: Plant, name: str) -> list[Section]:
    if name in plant.items:
        return item_sections(plant, plant.items[name])
    return pipe_sections(plant, plant.pipes[name])


def _common(plant: Plant, name: str) -> list[Row]:
    return [row for section in _sections(plant, name) for row in section.rows]


def _same(row: Row, other: Row | None) -> bool:
    """Whether two rows ask the same: then one text can answer both."""
    return other is not None and (row.name, row.shape, row.choices, row.hint) == (
        other.name,
        other.shape,
        other.choices,
        other.hint,
    )


def _merged(rows: Sequence[Row]) -> Row:
    def read(plant: Plant) -> str:
        texts = {row.read(plant) for row in rows}
        return texts.pop() if len(texts) == 1 else SEVERAL

    def write(plant: Plant, text: str) -> list[Change]:
        draft = Draft(plant)
        for row in rows:
            draft.do(*row.write(draft.plant, text))
        return draft.changes

    return replace(rows[0], read=read, write=write)


def counted(plant: Plant, ids: Iterable[str]) -> str:
    """`2 circulators, 3 shut-offs, 4 pipes, 1 text`: what is selected."""
    counts: Counter[str] = Counter()
    for name in ids:
        if name in plant.items:
            counts[KINDS[plant.items[name].kind].title] += 1
        else:
            counts["pipe" if name in plant.pipes else "text"] += 1
    return ", ".join(f"{count} {_plural(word) if count > 1 else word}" for word, count in counts.items())


def _plural(word: str) -> str:
    if word.endswith(("s", "x", "ch")):
        return f"{word}es"
    return f"{word}s" if not word.endswith("y") or word[-2] in "aeiou" else f"{word[:-1]}ies"
