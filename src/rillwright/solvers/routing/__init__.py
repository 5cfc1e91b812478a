"""Routing: pipes in shared trenches, from the water entry to the valve places and on to the heads."""

from rillwright.solvers.routing.assembly import RoutedEdge
from rillwright.solvers.routing.reach import Unreachable
from rillwright.solvers.routing.routes import Net, Routes, route_nets, trench_bound

__all__ = ["Net", "RoutedEdge", "Routes", "Unreachable", "route_nets", "trench_bound"]
