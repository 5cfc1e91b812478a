"""Many yards: the same plans here, over processes and on a cluster, whatever becomes of the workers."""

import os
import signal
from concurrent.futures import Future

import pytest
from distributed import Client, LocalCluster

from plan_yards import rectangle, small_yard
from rillwright.errors import InputError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.many import plan_many
from rillwright.jobs.workers import cluster, process_pool
from rillwright.model.catalogue import load_catalogue

CATALOGUE = load_catalogue()


def yards(count):
    """Small lawns, each a little wider than the one before."""
    return [
        validated(
            small_yard(areas=[{"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 6 + n, 6)}]), source="test"
        )
        for n in range(count)
    ]


@pytest.fixture(scope="session")
def planned_here():
    return list(plan_many(yards(4), CATALOGUE))


@pytest.fixture(scope="session")
def two_workers():
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0") as workers:
        yield workers.scheduler_address


def in_order(outcomes):
    return sorted(outcomes, key=lambda outcome: outcome.number)


def test_processes_plan_the_same(planned_here):
    with process_pool() as pool:
        assert in_order(plan_many(yards(4), CATALOGUE, executor=pool)) == planned_here


def test_a_cluster_plans_the_same_when_a_worker_is_killed(planned_here, two_workers):
    with cluster(two_workers) as executor, Client(two_workers) as client:
        processes = client.run(os.getpid)
        coming = plan_many(yards(4), CATALOGUE, executor=executor)
        outcomes = [next(coming)]
        busy = next(worker for worker, tasks in client.processing().items() if tasks)
        os.kill(processes[busy], signal.SIGKILL)
        outcomes += coming
        assert in_order(outcomes) == planned_here
        assert client.run(os.getpid) != processes


class Losing:
    """An executor that loses everything it is given."""

    def submit(self, *_):
        lost = Future()
        lost.set_exception(OSError("the machine was switched off"))
        return lost


def test_what_an_executor_loses_is_planned_here(planned_here):
    assert list(plan_many(yards(2), CATALOGUE, executor=Losing())) == planned_here[:2]


def test_a_scheduler_that_does_not_answer_is_named(monkeypatch):
    monkeypatch.setattr("rillwright.jobs.workers._PATIENCE", 0.3)
    with pytest.raises(InputError, match=r"tcp://127\.0\.0\.1:9"), cluster("tcp://127.0.0.1:9"):
        pass
    with pytest.raises(InputError, match="no scheduler answers at 'nonsense'"), cluster("nonsense"):
        pass


def test_workers_of_another_version_are_refused(two_workers, monkeypatch):
    monkeypatch.setattr("rillwright.jobs.workers.__version__", "99.0")
    with pytest.raises(InputError, match=r"needs rillwright 99\.0"), cluster(two_workers):
        pass
