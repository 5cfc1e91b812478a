"""A leak watch: what made the pressure fall, whether water is lost, how much, and where to look."""

from rillwright.solvers.leak.pipes import ClosedPipes, closed_pipes
from rillwright.solvers.leak.verdict import LeakFound, Share, judge_watch
from rillwright.solvers.leak.watch import RATES, Look, Watch, weigh_watch
from rillwright.solvers.leak.where import Suspect, Where, where_to_look

__all__ = [
    "RATES",
    "ClosedPipes",
    "LeakFound",
    "Look",
    "Share",
    "Suspect",
    "Watch",
    "Where",
    "closed_pipes",
    "judge_watch",
    "weigh_watch",
    "where_to_look",
]
