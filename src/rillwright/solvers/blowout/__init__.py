"""Blowing a line out with compressed air: how the water leaves, how much air that takes, how hot it gets.

Each module states its own problem: lines, source, water, transient, steady, heating. See docs/theory/winter.md.
"""

from rillwright.solvers.blowout.heating import HOTTEST, MOST_DRY, WALLS, seconds_to_warm
from rillwright.solvers.blowout.line import BlowLine, Run, Vent
from rillwright.solvers.blowout.lines import ZoneLine, fitting_of, zone_lines
from rillwright.solvers.blowout.schedule import air_limit, blow_plan
from rillwright.solvers.blowout.source import AirSource
from rillwright.solvers.blowout.steady import Blowing, air_needed, all_blowing, held
from rillwright.solvers.blowout.transient import Blown, Sample, blow_out

__all__ = [
    "HOTTEST",
    "MOST_DRY",
    "WALLS",
    "AirSource",
    "BlowLine",
    "Blowing",
    "Blown",
    "Run",
    "Sample",
    "Vent",
    "ZoneLine",
    "air_limit",
    "air_needed",
    "all_blowing",
    "blow_out",
    "blow_plan",
    "fitting_of",
    "held",
    "seconds_to_warm",
    "zone_lines",
]
