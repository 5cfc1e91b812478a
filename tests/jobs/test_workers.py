"""Work shared over processes: the same results, whatever becomes of the processes."""

import multiprocessing
import os
import pickle
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from rillwright.jobs.workers import SentOnce, process_pool, run_all


def square(number):
    return number * number


def square_or_die(number):
    """As if the system killed a helper process at the third task."""
    if number == 2 and multiprocessing.parent_process() is not None:
        os._exit(9)
    return number * number


def test_results_come_in_order_with_and_without_processes():
    with process_pool() as pool:
        assert list(run_all(pool, square, range(7))) == [n * n for n in range(7)]
    assert list(run_all(None, square, range(7))) == [n * n for n in range(7)]


def test_a_killed_process_costs_time_and_nothing_else():
    with process_pool() as pool:
        assert list(run_all(pool, square_or_die, range(7))) == [n * n for n in range(7)]
        assert list(run_all(pool, square, range(3))) == [0, 1, 4]


ALONE = """
import os, signal
from rillwright.jobs import workers

def noted(_):
    return os.getpid(), workers.note

if __name__ == "__main__":
    workers.note = "set before the processes were started"
    with workers.process_pool() as pool:
        for pid, note in pool.map(noted, range(2)):
            print(pid, note, flush=True)
        {last}
"""


def run_alone(tmp_path, *, last="pass"):
    (tmp_path / "alone.py").write_text(ALONE.format(last=last))
    return subprocess.run([sys.executable, "alone.py"], cwd=tmp_path, capture_output=True, text=True, check=False)


@pytest.mark.skipif(sys.platform != "linux", reason="forks on Linux alone")
def test_a_caller_without_threads_hands_over_what_it_has_imported(tmp_path):
    done = run_alone(tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert [line.split(" ", 1)[1] for line in done.stdout.splitlines()] == ["set before the processes were started"] * 2


@pytest.mark.skipif(sys.platform != "linux", reason="forks on Linux alone")
def test_what_is_loaded_is_kept_from_collection_while_processes_run():
    count = "import gc\nfrom rillwright.jobs.workers import process_pool\nif __name__ == '__main__':\n"
    count += "    with process_pool() as pool:\n        held = gc.get_freeze_count()\n"
    count += "    print(held, gc.get_freeze_count())"
    done = subprocess.run([sys.executable, "-c", count], capture_output=True, text=True, check=True)
    held, after = map(int, done.stdout.split())
    assert held > 10_000
    assert after == 0


def test_processes_end_with_a_caller_that_is_killed(tmp_path):
    done = run_alone(tmp_path, last="os.kill(os.getpid(), signal.SIGKILL)")
    assert done.returncode == -signal.SIGKILL
    pids = {int(line.split()[0]) for line in done.stdout.splitlines()}
    assert pids
    while any(alive(pid) for pid in pids):  # for ever if they do not: the runner's limit ends that
        time.sleep(0.01)


def alive(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"


@dataclass(frozen=True)
class Heavy(SentOnce):
    """Something that every task needs."""

    numbers: tuple[int, ...]


def test_what_every_task_needs_is_read_once():
    heavy = Heavy((1, 2, 3))
    one, two = (pickle.loads(pickle.dumps((task, heavy)))[1] for task in range(2))
    assert one == heavy
    assert one is not heavy
    assert two is one
    assert pickle.loads(pickle.dumps(Heavy((4,)))) == Heavy((4,))
