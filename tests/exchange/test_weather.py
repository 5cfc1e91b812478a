"""Weather files: what is read, what is named, what is refused."""

import csv
from pathlib import Path

import numpy as np
import pvlib
import pytest
import vega_datasets

from rillwright.errors import InputError, TableError
from rillwright.exchange.weather import load_weather, read_hourly, read_normals, with_later_days

C = 273.15
PVLIB = Path(pvlib.__file__).parent / "data"
SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"


def written(tmp_path, header, lines, name="my.csv"):
    path = tmp_path / name
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return path


def days(count, first="2024-07-01", **changes):
    start = np.datetime64(first)
    rows = [[str(start + n), "25", "12", "0"] for n in range(count)]
    for key, row in changes.items():
        rows[int(key[1:])] = row
    return [",".join(row) for row in rows if row]


def rules(weather):
    return [finding.rule for finding in weather.findings]


@pytest.fixture(scope="module")
def seattle(tmp_path_factory):
    """Four open years, daily (NOAA; vega_datasets), with the units put into the names."""
    with SEATTLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lines = [
        f"{r['date'].replace('/', '-')},{r['temp_max']},{r['temp_min']},{r['precipitation']},{r['wind']}" for r in rows
    ]
    folder = tmp_path_factory.mktemp("seattle")
    return rows, written(folder, "date,tmax_c,tmin_c,rain_mm,wind_10m_m_per_s", lines)


def test_open_days_are_read_as_they_stand(seattle):
    rows, path = seattle
    weather = load_weather(path)
    assert weather.years == (2012, 2013, 2014, 2015)
    assert weather.tmax - C == pytest.approx([float(r["temp_max"]) for r in rows])
    assert weather.rain * 1e3 == pytest.approx([float(r["precipitation"]) for r in rows])
    assert weather.wind / 0.748 == pytest.approx([float(r["wind"]) for r in rows], rel=1e-3)
    assert weather.findings == ()


def test_us_units_give_the_same_weather(tmp_path):
    metric = load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm,wind_m_per_s", ["2024-07-01,30,15,25.4,2"]))
    us = load_weather(
        written(tmp_path, "date,tmax_f,tmin_f,rain_in,wind_mph", [f"2024-07-01,86,59,1,{2 * 3600 / 1609.344}"])
    )
    for name in ("tmax", "tmin", "rain", "wind"):
        assert getattr(us, name) == pytest.approx(getattr(metric, name))


def test_a_temperature_of_sixty_degrees_and_a_cold_above_the_warm_are_named_and_bridged(tmp_path):
    lines = days(60, _10=["2024-07-11", "60", "12", "0"], _20=["2024-07-21", "11", "12", "0"])
    weather = load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm", lines))
    assert rules(weather) == ["weather-nonsense", "weather-gaps"]
    assert "line 12: tmax_c 60" in weather.findings[0].what
    assert "line 22: the coldest of 2024-07-21 is above the warmest" in weather.findings[0].what
    assert "2024-07-11; 2024-07-21" in weather.findings[1].what
    assert weather.tmax[10] == pytest.approx(C + 25)


def test_a_short_gap_is_bridged_and_a_long_one_refused(tmp_path):
    lines = days(60)
    weather = load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm", lines[:20] + lines[23:]))
    assert len(weather) == 60
    assert "2024-07-21 to 2024-07-23" in weather.findings[0].what
    assert rules(weather) == ["weather-gaps", "weather-rain"]
    with pytest.raises(InputError, match=r"temperatures of 11 days are missing, 2024-07-21 to 2024-07-31"):
        load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm", lines[:20] + lines[31:]))


def test_columns_that_are_mixed_up_are_refused(tmp_path):
    lines = [f"2024-07-{n:02},12,25,0" for n in range(1, 29)]
    with pytest.raises(InputError, match="28 values cannot be weather"):
        load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm", lines))


