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


def test_heights_and_soil_of_the_log_are_put_into_the_yard(folder, tmp_path):
    """An invented slow soil where the yard says loam: 25 mm soak in within two hours, slower and slower."""
    looks = [{"after": f"{minutes} min", "soaked": f"{depth} mm"} for minutes, depth in ((20, 13), (60, 20), (120, 25))]
    said = (
        {"kind": "spot height", "place": [4.5, 3.5], "height": 0.6, "error": 0.05},
        {"kind": "soil intake", "ring": "300 mm", "readings": looks},
    )
    lines = [{"id": str(uuid.uuid4()), "made": "2031-05-04T09:00:00Z", "what": what} for what in said]
    log, yard, out = (tmp_path / name for name in ("log.jsonl", "my.yard.json", "new.yard.json"))
    log.write_text("".join(json.dumps(line) + "\n" for line in lines))
    yard.write_text(json.dumps(small_yard()))
    words = ["answer", str(folder), "--log", str(log)]
    told = CliRunner().invoke(app, [*words, "--yard", str(yard), "--out", str(out)])
    assert told.exit_code == 0, told.output
    found = json.loads(out.read_text())
    assert found["spot_heights"] == [*small_yard()["spot_heights"], {"at": [4.5, 3.5], "height": 0.6, "error": 0.05}]
    assert f"with {found['soil']['texture']} as the soil, 1 height of the log" in " ".join(told.output.split())
    assert f"With {found['soil']['texture']} in the yard the plan takes" in " ".join(told.output.split())
    assert found["soil"]["texture"] != "loam"
    assert found["supply"] == small_yard()["supply"]
    again = CliRunner().invoke(app, [*words, "--yard", str(out), "--out", str(tmp_path / "third.json")])
    assert "nothing is written" in again.output
    assert isinstance(CliRunner().invoke(app, [*words, "--out", str(out)]).exception, InputError)
