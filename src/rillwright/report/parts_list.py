"""The parts list as CSV, in the yard's units."""

import csv
import io

from rillwright.model.plan import Plan
from rillwright.physics.units import to_system, unit_name

__all__ = ["parts_csv"]


def parts_csv(plan: Plan) -> str:
    """Write one row for each part: quantity, what is bought already, price, cost, and where both come from."""
    system = plan.yard.units
    metres = to_system(1.0, "length", system)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        [
            "part",
            "quantity",
            "unit",
            "already bought",
            f"price each ({plan.yard.currency})",
            "cost",
            "price from",
            "why",
        ]
    )
    for line in plan.parts:
        scale = metres if line.unit == "m" else 1.0
        unit = unit_name("length", system) if line.unit == "m" else "piece"
        cost = max(0.0, line.quantity - line.owned) * line.price
        row = [
            f"{line.quantity * scale:.4g}",
            unit,
            f"{line.owned * scale:g}",
            f"{line.price / scale:.2f}",
            f"{cost:.2f}",
        ]
        writer.writerow([line.part, *row, line.price_source, line.why])
    if plan.cost:
        writer.writerow(["total parts", "", "", "", "", f"{plan.cost.parts:.2f}", "", ""])
    return out.getvalue()
