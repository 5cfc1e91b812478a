"""Money at the command line."""

import json
import re

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE, plan_named
from plan_yards import planned, two_lawns
from rillwright.cli.main import app
from rillwright.errors import InputError, NotExplainedError
from rillwright.exchange.yard_file import yard_text
from rillwright.jobs.write import read_plan, write_plan

RUN = CliRunner()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out") / "plan"
    write_plan(plan_named("small"), CATALOGUE, out, force=False)
    return out


def test_the_whole_comes_first_and_what_is_assumed_last(folder, tmp_path):
    log = tmp_path / "log.jsonl"
    pipe = plan_named("small").parts[-1].part
    what = {"kind": "money paid", "of": "permit", "amount": 40}
    log.write_text(json.dumps({"id": "0" * 32, "made": "2027-05-02T09:00:00Z", "what": what}))
    done = RUN.invoke(app, ["money", str(folder), "--log", str(log), "--phases", "2", "--split", "zones"])
    assert done.exit_code == 0, done.output
    assert "The whole comes to" in done.output.splitlines()[1]
    assert "Paid 40.00" in done.output
    assert pipe.split()[0] in done.output
    assert "In phases" in done.output
    assert "marked anew" in done.output


def test_a_changed_yard_and_a_price_file_hold(folder, tmp_path):
    plan = plan_named("small")
    document = json.loads(yard_text(plan.yard)) | {"budget": 123, "money": {"tax": 0.5}}
    yard = tmp_path / "small.yard.json"
    yard.write_text(json.dumps(document))
    prices = tmp_path / "prices.csv"
    prices.write_text(
        "part,price,source\nvalve box large with extension,77,the shop in town\nhead strip,9,the shop in town\n"
    )
    words = ["money", str(folder), "--yard", str(yard), "--prices", str(prices)]
    done = RUN.invoke(app, words)
    assert done.exit_code == 0, done.output
    assert "Budget 123" in done.output
    assert "serves nothing" not in done.output  # a price file may hold more than one plan needs
    box = next(line for line in plan.parts if line.part == "valve box large with extension")
    told = RUN.invoke(app, [*words, "--explain", f"money.part.{box.id}.due"])
    assert f"{77 * (box.quantity - box.owned):.2f}" in told.output
    assert "the shop in town" in told.output
    assert "50 %" in RUN.invoke(app, [*words, "--explain", "money.tax"]).output


@pytest.mark.parametrize("receipt", [False, True])
def test_every_part_stands_on_one_line_of_80_columns(folder, tmp_path, monkeypatch, receipt):
    """Name, figures and cost together; a column that nothing fills is not there."""
    monkeypatch.setenv("COLUMNS", "80")
    plan = plan_named("small")
    words = ["money", str(folder)]
    if receipt:
        log = tmp_path / "log.jsonl"
        box = {"part": "valve box large with extension", "pieces": 3, "price": 20.0}
        whats = [{"kind": "parts bought", "parts": [box]}, {"kind": "parts returned", "parts": [box | {"pieces": 1}]}]
        made = "2027-05-0{}T09:00:00Z"
        entries = [{"id": f"{n}" * 32, "made": made.format(n), "what": what} for n, what in enumerate(whats, start=1)]
        log.write_text("".join(json.dumps(entry) + "\n" for entry in entries))
        words += ["--log", str(log)]
    lines = RUN.invoke(app, words).output.splitlines()
    head = next(line for line in lines if line.startswith("part "))
    assert ("bought" in head, "returned" in head) == (receipt, receipt)
    for part in plan.parts:
        assert any(line.startswith(part.part) and line.rstrip()[-3] == "." for line in lines), part.part
    assert "Prices: invented, replace" in lines


def test_dates_come_from_the_build_guide_and_say_what_is_left(folder, tmp_path):
    yard = tmp_path / "small.yard.json"
    yard.write_text(json.dumps(json.loads(yard_text(plan_named("small").yard)) | {"budget": 500}))
    done = RUN.invoke(app, ["money", str(folder), "--start", "2027-05-01", "--yard", str(yard)])
    assert done.exit_code == 0, done.output
    days = re.findall(r"(\d+\.\d\d) in all by then, (\d+\.\d\d) (of the budget left|over the budget)", done.output)
    assert days
    for paid, rest, words in days:
        assert float(paid) + float(rest) * (1 if words.startswith("of") else -1) == pytest.approx(500)
    assert days[-1][2] == "over the budget"


def test_explain_knows_the_money_of_a_plan(folder):
    done = RUN.invoke(app, ["explain", str(folder), "money.total"])
    assert done.exit_code == 0, done.output
    assert "paid + still to pay" in done.output
    assert isinstance(RUN.invoke(app, ["explain", str(folder), "money.moon"]).exception, NotExplainedError)


def test_lawns_kept_apart_are_planned_again_and_compared(tmp_path):
    """The split by lawns is no split of a plan with one zone over both: planned again it is, and its price is told."""
    mixed, apart = tmp_path / "mixed", tmp_path / "apart"
    write_plan(planned(two_lawns()), CATALOGUE, mixed, force=False)
    words = ["money", str(mixed), "--phases", "front / lawn"]
    assert "--apart" in str(RUN.invoke(app, words).exception)
    done = RUN.invoke(app, [*words, "--apart", str(apart)])
    assert done.exit_code == 0, done.output
    made = read_plan(apart)
    assert made.zones == planned(two_lawns(front=1, back=2)).zones
    assert f"{len(made.zones)} zones for {len(planned(two_lawns()).zones)}" in done.output
    told = re.search(r"at once it costs (\d+) USD, \+(\d+) against (\d+) as planned; in phases (\d+)", done.output)
    once, more, before, split = map(int, told.groups())
    assert once == pytest.approx(before + more, abs=1.1)
    assert split > once
    assert "as you split it" in done.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--phases", "9"], "--phases 9: write 2 to 5"),
        (["--phases", "front / "], "name at least one"),
        (["--phases", "the moon / Z1"], "no zone or lawn of this plan"),
        (["--apart", "nowhere"], "name the lawns phase by phase"),
        (["--split", "trees"], "--split trees: write lawns or zones"),
        (["--start", "May"], "--start May: write a date"),
        (["--explain", "money.moon"], "holds no number named 'money.moon'"),
    ],
)
def test_a_slip_is_told_with_its_option(folder, words, says):
    done = RUN.invoke(app, ["money", str(folder), *words])
    assert isinstance(done.exception, InputError)
    assert says in str(done.exception)
