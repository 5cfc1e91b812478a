"""What a person reads on the terminal: verdict first, then findings, ways out and figures; 80 columns are enough."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table

from rillwright.cli.tables import plain_table
from rillwright.errors import NotExplainedError
from rillwright.model.certainty import NextMeasurement
from rillwright.model.findings import Finding, WayOut
from rillwright.model.plan import Plan, SupplyReport
from rillwright.physics.units import System, show, unit_name
from rillwright.report.workings import Working, all_workings, find_working

__all__ = [
    "YardLine",
    "explain_own",
    "print_files",
    "print_keys",
    "print_measurements",
    "print_summary",
    "print_supply",
    "print_working",
    "print_yards",
]

_SEVERITY_STYLE = {"must": "bold red", "should": "yellow", "know": "cyan"}
_VERDICT_STYLE = {"fits": "bold green", "fits with cautions": "bold yellow", "does not fit": "bold red"}
_MOST_FINDINGS = 12
_MOST_MEASUREMENTS = 4


@dataclass(frozen=True, slots=True)
class YardLine:
    """One of many yards, and what came of it."""

    file: str
    plan: Plan | None
    error: str = ""

    @property
    def end(self) -> str:
        """The plan's verdict, or 'failed'."""
        return self.plan.verdict if self.plan else "failed"


def _bare(value: float, dimension: str, system: System) -> str:
    """The printed value without its unit, which the column's head names."""
    return show(value, dimension, system).removesuffix(unit_name(dimension, system)).strip()


def print_summary(plan: Plan) -> None:
    """Print a plan's summary."""
    console = Console()
    console.print()
    console.print(
        f"[{_VERDICT_STYLE[plan.verdict]}]{plan.verdict.capitalize()}.[/] {escape(plan.headline)}", highlight=False
    )
    _print_findings(console, plan.findings)
    _print_ways_out(console, plan.ways_out, plan.yard.currency)
    print_supply(plan.supply, plan.yard.units, brief=True)
    _print_zones(console, plan)
    _print_certainty(console, plan)
    _print_lawns(console, plan)
    _print_front(console, plan)
    _print_cost(console, plan)
    console.print(
        "\nBefore digging call the utility-location service. Backflow kind, permits and the joint to the house supply "
        "follow local code and licensed trades.",
        style="dim",
    )


def _print_findings(console: Console, findings: Sequence[Finding]) -> None:
    if not findings:
        return
    console.print("\nFindings", style="bold")
    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column("", no_wrap=True)
    table.add_column("where", max_width=14)
    table.add_column("what", ratio=3)
    table.add_column("do", ratio=2)
    for finding in findings[:_MOST_FINDINGS]:
        mark = f"[{_SEVERITY_STYLE[finding.severity]}]{finding.severity}[/]"
        table.add_row(mark, escape(finding.where), escape(finding.what), escape(finding.do))
    console.print(table)
    if len(findings) > _MOST_FINDINGS:
        console.print(f"and {len(findings) - _MOST_FINDINGS} more in the report", style="dim", highlight=False)


def _print_ways_out(console: Console, ways: Sequence[WayOut], currency: str) -> None:
    if not ways:
        return
    console.print("\nWays out, each planned anew", style="bold")
    fits = [way for way in ways if way.fits]
    if fits:
        table = plain_table("change", ">zones", f">total {currency}", "note")
        for way in fits:
            cost = "" if way.cost is None else f"{way.cost:.0f}"
            table.add_row(escape(way.change), "" if way.zones is None else str(way.zones), cost, escape(way.note))
        console.print(table)
    rest = "; ".join(way.change for way in ways if not way.fits)
    if rest:
        console.print(f"Tried, and still does not fit: {rest}.", style="dim", highlight=False, markup=False)


