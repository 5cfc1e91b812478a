"""Pipe sizes: the cheapest that keep velocity and pressure within their limits, proven."""

from rillwright.solvers.sizing.cases import HeadDemand, Run
from rillwright.solvers.sizing.sizes import Clash, Sizing, size_pipes

__all__ = ["Clash", "HeadDemand", "Run", "Sizing", "size_pipes"]
