"""Catch cups and the plan's model together: the water on the ground, its evenness with bands, and heads to set anew."""

from rillwright.solvers.cups.amend import Amend, amends_of
from rillwright.solvers.cups.evenness import EvennessFound, cups_alone, evenness_found
from rillwright.solvers.cups.picture import Cup, Picture, picture_of
from rillwright.solvers.cups.wrongs import Land, Wrong

__all__ = [
    "Amend",
    "Cup",
    "EvennessFound",
    "Land",
    "Picture",
    "Wrong",
    "amends_of",
    "cups_alone",
    "evenness_found",
    "picture_of",
]