def _print_zones(console: Console, plan: Plan) -> None:
    if not plan.zones:
        return
    system = plan.yard.units
    flow, rate, pressure = (unit_name(dimension, system) for dimension in ("flow", "rate", "pressure"))
    zones, stations = _counted(len(plan.zones), "zone"), _counted(plan.yard.controller.stations, "station")
    heads = f"{zones} on {stations}, {_counted(len(plan.heads), 'head')}"
    console.print(f"\n{heads}, {plan.backflow}", style="bold", highlight=False)
    table = plain_table(
        "zone",
        "heads",
        "at",
        f">flow\n{flow}",
        f">safe\n{flow}",
        f">rate\n{rate}",
        f">least\n{pressure}",
        f">{pressure}, poor supply,\ncontrol open",
    )
    for zone in plan.zones:
        table.add_row(
            zone.id,
            f"{len(zone.heads)} {zone.head_class}",
            zone.place,
            _bare(zone.flow, "flow", system),
            _bare(zone.safe_flow, "flow", system),
            _bare(zone.precipitation, "rate", system),
            _bare(zone.pressure_low, "pressure", system),
            _bare(zone.cautious_low, "pressure", system),
        )
    console.print(table)


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _print_lawns(console: Console, plan: Plan) -> None:
    if not plan.lawns:
        return
    system = plan.yard.units
    console.print("\nEvenness", style="bold")
    table = plain_table(
        "lawn", "heads", f">area\n{unit_name('area', system)}", ">DU\n%", ">CU\n%", ">scheduling\ncoefficient"
    )
    for lawn in plan.lawns:
        table.add_row(
            lawn.id,
            lawn.head_class,
            _bare(lawn.area, "area", system),
            _bare(lawn.evenness.du, "share", system),
            _bare(lawn.evenness.cu, "share", system),
            f"{lawn.evenness.scheduling:.2f}",
        )
        for part in lawn.parts:
            even = part.evenness
            shares = (_bare(value, "share", system) for value in (even.du, even.cu))
            table.add_row(f"  of it {part.id}", "", _bare(part.area, "area", system), *shares, f"{even.scheduling:.2f}")
    console.print(table)


def _print_front(console: Console, plan: Plan) -> None:
    chosen = next((point for point in plan.front if point.chosen), None)
    if len(plan.front) < 2 or chosen is None:
        return
    console.print("\nFew heads or even water: choose with --aim", style="bold")
    table = plain_table(
        "layout",
        ">heads",
        f">about so much\nmore {plan.yard.currency}",
        ">DU\n%",
        ">extra water\n%",
        f">water a season\n{unit_name('season volume', plan.yard.units)}",
    )
    for point in plan.front:
        table.add_row(
            f"{point.aim or 'between'}{', this plan' if point.chosen else ''}",
            str(point.heads),
            "" if point.chosen else f"{point.cost - chosen.cost:+.0f}",
            _bare(point.du_mean, "share", plan.yard.units),
            _bare(point.extra_water, "share", plan.yard.units),
            _bare(point.season_water, "season volume", plan.yard.units),
        )
    console.print(table)


def _print_cost(console: Console, plan: Plan) -> None:
    if plan.cost is None:
        return
    moving = f" + moving what is there {plan.cost.moving:.0f}" if plan.cost.moving else ""
    if plan.main is not None:
        console.print(f"\nMain: {plan.main.laid}; {plan.main.asked} was asked for; {plan.main.why}.", highlight=False)
    money = f"parts {plan.cost.parts:.0f} + trenches {plan.cost.trenches:.0f}{moving} = {plan.cost.total:.0f}"
    budget = "" if plan.cost.budget is None else f", budget {plan.cost.budget:.0f}"
    if plan.search:
        saved = plan.search[0].total - plan.search[-1].total
        least = sum(part.amount for part in plan.least)
        bound = f"; no system for these heads on the lines searched costs under {least:.0f}" if plan.least else ""
        console.print(f"The search saved {saved:.0f} against one pass{bound}.", highlight=False)
    invented = sum("invented" in line.price_source for line in plan.parts)
    console.print(f"\nCost: {money} {plan.yard.currency}{budget}.", highlight=False)
    if invented:
        console.print(f"{invented} of its prices are invented: give your own with --prices.", highlight=False)


def print_supply(report: SupplyReport, system: System, *, brief: bool = False) -> None:
    """Print what the supply can give."""
    console = Console()
    console.print("\nWater supply", style="bold")
    needed = show(report.reference_pressure, "pressure", system)
    console.print(
        f"Safe working flow {show(report.safe_flow, 'flow', system)} while {needed} stands at the entry; "
        f"the {report.binds} limit binds. Open pipe: {show(report.open_flow, 'flow', system)} at no pressure.",
        highlight=False,
    )
    low, high = show(report.flow_low, "flow", system), show(report.flow_high, "flow", system)
    middle = show(report.flow_median, "flow", system)
    console.print(f"At {needed} the supply gives {low} to {high} (90 % band), most likely {middle}.", highlight=False)
    if brief:
        return
    for line in report.says:
        console.print(line, highlight=False, markup=False)
    for line in report.cannot_say:
        console.print(line, style="dim", highlight=False, markup=False)


def print_measurements(further: Sequence[NextMeasurement], system: System) -> None:
    """Print what to measure next, best first."""
    table = plain_table("measure next", "narrows", ">90 % band\nnow", ">expected\nafter it")
    for step in further[:_MOST_MEASUREMENTS]:
        before, after = (show(band, step.dimension, system) for band in (step.band_before, step.band_after))
        table.add_row(escape(step.what), escape(step.moves), before, after)
    if further:
        Console().print(Padding(table, (1, 0, 0, 0)))


