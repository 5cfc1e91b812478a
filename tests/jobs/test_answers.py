"""From a field log to conclusions; all readings are invented."""

import uuid

import numpy as np
import pytest
from pydantic import TypeAdapter

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.errors import InputError
from rillwright.exchange.log_file import load_log
from rillwright.exchange.yard_file import validated
from rillwright.jobs.answers import Book, answer_log, put_into
from rillwright.jobs.answers.cup_words import told as wrong_told
from rillwright.jobs.answers.cups import _land
from rillwright.jobs.answers.effect import effect_of
from rillwright.jobs.answers.leaks import _splits
from rillwright.jobs.zone_models import start_model
from rillwright.model.field_log import Entry, standing
from rillwright.model.site import Measurement
from rillwright.physics.units import GPM
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.cups import Setting, stands
from rillwright.solvers.startup import simulate, throttled
from rillwright.solvers.supply import fit_supply


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


def entry(what, minute=0):
    return Entry.model_validate({"id": str(uuid.uuid4()), "made": f"2031-05-04T09:{minute:02d}:00Z", "what": what})


def fills(seconds, delay):
    bucket = {"kind": "bucket fill", "volume": "5 gal", "seconds": seconds, "start_delay": delay}
    return {"kind": "supply test", "measurement": bucket}


def by_key(answers):
    return {working.key: working for answer in answers for working in answer.workings}


def test_late_start_is_taken_off_a_bucket_fill(plan):
    """Common practice, arithmetic: 13.7 s on the clock, 4 s lost at the start, 5 US gal: just over 30 gpm."""
    answer, together = answer_log(plan, [entry(fills([13.7], 4))], CATALOGUE)
    assert together.subject == "all readings"
    working = by_key([answer])["bucket test 1.flow"]
    assert working.value / GPM == pytest.approx(5 * 60 / 9.7)
    assert working.value == pytest.approx(working.again)
    low, high = (by_key([answer])[f"bucket test 1.flow-{end}"].value for end in ("low", "high"))
    # JCGM 100: 3 % of the mark, 0.3 s of the watch and 0.5 s of the start on 9.7 s, nine in ten
    assert (high - low) / working.value == pytest.approx(2 * 1.645 * np.hypot(0.03, np.hypot(0.3, 0.5) / 9.7))


def test_narrow_outlet_is_found_out_beside_a_wide_one(plan):
    """An invented 8 mm outlet under 450 kPa passes 1 L/s at the most; the bare pipe gives much more."""
    narrow = fills([19.0, 19.2, 18.9], 0)
    narrow["measurement"] |= {"outlet_bore": 0.008}
    answers = answer_log(plan, [entry(narrow)], CATALOGUE)
    assert "throttled it" in answers[0].says[0]
    assert answers[0].says[0].startswith("The outlet throttled")


def test_shut_valve_is_named_from_a_start_up(plan):
    zone = plan.zones[0]
    model = start_model(plan, zone, CATALOGUE)
    fit = fit_supply(plan.yard, CATALOGUE)
    draws = draw_yard(plan.yard, fit=fit, heads=model.zone.heads, zones=[zone.id], seed=3, count=2)
    flow, *gauges = simulate(model, draws, [throttled(120e3, flow=zone.flow)] * 2)[0]
    places = ["entry", "valve", *zone.heads]
    pressures = [{"at": at, "pressure": float(p)} for at, p in zip(places[:3], gauges, strict=False)]
    answer, _ = answer_log(
        plan, [entry({"kind": "zone start", "zone": zone.id, "flow": float(flow), "pressures": pressures})], CATALOGUE
    )
    assert answer.verdict.startswith("Valve not fully open")
    assert any("too low" in line for line in answer.says)
    odds = [w.value for key, w in by_key([answer]).items() if ".odds." in key]
    assert sum(odds) == pytest.approx(1.0)


