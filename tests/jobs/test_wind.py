"""Wind in the hours of a night."""

from pathlib import Path

import numpy as np
import pvlib
import pytest

from rillwright.exchange.weather import load_weather, read_hourly
from rillwright.jobs.watering.wind import calm_hours
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
    found = calm_hours(weather(HOURS), (6, 7), Watering(hours=4 * 3600.0, ends="06:00"))
    assert found.mean == pytest.approx((1 + 1 + 2 + 3) / 4)
    assert (found.calmest_opens, found.calmest_ends) == ("01:00", "05:00")  # 1 1 1 2; 00:00 to 04:00 has 2 1 1 1 too
    assert found.calmest == pytest.approx(5 / 4)


def test_every_other_window_blows_no_less():
    """By trial: each start of the night by half hours."""
    found = calm_hours(weather(HOURS), (7,), Watering(hours=3 * 3600.0))
    fine = np.repeat(HOURS, 60)
    tried = [fine[np.arange(start, start + 180) % 1440].mean() for start in range(1200, 1440 + 600 - 180 + 1, 30)]
    assert found.calmest == pytest.approx(min(tried))


def test_forbidden_minutes_do_not_count_and_a_rule_of_dates_keeps_to_its_date():
    hours = np.where(np.arange(24) >= 20, 0.0, HOURS)
    free = calm_hours(weather(hours), (7,), Watering(hours=2 * 3600.0, forbidden=[Span(begins="04:00", ends="05:00")]))
    assert free.mean == 3.0
    assert free.calmest == 0.0
    dated = calm_hours(weather(hours), (7,), Watering(hours=2 * 3600.0, dates="odd"))
    assert dated.calmest_opens == "02:00"  # of two alike the later, nearer to six


def test_days_alone_tell_no_hours():
    assert calm_hours(weather(None), (7,), Watering()) is None


def test_hours_of_an_open_typical_year():
    """Greensboro, TMY3: by hand from the file's own hours of July; winds fall at night."""
    hourly, found = read_hourly(TMY3), load_weather(TMY3)
    start = hourly.ends - np.timedelta64(1, "h")
    july = start.astype("datetime64[M]").astype(int) % 12 == 6
    three = (start - start.astype("datetime64[D]")).astype("timedelta64[h]").astype(int) == 3
    assert found.wind_by_hour[6, 3] == pytest.approx(hourly.wind[july & three].mean())
    assert found.wind_by_hour[:, 3].mean() < found.wind_by_hour[:, 14].mean()
    assert found.wind_by_hour.mean() == pytest.approx(found.wind.mean(), rel=0.01)
