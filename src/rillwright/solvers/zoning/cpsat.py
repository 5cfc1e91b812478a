"""CP-SAT set so that the same model ends the same way on any machine."""

from typing import Any

from rillwright.solvers.watch import Watch

__all__ = ["steady_solver"]


def steady_solver(*, seed: int, work: float, watch: Watch) -> Any:
    """Solver with one worker that stops after `work` of its own deterministic time, or at the watch's guard."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.max_time_in_seconds = min(1e6, max(0.05, watch.seconds_left()))
    return solver
