"""`rillwright winter`: the card on the terminal and on paper, and what is said of bad input."""

from datetime import date

import pytest
from typer.testing import CliRunner

from plan_yards import planned, small_yard
from rillwright.cli.main import app
from rillwright.errors import InputError, NotExplainedError
from rillwright.jobs.winter_terms import WinterWords, read_compressor, read_terms
from rillwright.jobs.write import read_plan
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
    assert "winter PLAN ... --explain all" in str(near.exception)
    assert "winter.body" in run(folder, "--explain", "all").output
    assert "formula" in run(folder, "--explain", "supply.safe-flow").output  # a number of the plan that others rest on


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--compressor", "big"), "small, workshop, large, towable"),
        (("--compressor", "0 gal, 5 cfm at 90 psi, 135 psi"), "1 to 5,000 L"),
        (("--compressor", "20 gal, 5 cfm at 150 psi, 135 psi"), "stops at its cut-out of 135 psi"),
        (("--tonight", "cold"), "--tonight"),
        (("--tonight", "-400 C"), "--tonight -400 C"),
        (("--freezing-index", "900 C-day"), "--mean-temperature"),
        (("--mean-temperature", "7 C"), "--freezing-index"),
        (("--snow", "-3 in"), "--snow"),
        (("--tonight", "-4 C", "--today", "-10 C"), "--today -10 C"),
        (("--today", "5 C"), "--tonight"),
    ],
)
def test_bad_words_are_told(folder, words, told):
    said = run(folder, *words)
    assert isinstance(said.exception, InputError)
    assert told in str(said.exception)


def test_limits_are_told_in_the_yards_units(folder):
    yard = read_plan(folder).yard.model_copy(update={"units": "US"})
    with pytest.raises(InputError, match=r"from 0.0+ in to 196.85 in|from 0 in to 197 in"):
        read_terms(WinterWords(snow="-3 in"), yard=yard, weather=None, today=date(2027, 3, 1))


def test_a_year_that_no_calendar_has_is_refused(folder):
    said = run(folder, "--season", "99999")
    assert said.exit_code == 2
    assert "--season" in said.output


@pytest.mark.parametrize(
    ("today", "southern", "season"),
    [
        (date(2027, 3, 1), False, 2026),
        (date(2027, 4, 1), False, 2027),
        (date(2027, 3, 1), True, 2027),
        (date(2027, 11, 1), True, 2027),
    ],
)
def test_the_winter_that_is_asked_about(folder, today, southern, season):
    """In March a northern yard is still in last year's winter; a southern one has this year's before it."""
    terms = read_terms(WinterWords(southern=southern), yard=read_plan(folder).yard, weather=None, today=today)
    assert terms.season == season


def test_a_compressor_of_ones_own():
    found = read_compressor("20 gal, 5 cfm at 90 psi, 135 psi")
    assert found.tank == pytest.approx(20 * GALLON)
    assert found.air == pytest.approx(5 * FOOT**3 / 60)
    assert (found.air_at, found.cut_out) == (pytest.approx(90 * PSI), pytest.approx(135 * PSI))
