"""How sure a plan is: the whole yard drawn many times, its pressures solved in each draw, and what to measure next."""

from rillwright.solvers.certainty.chances import band_of, chance_of
from rillwright.solvers.certainty.draws import AT_ENTRY, DRAWS, YardDraws, draw_yard, further_zone
from rillwright.solvers.certainty.evenness import uniformity_draws
from rillwright.solvers.certainty.spreads import spreads_of
from rillwright.solvers.certainty.window import Turn, WindowDraws, usual_week, window_draws
from rillwright.solvers.certainty.zone import ZoneDraws, ZoneModel, as_drawn, run_zone

__all__ = [
    "AT_ENTRY",
    "DRAWS",
    "Turn",
    "WindowDraws",
    "YardDraws",
    "ZoneDraws",
    "ZoneModel",
    "as_drawn",
    "band_of",
    "chance_of",
    "draw_yard",
    "further_zone",
    "run_zone",
    "spreads_of",
    "uniformity_draws",
    "usual_week",
    "window_draws",
]
