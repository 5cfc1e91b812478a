"""Work shared over processes: the same results, whatever becomes of the processes."""

import multiprocessing
import os

from rillwright.jobs.workers import process_pool, run_all


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
