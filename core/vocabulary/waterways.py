"""How water may pass inside a kind: which ways between which ports, with which loss. Data, nothing solved.

`core.hydraulics.elements` makes a network's elements of them.
"""

from __future__ import annotations

from typing import NamedTuple


class Plain(NamedTuple):
    """A shape that needs no figures; what derives from it costs no start-up, as a tuple of its own would."""


class Straight(NamedTuple):
    """One way between the first two ports, by the drops, cv or k of the item.

    `throttle` names the property that gives the share of cv it stands at; `side` a third port that hangs on
    the first one, and is shut unless the property `side_open` says otherwise.
    """

    throttle: str = ""
    side: str = ""
    side_open: str = ""


class OneWay(NamedTuple):
    """A way from `in` to `out` only; `opens_at` names the property that gives the fall which opens it."""

    opens_at: str = ""


class Pump(Plain):
    """A way from `in` to `out` with a head by flow."""


class Legs(NamedTuple):
    """Ways between each of `legs` and one common port, which share by cv.

    `only_in`: water passes toward the common port only.
    """

    legs: tuple[str, ...]
    common: str
    only_in: bool


class Sides(NamedTuple):
    """Ways side by side with different waters: name, inlet, outlet, and property of the drops of each."""

    ways: tuple[tuple[str, str, str, str], ...]


class TapsToCenter(NamedTuple):
    """Ways without loss from every tap to the middle of a vessel; with `coil`, one more through its coil."""

    coil: bool = False


class TwoEnds(Plain):
    """A vessel with two ends: a_in and b_out meet at the upper, b_in and a_out at the lower, open between."""


class Branches(Plain):
    """A trunk with an end, and numbered branches by the cv of each."""


class OpenToAir(NamedTuple):
    """Ways from each port into the air; how much may leave is a limit of the case."""

    ports: tuple[str, ...]


class UsesUp(Plain):
    """A way through, and one from the inlet into the air for what is used up."""


class Loops(Plain):
    """Loops of tube side by side from `in` to `out`, by drops or by the friction of the tube."""


class Terminal(Plain):
    """Ports without any way through: the end of a run, or a mere meeting of pipes."""


Waterway = (
    Straight
    | OneWay
    | Pump
    | Legs
    | Sides
    | TapsToCenter
    | TwoEnds
    | Branches
    | OpenToAir
    | UsesUp
    | Loops
    | Terminal
)
