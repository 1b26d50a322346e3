"""Ways through a small network of numbered nodes: parts that hang together, bridges, simple ways.

Written out here because the library for graphs takes longer to load than a plant takes to solve; tests hold
each against it. Not for the plant as drawn: `core.plant.topology`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

Pair = tuple[int, int]


def parts(pairs: Iterable[Pair], alone: Iterable[int] = ()) -> list[set[int]]:
    """Nodes that hang together, in the order in which each part is first named.

    Parameters
    ----------
    pairs : iterable of (int, int)
        Nodes joined by a branch
    alone : iterable of int
        Nodes that count even where nothing joins them, named before the pairs
    """
    joined: dict[int, set[int]] = {node: set() for node in alone}
    for a, b in pairs:
        joined.setdefault(a, set()).add(b)
        joined.setdefault(b, set()).add(a)
    found: list[set[int]] = []
    seen: set[int] = set()
    for node in joined:
        if node not in seen:
            part = reached(joined, node)
            seen |= part
            found.append(part)
    return found


def reached(onward: dict[int, set[int]], start: int) -> set[int]:
    """Nodes that can be come to from one, itself among them; `onward` gives those one step on."""
    found, ahead = {start}, [start]
    while ahead:
        fresh = onward.get(ahead.pop(), set()) - found
        found |= fresh
        ahead.extend(fresh)
    return found


def bridges(pairs: Iterable[Pair]) -> set[frozenset[int]]:
    """Pairs of nodes whose one join, taken away, parts what hung together.

    A pair named twice counts as joined once; a node joined to itself is no bridge. One walk in depth: a join
    is a bridge where nothing behind it leads back to before it.
    """
    joined: dict[int, set[int]] = {}
    for a, b in pairs:
        if a != b:
            joined.setdefault(a, set()).add(b)
            joined.setdefault(b, set()).add(a)
    found: set[frozenset[int]] = set()
    order: dict[int, int] = {}
    back: dict[int, int] = {}  # the earliest node that what lies behind one leads back to
    for root in joined:
        if root in order:
            continue
        order[root] = back[root] = len(order)
        walk = [(root, root, iter(joined[root]))]
        while walk:
            node, before, ahead = walk[-1]
            fresh = None
            for other in ahead:
                if other not in order:
                    fresh = other
                    break
                if other != before:
                    back[node] = min(back[node], order[other])
            if fresh is not None:
                order[fresh] = back[fresh] = len(order)
                walk.append((fresh, node, iter(joined[fresh])))
                continue
            walk.pop()
            if walk:
                back[before] = min(back[before], back[node])
                if back[node] > order[before]:
                    found.add(frozenset((before, node)))
    return found


def on_ways(pairs: Sequence[Pair], start: int, end: int, most: int) -> set[int]:
    """Numbers of the directed joins that lie on a way from `start` to `end` which passes no node twice.

    Parameters
    ----------
    pairs : sequence of (int, int)
        From which node to which each join leads
    most : int
        Ways looked at before the search gives up finding more
    """
    onward: dict[int, set[int]] = {}
    backward: dict[int, set[int]] = {}
    for a, b in pairs:
        onward.setdefault(a, set()).add(b)
        backward.setdefault(b, set()).add(a)
    useful = reached(onward, start) & reached(backward, end)
    leaving: dict[int, list[int]] = {}
    for number, (a, b) in enumerate(pairs):
        if a in useful and b in useful and a != b:
            leaving.setdefault(a, []).append(number)
    wanted = {number for numbers in leaving.values() for number in numbers}
    found: set[int] = set()
    for count, way in enumerate(_ways(pairs, leaving, start, end), 1):
        found.update(way)
        if count == most or found == wanted:
            break
    return found


def _ways(
    pairs: Sequence[Pair], leaving: dict[int, list[int]], start: int, end: int
) -> Iterator[Collection[int]]:
    """Joins of each simple way, in depth first."""
    way: list[int] = []
    passed = {start}
    walk = [iter(leaving.get(start, ()))]
    while walk:
        number = next(walk[-1], None)
        if number is None:
            walk.pop()
            if way:
                passed.discard(pairs[way.pop()][1])
        elif (node := pairs[number][1]) == end:
            yield [*way, number]
        elif node not in passed:
            way.append(number)
            passed.add(node)
            walk.append(iter(leaving.get(node, ())))
