"""What a paper consists of: headings, sentences, tables, cautions, blanks to fill in. No layout, no Qt.

All texts here may be a stranger's; whoever paints them escapes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BAND = "\x1f"
Link = tuple[str, str]
"""Words, and the anchor they lead to."""


@dataclass(frozen=True)
class Heading:
    """A heading of level 1 (chapter: in the bookmarks and the contents) or 2; `new_page` begins one."""

    text: str
    level: int = 1
    anchor: str = ""
    new_page: bool = False


@dataclass(frozen=True)
class Said:
    """A paragraph; `links` stand behind it."""

    text: str
    bold: bool = False
    indent: int = 0
    anchor: str = ""
    links: tuple[Link, ...] = ()


@dataclass(frozen=True)
class Grid:
    """A table of texts; columns numbered in `right` hold figures.

    `anchors` stand at the rows; a cell that holds [12] leads to the anchor w12. Where a cell holds BAND, what
    follows stands on a line below: columns in bands.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()
    anchors: tuple[str, ...] = ()
    bold: frozenset[int] = frozenset()

    @classmethod
    def of(cls, title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], right: str = "") -> Grid:
        """A table without the columns in which nothing is said; `right` names those of figures, by comma."""
        kept = [k for k in range(len(heads)) if not rows or any(row[k] not in ("", "–") for row in rows)]
        figures = {name.strip() for name in right.split(",")}
        return cls(
            title,
            tuple(heads[k] for k in kept),
            tuple(tuple(row[k] for k in kept) for row in rows),
            frozenset(place for place, k in enumerate(kept) if heads[k] in figures),
        )


@dataclass(frozen=True)
class Caution:
    """What can hurt, beside what it concerns; stands in a box."""

    text: str


@dataclass(frozen=True)
class Blank:
    """A line to be ticked off or written on: words, then room to write."""

    text: str
    tick: bool = True
    write: str = ""  # words before the room to write, "" for none
    indent: int = 0


@dataclass(frozen=True)
class Contents:
    """The chapters with their pages."""


@dataclass(frozen=True)
class Drawn:
    """A drawing that whoever paints the paper has under that name; nothing where there is none."""

    name: str


@dataclass(frozen=True)
class PageBreak:
    """What follows begins a page."""


@dataclass(frozen=True)
class Together:
    """Blocks that stand on one page, such as a card to be cut out and hung up."""

    blocks: tuple[Block, ...]


Block = Heading | Said | Grid | Caution | Blank | Contents | Drawn | PageBreak | Together


@dataclass(frozen=True)
class Paper:
    """One paper: its title, its blocks, on how many columns of a sheet it is set.

    `tells_accepted`: it lists accepted findings itself; to the others they are added.
    """

    title: str
    blocks: tuple[Block, ...]
    columns: int = 1
    tells_accepted: bool = False
