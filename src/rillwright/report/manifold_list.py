"""The cut list of a manifold, as CSV, and its words."""

import csv
import io
from collections import Counter

from rillwright.model.manifold import COUNTED_APART, Manifold
from rillwright.model.placed import AFTER_VALVES, AT_DEVICES, BOX, IN_MANIFOLD, MAIN_IN, MAIN_ON, OVER_VALVES
from rillwright.model.plan import Plan
from rillwright.report.manifold_views import cut_list, fittings_of

__all__ = ["cut_list_csv", "manifold_cautions", "manifold_told"]

_CEMENT = "Solvent cement and primer give off harmful, flammable vapour: open air, no flame, gloves."
_TORCH = "Soldering: open flame; clear the ground, keep water at hand; a licensed person where the law says so."


def cut_list_csv(made: Manifold, plan: Plan) -> str:
    """Every pipe to cut by letter and length, then fittings and devices, then what it all adds up to."""
    grid, out = made.grid, io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["mark", "part", "cut length", "mm", "number", "where"])
    for finding in (finding for finding in made.findings if finding.severity == "must"):
        writer.writerow(["", f"mend before you cut: {finding.what}", finding.do, "", "", ""])
    for cut in cut_list(made):
        millimetres = f"{1000 * grid.metres(cut.length):.1f}"
        writer.writerow([cut.letter, cut.what, grid.show(cut.length), millimetres, len(cut.runs), ", ".join(cut.runs)])
    for what, number in fittings_of(made).items():
        writer.writerow(["", what, "", "", number, ""])
    for words, value in manifold_told(made, plan):
        writer.writerow(["", f"{made.place}: {words}", value, "", "", ""])
    return out.getvalue()


def manifold_cautions(made: Manifold) -> tuple[str, ...]:
    """What can hurt at this manifold: glue where PVC is joined, the torch where copper is."""
    named = {word for run in made.runs for piece in run.pieces for word in piece.what.split()}
    return (
        "Lay the bought parts side by side and measure before the first cut: valves, unions and adapters differ.",
        *((_CEMENT,) if "PVC" in named else ()),
        *((_TORCH,) if "copper" in named else ()),
        "Backflow protection keeps drinking water clean: kind, height and test are set by local code.",
    )


def manifold_told(made: Manifold, plan: Plan) -> list[tuple[str, str]]:
    """What a builder asks of a manifold, in words: name and value."""
    grid, levels = made.grid, made.heights
    length, width, height = (high - low for low, high in zip(made.low, made.high, strict=True))
    told = [
        ("header", f"{made.material} {made.size}"),
        ("whole length, width, height", ", ".join(map(grid.show, (length, width, height)))),
        ("first to last valve, axis to axis", grid.show(made.span)),
        ("header under the ground", grid.show(-levels.header)),
        ("highest part over the ground", grid.show(levels.top)),
    ]
    if levels.critical is not None and levels.outlet is not None and levels.needed is not None:
        told.append(
            ("critical level over the ground", f"{grid.show(levels.critical)}; least {grid.show(levels.needed)}")
        )
        told.append(("critical level over the highest outlet", grid.show(levels.critical - levels.outlet)))
    if made.fit is not None:
        space = made.fit.space
        name = f"{made.fit.cover} box" if made.fit.cover else "the space given"
        size = " by ".join(grid.show(grid.near(side)) for side in (space.length, space.width))
        turned = f", turned by {made.fit.turned}°" if made.fit.turned else ""
        told.append(("fits" if made.fit.fits else "does not fit", f"{name}, {size} inside{turned}"))
    return told + _lies(made, plan) + _bought(made, plan)


def _lies(made: Manifold, plan: Plan) -> list[tuple[str, str]]:
    """How it lies in the yard, and the elbows that turn its openings into the pipes of the plan."""
    if made.facing is None:
        return []
    if made.terms.rows == "both sides":
        valves = "valves on both sides"
    else:
        valves = f"valves on the {'left' if made.facing.side > 0 else 'right'}"
    lies = {0: "on from the main", 1: "turned left from the main", -1: "turned right from the main"}
    runs = [made.facing.towards, *([lies[made.facing.quarters]] if made.facing.quarters in lies else [])]
    places = {made.place: (MAIN_IN, MAIN_ON), **{spot.zone: (AFTER_VALVES,) for spot in made.valves}}
    outside = [
        f"{one.part} {one.where if one.why == AFTER_VALVES else one.why.removesuffix(' at the manifold')}"
        for one in plan.placed
        if one.part.startswith("elbow") and one.why in places.get(one.where, ())
        for _ in range(one.number)
    ]
    return [
        ("header runs", f"{', '.join(runs)}; looking along it, {valves}"),
        ("elbows outside it, in the parts list", ", ".join(outside) or "none"),
    ]


def _bought(made: Manifold, plan: Plan) -> list[tuple[str, str]]:
    """Whether the plan's parts list holds its fittings, and else how they differ."""
    places = (made.place, *(spot.zone for spot in made.valves))
    whys = (IN_MANIFOLD, AT_DEVICES, *([OVER_VALVES] if made.fit else []))
    counted: Counter[str] = Counter()
    for placed in plan.placed:
        if placed.where in places and placed.why in whys:
            counted[placed.part] += placed.number
    pieces = (piece for run in made.runs for piece in run.pieces)
    here = Counter(piece.what for piece in pieces if piece.kind not in COUNTED_APART)
    if made.fit is not None and made.fit.cover:
        here[f"{BOX}{made.fit.cover}"] += 1
    if here == counted:
        return [("to buy", "all of it is in the plan's parts list")]
    changes = (("beyond the parts list", here - counted), ("in the parts list only", counted - here))
    told = [("to buy", "on these terms it differs from the plan's parts list")]
    return told + [(name, _listed(parts)) for name, parts in changes if parts]


def _listed(parts: Counter[str]) -> str:
    return ", ".join(part if number == 1 else f"{number} x {part}" for part, number in parts.items())
