"""Workings of how many of a part are bought: counted and spare, or cut from sticks and coils."""

import math
from collections import Counter
from collections.abc import Iterator

from rillwright.model.placed import PipeCutting
from rillwright.model.plan import PartLine, Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["counted"]

GEOMETRY = "the plan's geometry; docs/theory/parts.md"


def counted(line: PartLine, plan: Plan, key: str) -> Iterator[Working]:
    """Workings of a line's quantity, and of what it is made of."""
    cutting = next((one for one in plan.cutting if one.part == line.part), None)
    if cutting is not None:
        yield from _cut(line, cutting, plan, key)
    elif line.spare:
        yield from _spared(line, plan, key)
    else:
        dimension = "length" if line.unit == "m" else "count"
        yield Working(f"{key}.quantity", f"{line.part}: quantity", line.quantity, dimension, line.why, (), GEOMETRY)


def _spared(line: PartLine, plan: Plan, key: str) -> Iterator[Working]:
    needed, share = line.quantity - line.spare, plan.yard.rules.spare_parts
    inputs = (Given("counted", f"{needed:g}", f"{key}.counted"), Given("spares", f"{line.spare:g}", f"{key}.spare"))
    yield Working(
        f"{key}.quantity",
        f"{line.part}: quantity",
        line.quantity,
        "count",
        "counted + spares",
        inputs,
        "",
        line.quantity,
    )
    yield Working(f"{key}.counted", f"{line.part}: counted", needed, "count", line.why, (), GEOMETRY)
    yield Working(
        f"{key}.spare",
        f"{line.part}: spares",
        line.spare,
        "count",
        "share of spares · counted, to the nearest whole",
        (Given("share of spares", f"{share:.0%}"), inputs[0]),
        "rules.spare_parts of the yard",
        float(math.floor(share * needed + 0.5)),
    )


def _cut(line: PartLine, cutting: PipeCutting, plan: Plan, key: str) -> Iterator[Working]:
    """Pipe: sticks and coils, the pieces cut from them, and the least that any cutting plan buys."""
    system = plan.yard.units
    forms = Counter((cut.form, cut.length) for cut in cutting.cuts)
    inputs = [
        Given(f"{form}s of {show(length, 'length', system)}", str(number)) for (form, length), number in forms.items()
    ]
    if line.owned:
        inputs.append(Given("in the ground and kept", show(line.owned, "length", system), f"{key}.owned"))
    inputs += [
        Given("pieces", show(cutting.laid, "length", system), f"{key}.pieces"),
        Given("least that can be bought", show(cutting.bound, "length", system), f"{key}.bound"),
    ]
    formula = f"whole sticks and coils, and what is in the ground; {line.why}"
    again = cutting.bought + line.owned
    yield Working(
        f"{key}.quantity", f"{line.part}: quantity", line.quantity, "length", formula, tuple(inputs), GEOMETRY, again
    )
    title = f"{line.part}: length of all pieces"
    formula = "runs less what fittings take up, risers, and short pieces between fittings"
    yield Working(f"{key}.pieces", title, cutting.laid, "length", formula, (), "docs/reference/fittings.md")
    title = f"{line.part}: least that can be bought"
    end = "the plan buys no more" if cutting.status == "optimal" else "the plan may buy more than it must"
    formula = f"bound on every cutting plan, by volume, long pieces and the relaxed master problem; {end}"
    yield Working(f"{key}.bound", title, cutting.bound, "length", formula, (), "docs/theory/parts.md")
