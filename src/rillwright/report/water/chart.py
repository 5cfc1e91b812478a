"""One season day by day: how dry the driest kept ground gets, its limit, rain and watering."""

from datetime import date
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.dates import DateFormatter, MonthLocator

from rillwright.model.watering import WaterPlan
from rillwright.physics.units import to_system, unit_name
from rillwright.report.charts import STYLE, canvas, written

__all__ = ["draw_season"]

DRIEST, MIDDLE, LIMIT, RAIN, WATER = "#a3330b", "#8a6100", "#1d2226", "#0072B2", "#56B4E9"


def draw_season(made: WaterPlan) -> str:
    """Draw the season whose water is nearest to the mean."""
    series, unit = made.series, unit_name("depth", made.units)

    def shown(values: tuple[float, ...]) -> Any:
        return np.array([to_system(value, "depth", made.units) for value in values])

    days: Any = [date.fromisoformat(day) for day in series.days]
    with mpl.rc_context(STYLE):
        figure, axes = canvas()
        axes.set_ylabel(f"soil water lacking, rain, watering [{unit}]")
        axes.bar(days, shown(series.rain), color=RAIN, width=1.0, label="rain that counts")
        axes.bar(days, shown(series.water), bottom=shown(series.rain), color=WATER, width=1.0, label="watering")
        axes.plot(days, shown(series.depletion), color=DRIEST, linewidth=1.1, label="lacking, driest kept ground")
        axes.plot(days, shown(series.middle), color=MIDDLE, linewidth=0.8, label="lacking, ground that gets the mean")
        axes.plot(days, shown(series.limit), color=LIMIT, linewidth=0.9, linestyle="--", label="limit")
        axes.set_ylim(0, None)
        axes.set_xlim(days[0], days[-1])
        axes.xaxis.set_major_locator(MonthLocator())  # type: ignore[no-untyped-call]
        axes.xaxis.set_major_formatter(DateFormatter("%b"))  # type: ignore[no-untyped-call]
        figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=7.5)
        return written(figure, "season")
