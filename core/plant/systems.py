"""Edits of systems: a fresh one, another name, and which system a body of water is said to be.

A system is one wetted body with one fluid, so a pipe never changes its system alone.

A pipe never changes its system alone: all pipes on its water follow. System letters: P potable, G glycol, H
heating water, numbered where two would share one.
"""

from __future__ import annotations

from dataclasses import replace

from core.errors import Refusal, value_text
from core.plant.changes import Change, ReplacePipe, SetPlant, apply
from core.plant.model import Plant, System
from core.plant.similar import on_one_water
from core.vocabulary import is_name
from core.vocabulary.values import NAME_RULE


def fresh_name(plant: Plant) -> str:
    """A name no system has yet.

    Examples
    --------
    >>> fresh_name(Plant())
    'heating'
    """
    names = ("heating", "potable", *(f"system_{number}" for number in range(2, 1000)))
    return next(name for name in names if name not in plant.systems)


def add(plant: Plant) -> list[Change]:
    """One more system, of water."""
    name = fresh_name(plant)
    return put(plant, System(name, "potable" if name == "potable" else "closed"))


def put(plant: Plant, system: System) -> list[Change]:
    """A system as it should be, in the place of the one of its name."""
    return [SetPlant({"systems": {**plant.systems, system.name: system}})]


def delete(plant: Plant, name: str) -> list[Change]:
    """Take a system away; refused while a pipe belongs to it."""
    held = next((pipe.id for pipe in plant.pipes.values() if pipe.system == name), None)
    if held is not None:
        raise Refusal(
            f"systems.{name}",
            f"pipe {held} in it",
            "a system without pipes",
            "Move or delete its pipes first",
        )
    return [SetPlant({"systems": {key: value for key, value in plant.systems.items() if key != name}})]


def rename(plant: Plant, old: str, new: str) -> list[Change]:
    """Another name for a system; its pipes follow."""
    if new == old:
        return []
    if not is_name(new):
        raise Refusal("", value_text(new), f"a name of {NAME_RULE}")
    if new in plant.systems:
        raise Refusal("", value_text(new), "a name that no other system has")
    named = {
        (new if name == old else name): replace(system, name=new if name == old else name)
        for name, system in plant.systems.items()
    }
    both = SetPlant({"systems": {**plant.systems, new: replace(plant.systems[old], name=new)}})
    moved = [ReplacePipe(replace(pipe, system=new)) for pipe in plant.pipes.values() if pipe.system == old]
    return [both, *moved, SetPlant({"systems": named})]


def assign(plant: Plant, pipe: str, system: str) -> list[Change]:
    """Say which system the body of water is that a pipe belongs to: all of its pipes follow."""
    return [
        ReplacePipe(replace(plant.pipes[name], system=system))
        for name in on_one_water(plant, pipe)
        if plant.pipes[name].system != system
    ]


def assign_fresh(plant: Plant, pipe: str) -> list[Change]:
    """Make the body of water that a pipe belongs to a system of its own."""
    name = fresh_name(plant)
    added = put(plant, System(name, plant.systems[plant.pipes[pipe].system].use))
    return [*added, *assign(apply(plant, added), pipe, name)]