@pytest.mark.parametrize(
    ("header", "line", "says"),
    [
        ("date,tmax,tmin_c", "2024-07-01,25,12", "column 'tmax_c' or 'tmax_f' is missing"),
        ("date,tmax_c,tmin_c,rain_mm,rain_in", "2024-07-01,25,12,0,0", "is there more than once"),
        ("date,tmax_c,tmin_c", "07/01/2024,25,12", "write a date as YEAR-MONTH-DAY"),
        ("date,tmax_c,tmin_c", "2024-07-01,warm,12", "write a number"),
        ("date,tmax_c,tmin_c,sun", "2024-07-01,25,12,1", "column 'sun' is not known"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_place(tmp_path, header, line, says):
    with pytest.raises(TableError, match=says):
        load_weather(written(tmp_path, header, [line]))


def test_a_day_that_is_there_twice_is_refused(tmp_path):
    with pytest.raises(InputError, match="2024-07-01 stands on line 2 and on line 4"):
        load_weather(written(tmp_path, "date,tmax_c,tmin_c,rain_mm", [*days(2), *days(1)]))


def test_no_file_no_suffix_and_no_folder_are_refused(tmp_path):
    for name in ("nothing.csv", "nothing.epw"):
        with pytest.raises(InputError, match="nothing"):
            load_weather(tmp_path / name)
    with pytest.raises(InputError, match=r"use \.csv or \.epw"):
        load_weather(tmp_path / "weather.xlsx")


@pytest.mark.parametrize(
    ("columns", "values", "pascal"),
    [
        ("dew_c", "12", 1402.8),  # saturation at 12 °C
        ("humidity_percent", "60", 0.6 * (3168.6 + 1402.8) / 2),  # FAO-56 equation 19
        ("humidity_max_percent,humidity_min_percent", "90,40", (0.9 * 1402.8 + 0.4 * 3168.6) / 2),  # equation 17
    ],
)
def test_humidity_in_any_of_three_ways(tmp_path, columns, values, pascal):
    """Saturation at 25 °C 3.168 and 12 °C 1.403 kPa: FAO-56 annex 2, from memory."""
    path = written(tmp_path, f"date,tmax_c,tmin_c,rain_mm,{columns}", [f"2024-07-01,25,12,0,{values}"])
    assert load_weather(path).vapour_pressure[0] == pytest.approx(pascal, rel=1e-3)


NORMALS = "month,tmax_c,tmin_c,rain_mm,rain_days"


def months(rain="60", skip=None):
    warmth = {m: 12 * np.sin((m - 4) / 6 * np.pi) for m in range(1, 13) if m != skip}
    return [f"{m},{14 + w:.1f},{3 + w:.1f},{rain},8" for m, w in warmth.items()]


def test_normals_make_a_year_that_keeps_their_means(tmp_path):
    path = written(tmp_path, NORMALS, months())
    normals, weather = read_normals(path), load_weather(path)
    month = weather.days.astype("datetime64[M]").astype(int) % 12
    assert len(weather) == 365
    assert weather.normals
    for number in range(12):
        assert weather.tmax[month == number].mean() == pytest.approx(normals.tmax[number])
        assert weather.rain[month == number].sum() == pytest.approx(0.060)
        assert (weather.rain[month == number] > 0).sum() == 8
    assert np.abs(np.diff(weather.tmax)).max() < 1.5


def test_eleven_months_are_refused(tmp_path):
    with pytest.raises(TableError, match="one line for each month from 1 to 12; 11 lines"):
        load_weather(written(tmp_path, NORMALS, months(skip=5)))


def test_a_month_that_cannot_be_is_refused(tmp_path):
    lines = months()
    lines[6] = "7,12,25,60,8"
    with pytest.raises(TableError, match="month 7: tmin is above tmax"):
        load_weather(written(tmp_path, NORMALS, lines))


def test_a_tmy3_year_is_read_with_its_place():
    """Greensboro: 36.1 °N, 273 m in the file's own first line."""
    weather = load_weather(PVLIB / "723170TYA.CSV")
    assert (weather.place.latitude, weather.place.altitude) == (36.1, 273.0)
    assert len(weather) == 365
    assert 10e6 < weather.radiation.mean() < 20e6
    assert rules(weather) == ["weather-rain"]
    assert "7045 mm in the year" in weather.findings[0].what
    assert weather.rain.sum() == 0


def test_an_epw_says_the_same_as_the_tmy3_that_it_was_made_of(tmp_path):
    """Layout as the format's public description has it, from memory: 8 head lines, 35 fields, hours 1 to 24."""
    data, told = pvlib.iotools.read_tmy3(str(PVLIB / "723170TYA.CSV"), coerce_year=2025, map_variables=True)
    head = [f"LOCATION,X,Y,Z,TMY3,0,{told['latitude']},{told['longitude']},{told['TZ']},{told['altitude']}", *["X"] * 7]
    lines = []
    for n, (end, row) in enumerate(data.iterrows()):
        start = end - np.timedelta64(1, "h")
        cells = ["0"] * 35
        cells[:6] = [str(start.year), str(start.month), str(start.day), str(n % 24 + 1), "0", "?"]
        cells[6:9] = [str(row["temp_air"]), str(row["temp_dew"]), str(row["relative_humidity"])]
        cells[13], cells[21], cells[33] = str(row["ghi"]), str(row["wind_speed"]), str(row["Lprecip depth (mm)"] / 10)
        lines.append(",".join(cells))
    epw = read_hourly(written(tmp_path, "\n".join(head), lines, name="my.epw"))
    tmy = read_hourly(PVLIB / "723170TYA.CSV")
    assert (epw.ends == tmy.ends).all()
    for name in ("temperature", "vapour_pressure", "wind", "radiation"):
        assert getattr(epw, name) == pytest.approx(getattr(tmy, name))
    assert epw.by_day().rain.sum() == pytest.approx(0.8345)


def test_a_file_that_is_no_weather_year_is_refused(tmp_path):
    with pytest.raises(InputError, match="cannot be read as an EPW file"):
        load_weather(written(tmp_path, "LOCATION,X", ["1,2,3"], name="my.epw"))
    text = (PVLIB / "723170TYA.CSV").read_text().splitlines()[:100]
    with pytest.raises(InputError, match="8760 hours"):
        load_weather(written(tmp_path, text[0], text[1:]))


def test_later_days_are_added_to_those_kept(tmp_path):
    """Days that both tell are the later table's, its columns in any order, whichever of the two begins first."""
    kept = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(20), name="kept.csv")
    rows = [f"0,{day},30,12" for day in np.arange("2024-07-19", "2024-07-26", dtype="datetime64[D]")]
    later = written(tmp_path, "rain_mm,date,tmax_c,tmin_c", rows, name="later.csv")
    joined = tmp_path / "joined.csv"
    joined.write_bytes(with_later_days(kept, later))
    found = load_weather(joined)
    assert (str(found.days[0]), str(found.days[-1])) == ("2024-07-01", "2024-07-25")
    assert found.tmax - C == pytest.approx([25.0] * 18 + [30.0] * 7)
    joined.write_bytes(with_later_days(later, kept))
    found = load_weather(joined)
    assert (str(found.days[0]), str(found.days[-1])) == ("2024-07-01", "2024-07-25")
    assert found.tmax - C == pytest.approx([25.0] * 20 + [30.0] * 5)
    assert with_later_days(None, kept) == kept.read_bytes()


@pytest.mark.parametrize(
    ("first", "length"),
    [
        ("2024-07-01", 5),  # begins with the kept one and ends before it
        ("2024-06-20", 15),  # begins before it and ends within
        ("2024-06-20", 11),  # ends on the day before it begins
        ("2024-07-05", 4),  # lies within
    ],
)
def test_no_day_that_is_kept_is_lost_to_a_file_that_ends_earlier(tmp_path, first, length):
    kept = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(20), name="kept.csv")
    rows = [f"{day},30,12,0" for day in np.datetime64(first) + np.arange(length)]
    other = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", rows, name="other.csv")
    joined = tmp_path / "joined.csv"
    joined.write_bytes(with_later_days(kept, other))
    told = {str(day): 25.0 for day in np.datetime64("2024-07-01") + np.arange(20)}
    told |= {str(day): 30.0 for day in np.datetime64(first) + np.arange(length)}
    found = load_weather(joined)
    warmest = (found.tmax - C).round(6).tolist()
    assert dict(zip(found.days.astype(str).tolist(), warmest, strict=True)) == told


def test_a_season_over_new_year_goes_on_and_another_year_begins_anew(tmp_path):
    kept = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(20, "2024-12-12"), name="kept.csv")
    on = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(5, "2025-01-01"), name="on.csv")
    assert with_later_days(kept, on).decode().count("\n") == 26
    anew = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(5, "2025-03-01"), name="anew.csv")
    assert with_later_days(kept, anew) == anew.read_bytes()


