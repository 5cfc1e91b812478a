"""Catch cups and the plan's model together: the water on the ground, its evenness with bands, and heads to set anew."""

from rillwright.solvers.cups.amend import NAMED, Amend, amends_of
from rillwright.solvers.cups.evenness import EvennessFound, cups_alone, evenness_found
from rillwright.solvers.cups.further import next_cups
from rillwright.solvers.cups.law import BAD, CUP_LEAST, CUP_SHARE, Cup
from rillwright.solvers.cups.picture import Picture, Suspect, picture_of
from rillwright.solvers.cups.wrongs import GROSS, Fault, Land, Setting, stands

__all__ = [
    "BAD",
    "CUP_LEAST",
    "CUP_SHARE",
    "GROSS",
    "NAMED",
    "Amend",
    "Cup",
    "EvennessFound",
    "Fault",
    "Land",
    "Picture",
    "Setting",
    "Suspect",
    "amends_of",
    "cups_alone",
    "evenness_found",
    "next_cups",
    "picture_of",
    "stands",
]
