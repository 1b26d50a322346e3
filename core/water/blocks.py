"""Ways round, without a library: which ways hang together so that water can turn round in them.

A block is a part of a graph that stays whole whichever one node is taken out; two ways lie on one round that
passes no node twice when they are in one block (Whitney 1932), and a way alone in its block is a bridge.
Every solve asks this at its start, before anything else needs a library of graphs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence


def blocks(ways: Sequence[tuple[int, int]]) -> Iterator[list[int]]:
    """Numbers of the ways in each block; a way from a node to itself is in none.

    Parameters
    ----------
    ways : sequence of (int, int)
        Nodes of each way; several may join the same two

    Yields
    ------
    list of int
        One block, in no order

    Notes
    -----
    Depth first, a block is whole on the way back to a node above which nothing in it reaches
    (Hopcroft and Tarjan, Communications of the ACM 16, 1973), with a stack of its own: a long run of pipes is
    deeper than Python's.

    Examples
    --------
    >>> sorted(sorted(block) for block in blocks([(0, 1), (1, 2), (2, 0), (2, 3), (3, 4), (4, 3)]))
    [[0, 1, 2], [3], [4, 5]]
    """
    beside: dict[int, list[tuple[int, int]]] = {}
    for k, (start, end) in enumerate(ways):
        if start != end:
            beside.setdefault(start, []).append((end, k))
            beside.setdefault(end, []).append((start, k))
    depth: dict[int, int] = {}
    highest: dict[int, int] = {}  # least depth that a node or those below it reach by one way back
    for root in beside:
        if root in depth:
            continue
        depth[root] = highest[root] = 0
        gone: list[int] = []  # ways not yet in a block
        path = [
            (root, -1, 0, iter(beside[root]))
        ]  # node, way to it, how many had gone before that, what is left
        while path:
            node, by, before, left = path[-1]
            for end, way in left:
                if way == by:
                    continue
                if end not in depth:
                    path.append((end, way, len(gone), iter(beside[end])))
                    gone.append(way)
                    depth[end] = highest[end] = depth[node] + 1
                    break
                if depth[end] < depth[node]:
                    gone.append(way)
                    highest[node] = min(highest[node], depth[end])
            else:
                path.pop()
                if path:
                    above = path[-1][0]
                    highest[above] = min(highest[above], highest[node])
                    if highest[node] >= depth[above]:
                        yield gone[before:]
                        del gone[before:]
