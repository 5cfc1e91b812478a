"""The parts of a plan at the command line."""

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE
from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.write import write_plan

RUN = CliRunner()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out") / "plan"
    write_plan(planned(small_yard()), CATALOGUE, out, force=False)
    return out


def test_parts_are_shown_place_by_place_with_the_cutting_plan(folder):
    plan = planned(small_yard())
    done = RUN.invoke(app, ["parts", str(folder)])
    assert done.exit_code == 0, done.output
    said = " ".join(done.output.split())
    for head in plan.heads:
        assert f"{head.id}: head {head.head_class}" in said
    for cutting in plan.cutting:
        assert f"{cutting.part}: " in said
        assert sum(len(cut.pieces) for cut in cutting.cuts) > 0
        assert cutting.laid <= cutting.bought
        assert cutting.bound <= cutting.bought
        line = next(line for line in plan.parts if line.part == cutting.part)
        assert line.quantity == pytest.approx(cutting.bought)
    assert "Spares, 5% of small parts" in said
    assert "joints" in said
    assert "are counted piece by piece as `rillwright manifold` puts them together" in said


def test_one_place_is_shown_by_itself(folder):
    done = RUN.invoke(app, ["parts", str(folder), "--at", "H1"])
    assert done.output.startswith("H1: head ")
    assert "coil" not in done.output
    wrong = RUN.invoke(app, ["parts", str(folder), "--at", "H99"])
    assert isinstance(wrong.exception, InputError)
    assert "Places are: " in str(wrong.exception)


def test_a_plan_without_parts_by_place_says_what_to_do(tmp_path):
    old = planned(small_yard()).model_copy(update={"placed": (), "cutting": ()})
    write_plan(old, CATALOGUE, tmp_path / "old", force=False)
    done = RUN.invoke(app, ["parts", str(tmp_path / "old")])
    assert isinstance(done.exception, InputError)
    assert "Plan its yard again" in str(done.exception)


def test_every_part_of_the_list_stands_somewhere():
    """What is counted by place adds up to the list, spares and what joints take in bulk aside."""
    plan = planned(small_yard())
    bulk = ("clamp", "crimp", "glue", "primer", "solder", "thread tape")
    for line in plan.parts:
        if line.unit == "piece" and not line.part.startswith(bulk):
            assert sum(p.number for p in plan.placed if p.part == line.part) == line.quantity - line.spare, line.part
