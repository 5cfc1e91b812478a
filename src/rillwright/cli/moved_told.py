"""What one head set otherwise changes, as a table of before and after."""

import re
from collections.abc import Iterator

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from rillwright.errors import InputError
from rillwright.jobs.move import Moved
from rillwright.model.plan import Plan
from rillwright.physics.units import System, from_system, parse, show

__all__ = ["print_moved", "read_place"]

Row = tuple[str, str, str]  # what, before, after


def read_place(text: str, system: System) -> tuple[float, float]:
    """Read 'X,Y' [m]; bare numbers are in the yard's units. Errors: InputError."""
    words = text.split(",")
    if len(words) != 2:
        raise InputError(f"--at {text}: write two lengths with a comma between, such as 12.5,30")
    x, y = (_length(word.strip(), system) for word in words)
    return x, y


def _length(word: str, system: System) -> float:
    if re.fullmatch(r"[-+]?\d*\.?\d+", word):
        return from_system(float(word), "length", system)
    return parse(word, "length")


def print_moved(before: Plan, moved: Moved, head: str) -> None:
    """Print what a move changes: figures, then findings that come and go."""
    console = Console()
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column, justify in (("", "left"), ("in the plan", "right"), ("as tried", "right")):
        table.add_column(column, justify=justify, no_wrap=True)  # type: ignore[arg-type]
    rows = [row for row in _rows(before, moved.plan, head) if row[1] != row[2]]
    for row in rows:
        table.add_row(*map(escape, row))
    if rows:
        console.print(table)
    else:
        console.print("Nothing changes in the figures that are shown.")
    for title, findings in (("New findings", moved.new), ("Findings gone", moved.gone)):
        if findings:
            console.print(f"\n{title}", style="bold")
        for finding in findings:
            words = f"{finding.severity}  {finding.where}: {finding.what}"
            console.print(words, highlight=False, markup=False)
    console.print(
        "\nPipes, sizes and valve settings stay as planned; parts, cost and certainty are not counted anew.",
        style="dim",
    )


def _rows(before: Plan, after: Plan, head: str) -> Iterator[Row]:
    system = before.yard.units

    def row(what: str, dimension: str, one: float, two: float) -> Row:
        return what, show(one, dimension, system), show(two, dimension, system)

    heads = [next(h for h in plan.heads if h.id == head) for plan in (before, after)]
    yield row(f"{head} pressure", "pressure", *(h.pressure for h in heads))
    yield row(f"{head} flow", "flow", *(h.flow for h in heads))
    yield row(f"{head} throw", "length", *(h.radius for h in heads))
    for old, new in zip(before.zones, after.zones, strict=True):
        yield row(f"{old.id} flow", "flow", old.flow, new.flow)
        yield row(f"{old.id} least pressure", "pressure", old.pressure_low, new.pressure_low)
        yield row(f"{old.id} on the poor supply", "pressure", old.cautious_low, new.cautious_low)
    for was, now in zip(before.lawns, after.lawns, strict=True):
        yield row(f"{was.id} DU", "share", was.evenness.du, now.evenness.du)
        yield row(f"{was.id} CU", "share", was.evenness.cu, now.evenness.cu)
        coefficients = (f"{lawn.evenness.scheduling:.2f}" for lawn in (was, now))
        yield (f"{was.id} scheduling coefficient", *coefficients)  # type: ignore[misc]
        for what, one, two in (
            ("paving", was.on_paving, now.on_paving),
            ("buildings", was.on_building, now.on_building),
            ("ground off the site", was.off_site, now.off_site),
        ):
            yield row(f"{was.id} water on {what}", "flow", one, two)
