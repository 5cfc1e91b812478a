"""The guide as a whole: dates that hold together, progress, and what a person is told when it cannot be made."""

from datetime import date, timedelta

import pytest

from plan_yards import planned, small_yard
from rillwright.errors import InputError
from rillwright.jobs.guide import make_guide, plan_steps
from rillwright.model.catalogue import load_catalogue
from rillwright.model.guide import WEEKDAYS, BuildTerms

CATALOGUE = load_catalogue()
START = date(2027, 5, 1)  # a Saturday
TERMS = BuildTerms(start=START)


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


@pytest.fixture(scope="module")
def guide(plan):
    return make_guide(plan, CATALOGUE, TERMS)


def keys(guide, *kinds):
    return [item.key for step in guide.steps if step.kind in kinds for item in step.items]


def test_every_step_has_its_day_and_every_day_its_room(guide):
    whole = {step.id: 0.0 for step in guide.steps}
    for day in guide.days:
        assert WEEKDAYS[day.day.weekday()] in TERMS.days
        assert sum(part.seconds for part in day.parts) <= day.room + 1e-6
        assert day.room == 7 * 3600
        for part in day.parts:
            whole[part.step] += part.seconds
    for step, time in zip(guide.steps, guide.times, strict=True):
        assert whole[step.id] == pytest.approx(time.left, abs=61)  # planned in whole minutes
        assert time.left == pytest.approx(step.duration(2).mean)


def test_waits_are_kept(guide):
    dates = {time.step: time for time in guide.times}
    for step in guide.steps:
        for after in step.after:
            gap = (dates[step.id].begins - dates[after.step].ends).days
            assert gap >= (round(after.wait.days.mean) if after.wait else 0)


def test_the_trencher_is_rented_in_one_go(guide):
    (rental,) = guide.rentals
    on_site = [day.day for day in guide.days if day.machine]
    assert (on_site[0], on_site[-1]) == (rental.first, rental.last)
    assert rental.days == (rental.last - rental.first).days + 1
    kinds = {step.id: step.kind for step in guide.steps}
    order = [kinds[part.step] for day in guide.days for part in day.parts]
    first, last = order.index("fetch"), len(order) - order[::-1].index("return")
    assert set(order[first:last]) == {"fetch", "dig by machine", "return"}


def test_the_band_holds_together(guide):
    assert START < guide.band.early <= guide.band.middle <= guide.band.late
    assert guide.finish == guide.days[-1].day
    assert guide.least_days <= (guide.finish - START).days + 1
    assert guide.proven
    assert 0.1 < guide.band.planned < 0.9


def test_in_winter_hardly_any_build_keeps_its_dates(plan):
    winter = make_guide(plan, CATALOGUE, BuildTerms(start=date(2027, 11, 27)))
    assert winter.band.planned < 0.05
    assert winter.finish < winter.band.early


def test_weather_that_takes_more_days_ends_later(plan):
    ends = [
        make_guide(plan, CATALOGUE, TERMS.model_copy(update={"lost_days": chance})).band.middle
        for chance in (0.0, 0.3, 0.7)
    ]
    assert ends[0] < ends[1] < ends[2]


def test_more_hands_and_more_days_end_sooner(plan, guide):
    more = TERMS.model_copy(update={"crew": 4, "days": WEEKDAYS})
    again = make_guide(plan, CATALOGUE, more)
    assert again.finish < guide.finish
    assert again.band.late < guide.band.late


def test_short_days_hold_less_work(plan):
    """At 60° north on 10 January the FAO's formula gives some six and a half hours."""
    winter = BuildTerms(start=date(2027, 1, 9), hours=9, latitude=60, lost_days=0)
    guide = make_guide(plan, CATALOGUE, winter)
    assert 5.5 * 3600 < guide.days[0].room == guide.days[0].daylight < 7 * 3600


def test_what_is_not_known_is_told(guide):
    assert any("latitude" in text for text in guide.assumed)
    assert any("wall" in text for text in guide.assumed)
    given = TERMS.model_copy(update={"latitude": 50.0})
    assert not any("latitude" in text for text in make_guide(planned(small_yard()), CATALOGUE, given).assumed)


def test_progress_takes_work_away(plan, guide):
    done = dict.fromkeys(keys(guide, "permit", "layout", "locate"), START)
    later = make_guide(plan, CATALOGUE, TERMS.model_copy(update={"start": START + timedelta(days=7)}), done=done)
    assert 0 < later.share_done < 1
    assert later.work_left < guide.work_left
    assert [time.step for time in later.times if time.done] == ["permit", "layout", "locate"]
    assert not {part.step for day in later.days for part in day.parts} & {"permit", "layout", "locate"}
    parts = next(time for time in later.times if time.step == "parts")
    assert parts.begins >= START + timedelta(days=12)  # the office still has its time from the day it was asked


def test_the_office_is_asked_first_also_where_the_digging_went_before(plan, guide):
    """Trenches dug and the main laid without a permit: what is left of the house's water still waits for the answer."""
    hasty = [
        step.id for step in guide.steps if step.kind in ("parts", "expose", "dig by machine", "dig by hand", "main")
    ]
    later = make_guide(plan, CATALOGUE, TERMS, done=dict.fromkeys(keys(guide, *hasty), START))
    begins = {time.step: time.begins for time in later.times if not time.done}
    assert "permit" in begins
    for step in ("shut", "join"):
        assert begins[step] >= begins["permit"] + timedelta(days=1)


def test_a_step_half_ticked_is_half_left(plan, guide):
    lay = next(step for step in guide.steps if step.kind == "lay" and len(step.items) > 1)
    done = {lay.items[0].key: START}
    time = next(t for t in make_guide(plan, CATALOGUE, TERMS, done=done).times if t.step == lay.id)
    assert time.share_done == pytest.approx(1 / len(lay.items))
    assert time.left == pytest.approx(lay.duration(2).mean * (1 - 1 / len(lay.items)))


def test_all_done(plan):
    steps = plan_steps(plan, CATALOGUE, TERMS)
    guide = make_guide(plan, CATALOGUE, TERMS, done={item.key: START for step in steps for item in step.items})
    assert guide.share_done == 1
    assert (guide.days, guide.finish, guide.band, guide.work_left) == ((), None, None, 0)


def test_the_same_again(plan, guide):
    assert make_guide(plan, CATALOGUE, TERMS) == guide


def test_terms_without_an_end_are_refused(plan):
    never = TERMS.model_copy(update={"hours": 1.0, "days": ("Sat",), "crew": 1, "lost_days": 0.9})
    with pytest.raises(InputError, match="allow more days"):
        make_guide(plan, CATALOGUE, never)


def test_a_plan_without_zones_is_refused():
    dry = planned(small_yard(supply=[{"kind": "static gauge", "pressure": 120}]))
    with pytest.raises(InputError, match="no zones"):
        make_guide(dry, CATALOGUE, TERMS)
