"""Changing a job under way at the command line."""

import json

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE
from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.write import write_plan

RUN = CliRunner()
LOW = {"kind": "gauge at a flow", "pressure": "230 kPa", "flow": "20 L/min"}


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    folder = tmp_path_factory.mktemp("job")
    plan = planned(small_yard())
    write_plan(plan, CATALOGUE, folder / "plan", force=False)
    (folder / "small.yard.json").write_text(json.dumps(small_yard()))
    what = [
        {"kind": "parts bought", "whole_list": True},
        {"kind": "trench", "trenches": [plan.trenches[0].id], "state": "closed"},
        {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "260 kPa"}},
        {"kind": "supply test", "measurement": LOW},
    ]
    _log(folder / "job.log.jsonl", what)
    return folder


def _log(path, what):
    lines = [
        json.dumps({"id": f"00000000-0000-0000-0000-{k:012d}", "made": "2026-05-01T09:00:00Z", "what": one})
        for k, one in enumerate(what)
    ]
    path.write_text("\n".join(lines) + "\n")


def _run(job, *more):
    named = ("--plan", str(job / "plan"), "--log", str(job / "job.log.jsonl"))
    return RUN.invoke(app, ["replan", str(job / "small.yard.json"), *named, *more])


def test_changes_are_printed_written_and_explained(job, tmp_path):
    out = tmp_path / "changes"
    done = _run(job, "--out", str(out))
    assert done.exit_code == 0, done.output
    assert "What now" in done.output
    figures = json.loads((out / "changes.json").read_text())
    assert f"{figures[0]['total']:.0f}" in done.output
    told = RUN.invoke(app, ["explain", str(out / "1"), "change.total"])
    assert told.exit_code == 0
    assert "money + hours at their price + thrown away" in told.output
    assert "as-drawn" in {path.name for path in out.iterdir()}
    again = _run(job, "--out", str(out))
    assert isinstance(again.exception, InputError)
    assert "already holds changes.html" in str(again.exception)


def test_a_log_of_another_plan_is_refused(job, tmp_path):
    _log(tmp_path / "other.jsonl", [{"kind": "trench", "trenches": ["T77"], "state": "open"}])
    named = ("--plan", str(job / "plan"), "--log", str(tmp_path / "other.jsonl"), "--out", str(tmp_path / "out"))
    done = RUN.invoke(app, ["replan", str(job / "small.yard.json"), *named])
    assert isinstance(done.exception, InputError)
    assert "trench 'T77', which the plan does not have" in str(done.exception)
    assert not (tmp_path / "out").exists()
