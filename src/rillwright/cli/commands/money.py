"""The `money` command. Heavy imports happen inside, so that --help is quick."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.exits import DOES_NOT_FIT
from rillwright.cli.options import PlanFile, Prices

__all__ = ["money"]


def money(
    plan: PlanFile,
    log: Annotated[Path | None, typer.Option(help="Field log with receipts: JSON lines, one entry a line")] = None,
    yard: Annotated[
        Path | None, typer.Option(help="Yard file whose budget and money facts hold now; the plan's own else")
    ] = None,
    prices: Prices = None,
    phases: Annotated[
        str,
        typer.Option(help="Build in phases: how many at the most, such as 2; or zones and lawns, 'front, side / back'"),
    ] = "",
    yearly: Annotated[float | None, typer.Option(help="Most that one phase may cost", min=0)] = None,
    split: Annotated[str, typer.Option(help="What stays together in phases: lawns or zones")] = "lawns",
    apart: Annotated[
        Path | None,
        typer.Option(help="With lawns in --phases: plan again, no zone over lawns of two phases, into this folder"),
    ] = None,
    water: Annotated[
        Path | None, typer.Option(help="Programme of `rillwright water`, its folder or water.json: the season's water")
    ] = None,
    start: Annotated[str, typer.Option(help="First day of work, as 2027-05-08: what is to be paid when")] = "",
    explain: Annotated[str, typer.Option(help="Number to show the working of, e.g. money.total")] = "",
    seed: Annotated[int, typer.Option(help="Seed of the draws", min=0)] = 0,
) -> None:
    """Say what a plan costs in all: parts, rent, fees, tax, the band of the whole, water, and building in phases."""
    from rillwright.cli.money_told import (
        explain_money,
        print_apart,
        print_ledger,
        print_phases,
        read_day,
        read_phases,
        read_season,
    )
    from rillwright.exchange import load_yard
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.money import make_ledger, make_phases, with_money_of
    from rillwright.jobs.money.dated import coming_money
    from rillwright.jobs.money.lawns import said_phases, with_phases
    from rillwright.jobs.write import read_plan
    from rillwright.model.catalogue import load_catalogue

    catalogue = load_catalogue(prices=prices)
    document = with_money_of(read_plan(plan), load_yard(yard) if yard else None, catalogue)
    wanted, first = read_phases(phases, yearly=yearly, split=split), read_day(start)
    entries = load_log(log) if log else []
    ledger = make_ledger(document, entries=entries, season=read_season(water) if water else None, seed=seed)
    if first is not None:
        ledger = ledger.model_copy(update={"coming": coming_money(document, ledger, catalogue, start=first, seed=seed)})
    if explain:
        explain_money(ledger, document, explain)
        return
    if apart is None:
        print_ledger(ledger, document)
        if wanted is not None:
            print_phases(make_phases(document, catalogue, ledger, seed=seed, **wanted), document)
        return

    from rillwright.cli.interrupt import kept_on_interrupt
    from rillwright.cli.planned import plan_into

    asked = dict(wanted or {"phases": 2})
    yard_apart = with_phases(document, asked.pop("given", None) or said_phases(document.yard))
    with kept_on_interrupt() as stop:
        made, _ = plan_into(yard_apart, catalogue, apart, force=False, seed=seed, stop=stop)
    print_ledger(ledger, document)
    print_apart(
        make_phases(document, catalogue, ledger, seed=seed, **asked),
        make_phases(made, catalogue, make_ledger(made, entries=entries, seed=seed), seed=seed, **asked),
        made,
        apart,
    )
    if made.verdict == "does not fit":
        raise typer.Exit(DOES_NOT_FIT)
