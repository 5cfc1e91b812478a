"""Arguments and options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.errors import InputError

__all__ = ["Charts", "Facts", "Layers", "PlanFile", "Prices", "YardFile", "named_layers"]

YardFile = Annotated[Path, typer.Argument(help="Yard: .yard.json, .geojson or .dxf")]
PlanFile = Annotated[Path, typer.Argument(help="plan.json or its folder")]
Facts = Annotated[Path | None, typer.Option(help="Yard facts that go with a .dxf or .geojson drawing")]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="What a .dxf layer holds, as NAME=KIND or NAME=ignore; repeat")
]
Charts = Annotated[Path | None, typer.Option(help="Your nozzle charts, CSV")]
Prices = Annotated[Path | None, typer.Option(help="Your prices, CSV")]


def named_layers(words: list[str] | None) -> dict[str, str]:
    """Read NAME=KIND options. Errors: InputError that names the option as it was written."""
    pairs = [word.rpartition("=") for word in words or []]
    for word, (name, _, kind) in zip(words or [], pairs, strict=True):
        if not name or not kind:
            raise InputError(f"--layer {word}: write NAME=KIND, such as GRASS=lawn or NOTES=ignore")
    return {name.strip(): kind.strip() for name, _, kind in pairs}
