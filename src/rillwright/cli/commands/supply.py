"""`rillwright supply`: what the measured water can give."""

from typing import Annotated

import typer

from rillwright.cli.options import Facts, Layers, YardFile, named_layers
from rillwright.errors import InputError

__all__ = ["supply"]

HIGHEST_PRESSURE = 2e6  # [Pa] as in a yard file


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
    document = load_yard(yard, facts=facts, layers=named_layers(layer))
    catalogue = load_catalogue()
    fit = fit_supply(document, catalogue, seed=seed)
    print_supply(report_supply(fit, pressure=needed, yard=document, catalogue=catalogue), document.units)
    print_measurements(next_measurements(fit, pressure=needed, yard=document, seed=seed), document.units)
