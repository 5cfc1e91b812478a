"""The as-built record of small yards: what the log says stands on the sheet where it says, and gaps are told."""

import io
import json
import re
import uuid
from datetime import UTC, date, datetime, timedelta

import pypdf
import pytest
from defusedxml import ElementTree
from typer.testing import CliRunner

from drawn_plans import CATALOGUE
from plan_yards import planned, rectangle, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.as_built import AS_BUILT_FILES, as_built_files, make_as_built
from rillwright.jobs.done import done_items
from rillwright.jobs.guide import plan_steps
from rillwright.jobs.write import write_plan
from rillwright.model.field_log import Entry, standing
from rillwright.model.ground import resolve_ground
from rillwright.model.guide import BuildTerms
from rillwright.report.as_built_table import as_built_tables
from rillwright.report.scale import fit_view

MAY = datetime(2027, 5, 23, 10, tzinfo=UTC)
TERMS = BuildTerms(start=date(2027, 5, 1))
SVG = "{http://www.w3.org/2000/svg}"


def entry(what, *, made=MAY, **more):
    return Entry.model_validate({"id": uuid.uuid4(), "made": made, "what": what} | more)


def fitted(name, place, *, part="valve", **more):
    depth = more.pop("depth", 0.2)
    return entry({"kind": "part fitted", "part": part, "name": name, "place": place, "depth": depth}, **more)


def buried(name, **more):
    own = {key: more.pop(key) for key in ("line", "depth_error", "line_error") if key in more}
    return entry({"kind": "pipe buried", "pipe": name, "depth": 0.31} | own, **more)


@pytest.fixture(scope="module")
def plan():
    return planned(small_yard())


def log_of(plan):
    """Every valve and splice a little off the plan, every pipe but the last."""
    entries = []
    for place in plan.places:
        x, y = place.at
        entries += [fitted(zone, (x + 0.2 * n, y + 0.3), photos=[uuid.uuid4()]) for n, zone in enumerate(place.zones)]
        entries.append(fitted(place.id, (x - 0.2, y + 0.3), part="splice"))
    entries += [buried(p.id, line=[(x + 0.1, y) for x, y in p.path]) for p in plan.pipes[:-1]]
    return entries


def test_what_the_log_says_is_kept_with_offsets_that_fit(plan):
    entries = log_of(plan)
    record = make_as_built(plan, entries)
    corners = {corner.letter: corner.at for corner in record.corners}
    told = {(f"{e.what.part}", tuple(e.what.place)) for e in entries if e.what.kind == "part fitted"}
    assert {(mark.what.split()[0], mark.at) for mark in record.marks} == told
    for mark in record.marks:
        assert mark.logged
        assert mark.depth == 0.2
        assert len(mark.offsets) == 2
        assert 0 < mark.error < 1
        for offset in mark.offsets:
            (x, y), (a, b) = corners[offset.corner], mark.at
            assert offset.distance == pytest.approx(((x - a) ** 2 + (y - b) ** 2) ** 0.5)
    assert [pipe.id for pipe in record.pipes if not pipe.logged] == [plan.pipes[-1].id]
    assert all(pipe.depth == 0.31 for pipe in record.pipes if pipe.logged)
    assert record.missing == (f"pipes {plan.pipes[-1].id}: not in the log; drawn where the plan has them",)
    assert [photo.number for photo in record.photos] == list(range(1, len(plan.zones) + 1))


def test_an_own_error_of_place_and_depth_widens_what_is_told(plan):
    """Independent errors add by their squares."""
    sharp, blunt = (
        make_as_built(plan, [place_told(error), buried("Z1.1", line=[(1, 1), (2, 1)])]).marks[0] for error in (0.0, 0.4)
    )
    assert blunt.error == pytest.approx((sharp.error**2 + 0.4**2) ** 0.5)
    assert (sharp.depth_error, blunt.depth_error) == (0.0, 0.4)
    record = make_as_built(plan, [buried("Z1.1", line=[(1, 1), (2, 1)], depth_error=0.05, line_error=0.2)])
    text = " ".join(as_built_tables(record, plan))
    assert "Z1.1 310 mm ± 50 mm, line ± 200 mm" in text
    assert next(pipe for pipe in record.pipes if not pipe.logged).line_error is None


def place_told(error):
    what = {"kind": "part fitted", "part": "valve", "name": "Z1", "place": (2.0, 1.0), "depth": 0.2}
    return entry(what | {"place_error": error, "depth_error": error})


def test_an_empty_log_leaves_everything_to_be_measured(plan):
    record = make_as_built(plan, [])
    assert not any(mark.logged for mark in record.marks)
    valves = [mark.what for mark in record.marks if mark.what.startswith("valve of")]
    assert valves == [f"valve of {zone.id}" for zone in plan.zones]
    assert all(mark.what in " ".join(record.missing) for mark in record.marks)


def test_the_last_word_counts(plan):
    first = fitted("Z1", (2.0, 1.0))
    better = fitted("Z1", (2.5, 1.0), corrects=first.id)
    other = buried("Z1.1")
    gone = buried("Z1.1", corrects=other.id, withdraws=True)
    record = make_as_built(plan, standing([first, better, other, gone]))
    assert next(mark.at for mark in record.marks if mark.what == "valve of Z1") == (2.5, 1.0)
    assert not next(pipe for pipe in record.pipes if pipe.id == "Z1.1").logged


