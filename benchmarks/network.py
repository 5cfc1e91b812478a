"""Time the network solver against pandapipes on the same pipes, and a batch against single solves, in the same run.

Run: python benchmarks/network.py. pandapipes is timed on its solve alone, its network built beforehand; so are we,
with the network prepared beforehand, and once more from the Network on. Times are the least CPU time of several runs
after one to warm up; the first solve of all, which may have to compile, is printed by itself.
"""

import math
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "tests"))

from timing import least_time

import pandapipes_apart
from rillwright.model.network import Link, Network, Outlet
from rillwright.model.parts import DeviceLoss
from rillwright.model.plan import SupplyCurve
from rillwright.solvers.network import Draws, Prepared, prepare, solve_batch, solve_network

SIZES = (100, 300, 1000)  # nodes
TREES = (100, 1000, 10_000, 30_000)  # nodes
DEMAND = 2e-4  # [m³/s] at each node
SPEED = 1.5  # [m/s] for which each pipe is sized
SCENARIOS = 2000
ONE = Draws(count=1)


def draw(size: int, *, bypasses: bool = False) -> Network:
    """Draw an invented tree under fixed demands, perhaps with a by-pass for every twenty nodes; all flow is turbulent.

    pandapipes knows turbulent friction only.
    """
    rng = np.random.default_rng(size)
    parents = [0, *(int(rng.integers(max(0, k - 40), k)) for k in range(1, size))]
    below = np.ones(size)
    for k in range(size - 1, 0, -1):
        below[parents[k]] += below[k]
    bores = np.sqrt(below * DEMAND / SPEED * 4 / math.pi)
    links = [
        Link(f"p{k}", f"n{parents[k]}", f"n{k}", float(rng.uniform(2, 10)), float(bores[k]), minor=0.5)
        for k in range(1, size)
    ]
    for k in range(20, size if bypasses else 0, 20):
        if parents[k]:
            over = f"n{parents[parents[k]]}"
            links.append(Link(f"c{k}", over, f"n{k}", float(rng.uniform(8, 20)), 0.7 * float(bores[k])))
    elevation = {f"n{k}": float(rng.uniform(-2, 2)) for k in range(size)}
    demands = {f"n{k}": DEMAND for k in range(1, size)}
    supply = SupplyCurve(static=8e5, factor=0.0, exponent=2.0)
    return Network("n0", supply, elevation, tuple(links), demands=demands)


def with_outlets(network: Network) -> Network:
    """Put nozzles in place of the fixed demands, on a supply that sags to half."""
    outlets = {node: Outlet(DEMAND / math.sqrt(4e5), 0.5) for node in network.demands}
    total = sum(network.demands.values())
    return replace(
        network, supply=SupplyCurve(static=8e5, factor=4e5 / total**2, exponent=2.0), outlets=outlets, demands={}
    )


def yard() -> Network:
    """Invent a yard of 60 heads: a main with a backflow device, six laterals of ten heads on risers."""
    links = [
        Link("backflow", "entry", "main", device=DeviceLoss(factor=4e9, threshold=2e4)),
        Link("main", "main", "valves", 20.0, 0.0525, minor=3.0),
    ]
    outlets = {}
    for lateral in range(6):
        above = "valves"
        for head in range(10):
            name = f"{lateral}.{head}"
            links.append(Link(f"pipe {name}", above, name, 4.0, 0.0266, minor=0.6))
            links.append(Link(f"riser {name}", name, f"head {name}", 0.45, 0.0158, minor=4.0))
            outlets[f"head {name}"] = Outlet(6e-5 / 2.1e5**0.5, 0.5)
            above = name
    elevation = {"entry": 0.0} | {link.end: 0.01 * k for k, link in enumerate(links)}
    supply = SupplyCurve(static=4.5e5, factor=1.5e5 / 3.6e-3**1.85, exponent=1.85)
    return Network("entry", supply, elevation, tuple(links), outlets)