def test_other_columns_that_leave_out_no_kept_day_take_the_place_of_the_kept_ones(tmp_path):
    kept = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(20), name="kept.csv")
    whole = written(tmp_path, "date,tmax_f,tmin_f,rain_in", days(21), name="whole.csv")
    assert with_later_days(kept, whole) == whole.read_bytes()


@pytest.mark.parametrize(
    ("header", "first", "told"),
    [
        ("date,tmax_c,tmin_c,rain_mm", "2024-08-01", "2024-07-01 to 2024-07-20: give the days between"),
        ("date,tmax_c,tmin_c,rain_mm", "2024-06-20", "2024-07-01 to 2024-07-20: give the days between"),
        ("date,tmax_f,tmin_f,rain_in", "2024-06-28", "give the same columns"),
        ("date,tmax_f,tmin_f,rain_in", "2024-07-21", "give the same columns"),
    ],
)
def test_days_that_do_not_go_on_from_those_kept_are_refused(tmp_path, header, first, told):
    kept = written(tmp_path, "date,tmax_c,tmin_c,rain_mm", days(20), name="kept.csv")
    later = written(tmp_path, header, days(5, first), name="later.csv")
    with pytest.raises(InputError, match=told):
        with_later_days(kept, later)


def test_months_are_no_days_of_a_season(tmp_path):
    path = written(tmp_path, "month,tmax_c,tmin_c,rain_mm", [f"{m},20,10,50" for m in range(1, 13)])
    with pytest.raises(InputError, match="csv of days"):
        with_later_days(None, path)
