"""The parts list: as CSV in the yard's units, and by the place where parts are used."""

import csv
import io
import re
from collections import Counter

from rillwright.model.fittings import STUB
from rillwright.model.plan import Plan
from rillwright.physics.units import show, to_system, unit_name
from rillwright.report.workings.costs import part_cost, unit_price

__all__ = ["manifold_note", "parts_by_place", "parts_csv"]


def parts_csv(plan: Plan) -> str:
    """Write one row for each part: quantity, what is bought already, price, cost, and where both come from."""
    system = plan.yard.units
    money = f"({plan.yard.currency})"
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        [
            *("part", "quantity", "of it spares", "unit", "already bought"),
            *(f"price each {money}", f"cost {money}", "price from", "why"),
        ]
    )
    for line in plan.parts:
        long = line.unit == "m"
        quantity, owned = ((to_system(n, "length", system) if long else n) for n in (line.quantity, line.owned))
        figures = [
            f"{quantity:.2f}" if long else f"{quantity:g}",
            "" if long else f"{line.spare:g}",
            unit_name("length", system) if long else "piece",
            f"{owned:.2f}" if long else f"{owned:g}",
            f"{unit_price(line, plan):.4f}" if long else f"{line.price:.2f}",
            f"{part_cost(line):.2f}",
        ]
        writer.writerow([line.part, *figures, line.price_source, line.why])
    if plan.cost:
        writer.writerow(["total parts", "", "", "", "", "", f"{plan.cost.parts:.2f}", "", ""])
    return out.getvalue()


def parts_by_place(plan: Plan) -> dict[str, list[str]]:
    """What each place takes, in words: '2 x elbow PE 1/2 in'; H2 stands before H10."""
    places: dict[str, Counter[str]] = {}
    for placed in plan.placed:
        places.setdefault(placed.where, Counter())[placed.part] += placed.number
    return {
        where: [part if number == 1 else f"{number} x {part}" for part, number in places[where].items()]
        for where in sorted(places, key=_natural)
    }


def manifold_note(plan: Plan) -> str:
    """How this list counts a manifold; empty without valve places."""
    if not plan.places:
        return ""
    short, places = show(STUB, "depth", plan.yard.units), ", ".join(place.id for place in plan.places)
    return (
        f"Manifolds ({places}) are counted piece by piece as `rillwright manifold` puts them together, and it gives "
        f"their cut lists; other short pipes between fittings at {short} each."
    )


def _natural(name: str) -> list[tuple[bool, int, str]]:
    return [(word.isdigit(), int(word) if word.isdigit() else 0, word) for word in re.findall(r"\d+|\D+", name)]
