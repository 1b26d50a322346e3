"""The takeoff as a paper: one table a group, what has to be known with it, and its cautions."""

from __future__ import annotations

from itertools import groupby

from core.papers.blocks import Block, Caution, Grid, Heading, Paper, Said
from core.papers.plant_words import display_of
from core.papers.takeoff import CAUTIONS, Takeoff
from core.papers.takeoff_table import amount_in, remarks, unit_of
from core.plant.model import Plant


def takeoff_paper(plant: Plant, found: Takeoff) -> Paper:
    """What to order, for the counter of the supply house; with costs where there is a price list."""
    display = display_of(plant)
    blocks: list[Block] = [Caution(text) for text in CAUTIONS]
    for group, lines in groupby(found.lines, key=lambda line: line.group):
        rows = []
        for line in lines:
            unit = unit_of(line, display)
            digits = 0 if unit == "ea" else 1
            drawn, order = (amount_in(line, each, display) for each in (line.amount, line.order))
            cost = "" if line.cost is None else f"{line.cost:,.2f}"
            rows.append((line.what, line.size, f"{drawn:,.{digits}f}", f"{order:,.{digits}f}", unit, cost))
        blocks += [
            Heading(group[:1].upper() + group[1:]),
            Grid.of("", ("what", "size", "drawn", "to order", "unit", "cost"), rows, "drawn, to order, cost"),
        ]
    if found.cost is not None:
        blocks.append(Said(f"Sum of what has a price: {found.cost:,.2f}", True))
    blocks += [Said(text) for text in remarks(found)]
    return Paper("Takeoff", tuple(blocks))
