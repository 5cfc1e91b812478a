"""Time the network solver against pandapipes on the same pipes, to the same answer, in the same run.

Run: python benchmarks/network.py. Prints times, their ratio, the largest difference of the answers and how the time
grows with size. pandapipes is timed on its solve alone, its network built beforehand; ours from Network to state.
"""

import math
import time
import warnings
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandapipes
from pandapipes.component_models.component_toolbox import p_correction_height_air

from rillwright.model.network import Link, Network, Outlet
from rillwright.model.plan import SupplyCurve
from rillwright.physics import water
from rillwright.physics.units import GRAVITY
from rillwright.solvers.network import NetworkState, solve_network

SIZES = (100, 300, 1000)
DEMAND = 2e-4  # [m³/s] at each node
SPEED = 1.5  # [m/s] for which each pipe is sized


def draw(size: int) -> Network:
    """Draw an invented tree under fixed demands, with a by-pass for every twenty nodes; all flow is turbulent.

    pandapipes knows turbulent friction only.
    """
    rng = np.random.default_rng(size)
    parents = [0 if k == 1 else int(rng.integers(max(0, k - 40), k)) for k in range(1, size)]
    below = np.ones(size)
    for k in range(size - 1, 0, -1):
        below[parents[k - 1]] += below[k]
    bores = np.sqrt(below * DEMAND / SPEED * 4 / math.pi)
    links = [
        Link(f"p{k}", f"n{parents[k - 1]}", f"n{k}", float(rng.uniform(2, 10)), float(bores[k]), minor=0.5)
        for k in range(1, size)
    ]
    for k in range(20, size, 20):
        over = parents[parents[k - 1] - 1] if parents[k - 1] else None
        if over is not None:
            links.append(Link(f"c{k}", f"n{over}", f"n{k}", float(rng.uniform(8, 20)), 0.7 * float(bores[k])))
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


def build_other(network: Network) -> pandapipes.pandapipesNet:
    """Build the same pipes for pandapipes; heights scaled from its gravity of 9.81 m/s² to ours."""
    net = pandapipes.create_empty_network()
    density = water.density(network.temperature)
    net["fluid"] = pandapipes.create_constant_fluid(
        "water",
        "liquid",
        density=density,
        viscosity=water.dynamic_viscosity(network.temperature),
        heat_capacity=4180.0,
        molar_mass=18.0,
        compressibility=1.0,
        der_compressibility=0.0,
    )
    place = {node: k for k, node in enumerate(network.elevation)}
    heights = np.array(list(network.elevation.values())) * GRAVITY / 9.81
    pandapipes.create_junctions(net, len(place), pn_bar=5.0, tfluid_k=network.temperature, height_m=heights)
    pandapipes.create_ext_grid(net, place[network.source], p_bar=network.supply.static / 1e5, t_k=network.temperature)
    pandapipes.create_pipes_from_parameters(
        net,
        [place[k.start] for k in network.links],
        [place[k.end] for k in network.links],
        length_km=[k.length / 1e3 for k in network.links],
        inner_diameter_mm=[k.bore * 1e3 for k in network.links],
        k_mm=[k.roughness * 1e3 for k in network.links],
        loss_coefficient=[k.minor for k in network.links],
    )
    drawn = np.array(list(network.demands.values())) * density
    pandapipes.create_sinks(net, [place[node] for node in network.demands], mdot_kg_per_s=drawn)
    return net


def solve_other(net: pandapipes.pandapipesNet) -> None:
    """Run pandapipes to a tolerance like ours."""
    pandapipes.pipeflow(
        net,
        friction_model="colebrook",
        tolerance_colebrook=1e-9,
        tol_p=1e-7,
        tol_m=1e-7,
        tol_res=1e-5,
        max_iter_hyd=200,
        use_numba=False,
    )


def seconds(work: Callable[[], object], *, repeats: int = 5) -> float:
    """Least time of several runs after one to warm up."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def largest_difference(state: NetworkState, net: pandapipes.pandapipesNet, static: float) -> float:
    """Largest difference of pressure as a share of the largest pressure drop."""
    air = p_correction_height_air(net.junction.height_m) - p_correction_height_air(0.0)
    source_air = air.iloc[0]
    theirs = ((net.res_junction.p_bar + air - source_air) * 1e5).to_numpy()
    ours = np.array(list(state.pressure.values()))
    return float(np.abs(ours - theirs).max() / np.abs(static - theirs).max())


def main() -> None:
    """Print the table."""
    print(f"{'nodes':>6} {'ours ms':>9} {'other ms':>9} {'ratio':>7} {'largest difference':>19} {'outlets ms':>11}")
    times = []
    for size in SIZES:
        network = draw(size)
        net = build_other(network)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other = seconds(lambda net=net: solve_other(net), repeats=3)
        ours = seconds(lambda network=network: solve_network(network))
        open_ended = with_outlets(network)
        times.append(seconds(lambda network=open_ended: solve_network(network)))
        apart = largest_difference(solve_network(network), net, network.supply.static)
        print(
            f"{size:6d} {ours * 1e3:9.2f} {other * 1e3:9.2f} {other / ours:7.1f} {apart:19.2e} {times[-1] * 1e3:11.2f}"
        )
    growth = np.polyfit(np.log(SIZES), np.log(times), 1)[0]
    print(f"time with outlets and a sagging supply grows as nodes^{growth:.2f}")


if __name__ == "__main__":
    main()
