"""The yearly record: wear, pressures, evenness, water and repairs out of an invented log of some years."""

import json
import uuid
from datetime import UTC, date, datetime

import pytest
from typer.testing import CliRunner

from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import NotExplainedError
from rillwright.jobs.yearly import WORN, make_record, season_of
from rillwright.model.field_log import Entry
from rillwright.report.workings.yearly import record_workings
from rillwright.report.yearly_words import series_rows


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


def entry(year, what, *, month=5, day=1):
    return Entry(id=uuid.uuid4(), made=datetime(year, month, day, 9, tzinfo=UTC), what=what)


def start(plan, year, *, flow=1.0, pressure=1.0, month=5):
    """A start of the first zone: flow and worst head's pressure as shares of those planned."""
    zone = plan.zones[0]
    head = next(head for head in plan.heads if head.id == zone.worst_head)
    gauge = {"at": head.id, "pressure": head.pressure * pressure}
    what = {"kind": "zone start", "zone": zone.id, "flow": zone.flow * flow, "pressures": [gauge]}
    return entry(year, what, month=month)


def series(record, watched):
    return next(one for one in record.series if one.watched == watched)


def test_nozzles_that_wear_are_found_whatever_the_pressure(plan):
    """Flow rises by 3 % a year at one pressure; the pressure itself wanders, and flow with its root."""
    entries = [
        start(plan, 2030 + n, flow=(1.0 + 0.03 * n) * share**0.5, pressure=share)
        for n, share in enumerate((1.0, 0.9, 1.05, 0.95, 1.0))
    ]
    wear = series(make_record(plan, entries), "wear")
    assert [round(reading.value, 2) for reading in wear.readings] == pytest.approx(
        [1.0, 1.03, 1.06, 1.09, 1.12], abs=0.01
    )
    assert wear.slope == pytest.approx(0.03, abs=0.004)
    assert wear.low > 0
    assert wear.past_limit
    assert "replace its nozzles" in wear.do
    early = series(make_record(plan, entries[:4]), "wear")
    assert early.readings[-1].value < WORN
    assert early.crosses == 2034
    assert early.do


def test_steady_readings_ask_for_nothing(plan):
    shares = (1.0, 1.01, 0.99, 1.0, 1.005)
    record = make_record(plan, [start(plan, 2030 + n, flow=share) for n, share in enumerate(shares)])
    assert record.replace == ()
    assert series(record, "wear").change.told == "no clear change"


def test_three_seasons_tell_what_is_past_the_readings_error_and_no_band(plan):
    """10 % in two years against an error of about 4 % for two readings; half of that is none."""
    logs = [[start(plan, 2030 + n, flow=1.0 + n * by) for n in range(3)] for by in (0.05, 0.02)]
    much, little = (make_record(plan, log) for log in logs)
    assert "10.0 % more than in 2030, past the readings' error" in series(much, "wear").verdict
    assert "more than in 2030" not in series(little, "wear").verdict
    assert "no band yet" in str(series_rows(much, plan))
    change = next(w for w in record_workings(much, plan) if w.key.endswith(".change"))
    assert change.value == pytest.approx(change.again) == pytest.approx(0.05)


