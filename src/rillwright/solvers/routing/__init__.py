"""Routing: pipes in shared trenches, from the water entry to the valve places and on to the heads."""

from rillwright.solvers.routing.assembly import RoutedEdge
from rillwright.solvers.routing.board import Board, Held, Laid, Net, Written
from rillwright.solvers.routing.owners import line_owners
from rillwright.solvers.routing.reach import Unreachable
from rillwright.solvers.routing.routes import Routes, route_nets, trench_bound

__all__ = [
    "Board",
    "Held",
    "Laid",
    "Net",
    "RoutedEdge",
    "Routes",
    "Unreachable",
    "Written",
    "line_owners",
    "route_nets",
    "trench_bound",
]
