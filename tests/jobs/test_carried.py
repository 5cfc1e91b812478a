"""The log of a job in the words of the plan that a change made of the one it was written for."""

import pytest

from plan_yards import CATALOGUE, planned, small_yard
from replan_jobs import entry
from rillwright.jobs.carried import carried, earlier_of, whole_list
from rillwright.jobs.done import done_items
from rillwright.jobs.guide import plan_steps
from rillwright.jobs.money.receipts import read_receipts
from rillwright.jobs.replan.state import state_of
from rillwright.model.change import Change
from rillwright.model.field_log import Entry
from rillwright.model.guide import BuildTerms
from rillwright.solvers.guide.keys import ends, filled_key, trench_key

BEFORE = planned(small_yard())
DUG, STAYS, GONE = BEFORE.trenches[:3]
LOG = [
    entry(1, {"kind": "parts bought", "whole_list": True}),
    entry(2, {"kind": "trench", "trenches": [DUG.id, STAYS.id, GONE.id], "state": "closed"}),
    entry(3, {"kind": "tick", "item": trench_key(DUG)}),
]


def changed(entries):
    """The plan after an invented change: one trench dug up again, one given up, twice the price of every part."""
    earlier = earlier_of(BEFORE, entries, again=[DUG.id])
    parts = tuple(line.model_copy(update={"price": 2 * line.price}) for line in BEFORE.parts)
    trenches = tuple(trench for trench in BEFORE.trenches if trench != GONE)
    change = Change.model_construct(bought=(), earlier=earlier)
    return BEFORE.model_copy(update={"parts": parts, "trenches": trenches, "change": change})


def test_what_was_bought_is_the_list_of_its_day():
    after = changed(LOG)
    stock = state_of(after, LOG).stock
    for item in whole_list(BEFORE):
        assert (stock[item.part].quantity, stock[item.part].paid) == pytest.approx((item.amount, item.price))
    assert read_receipts(after, LOG).days[-1].paid == pytest.approx(read_receipts(BEFORE, LOG).days[-1].paid)


def test_a_trench_that_is_dug_up_again_is_neither_closed_nor_ticked():
    after = changed(LOG)
    state = state_of(after, LOG).trench
    assert (state[DUG.id], state[STAYS.id]) == ("not dug", "closed")
    assert GONE.id not in state
    steps = plan_steps(after, CATALOGUE, BuildTerms(start="2027-04-01"))
    done = done_items(after, steps, entries=LOG)
    assert not {trench_key(DUG), f"filled:{ends(DUG.path)}"} & done.keys()
    assert {trench_key(STAYS), f"filled:{ends(STAYS.path)}"} <= done.keys()
    again = [*LOG, entry(4, {"kind": "trench", "trenches": [DUG.id], "state": "closed"})]
    assert state_of(after, again).trench[DUG.id] == "closed"


def test_a_correction_of_an_entry_from_before_still_counts():
    after = changed(LOG)
    right = {"kind": "trench", "trenches": [DUG.id], "state": "closed"}
    put_right = entry(5, right).model_copy(update={"corrects": LOG[1].id})
    assert state_of(after, [*LOG, put_right]).trench[STAYS.id] == "not dug"
    assert all(isinstance(one, Entry) for one in carried(BEFORE, LOG))


def test_a_trench_opened_again_is_filled_no_more_though_it_was_ticked_by_hand():
    steps = plan_steps(BEFORE, CATALOGUE, BuildTerms(start="2027-04-01"))
    dug, filled = trench_key(DUG), filled_key(DUG)
    ticks = [entry(1, {"kind": "tick", "item": dug}), entry(2, {"kind": "tick", "item": filled})]
    opened = entry(3, {"kind": "trench", "trenches": [DUG.id], "state": "open"})
    again = entry(4, {"kind": "tick", "item": filled})
    undone = entry(5, {"kind": "tick", "item": filled, "done": False})
    for entries, done, state in (
        (ticks[:1], {dug}, "open"),
        (ticks, {dug, filled}, "closed"),
        ([*ticks, opened], {dug}, "open"),
        ([*ticks, opened, again], {dug, filled}, "closed"),
        ([*ticks, opened, again, undone], {dug}, "open"),
    ):
        assert done_items(BEFORE, steps, entries=entries).keys() == done
        assert state_of(BEFORE, entries).trench[DUG.id] == state


def test_a_valve_setting_shows_the_flow_control_to_be_set_and_no_arc():
    zone = BEFORE.zones[0].id
    steps = plan_steps(BEFORE, CATALOGUE, BuildTerms(start="2027-04-01"))
    done = done_items(
        BEFORE, steps, entries=[entry(1, {"kind": "valve setting", "zone": zone, "turns": 2, "flow": 1e-4})]
    )
    (key,) = done
    (words,) = (item.words for step in steps for item in step.items if item.key == key)
    assert words.startswith(f"Flow control of {zone} set")


def test_a_buried_pipe_says_that_its_trenches_are_dug():
    pipe = STAYS.pipes[0]
    steps = plan_steps(BEFORE, CATALOGUE, BuildTerms(start="2027-04-01"))
    done = done_items(BEFORE, steps, entries=[entry(1, {"kind": "pipe buried", "pipe": pipe, "depth": 0.3})])
    own = [trench for trench in BEFORE.trenches if pipe in trench.pipes]
    assert {trench_key(trench) for trench in own} <= done.keys()
    assert not any(key.startswith("filled:") for key in done)
