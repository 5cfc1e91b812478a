"""The guide at the command line."""

import json

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE
from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.guide import GUIDE_FILES
from rillwright.jobs.write import FILES, read_plan, write_plan

RUN = CliRunner()
START = ("--start", "2027-05-01")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out") / "plan"
    write_plan(planned(small_yard()), CATALOGUE, out, force=False)
    return out


def test_a_plan_s_folder_becomes_a_guide(folder, tmp_path):
    done = RUN.invoke(app, ["guide", str(folder), *START, "--days", "fri, SAT", "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert {path.name for path in tmp_path.iterdir()} == {"guide.json", "guide.html", "guide.pdf"}
    guide = json.loads((tmp_path / "guide.json").read_text())
    assert guide["terms"]["days"] == ["Fri", "Sat"]
    told = RUN.invoke(app, ["explain", str(folder), "guide.work-left", "--guide", str(tmp_path)])
    assert told.exit_code == 0, told.output
    assert "sum over steps" in told.output
    assert "Assumed: The wall is assumed to be masonry" in done.output
    again = RUN.invoke(app, ["guide", str(folder), *START, "--out", str(tmp_path)])
    assert isinstance(again.exception, InputError)
    assert "already holds guide.json" in str(again.exception)


def test_a_yard_is_planned_first_and_its_plan_kept(tmp_path):
    yard = tmp_path / "small.yard.json"
    yard.write_text(json.dumps(small_yard()))
    prices = tmp_path / "prices.csv"
    prices.write_text("part,price,source\nvalve box large with extension,77,the shop in town\n")
    words = ["guide", str(yard), *START, "--prices", str(prices), "--out", str(tmp_path / "guide")]
    done = RUN.invoke(app, words)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "guide" / "guide.pdf").read_bytes().startswith(b"%PDF")
    kept = read_plan(tmp_path / "guide")
    assert next(line.price for line in kept.parts if line.part == "valve box large with extension") == 77
    assert {path.name for path in (tmp_path / "guide").iterdir()} >= {*FILES, *GUIDE_FILES}
    before = (tmp_path / "guide" / "plan.json").read_bytes()
    for name in GUIDE_FILES:
        (tmp_path / "guide" / name).unlink()
    again = RUN.invoke(app, words)
    assert isinstance(again.exception, InputError)
    assert "already holds plan.json" in str(again.exception)
    assert (tmp_path / "guide" / "plan.json").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--start", "8 May"), "--start 8 May: write a date"),
        (("--start", "1815-06-18"), "--start 1815-06-18: .*2000"),
        ((*START, "--days", "Sat,Funday"), "--days Sat,Funday: write days"),
        ((*START, "--days", ""), "--days : write days"),
        ((*START, "--hours", "0"), "--hours 0.0: Write 1 or more"),
        ((*START, "--crew", "0"), "--crew 0: Write 1 or more"),
        ((*START, "--dig", "spoon"), "--dig spoon: .*machine.*hand"),
        ((*START, "--latitude", "89"), "--latitude 89.0: .*66"),
        ((*START, "--lost-days", "1"), "--lost-days 1.0: .*0.9"),
    ],
)
def test_terms_that_cannot_be_are_refused_by_name(folder, tmp_path, words, says):
    done = RUN.invoke(app, ["guide", str(folder), *words, "--out", str(tmp_path / "guide")])
    assert isinstance(done.exception, InputError)
    with pytest.raises(InputError, match=says):
        raise done.exception
    assert not (tmp_path / "guide").exists()


def test_what_is_neither_plan_nor_yard_is_refused(tmp_path):
    for path in (tmp_path, tmp_path / "nothing.json"):
        done = RUN.invoke(app, ["guide", str(path), *START, "--out", str(tmp_path / "guide")])
        assert isinstance(done.exception, InputError)