def test_a_pressure_that_falls_is_told_and_held_against_the_year_before(plan):
    static = plan.supply.expected.static
    gauges = [
        entry(
            2030 + n,
            {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": static * share}},
        )
        for n, share in enumerate((1.0, 0.97, 0.93, 0.84))
    ]
    found = series(make_record(plan, gauges), "static pressure")
    assert found.past_limit
    assert found.change.told == "less"
    assert found.slope < 0
    assert "measure the supply anew" in found.do


def test_the_first_reading_of_a_season_counts(plan):
    entries = [start(plan, 2030, flow=1.0), start(plan, 2030, flow=1.3, month=8), start(plan, 2031, flow=1.0)]
    assert [r.made for r in series(make_record(plan, entries), "wear").readings] == [date(2030, 5, 1), date(2031, 5, 1)]


def test_a_readings_own_error_decides_what_is_more_than_last_year(plan):
    """1.645 standard errors of both together, on either side."""
    head = plan.heads[0].id

    def told(watched, whats):
        return series(make_record(plan, [entry(2030 + n, what) for n, what in enumerate(whats)]), watched).change.told

    def gauges(error):
        return [{"kind": "head pressure", "head": head, "pressure": p, "pressure_error": error} for p in (2.8e5, 2.6e5)]

    def used(error):
        days = [{"since": f"{year}-05-01", "until": f"{year}-09-30"} for year in (2030, 2031)]
        volumes = zip((40.0, 44.0), days, strict=True)
        return [{"kind": "water used", "volume": v, "volume_error": error} | span for v, span in volumes]

    assert (told("head pressure", gauges(5e3)), told("head pressure", gauges(30e3))) == ("less", "no clear change")
    assert (told("water used", used(0.02)), told("water used", used(0.2))) == ("more", "no clear change")


def test_cups_water_repairs_and_winter_work(plan):
    zone = plan.zones[0].id
    cups = [
        {"at": (1.0 + n, 1.0), "depth": depth} for n, depth in enumerate((0.010, 0.004, 0.012, 0.003, 0.011, 0.012))
    ]
    entries = [
        entry(2030, {"kind": "catch cups", "zone": zone, "ran": 900.0, "cups": cups}),
        entry(
            2030, {"kind": "water used", "volume": "48000 L", "since": "2030-05-01", "until": "2030-09-30"}, month=10
        ),
        entry(2030, {"kind": "repair", "done": "valve mended", "of": zone, "cost": 12.5}),
        entry(2031, {"kind": "repair", "done": "valve mended", "of": zone}),
        entry(2031, {"kind": "winter work", "done": "started up"}, month=4),
        entry(2031, {"kind": "winter work", "done": "blown out"}, month=10),
    ]
    record = make_record(plan, entries)
    first, second = record.seasons
    assert (first.water, first.water_days, first.repairs, first.repair_cost) == (pytest.approx(48.0), 152, 1, 12.5)
    assert (second.started, second.drained) == (date(2031, 4, 1), date(2031, 10, 1))
    assert record.repairs[0].times == 2
    assert any("valve mended 2 times" in line for line in record.replace)
    even = series(record, "evenness")
    assert even.readings[0].value == pytest.approx(0.0035 / (0.052 / 6), rel=0.2)  # the driest quarter over the mean
    assert even.past_limit


def test_water_written_down_late_counts_in_its_season(plan):
    used = {"kind": "water used", "volume": "10000 L", "since": "2030-05-01", "until": "2030-09-30"}
    record = make_record(plan, [entry(2031, used, month=2), start(plan, 2031)])
    assert [(one.season, one.water) for one in record.seasons] == [(2030, pytest.approx(10.0)), (2031, None)]


def test_every_number_works_out_again(plan):
    entries = [start(plan, 2030 + n, flow=1.0 + 0.01 * n) for n in range(4)]
    record = make_record(plan, entries)
    found = list(record_workings(record, plan))
    assert len({working.key for working in found}) == len(found)
    for working in found:
        assert working.printed(plan)
        if working.again is not None:
            assert working.again == pytest.approx(working.value)


def test_seasons_south_of_the_equator_begin_in_july():
    assert season_of(date(2030, 8, 1), southern=True) == season_of(date(2031, 3, 1), southern=True) == 2031
    assert season_of(date(2030, 8, 1), southern=False) == 2030


def test_an_empty_log_says_what_it_lacks(plan):
    assert any("static gauge" in line for line in make_record(plan, []).says)


def test_the_command(plan, tmp_path):
    (tmp_path / "plan.json").write_text(plan.model_dump_json())
    lines = [start(plan, 2030 + n, flow=1.0 + 0.04 * n).model_dump_json() for n in range(5)]
    log = tmp_path / "log.jsonl"
    log.write_text("\n".join(lines))
    words = ["record", str(tmp_path), "--log", str(log)]
    said = CliRunner().invoke(app, words)
    assert said.exit_code == 0, said.output
    assert "replace its nozzles" in said.output
    named = said.output.split("--explain '")[1].split("'")[0]
    assert CliRunner().invoke(app, [*words, "--explain", named]).exit_code == 0
    zone = plan.zones[0].id
    told = CliRunner().invoke(app, [*words, "--explain", f"record.wear.{zone}.slope"])
    assert "median of the slopes" in told.output
    wrong = CliRunner().invoke(app, [*words, "--explain", "record.wear"])
    assert isinstance(wrong.exception, NotExplainedError)


def test_water_used_must_run_forwards():
    what = {"kind": "water used", "volume": 1.0, "since": "2030-05-01", "until": "2030-05-01"}
    with pytest.raises(ValueError, match="later day"):
        Entry.model_validate(
            json.loads(json.dumps({"id": str(uuid.uuid4()), "made": "2030-06-01T00:00:00Z", "what": what}))
        )
