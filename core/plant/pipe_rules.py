"""What one pipe must be by itself. Not for what it meets: that is `core.plant.reference_rules`.

Every pipe names its `system`. `tube` and `length` are asked for unless it is `joined`; a joined pipe takes
no fittings, k or insulation.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import STAGES, Pipe
from core.vocabulary.readers import read_tube
from core.vocabulary.values import (
    LONGEST_LABEL,
    read_choice,
    read_name,
    read_number,
    read_object,
    read_quantity,
    read_text,
    under,
)

LONGEST_PIPE = "100000 ft"


def check_pipe(pipe: Pipe, path: str = "") -> None:
    """Refuse a pipe that cannot be taken as it is; `path` is its place, such as ``pipes[3]``."""
    read_name(pipe.id, under(path, "id"))
    read_name(pipe.system, under(path, "system"))
    if pipe.joined:
        read_choice(pipe.joined, ("flanged",), under(path, "joined"))
        _check_bare(pipe, path)
    else:
        _check_tubed(pipe, path)
    for name in ("length", "straight"):
        length = getattr(pipe, name)
        if length is not None:
            read_quantity(length, "length", under(path, name), "0 ft", LONGEST_PIPE)
    if pipe.tube is not None:
        read_tube(pipe.tube, under(path, "tube"))
    if pipe.around is not None:
        read_quantity(pipe.around, "temperature", under(path, "around"), "-60 degC", "250 degC")
    read_number(pipe.k, under(path, "k"), 0.0, 1e6)
    _check_fittings(pipe.fittings, under(path, "fittings"))
    if pipe.insulation is not None:
        check_insulation(pipe.insulation, under(path, "insulation"))
    read_text(pipe.label, under(path, "label"), LONGEST_LABEL)
    read_text(pipe.note, under(path, "note"))
    read_choice(pipe.stage, STAGES, under(path, "stage"))


def _check_tubed(pipe: Pipe, path: str) -> None:
    if pipe.tube is None:
        raise Refusal(
            under(path, "tube"), "nothing", 'a tube such as {"material": "copper_l", "size": "3/4 in"}'
        )
    if pipe.length is None:
        raise Refusal(under(path, "length"), "nothing", 'a length such as "3 ft"')


def _check_bare(pipe: Pipe, path: str) -> None:
    """Two items bolted face to face have nothing between them."""
    for name in ("fittings", "insulation"):
        if getattr(pipe, name):
            raise Refusal(under(path, name), value_text(getattr(pipe, name)), "nothing beside joined")
    if pipe.k:
        raise Refusal(under(path, "k"), value_text(pipe.k), "nothing beside joined")


def _check_fittings(fittings: Mapping[str, int], path: str) -> None:
    if not fittings and isinstance(fittings, Mapping):
        return
    from core.media.fittings import FITTINGS

    for name, count in read_object(fittings, path, FITTINGS, what="fitting").items():
        read_number(count, under(path, name), 0, 1000, whole=True)


def check_insulation(raw: Any, path: str = "insulation") -> None:
    """Refuse insulation that is neither a thickness (and conductivity) nor a loss per length."""
    given = read_object(raw, path, ("thickness", "conductivity", "loss"))
    if "loss" in given:
        for other in given:
            if other != "loss":
                raise Refusal(under(path, other), value_text(given[other]), "nothing beside loss")
        read_quantity(given["loss"], "conductivity", under(path, "loss"), "0 W/m/K", "1000 W/m/K")
        return
    if "thickness" not in given:
        raise Refusal(under(path, "thickness"), "nothing", "a thickness, or loss per length")
    read_quantity(given["thickness"], "length", under(path, "thickness"), "0 mm", "1 m")
    if "conductivity" in given:
        place = under(path, "conductivity")
        read_quantity(given["conductivity"], "conductivity", place, "0.001 W/m/K", "100 W/m/K")
