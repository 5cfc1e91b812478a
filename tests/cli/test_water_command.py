"""`rillwright water` at the command line: files, figures, workings and refusals."""

import numpy as np
import pytest
from typer.testing import CliRunner

from rillwright.cli.main import app
from rillwright.errors import InputError, NotExplainedError
from watered_plans import seattle_file, small_plan


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("water")
    (place / "plan.json").write_text(small_plan().model_dump_json(), encoding="utf-8")
    seattle_file(place)
    return place


def run(*words):
    result = CliRunner().invoke(app, ["water", *map(str, words)], env={"COLUMNS": "200"})
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.output


def test_it_writes_the_programme_and_says_it(folder):
    told = run(
        folder, "--weather", folder / "seattle.csv", "--latitude", 47.6, "--out", folder / "made", "--year", 2027
    )
    assert {file.name for file in (folder / "made").iterdir()} == {
        "water.json",
        "water.html",
        "door.pdf",
        "water.csv",
        "water.ics",
    }
    assert "less than the plain multiplier needs" in told
    assert "Program A: starts" in told
    with pytest.raises(InputError, match="already holds"):
        run(folder, "--weather", folder / "seattle.csv", "--out", folder / "made")


def test_a_number_is_explained(folder):
    words = (folder, "--weather", folder / "seattle.csv", "--latitude", 47.6)
    assert "Kc · reference ET" in run(*words, "--explain", "water.month.7.need")
    with pytest.raises(NotExplainedError, match=r"water\.month\.7\.need.*water PLAN"):
        run(*words, "--explain", "water.month.7.n")


def test_this_seasons_days_are_kept_and_say_what_the_next_night_needs(folder, tmp_path):
    this_year = tmp_path / "this-year.csv"
    days = np.arange("2027-03-01", "2027-05-01", dtype="datetime64[D]")
    this_year.write_text("\n".join(["date,tmax_c,tmin_c,rain_mm", *(f"{day},22,11,3" for day in days)]))
    (tmp_path / "plan.json").write_bytes((folder / "plan.json").read_bytes())
    words = (tmp_path, "--latitude", 47.6, "--out", tmp_path / "made", "--force")
    told = run(*words, "--weather", folder / "seattle.csv", "--recent", this_year, "--keep")
    assert "By 2027-04-30 the driest kept ground lacks" in told
    assert "of the month's minutes" in told
    assert "By 2027-04-30 it may lack" in run(*words, "--year", 2027, "--explain", "so-far.limit")
    assert "does not hold 2026-03-01" in run(*words, "--year", 2026)
    with pytest.raises(InputError, match="does not hold 2026-03-01"):
        run(*words, "--year", 2026, "--recent", this_year)


def test_without_weather_it_says_what_to_do(folder):
    with pytest.raises(InputError, match="give a weather file"):
        run(folder, "--out", folder / "none")
    with pytest.raises(InputError, match="--altitude 99000 m"):
        run(folder, "--weather", folder / "seattle.csv", "--altitude", "99000 m", "--out", folder / "none")


def test_kept_weather_need_not_be_given_again(folder):
    """Kept with a number explained by it; then another is explained without, and so are a new lawn's minutes."""
    with pytest.raises(InputError, match="give what to keep"):
        run(folder, "--keep")
    try:
        run(folder, "--weather", folder / "seattle.csv", "--latitude", 47.6, "--keep", "--explain", "water.season")
        assert (folder / "weather.csv").read_bytes() == (folder / "seattle.csv").read_bytes()
        words = ["new-lawn", str(folder), "--latitude", "47.6", "--explain", "new-lawn.1.Z1"]
        told = CliRunner().invoke(app, words, env={"COLUMNS": "200"})
        assert "multiplier by DU" in told.output
        (folder / "weather.epw").write_text("")
        with pytest.raises(InputError, match="keep one"):
            run(folder, "--explain", "water.season")
    finally:
        for name in ("weather.csv", "weather.epw"):
            (folder / name).unlink(missing_ok=True)
