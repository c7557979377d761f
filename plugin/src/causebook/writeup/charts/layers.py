"""A small layered layout: nodes in layers along the arrows, ordered within each so that few arrows cross."""

from __future__ import annotations

from collections.abc import Sequence

Edge = tuple[str, str]


def layered(nodes: Sequence[str], edges: Sequence[Edge]) -> list[list[str]]:
    """The layers of an acyclic graph, sources first.

    A node stands as near to what it leads to as its longest path to an end allows, so a helper stands beside the
    root and not far to its left.  Within a layer, nodes follow the mean place of their neighbors, two sweeps each
    way; ties keep the order of `nodes`.  Raises ValueError on a cycle.
    """
    targets = {n: [b for a, b in edges if a == n] for n in nodes}
    sources = {n: [a for a, b in edges if b == n] for n in nodes}
    depth: dict[str, int] = {}

    def to_end(node: str, above: tuple[str, ...] = ()) -> int:
        if node in above:
            raise ValueError(f"arrows run in a circle through {node!r}")
        if node not in depth:
            depth[node] = max((1 + to_end(t, (*above, node)) for t in targets[node]), default=0)
        return depth[node]

    deepest = max((to_end(n) for n in nodes), default=-1)
    layers = [[n for n in nodes if depth[n] == deepest - level] for level in range(deepest + 1)]
    for sweep in range(4):
        forward = sweep % 2 == 0
        for layer in layers if forward else reversed(layers):
            place = {n: i for row in layers for i, n in enumerate(row)}
            towards = sources if forward else targets
            layer.sort(key=lambda n: _mean([place[m] for m in towards[n]], place[n]))
    return layers


def _mean(places: list[int], own: int) -> float:
    return sum(places) / len(places) if places else own
