"""`rillwright schema`: the form of a yard file."""

import typer

__all__ = ["schema"]


def schema() -> None:
    """Print the JSON Schema of the yard document."""
    import json

    from rillwright.exchange.yard_file import yard_schema

    typer.echo(json.dumps(yard_schema(), indent=2))
