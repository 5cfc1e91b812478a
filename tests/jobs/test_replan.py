"""A job under way changed at the least cost: exact against brute force, what is pinned left alone, undo-costs right."""

import math
import random
from dataclasses import replace

import pytest

from plan_yards import CATALOGUE
from replan_jobs import entry, every_other, log_of, search_of, small_plan, weaker
from rillwright.errors import InputError
from rillwright.jobs.progress import silent
from rillwright.jobs.refit import refit
from rillwright.jobs.replan.chance import Chances
from rillwright.jobs.replan.moves import MOVE, PLACE, SPLIT, UPSIZE, Moves
from rillwright.jobs.replan.options import BOOSTER, SECOND
from rillwright.jobs.replan.pinned import in_yard
from rillwright.jobs.replan.reading import reading_that_decides
from rillwright.jobs.replan.search import LONGER, STATION, Search
from rillwright.jobs.replan.state import state_of
from rillwright.jobs.replan.swaps import SWAP
from rillwright.jobs.replan.system import patched
from rillwright.jobs.replan.weigh import weigh
from rillwright.jobs.stop import Stop
from rillwright.model.guide import Estimate
from rillwright.model.undoing import Task, hours_of


def some_of(search, seed, most=6):
    """A search over a few of the options of each zone, so that all their combinations can be tried."""
    dice = random.Random(seed)
    kept = []
    for zone in search.job.base.lines:
        own = [option for option in search.options if zone in option.patch.zones and option not in kept]
        stay = [option for option in own if not option.patch.kinds]
        kept += stay + dice.sample([o for o in own if o not in stay], min(most, len(own) - len(stay)))
    return Search(search.leasts, search.shared, tuple(kept))


def covers(branch, left):
    """Every choice of sound options that covers the zones, each just once."""
    if not left:
        yield []
        return
    zone = min(left)
    for option in filter(None, map(branch.sound, branch.touching[zone])):
        if option.patch.zones <= left:
            for rest in covers(branch, left - option.patch.zones):
                yield [option, *rest]


def brute_force(search, forbidden=()):
    """The least total over every combination, each weighed and judged in full, with no bound."""
    best = math.inf
    for branch in search._branches:
        for taken in covers(branch, frozenset(search.job.base.lines)):
            found = branch.complete(taken, below=math.inf, barred=lambda kinds: any(bar <= kinds for bar in forbidden))
            best = min(best, math.inf if found is None else found.weight.total)
    return best


@pytest.fixture(scope="module")
def plan():
    return small_plan()


@pytest.fixture(scope="module")
def weak(plan):
    """Every other trench closed and three quarters of the pressure: the job, its search and the best change."""
    job, search = search_of(plan, log_of(closed=every_other(plan), pressure=weaker(0.75)))
    return job, search, search.best((), silent)


@pytest.fixture(scope="module")
def tight(plan):
    """A little less pressure, a controller with no station left, and a second supply to be had."""
    yard = type(plan.yard).model_validate({**plan.yard.model_dump(), "controller": {"stations": len(plan.zones)}})
    return search_of(in_yard(plan, yard), log_of(pressure=weaker(0.85)), second_supply=700.0)[1]


@pytest.mark.parametrize("seed", range(4))
def test_the_search_finds_what_brute_force_finds(plan, seed):
    entries = log_of(closed=every_other(plan), pressure=weaker(0.74 + 0.03 * seed), bought=seed != 1)
    _, search = search_of(plan, entries, second_supply=700.0)
    assert len(search.job.base.lines) > 1
    few = some_of(search, seed)
    found = few.best((), silent)
    assert found is not None
    assert found.status == "optimal"
    assert found.weight.total == pytest.approx(brute_force(few), abs=0.011)
    other = few.best((found.bar,), silent)
    total = math.inf if other is None else other.weight.total
    assert total == pytest.approx(brute_force(few, (found.bar,)), abs=0.011)


def test_two_changes_of_one_zone_are_found_as_by_brute_force(plan):
    """Zones split with a lateral made wider besides, or two laterals made wider: with these alone beside standing."""
    _, search = search_of(plan, log_of(closed=every_other(plan), pressure=weaker(0.78)))
    stay = [option for option in search.options if not option.patch.kinds]
    pairs = [option for option in search.options if UPSIZE in option.patch.kinds and wide(option) + split(option) == 2]
    assert {split(option) for option in pairs} == {0, 1}
    few = Search(search.leasts, search.shared[:2], (*stay, *random.Random(1).sample(pairs, 12)))
    found = few.best((), silent)
    assert found is not None
    assert UPSIZE in found.kinds
    assert found.weight.total == pytest.approx(brute_force(few), abs=0.011)


