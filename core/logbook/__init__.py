"""Decisions and their reasons, and whether today's figures still bear them out."""

from core.logbook.entries import Entry, Figure, entries
from core.logbook.standing import Standing, standings
from core.logbook.write import figures_of_the_day, write_down

__all__ = ["Entry", "Figure", "Standing", "entries", "figures_of_the_day", "standings", "write_down"]
