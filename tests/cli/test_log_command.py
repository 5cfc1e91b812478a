"""`rillwright log`: entries typed by field, asked about, kept, put right, shown and exported."""

import csv
import json

import pytest
from typer.testing import CliRunner

from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.cli.typed_entry import KINDS, described, typed_what
from rillwright.errors import InputError
from rillwright.exchange.log_file import load_log, read_log

TYPED = {
    "bucket fill": ["volume=5 gal", "seconds=13.7 s, 13.9 s", "start_delay=4 s", "outlet=hose tap"],
    "gauge at a flow": ["pressure=50 psi", "flow=5 gpm"],
    "leak watch": ["closed_in=main,Z1", "readings=0, 60 psi, 58 °F; 20 min, 59 psi", "held=5 min"],
    "catch cups": [
        "zone=Z1",
        "ran=20 min",
        "mouth=3 in",
        "read_error=2 mL",
        "cups=1 m, 2 m, , 45 mL; 3 m, 2 m, 0.4 in",
    ],
    "zone start": ["zone=Z1", "flow=2.2 gpm", "pressures=entry, 52 psi; H1, 40 psi, 1 psi"],
    "head pressure": ["head=H1", "pressure=40 psi", "by=pitot"],
    "pipe buried": ["pipe=P1", "depth=12 in", "line=0 m, 0 m; 1 m, 0 m"],
    "part fitted": ["part=valve", "name=Z1", "place=2 m, 1 m", "depth=8 in"],
    "parts bought": ["parts=valve, 2, , 14.5; pipe, , 30 m, 0.8", "receipt=box 3"],
    "trench": ["trenches=T1, T2", "state=open"],
    "soil intake": ["ring=6 in", "readings=1 min, 10 mm; 5 min, 20 mm; 20 min, 35 mm"],
    "spot height": ["place=1 m, 2 m", "height=1 ft 2 in"],
    "meter pair": ["running=Z1", "before=4120.3 ft3", "after=4124.3 ft3", "seconds=5 min"],
    "tick": ["item=parts", "done=no"],
    "zone walk": ["zone=Z1", "seen=gushing", "head=H1"],
}


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("plan") / "plan.json"
    path.write_text(planned(small_yard()).model_dump_json())
    return path


def run(*words):
    done = CliRunner(env={"COLUMNS": "240"}).invoke(app, ["log", *map(str, words)])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize("kind", TYPED)
def test_every_shape_of_entry_can_be_typed(tmp_path, kind):
    log = tmp_path / "log.jsonl"
    run("add", log, kind, *TYPED[kind], "--words", "by the fence")
    (entry,) = load_log(log)
    assert entry.words == "by the fence"
    assert kind in run("list", log, "--units", "US")


def test_what_was_typed_is_what_is_kept(tmp_path):
    log = tmp_path / "log.jsonl"
    run("add", log, "leak watch", *TYPED["leak watch"], "--made", "2021-05-04T09:00+02:00", "--at", "1.5,2")
    (line,) = (json.loads(text) for text in log.read_text().splitlines())
    assert line["made"] == "2021-05-04T09:00:00+02:00"
    assert line["at"] == [1.5, 2.0]
    looks = line["what"]["readings"]
    assert [look["after"] for look in looks] == [0.0, 1200.0]
    assert looks[1]["pressure"] == pytest.approx(406_790, abs=1)
    assert looks[0]["water"] == pytest.approx(287.594, abs=1e-3)
    run("add", log, "parts bought", *TYPED["parts bought"])
    bought = read_log(log)[0][-1].what.parts
    assert [(part.pieces, part.length, part.price) for part in bought] == [(2, None, 14.5), (None, 30.0, 0.8)]


def test_numbers_need_a_unit_or_a_plan_that_has_them(tmp_path, plan):
    log = tmp_path / "log.jsonl"
    with pytest.raises(InputError, match="write the unit of 60"):
        run("add", log, "static gauge", "pressure=60")
    assert not log.exists()
    run("add", log, "static gauge", "pressure=440", "--plan", plan)  # a metric yard: kPa
    run("add", log, "static gauge", "pressure=60", "--units", "US")
    assert [entry.what.measurement.pressure for entry in load_log(log)] == pytest.approx([440e3, 413_685], abs=1)


def test_what_can_hardly_be_is_not_kept_until_it_is_sure(tmp_path, plan):
    log = tmp_path / "log.jsonl"
    fill = ("bucket fill", "volume=5 gal", "seconds=3.75 s", "--plan", plan)  # 80 gpm
    with pytest.raises(InputError, match=r"pass at most .* L/min(.|\n)*--sure"):
        run("add", log, *fill)
    assert not log.exists()
    assert "Marked as confirmed: flow over pipe." in run("add", log, *fill, "--sure")
    assert load_log(log)[0].confirmed == ["flow over pipe"]
    assert "confirmed: flow over pipe" in run("list", log)


def test_what_an_entry_changes_in_the_plan_is_said(tmp_path, plan):
    log = tmp_path / "log.jsonl"
    told = run("add", log, "bucket fill", "volume=20 L", "seconds=15.9 s,16.1 s,16.0 s", "--plan", plan)
    assert "Bucket test 1:" in told
    assert "before" in told
    assert ", now " in told
    assert "Nothing in the plan rests on it." in run("add", log, "note", "--words", "rain", "--plan", plan)
    dug = run("add", log, "trench", "trenches=T1", "state=open", "--plan", plan)
    assert "Done by this: Dig" in dug


