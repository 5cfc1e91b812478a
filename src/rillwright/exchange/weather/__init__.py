"""Weather in: daily tables (CSV), hourly weather years (EPW, TMY3) and monthly normals typed by hand."""

from pathlib import Path

from rillwright.errors import InputError
from rillwright.exchange.weather.mend import mended
from rillwright.exchange.weather.recent import with_later_days
from rillwright.exchange.weather.tables import is_normals, read_daily, read_normals
from rillwright.exchange.weather.years import is_hourly, read_hourly
from rillwright.model.weather import DailyWeather, Place, daily_from_normals

__all__ = ["is_normals", "load_weather", "read_daily", "read_hourly", "read_normals", "with_later_days"]

NORMAL_YEAR = 2025  # that monthly normals are laid out on: no leap year


def load_weather(path: Path) -> DailyWeather:
    """Read weather by days from a file: .epw, or .csv that holds days, monthly normals or a TMY3 year.

    What was missing or nonsense is left out, bridged where that is short, and named in the findings.
    Errors: InputError or TableError for what cannot be read or bridged.
    """
    if path.suffix.lower() not in (".csv", ".epw"):
        raise InputError(f"{path} is no kind of weather file this program reads: use .csv or .epw")
    if is_hourly(path):
        return mended(read_hourly(path).by_day())
    if is_normals(path):
        return daily_from_normals(read_normals(path), place=Place(), year=NORMAL_YEAR)
    return mended(read_daily(path))
