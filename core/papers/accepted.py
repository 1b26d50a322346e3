"""Accepted stops, on every paper: what was let stand, why, and checked with whom."""

from __future__ import annotations

from collections.abc import Iterator

from core.papers.blocks import Block, Heading, Said
from core.plant.model import Plant


def accepted_blocks(plant: Plant) -> Iterator[Block]:
    """A heading and a paragraph for each; nothing where none was accepted."""
    if not plant.accepted:
        return
    from core.review.paper_lines import HEAD, accepted_on_file

    found = accepted_on_file(plant)
    if found:
        yield Heading(HEAD, 2)
        yield from (Said(f"{one.at}: {one.words}", indent=1) for one in found)
