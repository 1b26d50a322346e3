"""Kinds made up for a test: twins of those there are, and places in the table for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from core.vocabulary import KINDS, Kind, Property, Trait

END = "_twin"


def declared_again(kind: Kind) -> Kind:
    """The same kind declared in full under another name, none of its parts shared."""

    def again(part: Any) -> Any:
        return None if part is None else type(part)(*part)

    return Kind(
        name=kind.name + END,
        title=kind.title,
        group=kind.group,
        ports=(*kind.ports,),
        properties={name: Property(*prop) for name, prop in kind.properties.items()},
        help=kind.help,
        prefix=kind.prefix,
        joined=tuple((*group,) for group in kind.joined),
        traits=frozenset(Trait(str(trait)) for trait in kind.traits),
        waterway=again(kind.waterway),
        heat=again(kind.heat),
        report=kind.report,
        content=kind.content,
        drawing=kind.drawing or kind.name,
        capped=(*kind.capped,),
        schedule=kind.schedule,
        free_ports=kind.free_ports,
        cases_set=kind.cases_set,
        excluding=tuple((*rule,) for rule in kind.excluding),
        ordered=tuple((*rule,) for rule in kind.ordered),
        checks=(*kind.checks,),
    )


@contextmanager
def also(kinds: Iterable[Kind]) -> Iterator[None]:
    """These kinds in the table as well: a twin right behind the one it is of, others at the end."""
    before = dict(KINDS)
    new = {kind.name: kind for kind in kinds}
    KINDS.clear()
    for name, kind in before.items():
        KINDS[name] = kind
        if name + END in new:
            KINDS[name + END] = new[name + END]
    KINDS.update(new)
    try:
        yield
    finally:
        KINDS.clear()
        KINDS.update(before)
