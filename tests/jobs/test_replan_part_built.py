"""Changing a job in a yard part-built before the plan: old pipe is dug for like any, and costs nothing lost."""

import pytest

from plan_yards import CATALOGUE, planned, small_yard
from replan_jobs import log_of, search_of, two_zones, weaker
from rillwright.jobs.progress import silent
from rillwright.jobs.replan.finish import finished
from rillwright.jobs.replan.pinned import in_yard
from rillwright.jobs.replan.replan import job_of
from rillwright.jobs.replan.system import patched, work_of
from rillwright.jobs.replan.weigh import weigh


def before():
    return planned(two_zones())


@pytest.fixture(scope="module")
def plan():
    """The two zones planned where one lateral of that very plan, and its main, lay in the ground already."""
    first = before()
    lateral = max((pipe for pipe in first.pipes if pipe.role == "lateral"), key=lambda pipe: pipe.length)
    main = max((pipe for pipe in first.pipes if pipe.role == "main"), key=lambda pipe: pipe.length)
    old = [
        {
            "id": f"old {pipe.role}",
            "role": pipe.role,
            "material": pipe.material,
            "size": pipe.size,
            "path": [list(at) for at in pipe.path],
            "moving_cost": 31.0,
        }
        for pipe in (lateral, main)
    ]
    return planned(two_zones(existing={"pipes": old}))


def kept(plan):
    """Pipes of a plan that lie in none of its trenches all along."""
    dug = {name for trench in plan.trenches for name in trench.pipes}
    return {pipe.id for pipe in plan.pipes} - dug


@pytest.fixture(scope="module")
def search(plan):
    assert kept(plan)  # or this shows nothing
    assert kept(plan) <= {name for use in plan.existing if use.kind == "pipe" for name in use.kept_as}
    return search_of(in_yard(plan, plan.yard), log_of(pressure=weaker(0.78), bought=False))


def test_ground_over_old_pipe_is_closed_and_is_no_trench_of_the_plan(plan, search):
    job, _ = search
    for pipe in plan.pipes:
        if pipe.id in kept(plan):
            assert job.in_ground(pipe) == pytest.approx(pipe.length, abs=0.2)
            assert job.laid_here(pipe) == 0
        else:
            assert job.in_ground(pipe) == 0  # the log tells of no trench
    laid = {trench.id for trench in work_of(job.base).trenches}
    assert laid == {trench.id for trench in plan.trenches}


def test_nothing_is_lost_with_old_pipe_but_what_its_moving_costs(plan, search):
    job, found = search
    given_up = 0
    for option in found.options:
        system = patched(job.base, [option.patch], job.case)
        gone = {pipe.id for pipe in job.base.pipes} - {pipe.id for pipe in system.pipes}
        if not gone & kept(plan):
            continue
        given_up += 1
        weight = weigh(job, system, [option.patch])
        assert not any(part.startswith("pipe ") for part in weight.thrown)
        moved = sum(extra.price for extra in weight.extras if "lay there before" in extra.what)
        assert moved in (0.0, 31.0)
        assert found.leasts.least(option.ledger, frozenset()) <= weight.total + 1e-6
    assert given_up


def test_a_wider_pipe_in_the_place_of_an_old_one_is_dug_for(plan, search):
    job, found = search
    names = kept(plan)
    wider = [o for o in found.options if o.patch.kinds == {"a wider pipe"} and ";" not in o.patch.words]
    own = [o for o in wider if any(o.patch.words.startswith(f"{name} in ") for name in names)]
    assert own
    for option in own:
        system = patched(job.base, [option.patch], job.case)
        name = next(name for name in names if option.patch.words.startswith(f"{name} in "))
        weight = weigh(job, system, [option.patch])
        length = next(pipe.length for pipe in plan.pipes if pipe.id == name)
        assert sum(system.trenches[trench].length for trench in weight.dug_up) == pytest.approx(length, abs=0.2)
        assert weight.again > 0
        assert {*weight.dug_up} <= {trench.id for trench in work_of(system).trenches}


def test_the_best_change_is_planned_through(plan, search):
    job, found = search
    one = found.best((), silent)
    assert one is not None
    as_drawn, (after,) = finished(job, [one], pool=None)
    assert as_drawn.cost is not None
    assert after.verdict != "does not fit"
    assert after.change.total == pytest.approx(one.weight.total)
    stay = kept(plan) & {pipe.id for pipe in after.pipes}
    assert stay <= {name for use in after.existing if use.kind == "pipe" for name in use.kept_as}


def test_a_yard_with_nothing_before_is_weighed_as_ever():
    plan = planned(small_yard())
    job = job_of(plan, log_of(), CATALOGUE, hour=0.0, seed=0, progress=silent)
    assert not job.base.old
    assert [*job.base.trenches] == [trench.id for trench in plan.trenches]
