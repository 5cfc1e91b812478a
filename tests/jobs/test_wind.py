"""Wind in the hours of a night, and the clock that they are told by."""

from datetime import date
from pathlib import Path

import numpy as np
import pvlib
import pytest
from pydantic import ValidationError

from rillwright.exchange.weather import load_weather, read_hourly
from rillwright.jobs.watering.wind import calm_hours
from rillwright.jobs.watering.zone_clock import by_the_clock, clock_changes
from rillwright.model.growing import Span, Watering
from rillwright.model.weather import DailyWeather, Place

TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
HOURS = np.array([2, 1, 1, 1, 2, 3, 4, 5, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 5, 4, 3, 3, 3, 2], dtype=float)


def weather(hours):
    """A year whose every month blows by the same hours."""
    none = np.full(365, np.nan)
    days = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    by_hour = None if hours is None else np.tile(hours, (12, 1))
    return DailyWeather("test", Place(), days, none, none, none, none, none, none, none, wind_by_hour=by_hour)


def test_the_calmest_hours_of_a_night_and_those_of_the_yard():
    found = calm_hours(weather(HOURS), (6, 7), Watering(hours=4 * 3600.0, ends="06:00"), year=2027)
    assert found.mean == pytest.approx((1 + 1 + 2 + 3) / 4)
    assert (found.calmest_opens, found.calmest_ends) == ("01:00", "05:00")  # 1 1 1 2; 00:00 to 04:00 has 2 1 1 1 too
    assert found.calmest == pytest.approx(5 / 4)


def test_every_other_window_blows_no_less():
    """By trial: each start of the night by half hours."""
    found = calm_hours(weather(HOURS), (7,), Watering(hours=3 * 3600.0), year=2027)
    fine = np.repeat(HOURS, 60)
    tried = [fine[np.arange(start, start + 180) % 1440].mean() for start in range(1200, 1440 + 600 - 180 + 1, 30)]
    assert found.calmest == pytest.approx(min(tried))


def test_forbidden_minutes_do_not_count_and_a_rule_of_dates_keeps_to_its_date():
    hours = np.where(np.arange(24) >= 20, 0.0, HOURS)
    free = calm_hours(
        weather(hours), (7,), Watering(hours=2 * 3600.0, forbidden=[Span(begins="04:00", ends="05:00")]), year=2027
    )
    assert free.mean == 3.0
    assert free.calmest == 0.0
    dated = calm_hours(weather(hours), (7,), Watering(hours=2 * 3600.0, dates="odd"), year=2027)
    assert dated.calmest_opens == "02:00"  # of two alike the later, nearer to six


def test_days_alone_tell_no_hours():
    assert calm_hours(weather(None), (7,), Watering(), year=2027) is None


def test_hours_of_an_open_typical_year():
    """Greensboro, TMY3: by hand from the file's own hours of July; winds fall at night."""
    hourly, found = read_hourly(TMY3), load_weather(TMY3)
    start = hourly.ends - np.timedelta64(1, "h")
    july = start.astype("datetime64[M]").astype(int) % 12 == 6
    three = (start - start.astype("datetime64[D]")).astype("timedelta64[h]").astype(int) == 3
    assert found.wind_by_hour[6, 3] == pytest.approx(hourly.wind[july & three].mean())
    assert found.wind_by_hour[:, 3].mean() < found.wind_by_hour[:, 14].mean()
    assert found.wind_by_hour.mean() == pytest.approx(found.wind.mean(), rel=0.01)


def test_clocks_change_by_the_law_of_the_zone():
    """In 2027 US law (Energy Policy Act 2005) sets clocks on 14 March and 7 November; in Berlin (2000/84/EC) the last
    Sundays of March and October; Phoenix keeps standard time."""

    def turns(zone):
        return [(one.day, one.minutes) for one in clock_changes(zone, date(2027, 1, 1), date(2027, 12, 31))]

    assert turns("America/Chicago") == [(date(2027, 3, 14), 60), (date(2027, 11, 7), -60)]
    assert turns("Europe/Berlin") == [(date(2027, 3, 28), 60), (date(2027, 10, 31), -60)]
    assert turns("America/Phoenix") == turns(None) == []


def test_wind_is_told_by_the_controllers_clock():
    """Calm from 01 to 05 of standard time is calm from 02 to 06 by a clock an hour ahead; March 2027 has 13 of 31 days
    before the change, and a file of the zone to the west one hour more."""
    summer = Watering(hours=4 * 3600.0, ends="06:00", time_zone="America/Chicago")
    found = calm_hours(weather(HOURS), (6, 7), summer, year=2027)
    assert (found.calmest_opens, found.calmest_ends) == ("02:00", "06:00")
    assert found.mean == found.calmest == pytest.approx(5 / 4)

    def march(place):
        told = by_the_clock(np.tile(HOURS, (12, 1)), zone="America/Chicago", place=place, months=(3,), year=2027)
        return told[5 * 60 + 30]

    assert march(Place()) == march(Place(utc_offset=-6.0)) == pytest.approx((13 * HOURS[5] + 18 * HOURS[4]) / 31)
    assert march(Place(utc_offset=-7.0)) == pytest.approx((13 * HOURS[4] + 18 * HOURS[3]) / 31)


@pytest.mark.parametrize("name", ["America/Nowhere", "America", "../etc/passwd", ""])
def test_a_zone_that_is_none_says_how_to_write_one(name):
    with pytest.raises(ValidationError, match="IANA database, such as America/Denver"):
        Watering(time_zone=name)