def wide(option):
    """How many laterals an option makes wider."""
    return sum(pipe.id.endswith(" wide") for line in option.patch.lines.values() for pipe in line.pipes)


def split(option):
    return SPLIT in option.patch.kinds


@pytest.mark.parametrize("sure", [0.8, 0.9])
def test_a_wished_for_chance_is_kept_at_the_least_cost(plan, sure):
    """Against every combination, of which those count that hold so surely in draws solved for each whole system.

    Both in the draws that choose and in those that judge, of which the search solves but what it must.
    """
    entries = log_of(closed=every_other(plan), pressure=weaker(0.83))
    _, search = search_of(plan, entries, second_supply=700.0)
    few = replace(some_of(search, 7, most=2), sure=sure)
    found = few.best((), silent)
    best, chances = math.inf, []
    for branch, wished in zip(replace(few, sure=0.0)._branches, few._branches, strict=True):
        case = branch.shared.case
        every = [Chances(few.job, case, least=0.0, seed=c.seed) for c in (wished.chances, wished.fresh)]
        for taken in covers(branch, frozenset(search.job.base.lines)):
            one = branch.complete(taken, below=math.inf, barred=lambda _: False)
            if one is not None:
                chose, judged = (draws.holds(one.system.lines, one.system).mean() for draws in every)
                chances.append(judged)
                able = chose >= wished.chances.least and judged >= wished.fresh.least
                best = min(best, one.weight.total) if able else best
    assert min(chances) < sure <= max(chances)
    assert found is not None
    assert found.weight.total == pytest.approx(best, abs=0.011)


def test_the_least_of_options_never_exceeds_what_they_weigh_together(weak):
    """The bound that branches are cut by, against the weight of composed changes, sound or not."""
    job, search, _ = weak
    zones, dice, tried = frozenset(job.base.lines), random.Random(3), 0
    while tried < 120:
        taken, left = [], zones
        while left:
            option = dice.choice([o for o in search.options if min(left) in o.patch.zones])
            if not option.patch.zones <= left:
                continue
            taken.append(option)
            left -= option.patch.zones
        system = patched(job.base, [option.patch for option in taken], job.case)
        weight = weigh(job, system, [option.patch for option in taken])
        ledger = taken[0].ledger
        for option in taken[1:]:
            ledger = ledger.plus(option.ledger)
        both = search.leasts.least(ledger, frozenset())
        assert sum(option.least for option in taken) <= both + 1e-6
        assert both <= weight.total + 1e-6
        tried += 1


def test_changes_differ_in_kind_and_each_is_sound(plan):
    _, search = search_of(plan, log_of(closed=every_other(plan), pressure=weaker(0.78)), second_supply=700.0)
    found = []
    while len(found) < 3 and (one := search.best([each.bar for each in found], silent)) is not None:
        found.append(one)
    assert len(found) > 1
    for k, one in enumerate(found):
        assert not one.verdict.fault
        assert not any(other.bar <= one.kinds for other in found[:k])
        assert all(other.weight.total <= one.weight.total + 0.011 for other in found[:k])
        for name, state in one.verdict.settled.cautious.items():
            low = min(CATALOGUE.nozzles[h.nozzle].lowest_pressure for h in one.system.lines[name].heads)
            assert state.pressure_low >= low


@pytest.mark.parametrize("kind", [SWAP, MOVE, SPLIT, STATION, LONGER, UPSIZE, PLACE, BOOSTER, SECOND])
def test_each_move_that_the_docs_name_makes_a_sound_change(tight, kind):
    """With zones beside it that stand or run longer; a split asks for a station, as the controller has no more."""
    branches = tight._branches
    for branch in branches if kind in (BOOSTER, SECOND) else branches[:1]:
        for number, option in enumerate(tight.options):
            kinds = option.patch.kinds
            if kinds not in ({kind}, {SPLIT} if kind == STATION else set()):
                continue
            others = [k for k, one in enumerate(tight.options) if not one.patch.kinds]
            others = [k for k in others if not tight.options[k].patch.zones <= option.patch.zones]
            taken = [branch.sound(k) for k in (number, *others)]
            if None in taken:
                continue
            found = branch.complete(taken, below=math.inf, barred=lambda _: False)
            if found is not None and kind in found.kinds:
                return
    raise AssertionError(f"no sound change holds {kind}")


