"""Pipe sizes: the cheapest that keep velocity and pressure within their limits, proven."""

from rillwright.solvers.sizing.cases import HeadDemand, Run
from rillwright.solvers.sizing.looped import LoopedSizing, size_looped
from rillwright.solvers.sizing.ring import Draw, Span
from rillwright.solvers.sizing.sizes import Clash, Sizing, size_pipes

__all__ = ["Clash", "Draw", "HeadDemand", "LoopedSizing", "Run", "Sizing", "Span", "size_looped", "size_pipes"]
