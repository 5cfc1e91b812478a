"""`rillwright convert`: a yard from one file format into another."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import Facts, Layers, YardFile, named_layers

__all__ = ["convert"]


def convert(
    source: YardFile,
    target: Annotated[Path, typer.Argument(help="File to write: .yard.json or .geojson")],
    facts: Facts = None,
    layer: Layers = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file")] = False,
) -> None:
    """Turn a yard from one file format into another."""
    from rillwright.exchange import load_yard, save_yard

    save_yard(load_yard(source, facts=facts, layers=named_layers(layer)), target, overwrite=force)
    typer.echo(f"Wrote {target}")