def test_leaks_are_watched_and_looked_for(plan):
    zones = [zone.id for zone in plan.zones]
    falling = [{"after": 20 * k, "pressure": 4e5 * 0.6**k, "water": 285} for k in range(6)]
    steady = [{"after": 600 * k, "pressure": 4e5 - 4e3 * k, "water": 285} for k in range(4)]
    answers = answer_log(
        plan,
        [
            entry({"kind": "leak watch", "closed_in": [zones[0]], "readings": falling}),
            entry({"kind": "leak watch", "closed_in": ["main"], "readings": steady, "held": 600}, 5),
            entry({"kind": "leak watch", "closed_in": ["attic"], "readings": steady}, 9),
        ],
        CATALOGUE,
    )
    first, second, third, place = answers
    assert first.verdict.startswith("Leaking")
    assert second.verdict.startswith("Tight")
    assert third.verdict.startswith("Not used: the plan has no 'attic'")
    assert f"the laterals of {zones[0]}" in place.verdict
    assert any("kills" in line for line in first.says)


def test_cups_give_evenness_net_rate_and_what_to_do(plan):
    zone = plan.zones[0]
    head = next(h for h in plan.heads if h.id in zone.heads)
    x, y = head.at
    cups = [{"at": [x + dx, y + dy], "depth": "11 mm"} for dx, dy in ((0.5, 0.6), (1.2, 1.5), (2.2, 1.1), (1.0, 2.6))]
    ran = {"kind": "catch cups", "zone": zone.id, "ran": "45 min"}
    good, few = answer_log(plan, [entry(ran | {"cups": cups}), entry(ran | {"cups": cups[:2]}, 3)], CATALOGUE)
    workings = by_key([good])
    assert workings["catch cups 1.rate-low"].value < workings["catch cups 1.rate-median"].value
    assert workings["catch cups 1.alone.du-median"].value == pytest.approx(1.0)
    assert good.do[0] == "The cups point to no single head; set them as the plan says."
    assert good.do[1].startswith("To be surer, set more cups out, beside those that stand: they tell most at ")
    assert any(
        line.startswith("So many cups, standing so, would hardly show half the flow lost at ") for line in good.says
    )
    assert few.verdict.startswith("Not used: 2 cups tell nothing")


def cups_of(plan, fault, *, every):
    """Cups that hold what falls with one head as a fault leaves it, without any error; and the zone's land."""
    zone = plan.zones[0]
    land = _land(zone, 2700.0, Book(plan, CATALOGUE, ()))
    heads = [stands(fault, land) if head.id == fault.head else head for head in land.heads]
    x, y = (values[land.cells][::every] for values in land.grid.centres())
    depth = (0.92 * land.water(heads))[land.cells][::every]
    rows = zip(x, y, depth, strict=True)
    cups = [{"at": [float(a), float(b)], "depth": float(max(d, 0.0))} for a, b, d in rows]
    return {"kind": "catch cups", "zone": zone.id, "ran": "45 min", "cups": cups}


def test_cups_name_the_head_and_its_remedy_with_the_odds_and_their_working(plan):
    head = plan.zones[0].heads[0]
    cups = cups_of(plan, Setting(head, "flow", (-0.75,)), every=11)
    by_eye, sharp = answer_log(plan, [entry(cups), entry(cups | {"depth_error": "0.3 mm"}, 3)], CATALOGUE)
    for answer in (by_eye, sharp):
        assert answer.do[0].startswith(f"{head} gives ")
        assert "% less than planned: rinse nozzle and screen" in answer.do[0]
        assert "Chance " in answer.do[0]
        assert "DU gains" in answer.do[0]
    workings = by_key([by_eye, sharp])
    chance = workings[f"catch cups 1.{head}.chance"]
    assert 0.5 < chance.value <= 1
    assert ("standard error of a cup", "5 %, at least 0.5 mm", "") in chance.inputs
    assert ("standard error of a cup", "0.3 mm, as written", "") in workings["catch cups 2.du-median"].inputs
    assert any(key.startswith(f"catch cups 1.{head}.flow") for key in workings)


