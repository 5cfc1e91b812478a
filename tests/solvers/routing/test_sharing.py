"""Nets that share trenches, against every choice of trees there is on tiny graphs."""

import numpy as np

from least_trees import least_of_all, tiny_graph
from rillwright.solvers.routing.sharing import NetEnds, Router


def test_three_nets_cost_what_brute_force_finds():
    """40 random graphs: a main from node to two valve places, and the laterals of a zone from each of them."""
    ratios = []
    for seed in range(40):
        graph = tiny_graph(seed)
        ends = np.random.default_rng(seed).choice(8, 7, replace=False).tolist()
        main = NetEnds((ends[0], ends[1], ends[2]), 1.5)
        nets = [main, NetEnds((ends[1], *ends[3:5]), 1.0), NetEnds((ends[2], *ends[5:7]), 1.0)]
        router = Router(graph, nets, deadline=np.inf)
        ratios.append(router.cost(router.solve([[0, 1, 2], [2, 1, 0], [1, 0, 2]])) / least_of_all(graph, nets))
    print(f"three nets over brute force: worst {max(ratios):.5f}, equal in {np.sum(np.array(ratios) < 1 + 1e-6)} of 40")
    assert min(ratios) >= 1 - 1e-9
    assert max(ratios) <= 1.005
    assert np.sum(np.array(ratios) < 1 + 1e-6) >= 38
