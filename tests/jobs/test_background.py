"""Plans made in worker processes: the same plans, ended cleanly, and a lost worker takes no other job with it."""

import os
import signal
import time
from contextlib import contextmanager

import pytest

from plan_yards import planned, small_yard
from rillwright.errors import StateError
from rillwright.exchange.yard_file import validated
from rillwright.jobs.background import MOST_WAITING, Background
from rillwright.jobs.errands import PlanErrand

YARD = validated(small_yard(), source="test")


@contextmanager
def background(**options):
    workers = Background(**options)
    yield workers
    workers.close()


def until(true, *, most=120.0):
    end = time.monotonic() + most
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_a_lost_worker_fails_its_job_and_the_next_gets_the_usual_plan():
    with background() as workers:
        first = workers.start(PlanErrand(YARD, 0), changed=lambda _job: None)
        until(lambda: first.stage)
        os.kill(workers._hands[0]._process.pid, signal.SIGKILL)
        until(lambda: first.ended)
        assert (first.status, first.result) == ("failed", None)
        assert "ended from outside" in first.message
        told = []
        second = workers.start(PlanErrand(YARD, 0), changed=lambda job: told.append(job.status))
        until(lambda: len(told) == 2)
        assert told == ["running", "done"]
        assert second.result.model_dump_json() == planned(small_yard()).model_dump_json()


def test_a_job_whose_state_cannot_be_kept_takes_no_other_with_it():
    def refuse(_job):
        raise OSError("disk full")

    with background() as workers:
        lost = workers.start(PlanErrand(YARD, 0), changed=refuse)
        until(lambda: lost.ended)
        assert lost.status == "failed"
        assert "disk full" in lost.message
        told = []
        workers.start(PlanErrand(YARD, 0), changed=lambda job: told.append(job.status))
        until(lambda: len(told) == 2)
        assert told == ["running", "done"]


def test_stopping_with_a_plan_in_hand_keeps_one_and_before_that_none():
    with background() as workers:
        early = workers.start(PlanErrand(YARD, 1), changed=lambda _job: None)
        until(lambda: early.stage)
        workers.cancel(early)
        late = workers.start(PlanErrand(YARD, 2), changed=lambda _job: None)
        never = workers.start(PlanErrand(YARD, 3), changed=lambda _job: None)
        workers.cancel(never)
        until(lambda: late.keeps or late.ended)
        workers.cancel(late)
        until(lambda: never.ended)
        assert (early.status, early.result) == ("cancelled", None)
        assert late.status in ("stopped early", "done")  # the search may have ended by itself at that moment
        assert late.result.zones
        assert (never.status, never.result) == ("cancelled", None)


def test_the_line_is_limited():
    with background(workers=0) as workers:
        for seed in range(MOST_WAITING):
            workers.start(PlanErrand(YARD, seed), changed=lambda _job: None)
        with pytest.raises(StateError, match="wait"):
            workers.start(PlanErrand(YARD, 0), changed=lambda _job: None)
