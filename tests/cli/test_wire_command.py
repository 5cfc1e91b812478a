"""`rillwright wire`: what is said, which list it is bought from, and what is refused."""

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE
from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.write import write_plan
from rillwright.solvers.takeoff.tally import WASTE

RUN = CliRunner()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out") / "plan"
    write_plan(planned(small_yard()), CATALOGUE, out, force=False)
    return out


def said(folder, *words, code=0):
    done = RUN.invoke(app, ["wire", str(folder), *words])
    assert done.exit_code == code, done.output
    return " ".join(done.output.split())


def test_the_parts_list_holds_the_wire_of_the_plan_with_offcuts(folder):
    plan = planned(small_yard())
    assert "to buy: as the parts list has it, with 5% for offcuts" in said(folder)
    listed = sum(line.quantity for line in plan.parts if line.part.startswith("wire"))
    assert listed == pytest.approx((1 + WASTE) * (plan.wire.station_metres + plan.wire.common_metres))


@pytest.mark.parametrize("words", [("--gauge", "14"), ("--spares", "3")])
def test_wire_on_other_terms_is_bought_in_place_of_the_parts_lists(folder, words):
    assert "in place of that of the parts list" in said(folder, *words)


def test_what_must_be_mended_comes_first(folder):
    assert said(folder, "--transformer", "5", code=3).startswith("must: 10.8 VA are drawn as one valve opens")


def test_cautions_are_said(folder):
    assert "left to a licensed person" in said(folder)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--at-once", "9"), "--at-once 9"),
        (("--gauge", "15"), "--gauge 15: Use one of: 18, 16, 14, 12, 10"),
        (("--temperature", "warm"), "'warm' is not a temperature"),
    ],
)
def test_a_slip_is_told(folder, words, told):
    wrong = RUN.invoke(app, ["wire", str(folder), *words])
    assert isinstance(wrong.exception, InputError)
    assert told in str(wrong.exception)
