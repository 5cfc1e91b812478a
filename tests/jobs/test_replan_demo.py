"""The worked case: the demo yard's parts are bought, trenches are closed, and the field shows a quarter less."""

from functools import cache

import pytest

from kept_plans import kept
from plan_yards import CATALOGUE, EXAMPLES, planned_example
from replan_jobs import HOUR, every_other, log_of, small_plan, weaker
from rillwright.exchange.log_file import load_log
from rillwright.jobs.replan import replan_job
from rillwright.jobs.replan.write import PAGE, write_changes
from rillwright.report.workings import all_workings

LOG = EXAMPLES / "demo.log.jsonl"


@cache
def outcome():
    """The invented log on the demo's plan, whatever the chance that a change holds; made once for all processes."""
    plan = planned_example("demo.yard.json")
    key = f"{LOG.read_text()} {plan.model_dump_json()}"
    return kept(key, lambda: replan_job(plan, load_log(LOG), CATALOGUE, hour=20 / 3600, sure=0.0))


def test_what_holds_as_surely_as_the_plan_did_comes_first_and_what_does_not_after_it():
    """On a small job: the cheapest of all holds less surely, and is told of, with its chance, after what is sure."""
    plan = small_plan()
    entries = log_of(closed=every_other(plan), pressure=weaker(0.75))
    own, found = plan.certainty.sound, replan_job(plan, entries, CATALOGUE, hour=HOUR)
    assert found.sure == own.value - 2 * own.error
    assert 0 < found.sure_ones <= len(found.changes)
    for number, one in enumerate(found.changes):
        holds = one.change.holds
        assert (holds.value >= found.sure - 2 * holds.error) == (number < found.sure_ones)
    assert found.sure_ones == len(found.changes) or "sound on the cautious supply, and no more" in found.how_sure


def test_changes_differ_in_kind_and_each_is_proven_least():
    found = [plan.change for plan in outcome().changes]
    assert len(found) == 3
    assert all(change.status == "optimal" and change.bound == pytest.approx(change.total) for change in found)
    assert [change.total for change in found] == sorted(change.total for change in found)
    kinds = [set(change.kinds) for change in found]
    assert not any(a <= b for i, a in enumerate(kinds) for b in kinds[i + 1 :])


def test_as_drawn_it_fails_and_after_each_change_it_fits():
    assert outcome().as_drawn.verdict == "does not fit"
    assert "contradict" in outcome().supply
    for plan in outcome().changes:
        assert plan.verdict != "does not fit"
        heads = {head.id: head for head in plan.heads}
        for zone in plan.zones:
            low = min(CATALOGUE.nozzles[heads[name].nozzle].lowest_pressure for name in zone.heads)
            assert zone.cautious_low >= low
        before = {head.id: head.at for head in outcome().before.heads}
        assert {head.id: head.at for head in plan.heads} == before


def test_what_is_buried_and_kept_is_in_the_plan_after_it():
    state, before = outcome().state, outcome().before
    closed = {name for trench in before.trenches if state.trench[trench.id] == "closed" for name in trench.pipes}
    for plan in outcome().changes:
        there = {pipe.id: pipe for pipe in plan.pipes}
        kept = [pipe for pipe in before.pipes if pipe.id in closed & there.keys()]
        assert all((there[p.id].size, there[p.id].length) == (p.size, p.length) for p in kept)
        gone = closed - there.keys()
        shut = [t for t in before.trenches if state.trench[t.id] == "closed"]
        buried = sum(trench.length for trench in shut for name in trench.pipes if name in gone)
        wasted = sum(p.quantity for p in plan.change.undoing.thrown if p.part.startswith("pipe "))
        assert wasted >= 1.05 * buried - 1e-6  # more where pipe that was bought is left over


def test_every_figure_has_a_working_that_adds_up():
    for plan in outcome().changes:
        workings = {key: w for key, w in all_workings(plan).items() if key.startswith("change.")}
        assert {"change.total", "change.money", "change.hours", "change.thrown", "change.dug-up"} <= workings.keys()
        for working in workings.values():
            if working.again is not None:
                assert working.again == pytest.approx(working.value, abs=1e-6)


def test_the_page_and_the_plans_are_written(tmp_path):
    files = write_changes(outcome(), CATALOGUE, tmp_path / "out", force=False)
    page = (tmp_path / "out" / PAGE).read_text(encoding="utf-8")
    assert all(file.exists() for file in files)
    assert all((tmp_path / "out" / str(number) / "plan.json").exists() for number in (1, 2, 3))
    assert outcome().how_sure in page
    for plan in outcome().changes:
        assert f"{plan.change.total:.2f}" in page
    assert "utility-location" in page
