"""CP-SAT under a watch."""

from typing import Any

from rillwright.solvers.cpsat import new_solver
from rillwright.solvers.watch import Watch

__all__ = ["steady_solver"]


def steady_solver(*, seed: int, work: float, watch: Watch) -> Any:
    """Solver with one worker that stops after `work` of its own deterministic time, or at the watch's guard."""
    solver = new_solver(seed=seed, work=work)
    solver.parameters.max_time_in_seconds = min(1e6, max(0.05, watch.seconds_left()))
    return solver
