"""A zone's first start: what its readings say went wrong, and what to measure next."""

from rillwright.solvers.startup.causes import BEFORE, CAUSES, Cause, Fault, broken, clogged, leaking, others, throttled
from rillwright.solvers.startup.diagnosis import (
    HAND_SEEN,
    USUAL_GAUGE,
    WALK_SEEN,
    Ask,
    Diagnosis,
    Gauge,
    Look,
    diagnose,
)
from rillwright.solvers.startup.forecast import ENTRY, FLOW, VALVE, Forecast, StartModel, forecast, simulate

__all__ = [
    "BEFORE",
    "CAUSES",
    "ENTRY",
    "FLOW",
    "HAND_SEEN",
    "USUAL_GAUGE",
    "VALVE",
    "WALK_SEEN",
    "Ask",
    "Cause",
    "Diagnosis",
    "Fault",
    "Forecast",
    "Gauge",
    "Look",
    "StartModel",
    "broken",
    "clogged",
    "diagnose",
    "forecast",
    "leaking",
    "others",
    "simulate",
    "throttled",
]
