"""Networks solved by pandapipes, an independent solver of pipes, heights and fixed demands.

On import pandapipes swaps matplotlib's drawing context for one of its own. The original is put back here, so that
tests of drawings run in the same process.
"""

import warnings

from matplotlib.backend_bases import RendererBase

_own = RendererBase.new_gc

import numpy as np  # noqa: E402
import pandapipes  # noqa: E402
from pandapipes.component_models.component_toolbox import p_correction_height_air  # noqa: E402

from rillwright.model.network import Network  # noqa: E402
from rillwright.physics import water  # noqa: E402
from rillwright.physics.units import GRAVITY  # noqa: E402

RendererBase.new_gc = _own

__all__ = ["build", "flows", "pressures", "run"]


def build(network: Network) -> pandapipes.pandapipesNet:
    """Give pandapipes the same pipes; its gravity is 9.81 m/s², so heights are scaled to ours."""
    density = water.density(network.temperature)
    net = pandapipes.create_empty_network()
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
    at = {node: k for k, node in enumerate(network.elevation)}
    heights = np.array(list(network.elevation.values())) * GRAVITY / 9.81
    pandapipes.create_junctions(net, len(at), pn_bar=5.0, tfluid_k=network.temperature, height_m=heights)
    pandapipes.create_ext_grid(net, at[network.source], p_bar=network.supply.static / 1e5, t_k=network.temperature)
    pandapipes.create_pipes_from_parameters(
        net,
        [at[k.start] for k in network.links],
        [at[k.end] for k in network.links],
        length_km=[k.length / 1e3 for k in network.links],
        inner_diameter_mm=[k.bore * 1e3 for k in network.links],
        k_mm=[k.roughness * 1e3 for k in network.links],
        loss_coefficient=[k.minor for k in network.links],
    )
    drawn = np.array(list(network.demands.values())) * density
    pandapipes.create_sinks(net, [at[node] for node in network.demands], mdot_kg_per_s=drawn)
    return net


def run(net: pandapipes.pandapipesNet, *, tolerance: float = 1e-9, numba: bool = False) -> None:
    """Solve with Colebrook-White at every Reynolds number; tolerance [bar] and [kg/s]."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pandapipes.pipeflow(
            net,
            friction_model="colebrook",
            tolerance_colebrook=1e-3 * tolerance,
            tol_p=tolerance,
            tol_m=tolerance,
            tol_res=1e2 * tolerance,
            max_iter_hyd=200,
            use_numba=numba,
        )


def pressures(net: pandapipes.pandapipesNet, network: Network) -> np.ndarray:
    """Pressure [Pa] by node, against the air at the source.

    Its gauge pressures are against the air at each node's own height, 12 Pa less for each metre up.
    """
    air = p_correction_height_air(net.junction.height_m) - p_correction_height_air(
        net.junction.height_m[list(network.elevation).index(network.source)]
    )
    return ((net.res_junction.p_bar + air) * 1e5).to_numpy()


def flows(net: pandapipes.pandapipesNet, network: Network) -> np.ndarray:
    """Flow [m³/s] by link."""
    return (net.res_pipe.mdot_from_kg_per_s / water.density(network.temperature)).to_numpy()
