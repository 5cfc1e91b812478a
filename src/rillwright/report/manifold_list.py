"""The cut list of a manifold, as CSV, and its words."""

import csv
import io

from rillwright.model.manifold import Manifold
from rillwright.report.manifold_views import cut_list, fittings_of

__all__ = ["cut_list_csv", "manifold_told"]


def cut_list_csv(made: Manifold) -> str:
    """Every pipe to cut by letter and length, then fittings and devices, then what it all adds up to."""
    grid, out = made.grid, io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["mark", "part", "cut length", "mm", "number", "where"])
    for cut in cut_list(made):
        millimetres = f"{1000 * grid.metres(cut.length):.1f}"
        writer.writerow([cut.letter, cut.what, grid.show(cut.length), millimetres, len(cut.runs), ", ".join(cut.runs)])
    for what, number in fittings_of(made).items():
        writer.writerow(["", what, "", "", number, ""])
    for words, value in manifold_told(made):
        writer.writerow(["", f"{made.place}: {words}", value, "", "", ""])
    return out.getvalue()


def manifold_told(made: Manifold) -> list[tuple[str, str]]:
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
    return told
