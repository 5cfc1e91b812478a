"""The drawing set at the command line."""

import numpy as np
import pypdf
import pytest
from typer.testing import CliRunner

from drawn_plans import plan_named
from rillwright.cli.main import app
from rillwright.errors import InputError

RUN = CliRunner()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("plan")
    (out / "plan.json").write_text(plan_named("crowded US").model_dump_json())
    return out


def test_sheets_are_written_for_the_paper_and_replaced_whole(folder, tmp_path):
    words = ["sheets", str(folder), "--out", str(tmp_path), "--only", "cover,pipes"]
    done = RUN.invoke(app, [*words, "--paper", "tabloid", "--scale", "1 in = 10 ft", "--date", "2027-05-08", "--svg"])
    assert done.exit_code == 0, done.output
    pages = pypdf.PdfReader(tmp_path / "sheets.pdf").pages
    assert (float(pages[0].mediabox.width), float(pages[0].mediabox.height)) == pytest.approx((17 * 72, 11 * 72))
    text = " ".join(page.extract_text() for page in pages)
    assert "2027-05-08" in text
    assert "1 in = 10 ft on tabloid" in text
    svgs = sorted(path.name for path in tmp_path.glob("*.svg"))
    assert svgs == [f"sheet-{number:02d}.svg" for number in range(1, len(pages) + 1)]
    again = RUN.invoke(app, words)
    assert isinstance(again.exception, InputError)
    assert "already holds sheets.pdf" in str(again.exception)
    assert RUN.invoke(app, [*words, "--force"]).exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["sheets.pdf"]
    assert "letter" in pypdf.PdfReader(tmp_path / "sheets.pdf").pages[0].extract_text()


def test_daily_weather_dates_the_winter_card(folder, tmp_path):
    """Invented winters, each with its first hard frost on 10 November and its last on 20 March."""
    days = np.arange("2010-07-01", "2022-07-01", dtype="datetime64[D]")
    frosty = {f"{month:02d}-{day:02d}" for month, day in ((11, 10), (1, 15), (3, 20))}
    lines = [f"{day},10,{-12 if str(day)[5:] in frosty else 4}" for day in days]
    weather = tmp_path / "weather.csv"
    weather.write_text("\n".join(["date,tmax_c,tmin_c", *lines]))
    words = ["sheets", str(folder), "--out", str(tmp_path), "--only", "winter", "--date", "2027-05-08"]
    undated, dated = (_printed(words + more, tmp_path) for more in ([], ["--weather", str(weather), "--force"]))
    assert "November" not in undated
    assert "Drain by Monday 8 November 2027" in dated  # some nights before the first that harms
    assert "Start up after Tuesday 21 March 2028" in dated


def _printed(words, folder):
    done = RUN.invoke(app, words)
    assert done.exit_code == 0, done.output
    return " ".join(page.extract_text() for page in pypdf.PdfReader(folder / "sheets.pdf").pages)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--paper", "b5"], "--paper b5: write one of a4, a3, letter, tabloid"),
        (["--scale", "large"], "--scale large: write a scale such as 1:100"),
        (["--only", "cover,rooms"], "there are no sheets 'rooms': choose from cover, heads, pipes"),
        (["--date", "8 May"], "--date 8 May: write a date as YEAR-MONTH-DAY"),
        (["--scale", "1:5", "--only", "heads"], "choose a smaller scale or larger paper"),
    ],
)
def test_what_cannot_be_printed_is_refused_and_nothing_written(folder, tmp_path, words, says):
    done = RUN.invoke(app, ["sheets", str(folder), "--out", str(tmp_path / "set"), *words])
    assert isinstance(done.exception, InputError)
    assert says in str(done.exception)
    assert not (tmp_path / "set").exists()


def test_sheets_that_cannot_be_worked_out_are_left_out_and_the_cover_says_why(tmp_path):
    made = plan_named("crowded")
    strange = [head.model_copy(update={"nozzle": "none that we know"}) for head in made.heads]
    (tmp_path / "plan.json").write_text(made.model_copy(update={"heads": tuple(strange)}).model_dump_json())
    words = ["sheets", str(tmp_path), "--out", str(tmp_path / "set"), "--only"]
    done = RUN.invoke(app, [*words, "cover,sections,parts,wire"])
    assert done.exit_code == 0, done.output
    text = pypdf.PdfReader(tmp_path / "set" / "sheets.pdf").pages[0].extract_text().replace("\n", " ")
    assert "Not in this set: sections: no chart here holds none that we know" in text
    assert "Not in this set: wire: this plan holds none" in text
    alone = RUN.invoke(app, [*words, "sections", "--force"])
    assert isinstance(alone.exception, InputError)
    assert "nothing to draw of sections: sections: no chart here holds none that we know" in str(alone.exception)
