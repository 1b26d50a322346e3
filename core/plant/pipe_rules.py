"""What one pipe must be by itself. Not for what it meets: that is `core.plant.reference_rules`.

Every pipe names its `system`. `tube` and `length` are asked for unless it is `joined`; a joined pipe takes
no fittings, k or insulation.
"""

from __future__ import annotations

from core.errors import Refusal, value_text
from core.plant.model import Pipe
from core.vocabulary import to_si
from core.vocabulary.document import PIPE
from core.vocabulary.values import LONGEST_LABEL, read_name, read_text, under


def check_pipe(pipe: Pipe, path: str = "") -> None:
    """Refuse a pipe that cannot be taken as it is; `path` is its place, such as ``pipes[3]``."""
    read_name(pipe.id, under(path, "id"))
    read_name(pipe.system, under(path, "system"))
    if pipe.joined:
        _check_bare(pipe, path)
    else:
        _check_tubed(pipe, path)
    for name, prop in PIPE.items():
        raw = getattr(pipe, name)
        if raw is not None and (raw or name != "joined"):
            to_si(prop, raw, under(path, name))
    read_text(pipe.label, under(path, "label"), LONGEST_LABEL)
    read_text(pipe.note, under(path, "note"))


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
