"""`rillwright manifold`: what is said, what is written, and what is refused."""

import pytest
from typer.testing import CliRunner

from drawn_plans import crowded_plan
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.manifold import MANIFOLD_FILES


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("manifold") / "plan.json"
    path.write_text(crowded_plan(16, "US").model_dump_json())
    return path


def run(plan, out, *words):
    return CliRunner().invoke(app, ["manifold", str(plan), "--out", str(out), *words])


def test_a_manifold_is_told_and_written(plan, tmp_path):
    words = ("--rows", "both sides", "--spacing", "8 in", "--space", "20 ft x 40 in x 2 ft", "--height", "28 in")
    said = run(plan, tmp_path, *words)
    assert said.exit_code == 0, said.output
    assert {path.name for path in tmp_path.iterdir()} == set(MANIFOLD_FILES)
    assert "first to last valve, axis to axis: 120 in" in said.output
    assert "fits: the space given, 240 in by 40 in inside" in said.output
    again = run(plan, tmp_path, *words)
    assert "already holds manifold.svg" in str(again.exception)


def test_what_must_be_mended_comes_first_and_nothing_is_written(plan, tmp_path):
    said = run(plan, tmp_path, "--spacing", "3", "--unions", "none")
    assert said.exit_code == 3
    assert not list(tmp_path.iterdir())
    lines = said.output.splitlines()
    assert lines[1].startswith("must: The valve of Z1 cannot be unscrewed beside that of Z2")


def test_a_number_is_explained(plan, tmp_path):
    said = run(plan, tmp_path, "--explain", "v1.cut.z1-z2")
    assert said.exit_code == 0, said.output
    assert "axis to axis - take-offs" in said.output
    assert not list(tmp_path.iterdir())
    missed = run(plan, tmp_path, "--explain", "V1.gap.Z1-Z9")
    assert "V1.gap.Z1-Z2" in str(missed.exception)


def test_a_fitting_that_the_shop_does_not_have_is_done_without(plan, tmp_path):
    words = ("--material", "PVC schedule 40", "--spacing", "8 in", "--height", "28 in")
    shop = tmp_path / "shop.csv"
    shop.write_text("part,price,source\nunion PVC 3/4 in,none,the shop in town\n")
    told = run(plan, tmp_path / "any", *words), run(plan, tmp_path / "shop", *words, "--prices", str(shop))
    bought = [" ".join(one.output.split()).partition("Fittings and devices")[2] for one in told]
    assert "union PVC 3/4 in" in bought[0]
    assert "union PVC 3/4 in" not in bought[1]
    assert "union thread 3/4 in" in bought[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--place", "Z9"), "no valve place 'Z9'"),
        (("--unions", "some"), "--unions some"),
        (("--spacing", "wide"), "--spacing wide"),
        (("--spacing", "2"), "the fittings leave"),
        (("--space", "3 in"), "LENGTH x WIDTH"),
        (("--wall", "3 in"), "give --space too"),
        (("--space", "3 ft x 3 ft", "--door", "1, 2"), "X, Y, RADIUS"),
        (("--material", "lead"), "--material lead"),
    ],
)
def test_a_slip_is_told_by_its_option(plan, tmp_path, words, told):
    said = run(plan, tmp_path, *words)
    assert isinstance(said.exception, InputError)
    assert told in str(said.exception)
    assert not list(tmp_path.iterdir())
