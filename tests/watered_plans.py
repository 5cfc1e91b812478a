"""A small plan to water, and open weather for it."""

import csv
from functools import cache
from pathlib import Path

import numpy as np
import vega_datasets

from plan_yards import CATALOGUE, planned, small_yard
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering import WaterTerms, make_water_plan

SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
TERMS = WaterTerms(year=2027, latitude=47.6, altitude=100.0)


def seattle_file(folder):
    """Four open years, daily (NOAA; vega_datasets), with the units put into the names."""
    path = folder / "seattle.csv"
    with SEATTLE.open(encoding="utf-8", newline="") as file, path.open("w", encoding="utf-8") as out:
        out.write("date,tmax_c,tmin_c,rain_mm,wind_10m_m_per_s\n")
        for r in csv.DictReader(file):
            day = r["date"].replace("/", "-")
            out.write(f"{day},{r['temp_max']},{r['temp_min']},{r['precipitation']},{r['wind']}\n")
    return path


def seattle_days():
    """Days, and their least and greatest temperatures [K], of those years."""
    with SEATTLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    days = np.array([row["date"].replace("/", "-") for row in rows], dtype="datetime64[D]")
    low, high = (np.array([float(row[name]) for row in rows]) + 273.15 for name in ("temp_min", "temp_max"))
    return days, low, high


def with_facts(plan, **facts):
    """A plan whose yard says otherwise."""
    return plan.model_copy(update={"yard": plan.yard.model_copy(update=facts)})


@cache
def small_plan():
    return planned(small_yard())


def watered(folder, **facts):
    """The small plan's programme in Seattle's weather."""
    weather = load_weather(seattle_file(folder))
    return make_water_plan(with_facts(small_plan(), **facts), weather, CATALOGUE, TERMS)