def test_cups_that_settle_no_head_say_which_are_likely_and_where_more_would_tell(plan):
    head = plan.zones[0].heads[0]
    cups = cups_of(plan, Setting(head, "flow", (-0.95,)), every=90)
    for units, unit in (("metric", " m"), ("US", " ft")):
        yard = plan.yard.model_copy(update={"units": units})
        (answer,) = answer_log(plan.model_copy(update={"yard": yard}), [entry(cups)], CATALOGUE)
        text = " ".join(answer.do)
        assert f"{unit}" in text
        assert "they tell most at" in text or "Then set the cups out anew" in text


def test_every_wrong_has_its_words_in_both_units(plan):
    land = _land(plan.zones[0], 2700.0, Book(plan, CATALOGUE, ()))
    head = land.heads[0].id
    for units, away in (("metric", "0.50 m"), ("US", "1.6 ft")):
        book = Book(plan.model_copy(update={"yard": plan.yard.model_copy(update={"units": units})}), CATALOGUE, ())
        said = {
            "flow": wrong_told(Setting(head, "flow", (0.35,)), book),
            "nozzle": wrong_told(Setting(head, "nozzle", (), "spray 12 ft"), book),
            "radius": wrong_told(Setting(head, "radius", (-0.2,)), book),
            "turn": wrong_told(Setting(head, "turn", (24.0,)), book),
            "arc": wrong_told(Setting(head, "arc", (-30.0,)), book),
            "lean": wrong_told(Setting(head, "lean", (0.0, 0.5)), book),
        }
        assert said == {
            "flow": "gives 35 % more than planned",
            "nozzle": "waters as if its nozzle were spray 12 ft",
            "radius": "throws 20 % too short",
            "turn": "stands 24° too far counter-clockwise",
            "arc": "sweeps 30° too narrow",
            "lean": f"leans, its water falls {away} towards the top of the plan",
        }


