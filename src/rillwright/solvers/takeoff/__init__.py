"""Take-off: every part counted from the plan's geometry, and priced."""

from rillwright.solvers.takeoff.benches import benches_of
from rillwright.solvers.takeoff.counts import cost_of, take_off, take_off_plan, unpriced
from rillwright.solvers.takeoff.facing import face
from rillwright.solvers.takeoff.fed import FedZone
from rillwright.solvers.takeoff.reuse import find_reuse
from rillwright.solvers.takeoff.tally import WASTE, Tally
from rillwright.solvers.takeoff.wire import WIRE_LOOP

__all__ = [
    "WASTE",
    "WIRE_LOOP",
    "FedZone",
    "Tally",
    "benches_of",
    "cost_of",
    "face",
    "find_reuse",
    "take_off",
    "take_off_plan",
    "unpriced",
]