def test_where_all_is_sound_nothing_is_done(plan):
    _, search = search_of(plan, log_of(closed=every_other(plan)))
    found = search.best((), silent)
    assert found is not None
    assert found.kinds == frozenset()
    assert found.weight.total == 0
    assert search.best([found.kinds], silent) is None  # whatever else is done is a variant of doing nothing


def test_pipe_in_the_ground_is_never_bought_again(plan):
    """Every change that keeps all pipes buys no pipe, however much of it is buried."""
    job, search = search_of(plan, log_of(closed=[t.id for t in plan.trenches], pressure=weaker(0.75)))
    for option in search.options:
        system = patched(job.base, [option.patch], job.case)
        weight = weigh(job, system, [option.patch])
        new = {pipe.id for pipe in system.pipes} - set(job.pipes)
        gone = set(job.pipes) - {pipe.id for pipe in system.pipes}
        pipe = sum(cost for part, (_, cost) in weight.bought.items() if part.startswith("pipe PE"))
        if not new:
            assert pipe == 0
        kept = sum(job.pipes[name].length for name in job.pipes.keys() - gone)
        assert kept + sum(job.pipes[name].length for name in gone) == pytest.approx(
            sum(pipe.length for pipe in job.base.pipes)
        )
        wasted = sum(q for part, (q, _) in weight.thrown.items() if part.startswith("pipe PE"))
        assert wasted == pytest.approx(1.05 * sum(job.pipes[name].length for name in gone), abs=0.02) or new


def test_every_zone_after_a_change_is_a_tree_from_its_valve(weak):
    """Each node is fed by one pipe, and the way back from each head ends at the zone's place."""
    _, search, _ = weak
    lines = [line for option in search.options for line in option.patch.lines.values()]
    assert lines
    for line in lines:
        assert len({pipe.end for pipe in line.pipes}) == len(line.pipes)
        for head in line.heads:
            node, steps = head.id, 0
            while (pipe := line.into(node)) is not None and steps <= len(line.pipes):
                node, steps = pipe.start, steps + 1
            assert (node, steps <= len(line.pipes)) == (line.place, True)


