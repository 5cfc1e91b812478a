"""CP-SAT set so that the same model ends the same way on any machine, and an interrupt stays Python's."""

from typing import Any

__all__ = ["new_solver"]


def new_solver(*, seed: int, work: float) -> Any:
    """Solver with one worker that stops after `work` of its own deterministic time.

    Its own handler of interrupts is left out: that one goes back to the system's default, under which the next
    interrupt ends this process at once, with nothing kept and its helpers left behind.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    solver.parameters.catch_sigint_signal = False
    return solver
