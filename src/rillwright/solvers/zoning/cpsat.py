"""CP-SAT set so that the same model ends the same way on any machine."""

import time
from typing import Any

__all__ = ["steady_solver"]


def steady_solver(*, seed: int, work: float, deadline: float) -> Any:
    """Solver with one worker that stops after `work` of its own deterministic time.

    Parameters: deadline by time.monotonic [s], a guard that should not bind.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.max_time_in_seconds = max(0.05, deadline - time.monotonic())
    return solver
