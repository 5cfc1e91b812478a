"""Air and dirt: how a built system is filled, where air stays, and in what order its ends are opened to flush it.

Each module states its own problem: air, filling, ends, runoff. See docs/theory/flushing.md.
"""

from rillwright.solvers.flushing.order import plan_flushing

__all__ = ["plan_flushing"]
