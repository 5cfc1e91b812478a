"""`rillwright winter`: the card on the terminal and on paper, and what is said of bad input."""

import pytest
from typer.testing import CliRunner

from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError, NotExplainedError
from rillwright.jobs.winter_terms import read_compressor
from rillwright.physics.units import FOOT, GALLON, PSI


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("winter")
    (path / "plan.json").write_text(planned(small_yard()).model_dump_json())
    return path


def run(folder, *words):
    return CliRunner().invoke(app, ["winter", str(folder), *words], catch_exceptions=True)


def test_card_and_paper(folder):
    out = folder / "card"
    said = run(
        folder, "--freezing-index", "900 C-day", "--mean-temperature", "7 C", "--tonight", "-4 C", "--out", str(out)
    )
    assert said.exit_code == 0, said.output
    for word in ("Tonight -4 °C", "Blow out", "eye protection", "Frost in the ground", "Spring"):
        assert word in said.output
    assert (out / "winter.pdf").read_bytes().startswith(b"%PDF")
    again = run(folder, "--out", str(out))
    assert isinstance(again.exception, InputError)
    assert "--force" in str(again.exception)


def test_one_number(folder):
    said = run(
        folder, "--freezing-index", "900 C-day", "--mean-temperature", "7 C", "--explain", "winter.frost.turf.design"
    )
    assert "modified Berggren" in said.output
    near = run(folder, "--explain", "winter.frost")
    assert isinstance(near.exception, NotExplainedError)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--compressor", "big"), "small, workshop, large, towable"),
        (("--compressor", "0 gal, 5 cfm at 90 psi, 135 psi"), "1 to 5,000 L"),
        (("--tonight", "cold"), "--tonight"),
        (("--tonight", "-400 C"), "--tonight -400 C"),
        (("--freezing-index", "900 C-day"), "--mean-temperature"),
        (("--snow", "-3 in"), "--snow"),
    ],
)
def test_bad_words_are_told(folder, words, told):
    said = run(folder, *words)
    assert isinstance(said.exception, InputError)
    assert told in str(said.exception)


def test_a_compressor_of_ones_own():
    found = read_compressor("20 gal, 5 cfm at 90 psi, 135 psi")
    assert found.tank == pytest.approx(20 * GALLON)
    assert found.air == pytest.approx(5 * FOOT**3 / 60)
    assert (found.air_at, found.cut_out) == (pytest.approx(90 * PSI), pytest.approx(135 * PSI))
