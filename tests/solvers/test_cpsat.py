"""CP-SAT leaves interrupts to Python."""

import os
import signal
import subprocess
import sys

SCRIPT = """
import os, signal
from ortools.sat.python import cp_model
from rillwright.solvers.cpsat import new_solver
model = cp_model.CpModel()
model.maximize(model.new_bool_var("one"))
print(new_solver(seed=0, work=1.0).solve(model) == cp_model.OPTIMAL)
try:
    os.kill(os.getpid(), signal.SIGINT)
except KeyboardInterrupt:
    print("kept")
"""


def test_an_interrupt_after_a_solve_is_still_heard():
    """With CP-SAT's own handler the process ends at once, by the system's default."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env=dict(os.environ),
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert done.stdout.split() == ["True", "kept"]
    assert done.returncode == 0
