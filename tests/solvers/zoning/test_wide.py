"""Yards too big to search whole: the same zones whether their windows are done one by one or side by side."""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest

from rillwright.solvers.watch import Watch
from rillwright.solvers.zoning import make_zonings
from rillwright.solvers.zoning.wide import WHOLE
from zoned_heads import check_laws, groups_cost, lawn_case, problem_of

HEADS = WHOLE + 60


@pytest.mark.parametrize("effort", [0.0, 0.4])
def test_windows_done_side_by_side_make_the_same_zones(effort):
    loads, options, may = lawn_case(HEADS, fill=0.97)
    problem = problem_of(loads, options, may)
    (alone,) = make_zonings(problem, effort=effort)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        (shared,) = make_zonings(problem, effort=effort, spread=pool.map)
    assert shared == alone
    check_laws(alone, loads, may)
    assert alone.cost == pytest.approx(groups_cost(alone.groups, loads, options))


def test_a_stop_between_windows_keeps_the_zones_of_the_others_as_they_were():
    loads, options, may = lawn_case(HEADS, fill=0.97)
    problem, done = problem_of(loads, options, may), []

    def two_and_stop(work, windows):
        for window in windows:
            done.append(window)
            yield work(window)

    watch = Watch(stopped=lambda: len(done) > 2)
    (stopped,) = make_zonings(problem, effort=0, spread=two_and_stop, watch=watch)
    assert len(done) == 3
    check_laws(stopped, loads, may)
    (whole,) = make_zonings(problem, effort=0)
    assert len(stopped.groups) == len(whole.groups)
    assert stopped.cost > whole.cost
