"""Every place in a plant where another circulator could be put: in series, in parallel, on a branch.

A place is a stretch of water without a junction: wherever along it a circulator sits, the flows are the same.
Which spot of the stretch has room is judged by `second_pump_fit`, the edit is made by `second_pump_edit`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from core.hydraulics.network import Branch, Network
from core.plant.edits import in_line_ports
from core.plant.model import Plant, PortRef
from core.solve.settle import Settled
from core.vocabulary import Trait
from core.water.numbers import on_some_round

How = Literal["series", "parallel", "branch"]
STILL = 1e-9  # [kg/s]


@dataclass(frozen=True)
class Spot:
    """Where in a stretch it would sit.

    `pipe` is cut, or with `spacer` that spacer is taken out. `touches` is the circulator it is bolted to, at
    port `port`; empty where it stands alone. `forward` says whether it pumps along the pipe (through the
    spacer from in to out).
    """

    pipe: str = ""
    spacer: str = ""
    touches: str = ""
    port: str = ""
    forward: bool = True

    @property
    def at(self) -> str:
        """The id it is named by."""
        return self.spacer or self.pipe


@dataclass(frozen=True)
class Tee:
    """Where a leg in parallel leaves or joins: the end of a pipe, or a joint that is there already.

    The end is the one nearest the circulator beside it: both circulators push through all of the pipe.
    `share` is that end as a share of the pipe's length from its start: 0 or 1.
    """

    pipe: str = ""
    joint: str = ""
    share: float = 0.0

    @property
    def at(self) -> str:
        """The id it is named by."""
        return self.pipe or self.joint


@dataclass(frozen=True)
class Place:
    """A way to put it in.

    Attributes
    ----------
    how : str
        series, parallel or branch
    at : str
        Id it is named by: the circulator beside it, or a pipe of the branch
    spots : tuple of Spot
        Series and branch: all spots of the stretch, those beside the circulator first
    tees : (Tee, Tee) or None
        Parallel: where the second leg leaves and joins
    own_check : str
        Parallel: what keeps water from running back through the first circulator; empty where nothing does
    checked : bool
        Branch: whether a check or zone valve lies on the stretch already
    bodies : frozenset of int
        Bodies of the network it drives
    flow : float
        Mass flow of the stretch as it is now, along the pump to be, [kg/s]
    run : tuple of str
        Pipes and items of the stretch, in that direction
    shut : str
        What shuts the stretch in this case; empty where it is open
    """

    how: How
    at: str
    spots: tuple[Spot, ...] = ()
    tees: tuple[Tee, Tee] | None = None
    own_check: str = ""
    checked: bool = False
    bodies: frozenset[int] = frozenset()
    flow: float = 0.0
    run: tuple[str, ...] = ()
    shut: str = ""

    @property
    def near(self) -> str:
        """A pipe that the edit starts from."""
        if self.tees is not None:
            return self.tees[0].pipe or self.at
        return next((spot.pipe for spot in self.spots if spot.pipe), self.at)


@dataclass(frozen=True)
class _Step:
    """One pipe or item of a stretch; sign -1 where it points against the stretch."""

    key: str
    sign: int


def places(settled: Settled, bodies: Iterable[int] | None = None) -> list[Place]:
    """All places of some bodies (of all), in the order of the network."""
    net = settled.net
    wanted = None if bodies is None else set(bodies)
    found: list[Place] = []
    # What only leads from a main to a tap is on no way round within the plant.
    loops = on_some_round(tuple((b.start, b.end) for b in net.branches))
    for number, branch in enumerate(net.branches):
        body = net.body_of[branch.start]
        if wanted is not None and body not in wanted:
            continue
        steps = _steps(net, branch)
        pumps = [step for step in steps if _has(net.plant, step.key, Trait.DRIVES)]
        flow = float(settled.balance.branch_flow[number])
        shut = next((net.elements[i].key for i in branch.elements if settled.settings.closed[i]), "")
        ring = branch.start == branch.end and _lonely(net, branch)
        here = [one for pump in pumps for one in _beside(net.plant, steps, pump, body, flow, ring)]
        if not pumps and number in loops:
            here = _alone(net, branch, steps, body, flow)
        found += [replace(one, shut=shut) for one in here]
    return found


def _has(plant: Plant, key: str, *traits: Trait) -> bool:
    item = plant.items.get(key)
    return item is not None and item.has(*traits)


def _lonely(net: Network, branch: Branch) -> bool:
    """Whether a ring has no junction at all, so that it begins anywhere."""
    return sum(branch.start in (b.start, b.end) for b in net.branches) == 1


def _steps(net: Network, branch: Branch) -> list[_Step]:
    """Pipes and items along a branch, each once."""
    out: list[_Step] = []
    for index, sign in zip(branch.elements, branch.signs, strict=True):
        key = net.elements[index].key
        if not out or out[-1].key != key:
            out.append(_Step(key, sign))
    return out


def _beside(
    plant: Plant, steps: Sequence[_Step], pump: _Step, body: int, flow: float, ring: bool
) -> list[Place]:
    """In series with a circulator, and in parallel to it."""
    along = list(steps) if pump.sign > 0 else [_Step(s.key, -s.sign) for s in reversed(steps)]
    here = next(i for i, s in enumerate(along) if s.key == pump.key)
    if ring:
        turn = here - len(along) // 2
        along, here = along[turn:] + along[:turn], len(along) // 2
    run = tuple(s.key for s in along)
    way = flow * pump.sign
    spots = _spots(plant, along, here)
    out = [Place("series", pump.key, spots, bodies=frozenset({body}), flow=way, run=run)] if spots else []
    tees = _tee_before(plant, along, here), _tee_after(plant, along, here)
    if tees[0] is not None and tees[1] is not None and tees[0].at != tees[1].at:
        own = _own_check(plant, along, here, tees[1])
        found = Place(
            "parallel", pump.key, (), (tees[0], tees[1]), own, bodies=frozenset({body}), flow=way, run=run
        )
        out.append(found)
    return out


def _spots(plant: Plant, along: Sequence[_Step], here: int) -> tuple[Spot, ...]:
    """Spots in series: at the outlet, at the inlet, then elsewhere on the same stretch."""
    pump = along[here].key
    out: list[Spot] = []
    for way, port in ((1, "out"), (-1, "in")):
        for offset, mate in ((way, pump), (2 * way, "")):
            if 0 <= here + offset < len(along):
                out += _spot(plant, along[here + offset], mate, port if mate else "")
    known = {spot.at for spot in out}
    for step in along:
        out += [spot for spot in _spot(plant, step, "", "") if spot.at not in known]
    return tuple(dict.fromkeys(out))


def _spot(plant: Plant, step: _Step, touches: str, port: str) -> list[Spot]:
    if step.key in plant.pipes:
        return [Spot(step.key, "", touches, port, step.sign > 0)]
    if _has(plant, step.key, Trait.SPACER):
        return [Spot("", step.key, "", "", step.sign > 0)]
    return []


def _tee_before(plant: Plant, along: Sequence[_Step], here: int) -> Tee | None:
    """The nearest tube before a circulator; a joint where the stretch begins without one."""
    for step in reversed(along[:here]):
        if step.key in plant.pipes and not plant.pipes[step.key].joined:
            return Tee(step.key, share=1.0 if step.sign > 0 else 0.0)
    return _joint_at(plant, along[0], first=True)


def _tee_after(plant: Plant, along: Sequence[_Step], here: int) -> Tee | None:
    """The nearest tube after a circulator; past a check valve of its own, so that it keeps it."""
    rest = list(along[here + 1 :])
    check = next((i for i, s in enumerate(rest) if _has(plant, s.key, Trait.CHECKS)), None)
    if check is not None and not plant.items[along[here].key].si.get("integral_check"):
        rest = rest[check + 1 :]
    for step in rest:
        if step.key in plant.pipes and not plant.pipes[step.key].joined:
            return Tee(step.key, share=0.0 if step.sign > 0 else 1.0)
    return _joint_at(plant, along[-1], first=False)


def _joint_at(plant: Plant, step: _Step, first: bool) -> Tee | None:
    """The joint at the outer end of a stretch's first or last pipe."""
    pipe = plant.pipes.get(step.key)
    if pipe is None:
        return None
    end = pipe.start if (step.sign > 0) == first else pipe.end
    return Tee(joint=end.item) if _has(plant, end.item, Trait.JOINS) else None