def _print_certainty(console: Console, plan: Plan) -> None:
    sure, system = plan.certainty, plan.yard.units
    if sure is None:
        return
    console.print("\nHow sure", style="bold")
    if sure.sound is not None and sure.window is not None:
        weak = min(sure.zones, key=lambda zone: zone.sound.value)
        chances = [show(c, "share", system) for c in (sure.sound.value, weak.sound.value, weak.sound.error)]
        needed = [show(h, "hours", system) for h in (sure.window.needed.low, sure.window.needed.high)]
        console.print(
            f"In {chances[0]} of {sure.draws} draws of the whole yard every head is inside its pressure band; the "
            f"least sure zone is {weak.id} with {chances[1]} (± {chances[2]}).",
            highlight=False,
        )
        console.print(
            f"A week of the peak needs {needed[0]} to {needed[1]} of watering (90 % band); "
            f"{show(sure.window.available, 'hours', system)} {'assumed' if sure.window.assumed else 'allowed'} suffice "
            f"in {show(sure.window.suffices.value, 'share', system)} of the draws.",
            highlight=False,
        )
    if sure.next_measurements:
        best = sure.next_measurements[0]
        before, after = (show(band, best.dimension, system) for band in (best.band_before, best.band_after))
        words = f"Measure next: {best.what} ({best.moves}: 90 % band {before} wide now, {after} expected after it)."
        console.print(words, highlight=False, markup=False)


def print_working(plan: Plan, working: Working) -> None:
    """Print the working of one number; a number in brackets after an input names that input's own working."""
    console = Console()

    def say(text: str) -> None:
        console.print(text, highlight=False, markup=False, soft_wrap=True)

    console.print(f"{escape(working.title)}: {working.printed(plan)}", style="bold", highlight=False)
    say(f"  formula  {working.formula}")
    for given in working.inputs:
        say(f"  {given.name}: {given.value}" + (f"  [{given.key}]" if given.key else ""))
    if working.source:
        say(f"  source   {working.source}")
    if any(given.key for given in working.inputs):
        console.print("  Explain a name in brackets to go on.", style="dim", highlight=False)


def explain_own(plan: Plan, workings: Iterable[Working], what: str, *, command: str, option: str = "") -> None:
    """Print the working of a number of a command's own or of the plan; 'all' lists its own.

    Errors: NotExplainedError, with names near a wrong one.
    """
    own = {working.key: working for working in workings}
    if what.strip().lower() == "all":
        print_keys(plan, own)
        return
    try:
        print_working(plan, find_working(own | all_workings(plan), what))
    except NotExplainedError as error:
        raise NotExplainedError(error.what, error.near, lists=f"{command} PLAN{option} ... --explain all") from None


def print_keys(plan: Plan, workings: Mapping[str, Working]) -> None:
    """Print the name and value of every number that can be explained."""
    console = Console()
    table = plain_table("number", ">value", "what")
    for key, working in workings.items():
        table.add_row(key, working.printed(plan), escape(working.title))
    console.print(table)


def print_yards(lines: Sequence[YardLine]) -> None:
    """Print one line for each of many yards, then what went wrong with those that failed."""
    console = Console()
    table = plain_table("yard", "verdict", ">heads", ">zones", ">least DU\n%", ">cost")
    for line in lines:
        plan = line.plan
        if plan is None:
            table.add_row(escape(line.file), "[bold red]failed[/]")
            continue
        even = min((lawn.evenness.du for lawn in plan.lawns), default=None)
        table.add_row(
            escape(line.file),
            f"[{_VERDICT_STYLE[plan.verdict]}]{plan.verdict}[/]",
            str(len(plan.heads)),
            str(len(plan.zones)),
            "" if even is None else _bare(even, "share", plan.yard.units),
            f"{plan.cost.total:.0f} {plan.yard.currency}" if plan.cost else "",
        )
    console.print(table)
    for line in lines:
        if line.error:
            console.print(f"\n{line.file}: {line.error}", highlight=False, markup=False, style="red")


def print_files(files: Sequence[Path]) -> None:
    """Print what was written, the page first where there is one."""
    console = Console()
    report = next((f for f in files if f.suffix == ".html"), None)
    if report is None:
        console.print(f"\nWrote {', '.join(map(str, files))}.", highlight=False, soft_wrap=True)
        return
    others = ", ".join(f.name for f in files if f != report)
    console.print(f"\nWrote {report} (open it in a browser), and beside it {others}.", highlight=False, soft_wrap=True)
