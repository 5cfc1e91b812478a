"""Arguments and options that several commands share."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated

import typer

from rillwright.errors import InputError

if TYPE_CHECKING:
    from pydantic import ValidationError

__all__ = [
    "Charts",
    "Facts",
    "Keep",
    "Layers",
    "PlanFile",
    "Prices",
    "YardFile",
    "named_layers",
    "recent_file",
    "refused",
    "weather_file",
    "winter_weather",
]

YardFile = Annotated[Path, typer.Argument(help="Yard: .yard.json, .geojson or .dxf")]
PlanFile = Annotated[Path, typer.Argument(help="plan.json or its folder")]
Facts = Annotated[Path | None, typer.Option(help="Yard facts that go with a .dxf or .geojson drawing")]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="What a .dxf layer holds, as NAME=KIND or NAME=ignore; repeat")
]
Charts = Annotated[Path | None, typer.Option(help="Your nozzle charts, CSV")]
Prices = Annotated[Path | None, typer.Option(help="Your prices, CSV")]


Keep = Annotated[
    bool, typer.Option("--keep", help="Keep --weather in the plan's folder, for every command from now on")
]


def weather_file(plan: Path, weather: Path | None, *, keep: bool) -> Path | None:
    """The weather file that counts: the one given, which is kept when asked to, else the one kept beside the plan.

    Errors: InputError.
    """
    from rillwright.jobs.kept_weather import keep_weather, kept_weather

    if weather is None and keep:
        raise InputError("--keep: give the file to keep with --weather")
    if weather is None:
        return kept_weather(plan)
    return keep_weather(plan, weather) if keep else weather


def recent_file(plan: Path, recent: Path | None, *, keep: bool) -> Path | None:
    """Days of this season that count: those given, added to what is kept when asked to, else what is kept.

    Errors: InputError.
    """
    from rillwright.jobs.kept_weather import keep_recent, kept_recent

    if recent is None:
        return kept_recent(plan)
    return keep_recent(plan, recent) if keep else recent


def winter_weather(plan: Path, weather: Path | None, *, keep: bool) -> Path | None:
    """The weather file that counts for winter: months that are kept hold no frosty night. Errors: InputError."""
    from rillwright.exchange.weather import is_normals

    file = weather_file(plan, weather, keep=keep)
    return None if weather is None and file is not None and is_normals(file) else file


def named_layers(words: list[str] | None) -> dict[str, str]:
    """Read NAME=KIND options. Errors: InputError that names the option as it was written."""
    pairs = [word.rpartition("=") for word in words or []]
    for word, (name, _, kind) in zip(words or [], pairs, strict=True):
        if not name or not kind:
            raise InputError(f"--layer {word}: write NAME=KIND, such as GRASS=lawn or NOTES=ignore")
    return {name.strip(): kind.strip() for name, _, kind in pairs}


def refused(error: "ValidationError", names: Mapping[str, str] = MappingProxyType({})) -> InputError:
    """The first option that may not hold what was typed, with what may stand there.

    Parameters: names, options by the field that each fills, where these differ by more than dashes.
    """
    from rillwright.exchange.yard_problems import allowed

    first = error.errors()[0]
    field = str(first["loc"][0])
    return InputError(f"--{names.get(field, field).replace('_', '-')} {first['input']}: {allowed(first)}")