def test_a_valve_written_down_twice_stands_once_where_it_was_last_told(plan):
    twice = [fitted("Z1", (2.0, 1.0)), fitted("Z1", (2.5, 1.0), made=MAY + timedelta(hours=1))]
    tees = [fitted("M1", at, part="tee") for at in ((3.0, 1.0), (4.0, 1.0))]
    devices = [fitted("P1", at, part="backflow device") for at in ((5.0, 1.0), (5.5, 1.0))]
    marks = [(mark.what, mark.at) for mark in make_as_built(plan, [*twice, *tees, *devices]).marks if mark.logged]
    assert sorted(marks) == [
        ("backflow device of P1", (5.5, 1.0)),
        ("tee at M1", (3.0, 1.0)),
        ("tee at M1", (4.0, 1.0)),
        ("valve of Z1", (2.5, 1.0)),
    ]


def test_a_pipe_that_this_plan_does_not_know_is_not_lost(plan):
    strange = [buried("old main", line=[(0, 1), (3, 1)]), buried("nobody knows where")]
    record = make_as_built(plan, strange)
    assert next(pipe.line for pipe in record.pipes if pipe.id == "old main") == ((0, 1), (3, 1))
    assert any("nobody knows where" in text for text in record.missing)


def test_without_buildings_other_fixed_points_serve_and_without_any_it_is_told():
    lawn = {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 9, 7)}
    tree = {"id": "oak", "at": [8, 6.5]}
    bare = make_as_built(planned(small_yard(areas=[lawn])), [fitted("Z1", (5, 5))])
    assert any("no two corners" in text for text in bare.missing)
    wooded = make_as_built(planned(small_yard(areas=[lawn], trees=[tree])), [fitted("Z1", (5, 5))])
    assert {corner.what for corner in wooded.corners} >= {"middle of oak", "water entry"}


def test_the_sheet_is_to_scale(plan):
    """The tapes on paper, times the scale, are the distances in the record."""
    record = make_as_built(plan, log_of(plan))
    svg = as_built_files(record, plan)["as-built.svg"].decode()
    view = fit_view(resolve_ground(plan.yard).extent, system="metric", small=True)
    layer = next(g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("id") == "built-tapes")
    lengths = []
    for line in layer.iter(f"{SVG}polyline"):
        (x1, y1), (x2, y2) = (map(float, point.split(",")) for point in line.get("points").split())
        lengths.append(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5 * view.ratio / 1000)
    assert lengths == pytest.approx([o.distance for mark in record.marks for o in mark.offsets], abs=0.005)


def test_the_paper_tells_every_offset_depth_and_photo(plan):
    record = make_as_built(plan, log_of(plan))
    reader = pypdf.PdfReader(io.BytesIO(as_built_files(record, plan)["as-built.pdf"]))
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    for mark in record.marks:
        assert mark.what in text
        for offset in mark.offsets:
            assert f"{offset.distance:.2f} m from {offset.corner}" in text
        assert f"standard error {mark.error * 1000:.0f} mm" in text
    assert "200 mm deep" in text
    assert all(str(photo.id) in text for photo in record.photos)
    assert all(missing.split(":")[0] in text for missing in record.missing)


def test_a_long_table_runs_on_and_never_off_its_sheet(plan):
    photos = [[uuid.uuid4() for _ in range(20)] for _ in range(12)]
    entries = [
        fitted("M1", (2.0 + 0.1 * n, 1.0), part="tee", photos=own, words="word " * 200) for n, own in enumerate(photos)
    ]
    sheets = as_built_tables(make_as_built(plan, entries), plan)
    found = []
    for sheet in sheets:
        root = ElementTree.fromstring(sheet)
        height = float(root.get("height").removesuffix("mm"))
        texts = list(root.iter(f"{SVG}text"))
        assert max(float(text.get("y")) for text in texts) <= height - 10
        found += [text.text for text in texts]
    assert len(sheets) > 3
    assert all(any(str(photo) in text for text in found) for own in photos for photo in own)


def test_the_log_counts_towards_progress(plan):
    steps = plan_steps(plan, CATALOGUE, TERMS)
    entries = [*log_of(plan), entry({"kind": "head pressure", "head": plan.zones[0].worst_head, "pressure": 2.8e5})]
    done = done_items(plan, steps, entries=entries)
    names = {item.name for step in steps for item in step.items if item.key in done}
    assert {pipe.id for pipe in plan.pipes[:-1]} & names == {
        item.name for step in steps if step.kind in ("main", "lay") for item in step.items
    } - {plan.pipes[-1].id}
    assert {place.id for place in plan.places} <= names
    assert any(key.startswith("read:") for key in done)
    assert set(done.values()) == {MAY.date()}


def test_a_word_that_says_not_done_stands_over_the_log(plan):
    def tick(key, *, done):
        return entry({"kind": "tick", "item": key, "done": done})

    steps = plan_steps(plan, CATALOGUE, TERMS)
    key = next(item.key for step in steps for item in step.items if item.name == plan.pipes[0].id)
    entries = [buried(plan.pipes[0].id)]
    assert key in done_items(plan, steps, entries=entries)
    assert key not in done_items(plan, steps, entries=[*entries, tick(key, done=True), tick(key, done=False)])
    assert done_items(plan, steps, entries=[tick("x", done=True)]) == {"x": MAY.date()}


def test_the_command(plan, tmp_path):
    write_plan(plan, CATALOGUE, tmp_path / "plan", force=False)
    log = tmp_path / "log.jsonl"
    log.write_text("\n".join(one.model_dump_json() for one in log_of(plan)))
    words = ["as-built", str(tmp_path / "plan"), "--log", str(log), "--out", str(tmp_path / "built")]
    ran = CliRunner().invoke(app, words)
    assert ran.exit_code == 0, ran.output
    assert {path.name for path in (tmp_path / "built").iterdir()} == set(AS_BUILT_FILES)
    assert "standard error" in ran.output
    assert json.loads((tmp_path / "built" / "as-built.json").read_text())["marks"]
    assert isinstance(CliRunner().invoke(app, words).exception, InputError)
