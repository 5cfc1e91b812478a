"""Take-off: every part counted from the plan's geometry, and priced."""

from rillwright.solvers.takeoff.counts import cost_of, take_off, unpriced
from rillwright.solvers.takeoff.reuse import find_reuse

__all__ = ["cost_of", "find_reuse", "take_off", "unpriced"]
