"""The field log at the command line: `rillwright log add`, `list`, `correct` and `export`."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.cli.options import Charts
from rillwright.errors import InputError

if TYPE_CHECKING:
    from rillwright.model.plan import Plan
    from rillwright.physics.units import System

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Keep the field log: add, list, correct and export its entries.")

LogFile = Annotated[Path, typer.Argument(help="Field log: JSON lines, one entry a line")]
PlanFile = Annotated[
    Path | None, typer.Option(help="plan.json that is being built, or its folder: checks, what changes")
]
Units = Annotated[str | None, typer.Option(help="US or metric: units of bare numbers; the plan's when left out")]
Words = Annotated[list[str] | None, typer.Argument(help="FIELD=VALUE, by the kind; see docs/how-to/keep-the-log.md")]
Sure = Annotated[bool, typer.Option("--sure", help="It is as it says: keep it though it looks odd")]


@app.command()
def add(
    log: LogFile,
    kind: Annotated[str, typer.Argument(help="Kind of entry, such as 'bucket fill' or 'leak watch'")],
    fields: Words = None,
    words: Annotated[str, typer.Option(help="Words that go with it")] = "",
    at: Annotated[str, typer.Option(help="Where on the plan, 'X,Y'")] = "",
    made: Annotated[str, typer.Option(help="When, as 2027-05-08 or 2027-05-08T14:30; now when left out")] = "",
    photo: Annotated[list[Path] | None, typer.Option(help="Photo to keep beside the log; repeat")] = None,
    plan: PlanFile = None,
    units: Units = None,
    sure: Sure = False,
    charts: Charts = None,
) -> None:
    """Write an entry at the end of a log; it is on the disk before this says so."""
    from rillwright.cli.log_written import write_down
    from rillwright.cli.typed_entry import made_entry, new_entry, typed_what

    built, system = _about(plan, units)
    what = typed_what(kind, fields or [], system=system)
    if kind == "note" and not (words.strip() or photo):
        raise InputError("a note needs --words or a --photo")
    entry = made_entry(new_entry(what, words=words, at=at, made=made), system=system)
    write_down(
        log,
        entry,
        plan=built,
        system=system,
        sure=sure,
        charts=charts,
        photos=photo or [],
    )


@app.command("list")
def list_entries(
    log: LogFile,
    every: Annotated[bool, typer.Option("--all", help="First values and withdrawn entries too")] = False,
    plan: PlanFile = None,
    units: Units = None,
) -> None:
    """Show what counts of a log, in its order."""
    from rillwright.cli.log_shown import print_log
    from rillwright.exchange.log_file import read_log

    _, system = _about(plan, units)
    entries, rest = read_log(log)
    print_log(entries, system or "metric", every=every)
    if rest:
        typer.echo("The last line has no end and is no entry: nobody was told that it is kept.", err=True)


@app.command()
def correct(
    log: LogFile,
    entry: Annotated[str, typer.Argument(help="Id of the entry, or how it begins")],
    fields: Words = None,
    words: Annotated[str | None, typer.Option(help="Words in place of those before")] = None,
    made: Annotated[str, typer.Option(help="When it was so, as 2027-05-08; as before when left out")] = "",
    photo: Annotated[list[Path] | None, typer.Option(help="Photo to add; repeat")] = None,
    withdraw: Annotated[
        bool, typer.Option("--withdraw", help="It counts no longer, and nothing takes its place")
    ] = False,
    plan: PlanFile = None,
    units: Units = None,
    sure: Sure = False,
    charts: Charts = None,
) -> None:
    """Put an entry right: the first value stays in the log beside the right one."""
    from rillwright.cli.log_written import corrected, write_down
    from rillwright.exchange.log_file import read_log

    built, system = _about(plan, units)
    right = corrected(
        read_log(log)[0],
        entry,
        fields or [],
        words=words,
        made=made,
        photos=bool(photo),
        withdraw=withdraw,
        system=system,
    )
    write_down(
        log,
        right,
        plan=built,
        system=system,
        sure=sure,
        charts=charts,
        photos=photo or [],
    )


@app.command()
def export(
    log: LogFile,
    out: Annotated[Path, typer.Option(help="File to write: .csv for a spreadsheet, .jsonl with what counts alone")],
    plan: PlanFile = None,
    units: Units = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file")] = False,
) -> None:
    """Write what counts of a log into another file."""
    from rillwright.cli.log_shown import export_log
    from rillwright.exchange.log_file import load_log

    _, system = _about(plan, units)
    export_log(load_log(log), out, system=system or "metric", force=force)
    typer.echo(f"Wrote {out}")


def _about(plan: Path | None, units: str | None) -> "tuple[Plan | None, System | None]":
    """The plan, and the units of bare numbers; None when each needs its own."""
    from rillwright.jobs.write import read_plan

    if units is not None and units not in ("US", "metric"):
        raise InputError(f"--units {units}: write US or metric")
    built = None if plan is None else read_plan(plan)
    own = None if built is None else built.yard.units
    return built, "US" if units == "US" else "metric" if units == "metric" else own
