"""The `rillwright` command: every command under its stage of the work. Exit codes are in `exits`."""

import sys
from collections.abc import Callable
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from rillwright import __version__
from rillwright.cli.commands.answer import answer
from rillwright.cli.commands.as_built import as_built
from rillwright.cli.commands.convert import convert
from rillwright.cli.commands.devices import devices
from rillwright.cli.commands.explain import explain
from rillwright.cli.commands.export import export
from rillwright.cli.commands.guide import guide
from rillwright.cli.commands.log import app as log
from rillwright.cli.commands.manifold import manifold
from rillwright.cli.commands.money import money
from rillwright.cli.commands.new_lawn import new_lawn
from rillwright.cli.commands.openapi import openapi
from rillwright.cli.commands.parts import parts
from rillwright.cli.commands.plan import plan
from rillwright.cli.commands.plan_many import plan_many
from rillwright.cli.commands.record import record
from rillwright.cli.commands.replan import replan
from rillwright.cli.commands.schema import schema
from rillwright.cli.commands.serve import serve
from rillwright.cli.commands.sheets import sheets
from rillwright.cli.commands.supply import supply
from rillwright.cli.commands.try_head import try_head
from rillwright.cli.commands.water import water
from rillwright.cli.commands.winter import winter
from rillwright.cli.commands.wire import wire
from rillwright.cli.exits import BAD_INPUT, STOPPED
from rillwright.errors import RillwrightError

__all__ = ["app", "run"]

STAGES: dict[str, dict[str, Callable[..., None] | typer.Typer]] = {  # of the work, as the help lists them
    "Measure": {"supply": supply},
    "Plan": {"plan": plan, "plan-many": plan_many, "try": try_head, "explain": explain, "sheets": sheets},
    "Buy": {"parts": parts, "manifold": manifold, "wire": wire, "money": money},
    "Build": {"guide": guide, "as-built": as_built},
    "Read and change": {"log": log, "answer": answer, "replan": replan},
    "Water": {"water": water, "new-lawn": new_lawn},
    "Winter and the years": {"winter": winter, "record": record},
    "In the browser": {"serve": serve, "devices": devices},
    "Files": {"convert": convert, "export": export, "schema": schema, "openapi": openapi},
}


class ByStage(TyperGroup):
    """A help that lists the commands in the order of the work."""

    def format_commands(self, _: Any, formatter: Any) -> None:
        """Write each stage with its commands."""
        width = formatter.width - 6 - max(map(len, self.commands))
        for stage, commands in STAGES.items():
            with formatter.section(stage):
                formatter.write_dl([(name, self.commands[name].get_short_help_str(width)) for name in commands])


app = typer.Typer(
    cls=ByStage,
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Plan and build an in-ground sprinkler system that the measured water supply can really feed.",
)
for commands in STAGES.values():
    for name, command in commands.items():
        if isinstance(command, typer.Typer):
            app.add_typer(command, name=name)
        else:
            app.command(name)(command)


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
