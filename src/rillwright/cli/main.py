"""The `rillwright` command. Heavy imports happen inside the commands, so that --help is quick.

Exit codes: 0 done and the plan fits; 2 bad input; 3 the yard was planned and does not fit; 130 stopped by the user;
`plan` then writes the best plan that it has, if it has a complete one.
"""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright import __version__
from rillwright.cli.export import export
from rillwright.cli.log import app as log_app
from rillwright.cli.manifold import manifold
from rillwright.cli.money import money
from rillwright.cli.new_lawn import new_lawn
from rillwright.cli.parts import parts
from rillwright.cli.record import record
from rillwright.cli.sheets import sheets
from rillwright.cli.water import water
from rillwright.cli.winter import winter
from rillwright.cli.wire import wire
from rillwright.errors import InputError, RillwrightError

if TYPE_CHECKING:
    from rillwright.model.site import Yard

__all__ = ["app", "run"]

BAD_INPUT = 2
DOES_NOT_FIT = 3
STOPPED = 130
HIGHEST_PRESSURE = 2e6  # [Pa] as in a yard file

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Plan and build an in-ground sprinkler system that the measured water supply can really feed.",
)

YardFile = Annotated[Path, typer.Argument(help="Yard: .yard.json, .geojson or .dxf")]
Facts = Annotated[Path | None, typer.Option(help="Yard facts that go with a .dxf or .geojson drawing")]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="What a .dxf layer holds, as NAME=KIND or NAME=ignore; repeat")
]
Charts = Annotated[Path | None, typer.Option(help="Your nozzle charts, CSV")]
Prices = Annotated[Path | None, typer.Option(help="Your prices, CSV")]


app.add_typer(log_app, name="log")


