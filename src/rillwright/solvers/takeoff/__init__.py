"""Take-off: every part counted from the plan's geometry, and priced."""

from rillwright.solvers.takeoff.counts import WIRE_LOOP, cost_of, take_off, unpriced
from rillwright.solvers.takeoff.pipes import FedZone
from rillwright.solvers.takeoff.reuse import find_reuse
from rillwright.solvers.takeoff.tally import WASTE, Placed, Tally

__all__ = ["WASTE", "WIRE_LOOP", "FedZone", "Placed", "Tally", "cost_of", "find_reuse", "take_off", "unpriced"]
