"""A real interrupt while the search for a cheaper plan goes on: the best complete plan is kept."""

import contextlib
import json
import os
import signal
import subprocess
import sys

import pytest

from plan_yards import small_yard
from rillwright.cli.interrupt import kept_on_interrupt
from rillwright.cli.progress import shown_progress

SCRIPT = """
import os, signal, sys
from contextlib import contextmanager
import rillwright.cli.progress as shown
from rillwright.cli.main import run

WHEN, TIMES = {when!r}, {times}

@contextmanager
def interrupting(_stop):
    left = [TIMES]
    def tell(stage, share):
        while stage.startswith(WHEN) and left[0]:
            left[0] -= 1
            os.kill(os.getpid(), signal.SIGINT)
    yield tell

shown.shown_progress = interrupting
sys.argv = ["rillwright", "plan", "yard.yard.json", "--out", "out"]
if __name__ == "__main__":
    run()
"""


def interrupted(tmp_path, *, when, times=1):
    (tmp_path / "yard.yard.json").write_text(json.dumps(small_yard()))
    (tmp_path / "command.py").write_text(SCRIPT.format(when=when, times=times))
    return subprocess.run(
        [sys.executable, "command.py"],
        cwd=tmp_path,
        env=os.environ | {"OMP_NUM_THREADS": "1", "COLUMNS": "200", "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a runner may have had it ignored
    )


def test_an_interrupt_of_the_search_writes_the_best_plan_so_far(tmp_path):
    done = interrupted(tmp_path, when="zones, places, routes and sizes together")
    assert done.returncode == 130
    assert "Traceback" not in done.stderr
    assert "Stopped." in done.stderr
    assert "the search for a cheaper system was stopped" in done.stdout
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert plan["verdict"] != "does not fit"
    cut = [finding for finding in plan["findings"] if finding["rule"] == "search-cut-short"]
    assert [finding["severity"] for finding in cut] == ["know"]
    assert (tmp_path / "out" / "report.html").exists()


@pytest.mark.parametrize(
    ("when", "times"), [("heads", 1), ("zones, places, routes and sizes together", 2)], ids=["too early", "twice"]
)
def test_an_interrupt_with_nothing_to_keep_and_a_second_one_break_off(when, times, tmp_path):
    done = interrupted(tmp_path, when=when, times=times)
    assert done.returncode == 130
    assert "Traceback" not in done.stderr
    assert "Stopped." in done.stderr
    assert not (tmp_path / "out").exists()


def test_the_interrupt_of_before_comes_back():
    before = signal.getsignal(signal.SIGINT)
    with kept_on_interrupt() as stop:
        assert not stop.asked
    assert signal.getsignal(signal.SIGINT) is before


@pytest.fixture
def heard():
    """Interrupts raise KeyboardInterrupt, whatever an earlier test or the shell made of them."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heard")
def test_an_interrupt_that_python_drops_ends_the_job_at_its_next_word():
    """As one inside a finalizer, where an exception is reported and dropped."""
    with kept_on_interrupt() as stop, shown_progress(stop) as progress:
        with contextlib.suppress(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            progress("heads", 0.5)