def test_the_more_is_buried_the_dearer(plan):
    """Each change costs no less when one more trench is closed, whichever it is."""
    order = [trench.id for trench in plan.trenches]
    random.Random(5).shuffle(order)
    before: dict[str, float] = {}
    for number in range(0, len(order) + 1, max(1, len(order) // 4)):
        job, search = search_of(plan, log_of(closed=order[:number], pressure=weaker(0.75)))
        moves = [option.patch for option in search.options if not option.patch.kinds & {"move heads between zones"}]
        found: dict[str, float] = {}
        for patch in moves:
            if patch.kinds and not patch.trenches:  # routes through fresh ground may change with what is closed
                system = patched(job.base, [patch], job.case)
                key = f"{patch.words} {sorted(n for names in patch.within.values() for n in names)}"
                found[key] = weigh(job, system, [patch]).total
        common = found.keys() & before.keys()
        assert all(found[key] >= before[key] - 1e-6 for key in common)
        before = found
    assert before


def test_what_is_pinned_is_not_touched(plan):
    head, other = plan.heads[0], plan.heads[1]
    pins = [{"id": f"pin {h.id}", "at": h.at, "head_class": h.head_class} for h in (head, other)]
    yard = type(plan.yard).model_validate({**plan.yard.model_dump(), "pins": {"heads": pins}})
    held = in_yard(plan, yard)
    assert {h.id for h in held.heads if h.pin} == {head.id, other.id}
    job, search = search_of(held, log_of(closed=every_other(plan), pressure=weaker(0.75)))
    home = {h.id: name for name, line in job.base.lines.items() for h in line.heads}
    seen = 0
    for option in search.options:
        for line in option.patch.lines.values():
            for h in line.heads:
                if h.id in (head.id, other.id):
                    seen += 1
                    assert (h.nozzle, h.radius_share, h.at) == next(
                        (o.nozzle, o.radius_share, o.at) for o in plan.heads if o.id == h.id
                    )
                    assert line.zone in (home[h.id], f"{home[h.id]}b")
    assert seen


def with_pipes(plan, *pins):
    """The yard of a plan with pipes held that were not when it was planned."""
    return type(plan.yard).model_validate({**plan.yard.model_dump(), "pins": {"pipes": pins}})


def left_out(plan, entries):
    """Laterals that some option takes out or replaces."""
    job, search = search_of(plan, entries)
    kept = [{p.id for p in patched(job.base, [option.patch], job.case).pipes} for option in search.options]
    assert any("move heads between zones" in option.patch.kinds for option in search.options)
    return {pipe.id for pipe in plan.pipes if pipe.role == "lateral"} - set.intersection(*kept)


def test_pipe_pinned_since_the_plan_was_made_stays_in_every_change(plan):
    entries = log_of(closed=every_other(plan), pressure=weaker(0.75))
    lost = left_out(plan, entries)
    assert lost  # when nothing is pinned
    pins = [{"id": f"hold {p.id}", "role": p.role, "path": p.path} for p in plan.pipes if p.id in lost]
    held = in_yard(plan, with_pipes(plan, *pins))
    assert {p.id: p.pin for p in held.pipes if p.id in lost} == {name: f"hold {name}" for name in lost}
    assert not lost & left_out(held, entries)
    assert not any(pipe.pin for pipe in in_yard(held, plan.yard).pipes)  # the pins taken out again
    assert in_yard(held, held.yard).pipes == held.pipes


def test_pinned_pipe_that_the_plan_does_not_lay_is_refused(plan):
    lateral = next(pipe for pipe in plan.pipes if pipe.role == "lateral")
    off = [(x, y + 1.0) for x, y in lateral.path]
    x, y = lateral.path[-1]
    too_far = {"role": "lateral", "path": [*lateral.path, (x, y + 0.5)]}
    for pin in ({"role": "lateral", "path": off}, {"role": "main", "path": lateral.path}, too_far):
        with pytest.raises(
            InputError, match=f"Pin 'hold' holds a {pin['role']} on a line that the plan does not lay whole"
        ):
            in_yard(plan, with_pipes(plan, {"id": "hold", **pin}))


def test_heads_pinned_to_one_zone_are_not_split(plan):
    zone = max(plan.zones, key=lambda z: len(z.heads))
    by_id = {h.id: h for h in plan.heads}
    pins = [{"id": f"pin {n}", "at": by_id[n].at, "head_class": by_id[n].head_class} for n in zone.heads]
    together = {"heads": pins, "zones": [{"id": "one", "heads": [pin["id"] for pin in pins]}]}
    yard = type(plan.yard).model_validate({**plan.yard.model_dump(), "pins": together})
    job, _ = search_of(in_yard(plan, yard), log_of(pressure=weaker(0.75)))
    splits = [p for p in Moves(job).all() if "split a zone" in p.kinds and zone.id in p.zones]
    assert not splits


def test_a_stopped_search_hands_over_the_best_so_far_with_a_bound(weak):
    _, search, whole = weak
    stopped = Search(search.leasts, search.shared, search.options, stop=Stop(asked=True)).best((), silent)
    assert whole is not None
    assert stopped is not None
    assert stopped.status == "feasible"
    assert stopped.bound <= whole.weight.total <= stopped.weight.total + 1e-9
    ended = Search(search.leasts, search.shared, search.options, most=3).best((), silent)
    assert ended is None or (ended.status == "feasible" and ended.bound <= whole.weight.total)


def test_readings_that_contradict_the_plan_stand_alone(plan):
    known = refit(plan.yard, state_of(plan, log_of(pressure=weaker(1.0))).tests, CATALOGUE, seed=0)
    alike = refit(plan.yard, state_of(plan, log_of(pressure=weaker(0.99))).tests, CATALOGUE, seed=0)
    lower = refit(plan.yard, state_of(plan, log_of(pressure=weaker(0.75))).tests, CATALOGUE, seed=0)
    assert known.yard.supply == plan.yard.supply  # the very same readings count once
    assert len(alike.yard.supply) == 2 * len(plan.yard.supply)
    assert len(lower.yard.supply) == len(plan.yard.supply)
    assert "contradict" in lower.words


def test_the_state_of_a_job_follows_the_log(plan):
    names = [trench.id for trench in plan.trenches]
    first = entry(1, {"kind": "trench", "trenches": names, "state": "closed"})
    again = entry(2, {"kind": "trench", "trenches": names[:1], "state": "open"})
    assert set(state_of(plan, [first, again]).trench.values()) == {"closed", "open"} - (
        {"closed"} if not names[1:] else set()
    )
    withdrawn = replace_entry(entry(3, {"kind": "note"}), corrects=first.id, withdraws=True)
    assert set(state_of(plan, [first, withdrawn]).trench.values()) == {"not dug"}
    buried = [entry(4 + k, {"kind": "pipe buried", "pipe": p.id, "depth": 0.3}) for k, p in enumerate(plan.pipes)]
    assert set(state_of(plan, buried).trench.values()) == {"closed"}
    reopened = entry(20, {"kind": "trench", "trenches": names[:1], "state": "open"})
    trenches = state_of(plan, [*buried, reopened]).trench
    assert [name for name, how in trenches.items() if how == "open"] == names[:1]
    laid = next(trench.pipes for trench in plan.trenches if trench.id == names[0])
    again = [entry(21 + k, {"kind": "pipe buried", "pipe": name, "depth": 0.3}) for k, name in enumerate(laid)]
    for k in range(len(again) + 1):  # closed with the last of its pipes, not before
        state = state_of(plan, [*buried, reopened, *again[:k]]).trench[names[0]]
        assert state == ("closed" if k == len(again) else "open")
    with pytest.raises(InputError, match="which the plan does not have"):
        state_of(plan, [entry(1, {"kind": "trench", "trenches": ["T999"], "state": "open"})])


def replace_entry(one, **changes):
    return one.model_copy(update=changes)


def test_parts_bought_in_part_and_taken_back(plan):
    line = next(line for line in plan.parts if line.unit == "piece")
    what = {"kind": "parts bought", "parts": [{"part": line.part, "pieces": 4, "price": 2.0}], "given_back": 0.75}
    stock = state_of(plan, [entry(1, what), entry(2, what)]).stock[line.part]
    assert (stock.quantity, stock.paid, stock.lost) == (8, 2.0, 0.5)


def test_another_yard_is_refused(plan):
    moved = plan.yard.model_copy(update={"areas": plan.yard.areas[:1]})
    with pytest.raises(InputError, match="areas differ"):
        in_yard(plan, moved)


def test_three_point_hours_add_up_as_published():
    """PERT, Malcolm and others (1959), from memory: mean (a + 4m + b)/6, deviation (b - a)/6, variances add."""
    tasks = {"a": Task(Estimate(low=1, likely=2, high=9), ""), "b": Task(Estimate(low=2, likely=4, high=12), "")}
    hours = hours_of({"a": 1.0, "b": 1.0}, tasks)
    assert hours.mean == pytest.approx(3.0 + 5.0)
    assert hours.spread == pytest.approx(math.hypot(8 / 6, 10 / 6))


def test_labour_worth_more_never_makes_a_change_cheaper(plan, weak):
    entries = log_of(closed=every_other(plan), pressure=weaker(0.75))
    free, dear = (search_of(plan, entries, hour=hour)[1].best((), silent) for hour in (0.0, 60 / 3600))
    assert free is not None
    assert dear is not None
    assert free.weight.total <= weak[2].weight.total <= dear.weight.total


def test_the_search_is_the_same_twice(plan, weak):
    entries = log_of(closed=every_other(plan), pressure=weaker(0.75))
    one, two = weak[2], search_of(plan, entries)[1].best((), silent)
    assert one is not None
    assert two is not None
    assert (one.words, one.weight) == (two.words, replace(two.weight))


def test_a_reading_is_told_of_only_where_it_can_change_the_choice(plan):
    """With one change alone that always holds, no reading decides; where changes differ in when they hold, one may."""
    job, search = search_of(plan, log_of(closed=every_other(plan)))
    assert reading_that_decides(job, [search.best((), silent)]) is None
    job, search = search_of(plan, log_of(closed=every_other(plan), pressure=weaker(0.8)))
    found = [one := search.best((), silent), search.best((one.kinds,), silent)]
    told = reading_that_decides(job, found)
    assert told is not None
    assert 0.05 <= told.changes <= 1.0
