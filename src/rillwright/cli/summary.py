"""What a person reads on the terminal: verdict first, then figures, findings and ways out."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.table import Table

from rillwright.model.plan import Plan, SupplyReport
from rillwright.physics.units import System, show
from rillwright.report.workings import Working

__all__ = ["print_files", "print_keys", "print_summary", "print_supply", "print_working"]

_SEVERITY_STYLE = {"must": "bold red", "should": "yellow", "know": "cyan"}
_VERDICT_STYLE = {"fits": "bold green", "fits with cautions": "bold yellow", "does not fit": "bold red"}


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in columns:
        table.add_column(column.strip("<>"), justify="right" if column.startswith(">") else "left")
    return table


def print_summary(plan: Plan) -> None:
    """Print a plan's summary."""
    console = Console()
    system = plan.yard.units
    console.print(f"\n{plan.verdict.capitalize()}.", style=_VERDICT_STYLE[plan.verdict], end=" ")
    console.print(plan.headline, highlight=False)
    if plan.findings:
        console.print("\nFindings", style="bold")
        table = _table("", "where", "what", "do")
        for finding in plan.findings:
            mark = f"[{_SEVERITY_STYLE[finding.severity]}]{finding.severity}[/]"
            table.add_row(mark, finding.where, finding.what, finding.do)
        console.print(table)
    if plan.ways_out:
        console.print("\nWays out, each planned anew", style="bold")
        table = _table("change", "then", ">zones", f">total {plan.yard.currency}", "note")
        for way in plan.ways_out:
            cost = "" if way.cost is None else f"{way.cost:.0f}"
            then = "fits" if way.fits else "does not fit"
            table.add_row(way.change, then, "" if way.zones is None else str(way.zones), cost, way.note)
        console.print(table)
    print_supply(plan.supply, system, brief=True)
    _print_zones(console, plan)
    _print_lawns(console, plan)
    if plan.cost:
        money = f"parts {plan.cost.parts:.0f} + trenches {plan.cost.trenches:.0f} = {plan.cost.total:.0f}"
        budget = "" if plan.cost.budget is None else f", budget {plan.cost.budget:.0f}"
        console.print(
            f"\nCost: {money} {plan.yard.currency}{budget} (prices marked invented: replace)", highlight=False
        )
    console.print(
        "\nBefore digging call the utility-location service. Backflow kind, permits and the joint to the house supply "
        "follow local code and licensed trades.",
        style="dim",
    )


def _print_zones(console: Console, plan: Plan) -> None:
    if not plan.zones:
        return
    system = plan.yard.units
    heads = f"{len(plan.zones)} zones on {plan.yard.controller.stations} stations, {len(plan.heads)} heads"
    console.print(f"\n{heads}, {plan.backflow}", style="bold", highlight=False)
    table = _table("zone", "heads", "at", ">flow", ">safe flow", ">precipitation", ">least pressure", ">poor supply")
    for zone in plan.zones:
        table.add_row(
            zone.id,
            f"{len(zone.heads)} {zone.head_class}",
            zone.place,
            show(zone.flow, "flow", system),
            show(zone.safe_flow, "flow", system),
            show(zone.precipitation, "rate", system),
            show(zone.pressure_low, "pressure", system),
            show(zone.cautious_low, "pressure", system),
        )
    console.print(table)


def _print_lawns(console: Console, plan: Plan) -> None:
    if not plan.lawns:
        return
    system = plan.yard.units
    console.print("\nEvenness", style="bold")
    table = _table("lawn", ">area", "heads", ">DU low quarter", ">CU", ">scheduling")
    for lawn in plan.lawns:
        table.add_row(
            lawn.id,
            show(lawn.area, "area", system),
            lawn.head_class,
            show(lawn.evenness.du, "share", system),
            show(lawn.evenness.cu, "share", system),
            f"{lawn.evenness.scheduling:.2f}",
        )
    console.print(table)


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
    if not brief:
        for line in report.says:
            console.print(line, highlight=False)
        for line in report.cannot_say:
            console.print(line, style="dim", highlight=False)
    table = _table("measure next", ">band now", ">band after")
    for step in report.next_measurements[: 1 if brief else 4]:
        table.add_row(step.what, show(step.band_before, "flow", system), show(step.band_after, "flow", system))
    if report.next_measurements:
        console.print(Padding(table, (1, 0, 0, 0)))


def print_working(plan: Plan, working: Working) -> None:
    """Print the working of one number."""
    console = Console()
    console.print(f"{working.title}: {working.printed(plan)}", style="bold", highlight=False)
    console.print(f"  formula  {working.formula}", highlight=False, markup=False)
    for name, value in working.inputs:
        console.print(f"  {name}: {value}", highlight=False, markup=False)
    if working.source:
        console.print(f"  source   {working.source}", highlight=False, markup=False)


def print_keys(plan: Plan, workings: Mapping[str, Working]) -> None:
    """Print the name and value of every number that can be explained."""
    console = Console()
    table = _table("number", ">value", "what")
    for key, working in workings.items():
        table.add_row(key, working.printed(plan), working.title)
    console.print(table)


def print_files(files: Sequence[Path]) -> None:
    """Print what was written, the report first."""
    console = Console()
    report = next(f for f in files if f.name == "report.html")
    others = ", ".join(f.name for f in files if f != report)
    console.print(f"\nWrote {report} (open it in a browser), and beside it {others}.", highlight=False, soft_wrap=True)
