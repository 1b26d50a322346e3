"""What a valid plant is, whatever made it. Not for what is unwise: that is the review."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from core.errors import Refusal, value_text
from core.plant.case_rules import check_case_set
from core.plant.curve_rules import check_curve
from core.plant.item_rules import check_item, check_props
from core.plant.model import Item, Pipe, Plant, PortRef
from core.plant.pipe_rules import check_pipe
from core.plant.rated_rules import check_rated
from core.plant.record_rules import (
    check_accepted,
    check_logbook,
    check_reading,
    check_remark,
    check_text,
)
from core.plant.reference_rules import check_case_links, check_item_links, check_leader, check_pipe_ends
from core.plant.run_rules import check_profiles, check_run, check_run_links
from core.plant.setting_rules import check_case, check_sheet, check_site, check_system
from core.vocabulary.values import LONGEST_LABEL, read_choice, read_text, under

__all__ = [
    "check",
    "check_case",
    "check_item",
    "check_pipe",
    "check_props",
    "check_site",
    "check_system",
    "require",
]


def check(plant: Plant) -> list[Refusal]:
    """Everything that keeps the plant from being one, in the order of the file.

    Parts that are wrong by themselves come first; only when each is right are they compared.
    """
    return list(_refusals(_parts(plant))) or list(_refusals(_together(plant)))


def require(plant: Plant, valid: Plant | None = None) -> Plant:
    """The plant, if it is valid; items and pipes that a `valid` plant has too are not looked at again.

    Raises
    ------
    Refusal
        The first of `check`
    """
    for checks in (_parts(plant, valid), _together(plant, valid)):
        for refusal in _refusals(checks):
            raise refusal
    return plant


Check = Callable[[], None]


def _refusals(checks: Iterator[Check]) -> Iterator[Refusal]:
    for one in checks:
        try:
            one()
        except Refusal as refusal:
            yield refusal


def _parts(plant: Plant, valid: Plant | None = None) -> Iterator[Check]:
    known = valid or Plant()
    yield partial(_check_heading, plant)
    yield partial(check_site, plant.site)
    yield partial(check_sheet, plant.sheet)
    for name, system in plant.systems.items():
        yield partial(check_system, system, under("systems", name))
    for number, item in enumerate(plant.items.values()):
        if known.items.get(item.id) is not item:
            yield partial(check_item, item, f"items[{number}]")
    for number, pipe in enumerate(plant.pipes.values()):
        if known.pipes.get(pipe.id) is not pipe:
            yield partial(check_pipe, pipe, f"pipes[{number}]")
    for number, case in enumerate(plant.cases):
        yield partial(check_case, case, f"cases[{number}]")
    yield partial(check_profiles, plant.profiles)
    for key, rule in _RECORDS.items():
        for number, record in enumerate(getattr(plant, key)):
            yield partial(rule, record, f"{key}[{number}]")


_RECORDS = {
    "curves": check_curve,
    "runs": check_run,
    "texts": check_text,
    "logbook": check_logbook,
    "readings": check_reading,
    "accepted": check_accepted,
    "remarks": check_remark,
}


def _check_heading(plant: Plant) -> None:
    read_text(plant.title, "title", LONGEST_LABEL)
    read_text(plant.revision, "revision", LONGEST_LABEL)
    read_choice(plant.units, ("us", "si"), "units")


def _together(plant: Plant, valid: Plant | None = None) -> Iterator[Check]:
    same = valid is not None and _named_alike(plant, valid)
    known = valid.items if same and valid is not None else {}
    for number, item in enumerate(plant.items.values()):
        if known.get(item.id) is not item:
            yield partial(check_item_links, plant, item, f"items[{number}]")
    taken: dict[PortRef, str] = {}
    for number, pipe in () if same else enumerate(plant.pipes.values()):
        yield partial(_check_pipe, plant, pipe, taken, f"pipes[{number}]")
    # Fluids at the ports are known only where the pipes are right.
    for number, item in enumerate(plant.items.values()):
        if "rated" in item.props:
            yield partial(check_rated, plant, item, f"items[{number}]")
    names: set[str] = set()
    for number, case in enumerate(plant.cases):
        path = f"cases[{number}]"
        yield partial(_check_once, case.name, names, f"{path}.name")
        yield partial(check_case_links, plant, case, path)
        yield partial(check_case_set, plant, case, under(path, "set"))
    runs: set[str] = set()
    for number, run in enumerate(plant.runs):
        yield partial(_check_once, run["name"], runs, f"runs[{number}].name")
        yield partial(check_run_links, plant, run, f"runs[{number}]")
    for number, text in enumerate(plant.texts):
        yield partial(check_leader, plant, text.get("lead_to"), f"texts[{number}].lead_to")
    named: set[str] = set()
    for number, curve in enumerate(plant.curves):
        yield partial(_check_once, curve["name"].casefold(), named, f"curves[{number}].name")
    entries: set[str] = set()
    for number, entry in enumerate(plant.logbook):
        yield partial(_check_once, entry["id"], entries, f"logbook[{number}].id")


def _named_alike(plant: Plant, valid: Plant) -> bool:
    """Whether all that one part may name of another is as in the valid plant: then what it names is there."""
    if plant.systems.keys() != valid.systems.keys() or list(plant.items) != list(valid.items):
        return False
    if list(map(id, plant.pipes.values())) != list(map(id, valid.pipes.values())):
        return False
    changed = (
        (valid.items[name], item) for name, item in plant.items.items() if valid.items[name] is not item
    )
    return all(_nameable(old) == _nameable(new) for old, new in changed)


def _nameable(item: Item) -> tuple[object, ...]:
    return item.kind, item.ports, item.props.get("sensors")


def _check_pipe(plant: Plant, pipe: Pipe, taken: dict[PortRef, str], path: str) -> None:
    if pipe.id in plant.items:
        expected = "an id used once over items and pipes"
        raise Refusal(f"{path}.id", value_text(pipe.id), expected, "An item has it too")
    check_pipe_ends(plant, pipe, taken, path)


def _check_once(name: str, names: set[str], path: str) -> None:
    if name in names:
        raise Refusal(path, value_text(name), "each name once", "An earlier entry has it too")
    names.add(name)