def test_a_correction_keeps_the_first_value(tmp_path):
    log = tmp_path / "log.jsonl"
    run("add", log, "static gauge", "pressure=44 psi", "height=0 m", "--words", "tap", "--units", "US")
    first = load_log(log)[0]
    run("correct", log, str(first.id)[:6], "pressure=64", "--units", "US")
    both, _ = read_log(log)
    assert both[0] == first
    assert both[1].corrects == first.id
    (now,) = load_log(log)
    assert (now.what.measurement.pressure, now.words) == (pytest.approx(441_264, abs=1), "tap")
    assert now.what.measurement.height == 0
    assert "no longer counts" in run("list", log, "--all")
    run("correct", log, str(first.id), "--withdraw")
    assert "static gauge" not in run("list", log)
    for words, told in (((), "say what is right"), (("pressure=1 psi",), "no first entry")):
        with pytest.raises(InputError, match=told):
            run("correct", log, str(first.id) if not words else "zzzz", *words)


def test_export_for_a_spreadsheet_and_of_what_counts(tmp_path):
    log, out = tmp_path / "log.jsonl", tmp_path / "log.csv"
    run("add", log, "head pressure", *TYPED["head pressure"], "--words", "=1+1", "--at", "1,2")
    run("export", log, "--out", out, "--units", "US")
    head, row = csv.reader(out.read_text().splitlines())
    assert dict(zip(head, row, strict=True))["value"] == "40.0 psi at H1, by pitot"
    assert "'=1+1" in row
    with pytest.raises(InputError, match="already"):
        run("export", log, "--out", out)
    run("export", log, "--out", tmp_path / "copy.jsonl")
    assert load_log(tmp_path / "copy.jsonl") == load_log(log)


def test_photos_are_kept_beside_the_log(tmp_path):
    log, photo = tmp_path / "log.jsonl", tmp_path / "a.jpg"
    photo.write_bytes(b"not looked into")
    run("add", log, "note", "--photo", photo)
    (entry,) = load_log(log)
    assert (tmp_path / "log.jsonl.photos" / f"{entry.photos[0]}.jpg").read_bytes() == b"not looked into"
    with pytest.raises(InputError, match="is no photo"):
        run("add", log, "note", "--photo", log)


@pytest.mark.parametrize(
    ("kind", "words", "told"),
    [
        ("bucket", [], "'bucket' is no kind of entry: write one of bucket fill"),
        ("static gauge", ["colour=red"], "of a static gauge write .*pressure="),
        ("static gauge", [], "pressure: This must be given"),
        ("static gauge", ["pressure=60 furlong"], "not a pressure"),
        ("leak watch", ["closed_in=main", "readings=0, 1 psi, 50 °F, 3"], "holds too much"),
        ("spot height", ["place=3 m", "height=1 m"], "write 2 values"),
        ("parts bought", ["whole_list=maybe"], "write yes or no"),
        ("note", ["kind=other"], "of a note write"),
        ("leak watch", ["readings=[{]"], "no JSON there"),
        ("valve setting", ["zone=Z1", "turns=300", "flow=8 gpm"], "turns: Must be at most 60"),
        ("zone flow", ["zone=Z1", "volume=5 gal", "seconds=0"], "seconds: Write more than 0"),
        ("static gauge", ["pressure=900 psi"], r"pressure: Must be at most 290.075 psi \(2000 kPa\)"),
        ("pipe buried", ["pipe=Z1.1", "depth=300"], "write the unit of 300"),
        ("parts bought", ['parts=[{"part": "tee", "pieces": 1.5, "price": 1}]'], "pieces: Write a whole number"),
    ],
)
def test_bad_words_are_told(tmp_path, kind, words, told):
    with pytest.raises(InputError, match=told):
        run("add", tmp_path / "log.jsonl", kind, *words)


def test_every_kind_tells_its_fields():
    for kind in KINDS:
        assert "kind" not in described(kind)
        with pytest.raises(InputError):
            typed_what(kind, ["nonsense=1"], system=None)


def test_the_guide_counts_ticks_of_the_log(tmp_path, plan):
    """A tick of the page, exported as a line of the log, counts at the command line too."""
    log = tmp_path / "log.jsonl"
    told = run("add", log, "tick", "item=parts", "--plan", plan)
    assert "Done by this: Buy and check the parts" in told


def test_a_correction_keeps_the_day_of_what_it_puts_right_unless_it_says_another(tmp_path):
    log, photo = tmp_path / "log.jsonl", tmp_path / "pipe.jpg"
    photo.write_bytes(b"no picture, but kept as one")
    run("add", log, "repair", "done=head replaced", "of=H1", "--made", "2021-05-08T14:30+00:00")
    (first,) = load_log(log)
    run("correct", log, str(first.id)[:8], "cost=12", "--photo", photo)
    (now,) = load_log(log)
    assert (now.made, now.what.cost, len(now.photos)) == (first.made, 12.0, 1)
    run("correct", log, str(first.id)[:8], "--made", "2021-04-30T09:00+00:00")
    run("correct", log, str(first.id)[:8], "cost=13")
    (now,) = load_log(log)
    assert (now.made.date().isoformat(), now.what.cost, len(now.photos)) == ("2021-04-30", 13.0, 1)
    assert "2021-04-30" in run("list", log)
    assert "1 photo" in run("list", log)
    with pytest.raises(InputError, match="write a day as"):
        run("correct", log, str(first.id)[:8], "--made", "yesterday")


def test_a_note_without_words_or_photo_is_refused(tmp_path):
    with pytest.raises(InputError, match="a note needs --words or a --photo"):
        run("add", tmp_path / "log.jsonl", "note")
