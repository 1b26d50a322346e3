"""What of a plant the review reads: where an edit touches nothing of it, findings stay as they are."""

from __future__ import annotations

from dataclasses import replace

from core.plant.model import Item, Pipe, Plant

_READ = ("title", "units", "site", "systems", "cases", "curves", "logbook", "readings")


def reads_alike(before: Plant, after: Plant) -> bool:
    """Whether two plants differ only in where things lie on the board, in texts, or in what is accepted."""
    if any(getattr(before, name) != getattr(after, name) for name in _READ):
        return False
    if list(before.items) != list(after.items) or list(before.pipes) != list(after.pipes):
        return False
    items = zip(before.items.values(), after.items.values(), strict=True)
    pipes = zip(before.pipes.values(), after.pipes.values(), strict=True)
    return all(one is other or _item(one) == _item(other) for one, other in items) and all(
        one is other or _pipe(one) == _pipe(other) for one, other in pipes
    )


def _item(item: Item) -> Item:
    return replace(item, at=(0.0, 0.0), turn=0, flip=False)


def _pipe(pipe: Pipe) -> Pipe:
    return replace(pipe, via=())
