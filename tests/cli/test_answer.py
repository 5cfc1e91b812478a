"""`rillwright answer`: conclusions, one number's working, and what is said of bad input."""

import json
import uuid

import pytest
from typer.testing import CliRunner

from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError, NotExplainedError


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("answers")
    (path / "plan.json").write_text(planned(small_yard()).model_dump_json())
    bucket = {"kind": "bucket fill", "volume": "20 L", "seconds": [18.2, 18.0, 18.5], "start_delay": 3}
    line = {
        "id": str(uuid.uuid4()),
        "made": "2031-05-04T09:00:00Z",
        "what": {"kind": "supply test", "measurement": bucket},
    }
    (path / "log.jsonl").write_text(json.dumps(line) + "\n")
    return path


def run(folder, *words):
    log = str(folder / "log.jsonl")
    return CliRunner().invoke(app, ["answer", str(folder), "--log", log, *words], catch_exceptions=True)


def explained(folder, *words):
    return CliRunner().invoke(app, ["explain", str(folder), *words, "--log", str(folder / "log.jsonl")])


def test_conclusions_and_the_working_of_one(folder):
    said = run(folder)
    assert said.exit_code == 0
    assert "Bucket test 1:" in said.output
    assert "Do:" in said.output
    told = explained(folder, "bucket test 1.flow")
    assert "volume / (time - start)" in told.output
    assert "bucket test 1.flow" in explained(folder).output
    assert "Paid for parts" in explained(folder, "job.paid").output


def test_wrong_names_are_told_with_those_near(folder):
    told = explained(folder, "bucket test 1")
    assert isinstance(told.exception, NotExplainedError)
    assert "bucket test 1.flow" in str(told.exception)


def test_a_log_that_is_none_is_refused_with_its_line(folder):
    bad = folder / "bad.jsonl"
    bad.write_text("{}\n")
    said = CliRunner().invoke(app, ["answer", str(folder), "--log", str(bad)])
    assert isinstance(said.exception, InputError)
    assert "line 1: id" in str(said.exception)
