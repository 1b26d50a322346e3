"""What is said of a case of minutes or hours: how far its rooms and tanks have come at its end."""

from __future__ import annotations

from collections.abc import Iterator

from core.hydraulics.pressures import Pressures
from core.solve.note_text import NoteWriter
from core.solve.settle import Settled
from core.solve.solution import Note, Solution
from core.vocabulary import Trait

MOVED = 0.05  # [K] below which a place counts as where it was


class _TransientNotes(NoteWriter):
    def found(self) -> Iterator[Note]:
        """One for each place that moved, or that nobody said how much heat it stores."""
        for key, place in self.s.thermostats.moved.items():
            item = self.plant.items[key]
            if place.stays:
                words = "mass" if item.has(Trait.ROOM) else "volume"
                yield Note(key, f"its {words} is not set: it stays at {self.warm(place.ended)} here.")
            elif abs(place.ended - place.began) > MOVED:
                began, ended = self.warm(place.began), self.warm(place.ended)
                yield Note(key, f"goes from {began} to {ended} in {self.s.case.lasts}.")


def lasting_notes(s: Settled, pressures: Pressures, solution: Solution) -> list[Note]:
    """Notes of a case that lasts minutes or hours; none of any other."""
    return list(_TransientNotes(s, pressures, solution).found()) if s.thermostats.moved else []