def test_all_readings_tell_the_plans_numbers_before_and_after(plan):
    zone = plan.zones[0]
    meter = {"kind": "zone flow", "zone": zone.id, "volume": 2 * 60 * zone.flow, "seconds": 120}
    gauge = {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": 450e3, "pressure_error": 2e3}}
    (told,) = answer_log(plan, [entry(meter), entry(gauge, 3)], CATALOGUE)
    workings = by_key([told])
    for name in ("supply.flow", *(f"{one.id}.worst" for one in plan.zones)):
        before, after = (
            workings[f"all readings.{name}.{when}-high"].value - workings[f"all readings.{name}.{when}-low"].value
            for when in ("before", "after")
        )
        assert 0 < after < before
    turned = {"kind": "valve setting", "zone": zone.id, "turns": 3, "flow": zone.flow}
    later = answer_log(plan, [entry(turned), entry(meter, 3)], CATALOGUE)
    assert "all readings" not in [answer.subject for answer in later]  # the valve stood nobody knows how


def test_every_number_has_its_working(plan):
    answers = answer_log(plan, [entry(fills([10.0, 10.2], 0))], CATALOGUE)
    for answer in answers:
        for working in answer.workings:
            assert working.formula
            assert working.key.startswith(answer.subject)


def test_log_file_says_where_it_is_wrong(tmp_path):
    file = tmp_path / "log.jsonl"
    for text, words in (("", "no entries"), ("{", "line 1, column 2"), ('{"id": 3}', "line 1: id")):
        file.write_text(text)
        with pytest.raises(InputError, match=words):
            load_log(file)
    with pytest.raises(InputError, match="cannot be read"):
        load_log(tmp_path / "none.jsonl")
    file.write_text(entry({"kind": "note"}).model_dump_json() + "\n\n")
    assert len(load_log(file)) == 1


def test_a_pressure_at_a_head_alone_moves_the_plans_numbers_until_the_valve_is_turned_in(plan):
    zone = plan.zones[0]
    read = entry({"kind": "head pressure", "head": zone.heads[0], "pressure": 0.8 * plan.heads[0].pressure}, 1)
    turned = entry({"kind": "valve setting", "zone": zone.id, "turns": 3, "flow": 0.95 * zone.flow}, 0)
    effect = effect_of(read.id, plan, [read], CATALOGUE)
    (worst,) = (move for move in effect.moves if move.key == f"all readings.{zone.id}.worst.after-median")
    assert worst.after < worst.before
    later = effect_of(read.id, plan, [turned, read], CATALOGUE)
    assert not later.moves
    assert any("turned in" in words for words in later.says)


def test_a_height_at_a_spot_of_the_yard_stands_in_for_it_and_the_same_one_is_told(plan):
    spot = plan.yard.spot_heights[0]
    near = (spot.at[0] + 0.05, spot.at[1])
    other = entry({"kind": "spot height", "place": near, "height": spot.height + 0.3}, 1)
    (told,) = answer_log(plan, [other], CATALOGUE)
    assert any("stand in for the yard's" in line for line in told.says)
    document = small_yard()
    found = put_into(document, told.put)
    assert len(found["spot_heights"]) == len(document["spot_heights"])
    load = validated(found, source="the yard")
    assert load.spot_heights[-1].height == pytest.approx(spot.height + 0.3)
    assert put_into(found, told.put) == found
    same = entry({"kind": "spot height", "place": near, "height": spot.height}, 1)
    (told,) = answer_log(plan, [same], CATALOGUE)
    assert told.verdict == "1 height of the log: the plan's yard has the same there."
    assert told.put is None


def test_flow_control_is_set_in_turns(plan):
    zone = plan.zones[0]
    model = start_model(plan, zone, CATALOGUE)
    fit = fit_supply(plan.yard, CATALOGUE)
    draws = draw_yard(plan.yard, fit=fit, heads=model.zone.heads, zones=[zone.id], seed=3, count=2)
    read = {
        turns: simulate(model, draws, [throttled(loss, flow=zone.flow)] * 2)[0, 0]
        for turns, loss in ((0, 1.0), (4, 9e3))
    }
    log = [
        entry({"kind": "valve setting", "zone": zone.id, "turns": turns, "flow": float(flow)}, turns)
        for turns, flow in read.items()
    ]
    (answer,) = answer_log(plan, log, CATALOGUE)
    assert answer.verdict.startswith("Set it ")
    workings = by_key([answer])
    assert workings[f"valve of {zone.id}.turns-low"].value < workings[f"valve of {zone.id}.turns-median"].value
    assert workings[f"valve of {zone.id}.target"].value == zone.flow


def start(plan, *, share=1.0, zone=0, **more):
    """A start-up of a zone that passes a share of its planned flow."""
    zone = plan.zones[zone]
    return {"kind": "zone start", "zone": zone.id, "flow": share * zone.flow, **more}


def test_a_zone_read_walked_and_held_in_the_hand_has_nothing_left_to_ask(plan):
    zone = plan.zones[0]
    vague = [{"at": at, "pressure": 2e5, "pressure_error": 2e5} for at in ("entry", "valve", *zone.heads)]
    log = [entry(start(plan, flow_error=0.5, pressures=vague))]
    log.append(entry({"kind": "zone walk", "zone": zone.id, "seen": "nothing odd"}, 1))
    log += [entry({"kind": "head look", "head": head, "seen": "as planned"}, 2) for head in zone.heads]
    answer = answer_log(plan, log, CATALOGUE)[0]
    assert max(w.value for w in answer.workings if ".odds." in w.key) < 0.97
    assert len(answer.do) == 1
    assert len(answer.entries) == len(log)


def test_a_corrected_start_keeps_what_was_seen_since(plan):
    zone = plan.zones[0]
    slip = entry(start(plan, share=0.1))
    look = entry({"kind": "head look", "head": zone.heads[0], "seen": "clogged"}, 1)
    right = entry(start(plan), 30).model_copy(update={"corrects": slip.id})
    answer = answer_log(plan, standing([slip, look, right]), CATALOGUE)[0]
    assert answer.entries == (right.id, look.id)


def test_pressures_behind_a_control_turned_in_are_not_read_as_wide_open(plan):
    zone = plan.zones[0]
    low = entry({"kind": "head pressure", "head": zone.heads[0], "pressure": 1.2e5}, 2)
    turned = entry({"kind": "valve setting", "zone": zone.id, "turns": 4, "flow": 0.7 * zone.flow}, 1)
    wide, alone = (
        answer_log(plan, [entry(start(plan)), *between, low], CATALOGUE)[0].says for between in ((), (turned,))
    )
    assert any(f"at {zone.heads[0]}" in line for line in wide)
    assert not any(f"at {zone.heads[0]}" in line for line in alone)


def test_settings_are_read_with_the_last_start_up(plan):
    zone = plan.zones[0]
    before, after = entry(start(plan, share=1.4)), entry(start(plan), 5)
    turned = entry({"kind": "valve setting", "zone": zone.id, "turns": 3, "flow": 0.95 * zone.flow}, 9)
    told = [
        next(a for a in answer_log(plan, log, CATALOGUE) if a.subject.startswith("valve"))
        for log in ([before, after, turned], [after, turned])
    ]
    assert told[0].verdict == told[1].verdict
    assert told[0].entries == (after.id, turned.id)


def test_wrong_names_are_answered(plan):
    zone = plan.zones[0].id
    log = [
        entry({"kind": "zone flow", "zone": "Z99", "volume": 0.1, "seconds": 60}),
        entry({"kind": "head look", "head": "H99", "seen": "clogged"}, 1),
        entry({"kind": "zone walk", "zone": zone, "seen": "gushing", "head": "H99"}, 2),
        entry({"kind": "head pressure", "head": "H99", "pressure": 2e5}, 3),
    ]
    answers = answer_log(plan, log, CATALOGUE)
    assert [answer.entries for answer in answers] == [(one.id,) for one in log]
    assert all(answer.verdict.startswith("Not used: ") and "99'" in answer.verdict for answer in answers)


def test_tests_in_the_yard_already_count_once(plan):
    """Typed as 60 psi in the log, kept as 413.685 kPa (six figures) in the yard; 60 psi is 413685.4 Pa."""
    gauge = {"kind": "static gauge", "pressure": "60 psi", "pressure_error": "2 psi"}
    kept = TypeAdapter(Measurement).validate_python(
        gauge | {"pressure": "413.685 kPa", "pressure_error": "13.7895 kPa"}
    )
    yard = plan.yard.model_copy(update={"supply": [*plan.yard.supply, kept]})
    log = [
        entry({"kind": "supply test", "measurement": gauge}),
        entry({"kind": "supply test", "measurement": gauge}, 5),
    ]
    once, twice = (Book(plan.model_copy(update={"yard": yard}), CATALOGUE, log[:count]) for count in (1, 2))
    assert once.yard.supply == yard.supply
    assert len(twice.yard.supply) == len(yard.supply) + 1  # read anew, the same to the figure
    for book, told in ((once, 0), (twice, 1)):
        answer = answer_log(book.plan, book.entries, CATALOGUE)[-1]
        assert answer.subject == "all readings"
        assert len(answer.do) == told


def test_only_parts_of_a_branched_main_are_closed_in_by_themselves(plan):
    main = [pipe for pipe in plan.pipes if pipe.role == "main"]
    back = main[-1].model_copy(update={"id": "back", "start": main[0].start})
    lengths = {pipe.id: pipe.length for pipe in plan.pipes}
    assert any("the main from" in words for words in _splits(plan, lengths))
    looped = plan.model_copy(update={"pipes": [*plan.pipes, back]})
    assert not any("the main from" in words for words in _splits(looped, lengths))


def test_a_leak_that_was_mended_is_looked_for_no_more(plan):
    zone = plan.zones[0].id
    falling = [{"after": 20 * k, "pressure": 4e5 * 0.6**k, "water": 285} for k in range(6)]
    steady = [{"after": 600 * k, "pressure": 4e5 - 4e3 * k, "water": 285} for k in range(4)]
    watches = [
        entry({"kind": "leak watch", "closed_in": [where], "readings": readings, "held": 600}, minute)
        for minute, (where, readings) in enumerate(
            [(zone, falling), (zone, steady), ("main", falling), (zone, falling)]
        )
    ]
    assert [answer.subject for answer in answer_log(plan, watches[:2], CATALOGUE)] == ["leak watch 1", "leak watch 2"]
    place = answer_log(plan, watches, CATALOGUE)[-1]
    assert place.verdict.startswith("More than one place leaks")
