"""Sources at their limits and loads that get less than they want: states that fit the temperatures found."""

from __future__ import annotations

import math

from core.thermal.flowing import Flowing, ThermalState

ONE_AT_A_TIME = 15  # rounds after which one source, or what users can take, changes in a round
COLDEST, HOTTEST = 150.0, 2000.0  # [K] beyond which no temperature means anything
WARMER = 1e-5  # [K] above its set point the water must come that a source lets pass
CURVED = 0.003  # share of a temperature change by which the straight balance may be wrong
EDGE = 1e-9  # share and kelvin within which a limit counts as just reached


def review(flowing: Flowing, state: ThermalState) -> bool:
    """Change the states that do not fit the temperatures found.

    Parameters
    ----------
    flowing : Flowing
    state : ThermalState
        Its states are changed in place

    Returns
    -------
    bool
        Whether any was changed
    """
    changed = False
    by_group: dict[int, list[int]] = {}
    for i, (_, run) in flowing.sources.items():
        if state.source[i] != "off":
            by_group.setdefault(flowing.group[run.start], []).append(i)
    held = _held_groups(flowing, state)
    for group, members in by_group.items():
        changed |= _review_group(flowing, group, members, state, group in held)
    changed |= _without_source(flowing, set(by_group), state, held)
    if changed and state.rounds > ONE_AT_A_TIME:
        return True
    return _possible_heat(flowing, state) or changed


def need(flowing: Flowing, i: int) -> float:
    """Heat that would bring a source's flow to its set temperature, [W]."""
    role, run = flowing.sources[i]
    return run.w * (run.table.content(float(role.set_at or 0.0)) - run.table.content(flowing.t_in[i]))


def _possible_heat(flowing: Flowing, state: ThermalState) -> bool:
    """Loads and fan coils give the lesser of what is wanted and what their surface can."""
    changed = False
    for i, (role, _) in flowing.loads.items():
        emitter = role.emitter
        if emitter.ua is None or emitter.wanted is None or emitter.takes_all:
            continue
        rate = flowing.rate(i)
        possible = rate * -math.expm1(-emitter.ua / rate) * (flowing.t_in[i] - role.room)
        by_ua = possible <= emitter.wanted
        if by_ua != state.by_ua.get(i, True):
            state.by_ua[i] = by_ua
            changed = True
    return changed


def _without_source(flowing: Flowing, sourced: set[int], state: ThermalState, held: set[int]) -> bool:
    """Fixed loads in water that nothing heats get nothing; where a tank or main feeds it, all."""
    group = flowing.group
    heated = held | {group[n] for n in flowing.ways.roles.stores if n in group}
    heated |= {group[run.start] for coil, run in flowing.coils if coil.ua > 0.0}
    changed = False
    for i, (giving, run) in flowing.loads.items():
        if giving.emitter.ua is not None or group[run.start] in sourced:
            continue
        share = 1.0 if group[run.start] in heated else 0.0
        changed |= state.given_share.get(i, 1.0) != share
        state.given_share[i] = share
    return changed


def _held_groups(flowing: Flowing, state: ThermalState) -> set[int]:
    """Groups with a store or main of given temperature, which makes up for any source at its limit.

    A store that a stat holds is one while it is held.
    """
    group = flowing.group
    held = {group[n] for n in flowing.tapped}
    for key, hold in flowing.ways.roles.holds.items():
        if hold.held.pinned or not state.loose.get(key, False):
            held |= {group[n] for n in hold.nodes if n in group}
    return held | {group[n] for n in flowing.brought}


def _review_group(flowing: Flowing, group: int, members: list[int], state: ThermalState, held: bool) -> bool:
    fixed = sum(
        (g.emitter.wanted or 0.0)
        for g, r in flowing.loads.values()
        if flowing.group[r.start] == group and g.emitter.ua is None
    )
    wanting = [i for i in members if need(flowing, i) > 0.0]
    limited = [i for i in wanting if need(flowing, i) > _capacity(flowing, i) * (1.0 + EDGE)]
    share = state.given_share.get(members[0], 1.0)
    all_limited = bool(wanting) and len(limited) == len(wanting)
    cut = share < 1.0 or all_limited
    if fixed > 0.0 and not held and cut and not (share == 0.0 and all_limited):
        return _curtail(flowing, group, wanting, fixed, share, state)
    changed = False
    if any(not COLDEST < flowing.t_out[i] < HOTTEST for i in members):
        # Where all heat given and taken is fixed no temperature follows: where more is given than taken the
        # sources cannot be at their limits.
        loose = [i for i in members if state.source[i] == "limit"]
        if loose and sum(_capacity(flowing, i) for i in loose) > _taken(flowing, group, state):
            state.source.update(dict.fromkeys(loose, "set"))
            return True
    for i in members:
        mode = _mode(flowing, i, i in limited, state)
        if mode != state.source[i]:
            state.source[i] = mode
            changed = True
            if state.rounds > ONE_AT_A_TIME:
                break
    return changed


def _taken(flowing: Flowing, group: int, state: ThermalState) -> float:
    """Heat that users take whatever the temperature, [W]."""
    users = [
        (i, giving.emitter) for i, (giving, r) in flowing.loads.items() if flowing.group[r.start] == group
    ]
    return sum(
        (e.wanted or 0.0) * (state.given_share.get(i, 1.0) if e.ua is None else 1.0)
        for i, e in users
        if e.ua is None or not state.by_ua.get(i, True)
    )


def _capacity(flowing: Flowing, i: int) -> float:
    capacity = flowing.sources[i][0].capacity
    return math.inf if capacity is None else capacity


def _mode(flowing: Flowing, i: int, over: bool, state: ThermalState) -> str:
    """Next state of a source. Each change goes by way of "set", or two sources would swing each other."""
    set_at = float(flowing.sources[i][0].set_at or 0.0)
    if state.source[i] == "limit":
        return "set" if flowing.t_out[i] > set_at + EDGE else "limit"
    # Water that comes just at the set point is held there as well by staying: two units that both let it pass
    # would leave nothing that says how warm it is. And no inlet is known better than the balance was linear.
    warmer = set_at + WARMER + CURVED * state.moved
    if flowing.t_in[i] >= (warmer if state.source[i] == "set" else set_at - EDGE):
        return "hot"
    return "limit" if over and state.source[i] == "set" else "set"


def _curtail(
    flowing: Flowing, group: int, wanting: list[int], fixed: float, share: float, state: ThermalState
) -> bool:
    """Cut the fixed loads of a group alike, until its sources give just their capacity at set point."""
    out_of_place = [i for i in wanting if state.source[i] != "set"]
    if out_of_place:
        state.source.update(dict.fromkeys(out_of_place, "set"))
        _give(flowing, group, min(share, 1.0 - 1e-6), state)
        return True
    capacity = sum(_capacity(flowing, i) for i in wanting)
    excess = sum(need(flowing, i) for i in wanting) - capacity
    new = min(1.0, max(0.0, share - excess / fixed))
    _give(flowing, group, new, state)
    return abs(new - share) * fixed > 1e-6 * capacity


def _give(flowing: Flowing, group: int, share: float, state: ThermalState) -> None:
    for i, (_, run) in (*flowing.loads.items(), *flowing.sources.items()):
        if flowing.group[run.start] == group:
            state.given_share[i] = share