def _own_check(plant: Plant, along: Sequence[_Step], here: int, after: Tee) -> str:
    """What keeps water from running back through a circulator once another lies beside it."""
    if plant.items[along[here].key].si.get("integral_check"):
        return along[here].key
    for step in along[here + 1 :]:
        if step.key == after.pipe:
            return ""
        if _has(plant, step.key, Trait.CHECKS):
            return step.key
    return ""


def _alone(net: Network, branch: Branch, steps: Sequence[_Step], body: int, flow: float) -> list[Place]:
    """On a stretch without a circulator, along its flow; at rest, the way its valves let water go."""
    plant = net.plant
    sense = flow if abs(flow) > STILL else _way(net, branch)
    along = list(steps) if sense >= 0.0 else [_Step(s.key, -s.sign) for s in reversed(steps)]
    spots = [spot for step in along for spot in _spot(plant, step, "", "")]
    if not spots:
        return []
    tubes = [s for s in spots if s.spacer or not plant.pipes[s.pipe].joined]
    if not tubes:
        return []
    checked = any(_has(plant, s.key, Trait.CHECKS, Trait.OPENS_BY_SIGNAL) for s in along)
    run = tuple(s.key for s in along)
    longest = max(tubes, key=lambda s: np.inf if s.spacer else plant.pipes[s.pipe].si.length)
    return [Place("branch", longest.at, tuple(spots), None, "", checked, frozenset({body}), abs(flow), run)]


def _way(net: Network, branch: Branch) -> float:
    """Sense in which one-way parts let water through a stretch; along its pipes where none does."""
    signs = [s for i, s in zip(branch.elements, branch.signs, strict=True) if net.elements[i].one_way]
    if not signs:
        signs = [s for i, s in zip(branch.elements, branch.signs, strict=True) if net.elements[i].is_pipe]
    return float(sum(signs[:1])) or 1.0


def through(plant: Plant, name: str) -> tuple[PortRef, PortRef] | None:
    """The ports of an item that sits in a line."""
    item = plant.items[name]
    ports = in_line_ports(item.kind, item.props)
    return None if ports is None else (PortRef(name, ports[0]), PortRef(name, ports[1]))
