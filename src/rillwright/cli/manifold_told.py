"""The bench on the command line, in words: terms as typed, and what was put together."""

import difflib
import re
from collections.abc import Sequence

from pydantic import ValidationError
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from rillwright.cli.options import refused
from rillwright.cli.summary import print_working
from rillwright.errors import InputError, NotExplainedError
from rillwright.model.manifold import BenchTerms, DoorSwing, Manifold, Space
from rillwright.model.plan import Plan
from rillwright.physics.units import System, parse, unit_name
from rillwright.report.manifold_list import manifold_cautions, manifold_told
from rillwright.report.manifold_views import cut_list, fittings_of
from rillwright.report.workings.manifold import manifold_workings

__all__ = ["explain_manifold", "print_manifold", "read_space", "read_terms", "tape"]


def tape(option: str, text: str, system: System) -> float:
    """Read a length [m]; a bare number is in inches or millimetres. Errors: InputError."""
    bare = re.fullmatch(r"\d*\.?\d+", text.strip())
    try:
        length = parse(f"{text.strip()} {unit_name('bore', system)}" if bare else text, "length")
    except InputError as error:
        raise InputError(f"{option} {text}: {error}") from None
    if length < 0:
        raise InputError(f"{option} {text}: a length here is 0 or more")
    return length


def read_space(text: str, *, wall: str, doors: Sequence[str], taps: Sequence[str], system: System) -> Space | None:
    """Read the space as typed: 'LENGTH x WIDTH' or 'LENGTH x WIDTH x DEPTH'. Errors: InputError."""
    if not text:
        if wall or doors or taps:
            raise InputError("--wall, --door and --tap are measured in a space: give --space too")
        return None
    sizes = [tape("--space", part, system) for part in re.split(r"\s+x\s+|\s*×\s*", text.strip())]
    if len(sizes) not in (2, 3):
        raise InputError(
            f"--space {text}: write 'LENGTH x WIDTH' or 'LENGTH x WIDTH x DEPTH', such as '30 in x 20 in x 12 in'"
        )
    swings = [_numbers("--door", door, 3, system) for door in doors]
    return Space(
        length=sizes[0],
        width=sizes[1],
        depth=sizes[2] if len(sizes) == 3 else None,
        wall=tape("--wall", wall, system) if wall else None,
        doors=tuple(DoorSwing(x=x, y=y, radius=radius) for x, y, radius in swings),
        taps=tuple((x, y) for x, y in (_numbers("--tap", tap, 2, system) for tap in taps)),
    )


def read_terms(**given: object) -> BenchTerms:
    """Read the terms as typed. Errors: InputError that names the option, what stands there and what may stand."""
    try:
        return BenchTerms.model_validate(given)
    except ValidationError as error:
        raise refused(error) from None


def _numbers(option: str, text: str, count: int, system: System) -> list[float]:
    parts = [part for part in text.split(",") if part.strip()]
    if len(parts) != count:
        wanted = "X, Y, RADIUS" if count == 3 else "X, Y"
        raise InputError(
            f"{option} {text}: write '{wanted}', lengths with commas between, such as '12 in, 0 in, 30 in'"
        )
    return [tape(option, part.strip(), system) for part in parts]


def print_manifold(made: Manifold, plan: Plan) -> None:
    """Print what a manifold measures, what is cut for it, and what must be mended first."""
    console = Console()
    console.print(f"Manifold {escape(made.place)}", style="bold")
    for finding in made.findings:
        style = "red" if finding.severity == "must" else "yellow"
        console.print(f"{finding.severity}: {finding.what} {finding.do}", style=style, highlight=False)
    for name, value in manifold_told(made, plan):
        console.print(f"{name}: {value}", highlight=False)
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in ("", "number", "cut to", "pipe", "where"):
        table.add_column(column, justify="right" if column in ("number", "cut to") else "left")
    for cut in cut_list(made):
        where = ", ".join(dict.fromkeys(cut.runs))
        table.add_row(cut.letter, str(len(cut.runs)), made.grid.show(cut.length), cut.what, escape(where))
    console.print(table)
    fittings = ", ".join(f"{number} {what}" for what, number in fittings_of(made).items())
    console.print(f"Fittings and devices: {fittings}", highlight=False)
    for caution in manifold_cautions(made):
        console.print(caution, highlight=False, style="yellow")


def explain_manifold(made: Sequence[Manifold], plan: Plan, what: str) -> None:
    """Print the working of one number of the manifolds. Errors: NotExplainedError, with names near a wrong one."""
    found = {working.key.lower(): working for one in made for working in manifold_workings(one)}
    if what.strip().lower() not in found:
        near = difflib.get_close_matches(what.lower(), found, n=8, cutoff=0.3) or list(found)[:8]
        raise NotExplainedError(what, tuple(found[name].key for name in near))
    print_working(plan, found[what.strip().lower()])
