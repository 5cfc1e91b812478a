"""`rillwright wire`: strands, gauge, voltage at every valve."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.exits import DOES_NOT_FIT
from rillwright.cli.options import PlanFile, Prices

__all__ = ["wire"]


def wire(
    plan: PlanFile,
    at_once: Annotated[int | None, typer.Option(help="Valves that may be open together; the yard's own else")] = None,
    transformer: Annotated[float | None, typer.Option(help="VA stated on the transformer; the yard's own else")] = None,
    inrush: Annotated[float | None, typer.Option(help="Current of a valve as it opens, A")] = None,
    holding: Annotated[float | None, typer.Option(help="Current while it stays open, A")] = None,
    least: Annotated[float, typer.Option(help="Voltage at which a valve still opens")] = 20.0,
    temperature: Annotated[str, typer.Option(help="Of the wire, e.g. '104 F'")] = "40 C",
    gauge: Annotated[list[int] | None, typer.Option(help="AWG that you can buy: 18, 16, 14, 12 or 10; repeat")] = None,
    spares: Annotated[int, typer.Option(help="Strands laid for later")] = 1,
    out: Annotated[Path | None, typer.Option(help="Folder for wire.csv")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace wire.csv in the folder")] = False,
    prices: Prices = None,
) -> None:
    """Plan the control wire: strands, the least copper that opens every valve, splices, load of the transformer."""
    from rillwright.cli.wire_told import print_wire, read_wire_terms
    from rillwright.errors import InputError
    from rillwright.jobs.wire import wire_findings, wire_of
    from rillwright.jobs.write import check_folder, read_plan, write_files
    from rillwright.model.catalogue import load_catalogue
    from rillwright.report.wire_list import wire_csv

    document, catalogue = read_plan(plan), load_catalogue(prices=prices)
    terms = read_wire_terms(
        document.yard,
        at_once=at_once,
        transformer=transformer,
        inrush=inrush,
        holding=holding,
        least=least,
        temperature=temperature,
        gauges=gauge or None,
        spares=spares,
    )
    made = wire_of(document, catalogue, terms)
    if made is None:
        raise InputError("this plan has no valves: mend what its findings say and plan again")
    if out is not None:
        check_folder(out, force=force, names=["wire.csv"])
    findings = wire_findings(document, made, catalogue)
    print_wire(made, document, findings)
    if out is not None:
        text = wire_csv(made, document.yard.units)
        write_files({"wire.csv": text.encode()}, out, force=force, names=["wire.csv"])
        typer.echo(f"\nWrote {out / 'wire.csv'}.")
    if any(finding.severity == "must" for finding in findings):
        raise typer.Exit(DOES_NOT_FIT)
