"""Invented networks of pipes and outlets, drawn at random."""

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.physics import losses
from rillwright.solvers.network import NetworkState, solve_network

BORES = (0.0158, 0.0209, 0.0266, 0.0350, 0.0409)
STIFF = SupplyCurve(static=6e5, factor=0.0, exponent=2.0)
SOUND = Network("entry", STIFF, {"entry": 0.0, "end": 0.0}, (Link("p", "entry", "end", length=5.0),))


def random_network(seed: int, *, loops: int, size: int, slope: float) -> Network:
    """Draw a branching network of invented pipes, some joined in loops, with outlets at most of its nodes."""
    rng = np.random.default_rng(seed)
    names, elevation, links, outlets = ["entry"], {"entry": 0.0}, [], {}
    for k in range(size):
        node, above = f"n{k}", names[rng.integers(min(k, max(1, len(names) - 5)), len(names))]
        names.append(node)
        elevation[node] = float(rng.uniform(-slope, slope))
        device = DeviceLoss(factor=float(rng.uniform(0, 1e10)), threshold=float(rng.uniform(0, 1.5e4)))
        links.append(
            Link(
                f"p{k}",
                above,
                node,
                length=0.0 if k == 0 else float(rng.uniform(0.5, 20)),
                bore=float(rng.choice(BORES[2:] if k < 3 else BORES)),
                minor=0.0 if k == 0 else float(rng.uniform(0, 3)),
                device=device if k == 0 else None,
            )
        )
        if rng.random() < 0.7 or k == size - 1:
            outlets[node] = Outlet(float(10 ** rng.uniform(-7.6, -6.8)), float(rng.uniform(0.4, 0.6)))
    for k in range(loops):
        a, b = rng.choice(size, 2, replace=False)
        links.append(Link(f"c{k}", f"n{a}", f"n{b}", length=float(rng.uniform(1, 20)), bore=0.0209))
    supply = SupplyCurve(static=float(rng.uniform(3e5, 6e5)), factor=float(10 ** rng.uniform(9, 10.5)), exponent=1.9)
    return Network("entry", supply, elevation, tuple(links), outlets)


def turbulent_networks(*, loops: int, count: int):
    """Draw networks under fixed demands; keep those in which every pipe is turbulent.

    pandapipes uses Colebrook-White at every Reynolds number: below 4000 it would rest on another law than ours.
    """
    rng = np.random.default_rng(loops)
    while count:
        drawn = random_network(int(rng.integers(10**6)), loops=loops, size=int(rng.integers(4, 25)), slope=4.0)
        links = tuple(replace(k, device=None, length=max(k.length, 1.0)) for k in drawn.links)
        demands = {f"n{k}": float(rng.uniform(1.6e-4, 2.5e-4)) for k in range(len(drawn.elevation) - 1)}
        network = replace(drawn, links=links, supply=STIFF, outlets={}, demands=demands)
        state = solve_network(network)
        if min(reynolds(k, state) for k in links) > 4000:
            count -= 1
            yield network


def reynolds(link: Link, state: NetworkState) -> float:
    return 4 * abs(state.flow[link.id]) / (np.pi * link.bore * losses.VISCOSITY)


networks = st.builds(
    random_network,
    st.integers(0, 10**6),
    loops=st.integers(0, 5),
    size=st.integers(6, 60),
    slope=st.sampled_from([0.5, 5.0, 40.0]),
)


def hard_network(seed: int) -> Network:
    """Draw what no yard has: hair-thin and free pipes, backward links, free loops, dead supplies, any outlet."""
    rng = np.random.default_rng(seed)
    names, elevation, links, outlets, slope = ["entry"], {"entry": 0.0}, [], {}, rng.choice([0.0, 1.0, 10.0, 60.0])
    for k in range(int(rng.integers(1, 60))):
        node, above = f"n{k}", names[rng.integers(max(0, len(names) - 6), len(names))]
        names.append(node)
        elevation[node] = float(rng.uniform(-slope, slope))
        device = DeviceLoss(float(rng.choice([0.0, 1e6, 1e11])), float(rng.choice([0.0, 8e4])))
        links.append(
            Link(
                f"p{k}",
                *((above, node) if rng.random() < 0.8 else (node, above)),
                length=0.0 if rng.random() < 0.2 else float(10 ** rng.uniform(-3, 2.5)),
                bore=float(rng.choice([0.004, 0.016, 0.027, 0.1])),
                roughness=float(rng.choice([0.0, 1.5e-6, 4e-5])),
                minor=float(rng.choice([0.0, 0.0, 1.0, 30.0])),
                device=device if rng.random() < 0.15 else None,
            )
        )
        if rng.random() < 0.4:
            exponent = float(rng.uniform(0.1, 1.0))
            outlets[node] = Outlet(float(10 ** rng.uniform(-6, -3) / 3e5**exponent), exponent)
    for k in range(int(rng.integers(0, 8))):
        a, b = rng.choice(names, 2)
        if a != b:
            links.append(Link(f"c{k}", str(a), str(b), float(rng.choice([0.0, 1.0, 20.0])), 0.021))
    static, factor = float(rng.choice([-1e4, 0.0, 2e4, 5e5, 2e6])), float(rng.choice([0.0, 1e6, 1e10, 1e12]))
    supply = SupplyCurve(static=static, factor=factor, exponent=float(rng.uniform(1, 2)))
    return Network("entry", supply, elevation, tuple(links), outlets)
