"""Take-off: every part counted from the plan's geometry, and priced."""

from rillwright.solvers.takeoff.counts import cost_of, take_off, unpriced

__all__ = ["cost_of", "take_off", "unpriced"]
