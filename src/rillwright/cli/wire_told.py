"""The wire on the command line, in words: terms as typed, and what was planned."""

from collections.abc import Sequence

from pydantic import ValidationError
from rich.console import Console
from rich.markup import escape

from rillwright.cli.options import refused
from rillwright.cli.tables import plain_table
from rillwright.model.findings import Finding
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.model.wire import WirePlan, WireTerms
from rillwright.physics.units import parse
from rillwright.report.wire_list import WIRE_CAUTIONS, wire_rows, wire_told
from rillwright.solvers.takeoff.tally import WASTE
from rillwright.solvers.wire import wire_terms

__all__ = ["print_wire", "read_wire_terms"]


def read_wire_terms(yard: Yard, *, temperature: str, **given: object) -> WireTerms:
    """Read the terms as typed; what is left out is the yard's own. Errors: InputError that names the option."""
    typed = {name: value for name, value in given.items() if value is not None}
    typed["temperature"] = parse(temperature, "temperature")
    try:
        return WireTerms.model_validate(wire_terms(yard).model_dump() | typed)
    except ValidationError as error:
        raise refused(error, {"gauges": "gauge"}) from None


def print_wire(wire: WirePlan, plan: Plan, findings: Sequence[Finding]) -> None:
    """Print what must be mended, what to buy, every run and every circuit."""
    console, system = Console(), plan.yard.units
    for finding in findings:
        console.print(f"{finding.severity}: {finding.what}. {finding.do}", style="red", highlight=False)
    for name, value in wire_told(wire, system):
        console.print(f"{name}: {value}", highlight=False)
    console.print(f"to buy: {_bought(wire, plan.wire)}", highlight=False)
    for heading, *rows in wire_rows(wire, system):
        table = plain_table(*heading)
        for row in rows:
            table.add_row(*map(escape, row))
        console.print()
        console.print(table)
    console.print()
    for caution in WIRE_CAUTIONS:
        console.print(caution, style="dim", highlight=False)


def _bought(wire: WirePlan, planned: WirePlan | None) -> str:
    """Whether the parts list holds this wire."""
    same = planned is not None and all(
        getattr(wire, name) == getattr(planned, name)
        for name in ("station", "common", "station_metres", "common_metres", "splices", "reel_splices")
    )
    if same:
        return f"as the parts list has it, with {WASTE:.0%} for offcuts"
    return f"this wire with {WASTE:.0%} for offcuts, in place of that of the parts list, which goes by other terms"
