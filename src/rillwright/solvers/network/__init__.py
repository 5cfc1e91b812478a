"""Pressures and flows of pipe networks, one at a time or for many draws of what is uncertain."""

from rillwright.solvers.network.batch import BatchState, Draws, Prepared, prepare, solve_batch
from rillwright.solvers.network.newton import NetworkState, solve_network

__all__ = ["BatchState", "Draws", "NetworkState", "Prepared", "prepare", "solve_batch", "solve_network"]
