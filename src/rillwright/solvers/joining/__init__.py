"""Joining ends of pipe and devices by the fittings on the shelf, each mouth to a mouth that fits it."""

from rillwright.solvers.joining.assembly import Arm, Assembly, Joiner, joiner_of
from rillwright.solvers.joining.bends import FLEXIBLE, bends_for

__all__ = ["FLEXIBLE", "Arm", "Assembly", "Joiner", "bends_for", "joiner_of"]
