"""The programme by months as CSV, in the yard's units."""

import csv
import io

from rillwright.model.watering import WaterPlan
from rillwright.physics.units import to_system, unit_name

__all__ = ["water_csv"]


def water_csv(made: WaterPlan) -> str:
    """Write a row for each month: weather, nights, minutes of each zone a night, water."""
    units = made.units
    depth, volume = unit_name("depth", units), unit_name("season volume", units)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        [
            "month",
            f"reference ET ({depth})",
            f"turf needs ({depth})",
            f"rain that counts ({depth})",
            "nights",
            "nights planned",
            "nights run",
            *(f"{zone.id} station {zone.station} (min a night)" for zone in made.zones),
            f"water ({volume})",
            "percent of the peak month",
        ]
    )
    for month in made.months:
        depths = (month.reference, month.need, month.effective)
        writer.writerow(
            [
                month.month,
                *(f"{to_system(value, 'depth', units):.2f}" for value in depths),
                month.nights,
                f"{month.planned:.1f}",
                f"{month.run:.1f}",
                *(f"{month.seconds[zone.id] / 60:.0f}" for zone in made.zones),
                f"{to_system(month.water, 'season volume', units):.2f}",
                f"{month.percent:.0f}",
            ]
        )
    return out.getvalue()
