"""Which commands fit what is selected: the menu at a thing holds these and no others."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

from core.plant.guesses import plant_guesses
from core.plant.model import Item, Plant
from core.vocabulary import Trait

Fits = Callable[[Plant, str], bool]
"""Of the one thing that is selected."""


def fitting(names: Collection[str], plant: Plant, selected: Collection[str]) -> list[str]:
    """Those of some commands that fit; what asks about one thing goes where several are selected."""
    if not selected:
        return list(names)
    (one, *others) = selected
    return [name for name in names if name not in OF_ONE or (not others and OF_ONE[name](plant, one))]


def _is_pipe(plant: Plant, name: str) -> bool:
    return name in plant.pipes


def _of_item(test: Callable[[Item], bool]) -> Fits:
    return lambda plant, name: name in plant.items and test(plant.items[name])


def _of_either(test: Callable[[Item], bool]) -> Fits:
    return lambda plant, name: name in plant.pipes or (name in plant.items and test(plant.items[name]))


def _has_size(item: Item) -> bool:
    return item.kind_info.schedule is not None


def _passes_water(item: Item) -> bool:
    return bool(item.ports) and not item.has(Trait.JOINS, Trait.ENDS_RUN)


def _has_guess(plant: Plant, name: str) -> bool:
    return any(guess.at == name for guess in plant_guesses(plant))


SHARED = (Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.DRIVES, Trait.EXPANDS)
"""What several circuits use, so that one may ask what is left of it."""

OF_ONE: Mapping[str, Fits] = {
    "pull": _of_item(lambda item: bool(item.ports)),
    "bend": _is_pipe,
    "turn_round": _of_item(lambda item: len(item.ports) == 2),
    "size_it": _of_either(_has_size),
    "why": _of_either(_has_size),
    "second_circulator": _of_either(lambda item: item.has(Trait.DRIVES)),
    "who_robs": _of_either(_passes_water),
    "cure_it": _of_item(lambda item: item.has(Trait.GIVES_HEAT, Trait.DRAWS_WATER)),
    "left_for_more": _of_either(lambda item: item.has(*SHARED)),
    "if_it_fails": _of_item(lambda item: item.has(Trait.MAKES_HEAT, Trait.DRIVES)),
    "guess_matters": _has_guess,
    "shut_off": _of_item(lambda item: bool(item.ports) and not item.has(Trait.JOINS)),
}
"""Commands that ask about one thing, and which things they can answer for."""