def scenarios(prepared: Prepared) -> Draws:
    """Draw supply, roughness, heights and the nozzles' spread."""
    rng = np.random.default_rng(0)
    supply = prepared.network.supply
    return Draws(
        count=SCENARIOS,
        static=supply.static * rng.normal(1, 0.06, SCENARIOS),
        supply_factor=supply.factor * rng.lognormal(0, 0.15, SCENARIOS),
        roughness=prepared.roughness * rng.lognormal(0, 1, (SCENARIOS, 1)) * np.ones(len(prepared.links)),
        elevation=prepared.elevation + rng.normal(0, 0.1, (SCENARIOS, len(prepared.nodes))),
        coefficient=prepared.coefficient * rng.normal(1, 0.03, (SCENARIOS, len(prepared.outlets))),
    )


def against_pandapipes() -> None:
    """Print times, their ratios and the largest difference of pressure as a share of the largest drop."""
    print(f"{'pipes':>9} {'nodes':>6} {'pandapipes':>11} {'ours':>9} {'ratio':>7} {'apart':>8}", end=" ")
    print(f"{'with prepare':>13} {'ratio':>7} {'outlets and curve':>18} {'ratio':>7}")
    for kind, bypasses in (("tree", False), ("by-passes", True)):
        for size in SIZES:
            network = draw(size, bypasses=bypasses)
            net = pandapipes_apart.build(network)
            other = min(
                least_time(lambda net=net, jit=numba: pandapipes_apart.run(net, tolerance=1e-7, numba=jit), repeats=3)
                for numba in (False, True)
            )
            prepared, open_ended = prepare(network), prepare(with_outlets(network))
            ours = least_time(lambda prepared=prepared: solve_batch(prepared, ONE), repeats=20)
            whole = least_time(lambda network=network: solve_network(network))
            outlets = least_time(lambda prepared=open_ended: solve_batch(prepared, ONE), repeats=20)
            theirs = pandapipes_apart.pressures(net, network)
            apart = np.abs(solve_batch(prepared, ONE).pressure[0] - theirs).max() / np.abs(8e5 - theirs).max()
            print(f"{kind:>9} {size:6d} {other * 1e3:8.2f} ms {ours * 1e3:6.3f} ms {other / ours:7.0f}", end=" ")
            print(f"{apart:8.0e} {whole * 1e3:10.2f} ms {other / whole:7.1f}", end=" ")
            print(f"{outlets * 1e3:15.3f} ms {other / outlets:7.0f}")


def growth() -> None:
    """Print how times on trees grow with size."""
    trees = {size: with_outlets(draw(size)) for size in TREES}
    prepared = {size: prepare(network) for size, network in trees.items()}
    solving = [least_time(lambda size=size: solve_batch(prepared[size], ONE)) for size in TREES]
    preparing = [least_time(lambda size=size: prepare(trees[size]), repeats=3) for size in TREES]
    for name, times in (("solving", solving), ("preparing", preparing)):
        exponent = np.polyfit(np.log(TREES), np.log(times), 1)[0]
        listed = ", ".join(f"{size}: {t * 1e3:.2f} ms" for size, t in zip(TREES, times, strict=True))
        print(f"{name} trees with outlets grows as nodes^{exponent:.2f} ({listed})")
    steps = [int(solve_batch(prepared[size], ONE).iterations[0]) for size in TREES]
    print(f"Newton steps: {steps}")


def batch() -> None:
    """Print the time for all scenarios of a yard beside that of single solves."""
    prepared = prepare(yard())
    draws = scenarios(prepared)
    together = least_time(lambda: solve_batch(prepared, draws), repeats=3)
    alone = least_time(lambda: [solve_network(prepared.network) for _ in range(50)], repeats=3) / 50 * SCENARIOS
    print(
        f"{SCENARIOS} scenarios of a yard of {len(prepared.outlets)} heads, {len(prepared.links)} links: "
        f"{together:.3f} s, {alone / together:.0f} times as fast as one by one"
    )


def main() -> None:
    """Print every table."""
    start = time.process_time()
    solve_network(yard())
    print(f"first solve: {time.process_time() - start:.2f} s, compiling included where nothing is kept from before")
    against_pandapipes()
    growth()
    batch()


if __name__ == "__main__":
    main()
