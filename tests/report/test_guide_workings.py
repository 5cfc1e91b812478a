"""Every number of a guide has its working, and what a formula gives is what is printed."""

import re
from datetime import date

import pytest

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.errors import InputError
from rillwright.jobs.done import done_items
from rillwright.jobs.explained import explained, log_numbers, read_guide
from rillwright.jobs.guide import make_guide, plan_steps
from rillwright.model.field_log import Entry
from rillwright.model.guide import BuildTerms
from rillwright.report.guide_words import guide_words

TERMS = BuildTerms(start=date(2027, 5, 1))


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


@pytest.fixture(scope="module")
def guide(plan):
    main = [pipe for pipe in plan.pipes if pipe.role == "main"]
    entries = [buried(number, pipe.id) for number, pipe in enumerate(main[:1])]
    done = done_items(plan, plan_steps(plan, CATALOGUE, TERMS), entries=entries)
    return make_guide(plan, CATALOGUE, TERMS, done=done)


def buried(number, pipe):
    what = {"kind": "pipe buried", "pipe": pipe, "depth": 0.3}
    made = {"id": f"00000000-0000-0000-0000-{number:012d}", "made": "2027-04-30T09:00:00Z", "what": what}
    return Entry.model_validate(made)


def own(plan, guide):
    found = explained(plan, guide=guide)
    return {key: found[key] for key in found.keys() - explained(plan).keys()}


def test_what_a_formula_gives_is_what_is_printed(plan, guide):
    found = own(plan, guide)
    again = [w for w in found.values() if w.again is not None]
    assert len(again) > 20
    for working in again:
        assert working.again == pytest.approx(working.value, rel=1e-9), working.key
    for working in found.values():
        assert working.formula
        assert all(given.key in found for given in working.inputs if given.key)


def test_each_fact_of_the_first_page_can_be_asked_for(plan, guide):
    """The hours, shares, days and money that the guide's head prints."""
    found = own(plan, guide)
    printed = {w.printed(plan) for w in found.values()} | {f"{w.value:.0f}" for w in found.values()}
    hours, days = re.findall(r"\d+", dict(guide_words(guide, plan)["facts"])["work left"])
    assert {hours, days} <= printed | {f"{found['guide.work-left'].value / 3600:.0f}"}
    for step in guide.steps:
        assert f"step.{step.id}.takes" in found
    for day in (guide.band.early, guide.band.middle, guide.band.late, guide.finish):
        assert any(str(day) in w.title for w in found.values())
    assert {f"rental.{rental.machine}.cost" for rental in guide.rentals} <= found.keys()


def test_a_guide_of_another_plan_is_refused(plan, guide, tmp_path):
    (tmp_path / "guide.json").write_text(guide.model_dump_json())
    assert read_guide(tmp_path, plan) == guide
    other = plan.model_copy(update={"zones": plan.zones[:0]})
    with pytest.raises(InputError, match="guide of another plan"):
        read_guide(tmp_path, other)
    (tmp_path / "guide.json").write_text("{}")
    with pytest.raises(InputError, match="not a guide of this version"):
        read_guide(tmp_path, plan)


def test_how_far_a_job_has_come_can_be_asked_for(plan):
    trench = plan.trenches[0]
    closed = {"kind": "trench", "trenches": [trench.id], "state": "closed"}
    bought = {"kind": "parts bought", "parts": [{"part": plan.parts[0].part, "pieces": 3, "price": 2.5}]}
    made = {"id": "00000000-0000-0000-0000-00000000000a", "made": "2027-05-02T09:00:00Z"}
    entries = [
        Entry.model_validate(made | {"what": closed}),
        Entry.model_validate(made | {"id": "00000000-0000-0000-0000-00000000000b", "what": bought}),
    ]
    found = log_numbers(plan, entries, CATALOGUE)
    assert found["job.closed"].value == pytest.approx(trench.length)
    assert found["job.open"].value == 0
    assert found["job.paid"].value == pytest.approx(7.5)
    assert found["job.trench"].value == pytest.approx(sum(one.length for one in plan.trenches))