@app.command()
def plan(
    yard: YardFile,
    out: Annotated[Path, typer.Option(help="Folder for the plan")] = Path("plan"),
    force: Annotated[bool, typer.Option("--force", help="Replace a plan already in the folder")] = False,
    facts: Facts = None,
    layer: Layers = None,
    charts: Charts = None,
    prices: Prices = None,
    aim: Annotated[
        str | None, typer.Option(help="fewest heads, balanced or most even; the yard's own heads.aim when left out")
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
    start: Annotated[
        Path | None, typer.Option(help="Plan to go on from, plan.json or its folder: what can stay as it is does")
    ] = None,
) -> None:
    """Plan a yard: heads, zones, valve places, pipes, hydraulics, parts and cost."""
    from rillwright.exchange import load_yard
    from rillwright.model.catalogue import load_catalogue

    document = _aimed(load_yard(yard, facts=facts, layers=_named_layers(layer)), aim)
    catalogue = load_catalogue(charts=charts, prices=prices)

    from rillwright.cli.interrupt import kept_on_interrupt
    from rillwright.cli.progress import shown_progress
    from rillwright.cli.summary import print_files, print_summary
    from rillwright.jobs.go_on import start_from
    from rillwright.jobs.plan import make_plan
    from rillwright.jobs.workers import process_pool
    from rillwright.jobs.write import check_folder, read_plan, write_plan

    check_folder(out, force=force)
    earlier = None if start is None else read_plan(start)
    begun = None if earlier is None else start_from(earlier, earlier.heads)
    with kept_on_interrupt() as stop, shown_progress(stop) as progress, process_pool() as pool:
        made = make_plan(document, catalogue, seed=seed, progress=progress, pool=pool, stop=stop, start=begun)
        progress("drawings and report", 0.0)
        files = write_plan(made, catalogue, out, force=force)
    print_summary(made)
    print_files(files)
    if stop.asked:
        raise typer.Exit(STOPPED)
    if made.verdict == "does not fit":
        raise typer.Exit(DOES_NOT_FIT)


@app.command()
def guide(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder, or a yard, which is planned first")],
    start: Annotated[str, typer.Option(help="First day, as 2027-05-08")],
    out: Annotated[Path, typer.Option(help="Folder for the guide")] = Path("guide"),
    force: Annotated[bool, typer.Option("--force", help="Replace a guide already in the folder")] = False,
    days: Annotated[str, typer.Option(help="Days of the week on which is worked")] = "Sat,Sun",
    hours: Annotated[float, typer.Option(help="Hours of work on such a day, at the most")] = 7.0,
    crew: Annotated[int, typer.Option(help="People who work")] = 2,
    dig: Annotated[str, typer.Option(help="machine or hand")] = "machine",
    latitude: Annotated[float | None, typer.Option(help="Degrees, for daylight, when the yard has no origin")] = None,
    lost_days: Annotated[float | None, typer.Option(help="Chance that weather takes a day; by month else")] = None,
    log: Annotated[Path | None, typer.Option(help="Field log, for progress: JSON lines, one entry a line")] = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Write the build guide of a plan: ordered steps with times, cautions and dates, one sheet for each work day."""
    from rillwright.cli.guide import is_plan, plan_yard, print_guide, read_terms
    from rillwright.cli.summary import print_files
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.done import done_items
    from rillwright.jobs.guide import GUIDE_FILES, guide_files, make_guide, plan_steps
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue

    terms = read_terms(start=start, days=days, hours=hours, crew=crew, dig=dig, latitude=latitude, lost_days=lost_days)
    check_folder(out, force=force, names=GUIDE_FILES)
    catalogue, entries = load_catalogue(charts=charts, prices=prices), load_log(log) if log else []
    document = read_plan(plan) if is_plan(plan) else plan_yard(plan, catalogue, out, force=force, seed=seed)
    done = done_items(document, plan_steps(document, catalogue, terms), entries=entries)
    made = make_guide(document, catalogue, terms, done=done, seed=seed)
    files = write_files(guide_files(made, document), out, force=force, names=GUIDE_FILES)
    print_guide(made, document)
    print_files(files)


app.command()(money)
app.command()(parts)
app.command()(export)
app.command()(sheets)
app.command()(water)
app.command("new-lawn")(new_lawn)


@app.command("as-built")
def as_built(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder")],
    log: Annotated[Path, typer.Option(help="Field log: JSON lines, one entry a line")],
    out: Annotated[Path, typer.Option(help="Folder for the record")] = Path("as-built"),
    force: Annotated[bool, typer.Option("--force", help="Replace a record already in the folder")] = False,
) -> None:
    """Draw what lies in the ground, from plan and log: every buried part with two taped offsets, depths, photos."""
    from rillwright.cli.guide import print_as_built
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.as_built import AS_BUILT_FILES, as_built_files, make_as_built
    from rillwright.jobs.write import check_folder, read_plan, write_files

    check_folder(out, force=force, names=AS_BUILT_FILES)
    document = read_plan(plan)
    record = make_as_built(document, load_log(log))
    files = write_files(as_built_files(record, document), out, force=force, names=AS_BUILT_FILES)
    print_as_built(record, document, files)


app.command()(manifold)
app.command()(wire)


@app.command("plan-many")
def plan_many(
    yards: Annotated[list[Path], typer.Argument(help="Yards: .yard.json or .geojson")],
    out: Annotated[Path, typer.Option(help="Folder for the plans, one folder inside for each yard")] = Path("plans"),
    force: Annotated[bool, typer.Option("--force", help="Replace plans already there")] = False,
    scheduler: Annotated[str | None, typer.Option(help="Dask scheduler to share the work, tcp://HOST:PORT")] = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Plan many yards at once, each for itself, on all cores of this machine or on a cluster."""
    from rillwright.cli.many import plan_files
    from rillwright.model.catalogue import load_catalogue

    catalogue = load_catalogue(charts=charts, prices=prices)
    ends = plan_files(yards, catalogue, out=out, force=force, scheduler=scheduler, seed=seed)
    if "failed" in ends:
        raise typer.Exit(BAD_INPUT)
    if "does not fit" in ends:
        raise typer.Exit(DOES_NOT_FIT)


@app.command()
def replan(
    yard: YardFile,
    plan: Annotated[Path, typer.Option(help="plan.json of the plan being built, or its folder")],
    log: Annotated[Path, typer.Option(help="Field log of the job, JSON lines")],
    out: Annotated[Path, typer.Option(help="Folder for the changes")] = Path("changes"),
    force: Annotated[bool, typer.Option("--force", help="Replace changes already in the folder")] = False,
    hour: Annotated[float, typer.Option(help="What an hour of your work is worth", min=0, max=1000)] = 20.0,
    second_supply: Annotated[
        float | None, typer.Option(help="Price of a second service pipe and meter, if you may have one", min=0)
    ] = None,
    sure: Annotated[
        float | None,
        typer.Option(help="Chance, 0 to 1, with which a change must hold; as sure as the plan was else", min=0, max=1),
    ] = None,
    facts: Facts = None,
    layer: Layers = None,
    charts: Charts = None,
    prices: Prices = None,
    seed: Annotated[int, typer.Option(help="Seed of every random choice", min=0)] = 0,
) -> None:
    """Say what to do now: with parts bought and pipe buried, the least-cost changes that make every zone sound."""
    from rillwright.exchange import load_yard
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    document = load_yard(yard, facts=facts, layers=_named_layers(layer))
    catalogue = load_catalogue(charts=charts, prices=prices)

    from rillwright.cli.changes import print_changes
    from rillwright.cli.interrupt import kept_on_interrupt
    from rillwright.cli.progress import shown_progress
    from rillwright.jobs.replan import in_yard, replan_job
    from rillwright.jobs.replan.write import check_changes, write_changes
    from rillwright.jobs.workers import process_pool

    building, entries = in_yard(read_plan(plan), document), load_log(log)
    check_changes(out, force=force)
    with kept_on_interrupt() as stop, shown_progress(stop) as progress, process_pool() as pool:
        found = replan_job(
            building,
            entries,
            catalogue,
            hour=hour / 3600,
            second_supply=second_supply,
            sure=sure,
            seed=seed,
            progress=progress,
            pool=pool,
            stop=stop,
        )
        progress("drawings and reports", 0.95)
        files = write_changes(found, catalogue, out, force=force)
    print_changes(found)
    typer.echo(f"\nWrote {files[0]} (open it in a browser), and the whole plan of each change in its folder beside it.")
    if stop.asked:
        raise typer.Exit(STOPPED)
    if found.none_sure or not found.changes:
        raise typer.Exit(DOES_NOT_FIT)


@app.command()
def supply(
    yard: YardFile,
    pressure: Annotated[str, typer.Option(help="Pressure to keep at the entry, e.g. '45 psi' or '300 kPa'")],
    facts: Facts = None,
    layer: Layers = None,
    seed: Annotated[int, typer.Option(min=0)] = 0,
) -> None:
    """Say what the measured supply can give at a pressure, without planning the yard."""
    from rillwright.cli.summary import print_measurements, print_supply
    from rillwright.exchange import load_yard
    from rillwright.model.catalogue import load_catalogue
    from rillwright.physics.units import parse
    from rillwright.solvers.supply import fit_supply, next_measurements, report_supply

    needed = parse(pressure, "pressure")
    if not 0 <= needed <= HIGHEST_PRESSURE:
        raise InputError(f"--pressure {pressure}: write a pressure from 0 to {HIGHEST_PRESSURE / 1e3:.0f} kPa")
    document = load_yard(yard, facts=facts, layers=_named_layers(layer))
    catalogue = load_catalogue()
    fit = fit_supply(document, catalogue, seed=seed)
    print_supply(report_supply(fit, pressure=needed, yard=document, catalogue=catalogue), document.units)
    print_measurements(next_measurements(fit, pressure=needed, yard=document, seed=seed), document.units)


@app.command()
def explain(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder")],
    what: Annotated[str, typer.Argument(help="Number to explain, e.g. supply.safe-flow; none lists them all")] = "",
    guide: Annotated[Path | None, typer.Option(help="guide.json of the plan, or its folder: its numbers too")] = None,
    log: Annotated[Path | None, typer.Option(help="Field log, JSON lines: what it says of the plan too")] = None,
    charts: Charts = None,
    seed: Annotated[int, typer.Option(help="As given to answer", min=0)] = 0,
) -> None:
    """Show the working of any number in a plan, its guide or its log's conclusions: formula, inputs, source."""
    from rillwright.cli.summary import print_keys, print_working
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.explained import explained, log_numbers, read_guide
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.workings import find_working

    document = read_plan(plan)
    own = what.strip().lower().partition(".")[0]
    if own in ("water", "winter", "record"):
        raise InputError(f"{what} depends on what you tell of it: ask `rillwright {own} PLAN ... --explain {what}`")
    found = explained(document, guide=read_guide(guide, document) if guide else None)
    if log:
        found |= log_numbers(document, load_log(log), load_catalogue(charts=charts), seed=seed)
    if what:
        print_working(document, find_working(found, what))
    else:
        print_keys(document, found)


@app.command()
def answer(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder; the yard is in it")],
    log: Annotated[Path, typer.Option(help="Field log: JSON lines, one entry a line")],
    charts: Charts = None,
    seed: Annotated[int, typer.Option(min=0)] = 0,
) -> None:
    """Say what the readings in a field log conclude about a plan: supply, leaks, start-ups, valves, cups."""
    from rillwright.cli.answers import print_answers
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.answers import answer_log
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    print_answers(answer_log(read_plan(plan), load_log(log), load_catalogue(charts=charts), seed=seed))


app.command()(winter)
app.command()(record)


@app.command("try")
def try_head(
    plan: Annotated[Path, typer.Argument(help="plan.json or its folder")],
    head: Annotated[str, typer.Argument(help="Head to set otherwise, e.g. H7")],
    at: Annotated[
        str, typer.Option(help="Where it would stand, 'X,Y' on the plan, e.g. '12.5,30' or '12 ft 6 in,30'")
    ] = "",
    start: Annotated[float | None, typer.Option(help="Where its arc would begin, degrees from the x axis")] = None,
    arc: Annotated[float | None, typer.Option(help="Its arc in degrees")] = None,
    charts: Charts = None,
) -> None:
    """Show what one head set otherwise would change in a plan: water, pressures, findings. The plan stays as it is."""
    from rillwright.cli.moved import print_moved, read_place
    from rillwright.jobs.move import Workbench
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    document = read_plan(plan)
    if not at and start is None and arc is None:
        raise InputError("say what to try: --at, --start or --arc")
    place = read_place(at, document.yard.units) if at else None
    bench = Workbench(document, load_catalogue(charts=charts))
    print_moved(document, bench.move(head, at=place, arc_start=start, arc=arc), head)


@app.command()
def serve(
    port: Annotated[int, typer.Option(help="Port to listen on; 0 takes any that is free", min=0, max=65535)] = 8765,
    data: Annotated[Path | None, typer.Option(help="Folder for yards and plans; the system's usual one else")] = None,
    share: Annotated[bool, typer.Option("--share", help="Listen on the network too, for a phone, by a code")] = False,
    plain: Annotated[
        bool, typer.Option("--plain", help="With --share: unencrypted; phones then keep no copy of the page")
    ] = False,
    open_: Annotated[bool, typer.Option("--open", help="Open the browser")] = False,
) -> None:
    """Serve the page on this machine: draw the yard, see the water, change the plan."""
    from rillwright.cli.serve import serve_encrypted, serve_here, serve_plain
    from rillwright.store import default_folder

    if plain and not share:
        raise InputError("--plain says how the network is served: write --share --plain, or leave it out.")
    serve = serve_plain if plain else serve_encrypted if share else serve_here
    serve(data or default_folder(), port=port, browser=open_)


@app.command()
def devices(
    data: Annotated[Path | None, typer.Option(help="Folder for yards and plans; the system's usual one else")] = None,
    turn_out: Annotated[str, typer.Option(help="Name or id of a device that is to be let in no more")] = "",
) -> None:
    """List the devices that were let in over the network, or turn one out."""
    from contextlib import closing

    from rillwright.cli.devices import print_devices, turn_out_device
    from rillwright.store import Store, default_folder

    with closing(Store(data or default_folder())) as store:
        if turn_out:
            turn_out_device(store.devices, turn_out)
        print_devices(store.devices.all())


@app.command()
def openapi() -> None:
    """Print the OpenAPI description of the web application."""
    import json

    from rillwright.api.app import openapi_document

    typer.echo(json.dumps(openapi_document(), indent=1, ensure_ascii=False))


@app.command()
def schema() -> None:
    """Print the JSON Schema of the yard document."""
    import json

    from rillwright.exchange.yard_file import yard_schema

    typer.echo(json.dumps(yard_schema(), indent=2))


@app.command()
def convert(
    source: YardFile,
    target: Annotated[Path, typer.Argument(help="File to write: .yard.json or .geojson")],
    facts: Facts = None,
    layer: Layers = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file")] = False,
) -> None:
    """Turn a yard from one file format into another."""
    from rillwright.exchange import load_yard, save_yard

    save_yard(load_yard(source, facts=facts, layers=_named_layers(layer)), target, overwrite=force)
    typer.echo(f"Wrote {target}")


def _aimed(yard: "Yard", aim: str | None) -> "Yard":
    """Lean a yard another way between few heads and even water."""
    from typing import get_args

    from rillwright.model.site import Aim

    if aim is None:
        return yard
    if aim not in get_args(Aim):
        raise InputError(f"--aim {aim}: write one of {', '.join(get_args(Aim))}")
    return yard.model_copy(update={"heads": yard.heads.model_copy(update={"aim": aim})})


def _named_layers(words: list[str] | None) -> dict[str, str]:
    """Read NAME=KIND options."""
    pairs = [word.rpartition("=") for word in words or []]
    for word, (name, _, kind) in zip(words or [], pairs, strict=True):
        if not name or not kind:
            raise InputError(f"--layer {word}: write NAME=KIND, such as GRASS=lawn or NOTES=ignore")
    return {name.strip(): kind.strip() for name, _, kind in pairs}


@app.callback(invoke_without_command=True)
def top(version: Annotated[bool, typer.Option("--version", help="Print the version")] = False) -> None:
    """Plan and build an in-ground sprinkler system that the measured water supply can really feed."""
    if version:
        typer.echo(__version__)
        raise typer.Exit


def run() -> None:
    """Run the command; errors of ours become one message and an exit code."""
    try:
        app()
    except RillwrightError as error:
        typer.echo(f"Error: {error}", err=True)
        sys.exit(BAD_INPUT)
    except SystemExit as end:  # typer turns an interrupt into an exit without a word
        if end.code == STOPPED:
            typer.echo("Stopped.", err=True)
        raise
