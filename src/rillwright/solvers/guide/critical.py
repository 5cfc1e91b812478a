"""The longest chain of steps, and how far each may slip, by the critical path method on a graph of networkx.

Source: Kelley and Walker, "Critical-path planning and scheduling", Proceedings of the Eastern Joint Computer
Conference (1959) 160-173, from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

__all__ = ["Chain", "longest_chain"]

BEGIN, END = "\0begin", "\0end"  # no step is called so

Arc = tuple[str, str, float]  # from, to, wait between


@dataclass(frozen=True, slots=True)
class Chain:
    """What the critical path method says of a network."""

    length: float  # of the longest chain
    steps: tuple[str, ...]  # on it, in order
    slack: Mapping[str, float]  # by step: how much later it may end


def longest_chain(durations: Mapping[str, float], arcs: Sequence[Arc]) -> Chain:
    """Longest chain of a network of steps, in the unit of its durations.

    Parameters: durations by step; arcs, each (from, to, wait) with both ends among the steps. Errors: ValueError when
    the steps wait for one another in a circle.

    >>> longest_chain({"a": 2, "b": 3, "c": 1}, [("a", "c", 4), ("b", "c", 0)]).steps
    ('a', 'c')
    """
    import networkx as nx

    graph = nx.DiGraph()
    graph.add_edge(BEGIN, END, takes=0.0)
    for step in durations:
        graph.add_edge(BEGIN, step, takes=0.0)
    for first, then, wait in arcs:
        takes = durations[first] + wait
        known = graph.get_edge_data(first, then, {"takes": takes})["takes"]
        graph.add_edge(first, then, takes=max(takes, known))
    for step, duration in durations.items():
        graph.add_edge(step, END, takes=duration)
    try:
        order = list(nx.topological_sort(graph))
    except nx.NetworkXUnfeasible:
        raise ValueError("steps wait for one another in a circle") from None
    path = nx.dag_longest_path(graph, weight="takes", topo_order=order)
    early = dict.fromkeys(order, 0.0)
    for node in order:
        for _, then, takes in graph.out_edges(node, data="takes"):
            early[then] = max(early[then], early[node] + takes)
    late = dict.fromkeys(order, early[END])
    for node in reversed(order):
        for _, then, takes in graph.out_edges(node, data="takes"):
            late[node] = min(late[node], late[then] - takes)
    return Chain(early[END], tuple(path[1:-1]), {step: late[step] - early[step] for step in durations})
